"""How strong the drink is as handed over: ethanol, strength, proof, and the range that alternatives open."""

from collections.abc import Callable, Sequence

from msgspec import Struct

from service.build import ICE_UNKNOWN, Build
from service.retention import Retention, retentions
from service.substance import ETHANOL_G_PER_ML
from service.unknown import Missing

MODELLED_UNCERTAINTY_PERCENT = 1.0
"""Uncertainty in % vol of a poured drink whose water is modelled; common practice, no source."""

STATED_UNCERTAINTY_PERCENT = 0.5
"""Uncertainty in % vol of a poured drink whose water is stated or none; common practice, no source."""


class Strength(Struct, frozen=True):
    """Ethanol of one serve in g, strengths in % vol at 20 C; ``None`` where unknown."""

    ethanol_g: float | None
    known_ethanol_g: float
    abv_percent: float | None
    abv_percent_undiluted: float | None
    missing: tuple[Missing, ...]

    @property
    def ethanol_ml(self) -> float | None:
        """Millilitres of ethanol at 20 C."""
        return None if self.ethanol_g is None else self.ethanol_g / ETHANOL_G_PER_ML

    @property
    def us_proof(self) -> float | None:
        """US proof as twice the % vol (27 CFR 5.1).

        Proof is defined at 60 F and the strength here stands at 20 C; the step between the two is below 0.2 proof and
        far below what pouring does.
        """
        return None if self.abv_percent is None else 2.0 * self.abv_percent


class Heated(Struct, frozen=True):
    """What a published retention factor leaves: g of ethanol in the serve and % vol."""

    retention: Retention
    ethanol_g: float
    abv_percent: float | None


class Alcohol(Struct, frozen=True):
    """The strength, its range over the alternatives (``None`` without any), and what heating may leave."""

    strength: Strength
    low: Strength | None
    high: Strength | None
    heated: tuple[Heated, ...]
    uncertainty_percent: float

    @property
    def abv_upper_percent(self) -> float | None:
        """The upper end of the strength that claims and statements are judged on; ``None`` where unknown."""
        return self.strength.abv_percent if self.high is None else self.high.abv_percent

    @property
    def ethanol_upper_g(self) -> float | None:
        """Ethanol of the strongest alternative."""
        return self.strength.ethanol_g if self.high is None else self.high.ethanol_g


def strength(build: Build) -> Strength:
    """The strength of one build; ethanol needs every part's strength, % vol the water too."""
    drink = build.undiluted
    missing = drink.missing("abv_percent")
    known = drink.ethanol_g
    ethanol = None if missing else known
    undiluted = drink.abv_percent if drink.volume_ml > 0 and build.volume_known else None
    handed_over = build.liquid.abv_percent if build.liquid is not None and build.liquid.volume_ml > 0 else None
    if build.liquid is None:
        missing = (*missing, *(gap for gap in build.missing if gap == ICE_UNKNOWN or gap[1] == "amount"))
    return Strength(ethanol, known, handed_over, undiluted, missing)


def alcohol(build: Build, low: Sequence[Build], high: Sequence[Build], heated: bool) -> Alcohol:
    """The alcohol of a drink; the weakest and the strongest with its alternatives are among ``low`` and ``high``."""
    own = strength(build)
    rows: tuple[Heated, ...] = ()
    if heated and own.ethanol_g:
        rows = tuple(_heated(own, row) for row in retentions())
    model = build.dilution.model
    modelled = model.endswith("_regression") or model in ("house_fraction", "energy_balance")
    uncertainty = MODELLED_UNCERTAINTY_PERCENT if modelled else STATED_UNCERTAINTY_PERCENT
    if not low and not high:
        return Alcohol(own, None, None, rows, uncertainty)
    others = [strength(one) for one in (*low, *high) if one is not build]
    return Alcohol(own, _end(own, others, min), _end(own, others, max), rows, uncertainty)


def _end(own: Strength, others: Sequence[Strength], end: Callable[[list[float]], float]) -> Strength:
    """The lowest or the highest of each figure, not always of one build; unknown where it is so of any of them.

    Were one end shown beside an unknown other, it would read as a bound, and nobody knows whether it is one.
    """

    def of(name: str) -> float | None:
        figures = [getattr(one, name) for one in (own, *others)]
        return None if None in figures else end(figures)

    known = end([one.known_ethanol_g for one in (own, *others)])
    missing = tuple(dict.fromkeys(gap for one in (own, *others) for gap in one.missing))
    found = Strength(of("ethanol_g"), known, of("abv_percent"), of("abv_percent_undiluted"), missing)
    return own if found == own else found


def _heated(own: Strength, row: Retention) -> Heated:
    """The same drink less the ethanol that is taken to have gone.

    The volume is left as it is, so % vol reads low by less than 0.1 of its loss.
    """
    share = row.retained_percent / 100.0
    abv = None if own.abv_percent is None else own.abv_percent * share
    return Heated(row, (own.ethanol_g or 0.0) * share, abv)
