"""How sure the figures are, as answered: bands, what drives them, and whether a printed strength holds."""

from typing import Literal

from schemas._base import Output


class BandDriver(Output):
    """The input that makes most of the width."""

    item: str
    """Id of the item, or `ice`."""
    input: Literal["pour", "strength", "acid", "water"]
    """What of it."""
    share_percent: float
    """Its share of the square of the width."""


class BandShare(Output):
    """One input of a band with its tolerance."""

    item: str
    """Id of the item, or `ice`."""
    line: int | None
    """Which line of the drink, from 0; null where it is not of one line."""
    input: Literal["pour", "strength", "acid", "water"]
    """What of it: how it is measured, the strength of its label, its acids, or the water of ice."""
    tool: str
    """What it is measured with or computed by."""
    half_width: float
    """How far it may lie off; of a normal distribution its standard deviation."""
    unit: str
    """`%` of the quantity, or `% vol`."""
    distribution: str
    """`rectangular`: any value within is as likely; `normal`."""
    share_percent: float
    """Its share of the square of the width."""
    source: str
    """Where the tolerance comes from."""
    standing: str
    """How far that was checked; `house` where the request states it."""


class Band(Output):
    """Where the figure of a serve made this way lies."""

    low: float
    """Lower end."""
    high: float
    """Upper end."""
    standard_uncertainty: float
    """Half of the half-width (k = 2)."""
    coverage: str
    """How often a serve lies within."""
    driver: BandDriver | None
    """What makes most of the width; null where nothing does."""
    contributions: tuple[BandShare, ...]
    """Every input that does something, the largest first."""


class DrinksBand(Output):
    """Standard drinks over the band of the ethanol."""

    jurisdiction: str
    """Code."""
    low: float | None
    """Fewest; null where not known."""
    high: float | None
    """Most; of a country with a range, by its smaller drink."""


class NotVariedRow(Output):
    """Something that is not certain either and is in no band."""

    item: str
    """Id of the item, or `ice`."""
    input: str
    """What of it."""
    reason: str
    """Why not."""


class AlcoholBand(Output):
    """How sure the strength is: the drink as it is poured, apart from alternatives."""

    abv_percent: Band | None
    """% vol at 20 C; null where the strength is not known."""
    ethanol_g: Band | None
    """Grams of ethanol."""
    standard_drinks: tuple[DrinksBand, ...]
    """By jurisdiction."""
    not_varied: tuple[NotVariedRow, ...]
    """What no tolerance is held of."""
    note: str
    """How the bands are made and what they leave out."""


class LabelCheckRow(Output):
    """Whether the strength that a package prints holds within its regime's tolerance."""

    jurisdiction: str
    """Code."""
    printed_percent: float | None
    """The figure on the label; null where none is due."""
    tolerance_percent: float | None
    """Either way, in % vol; null where none is held."""
    band_percent: tuple[float | None, float | None]
    """The strength's band, over alternatives too."""
    verdict: Literal["within", "may_exceed", "unknown"]
    """`may_exceed`: the band leaves the tolerance."""
    text: str
    """In words, with what it defers to."""
    source: str
    """The rule; empty where none is held."""
    standing: str
    """How far it was checked."""


class EnergyBand(Output):
    """How sure the energy of one serve is, by the factors of the plain figures."""

    energy_kj: Band | None
    """kJ; null where it is not known."""
    energy_kcal: Band | None
    """kcal."""


class CostBandRow(Output):
    """Where the pour cost of a serve lies, by how it is measured."""

    low: str
    """Lower end, at the currency's minor unit."""
    high: str
    """Upper end."""
    standard_uncertainty: str
    """Half of the half-width (k = 2), six decimals."""
    coverage: str
    """How often a serve lies within."""
    driver: BandDriver | None
    """What makes most of the width; null where nothing does."""
    contributions: tuple[BandShare, ...]
    """Every input that does something, the largest first."""


class CostBands(Output):
    """How sure the cost is; prices are taken as they are offered."""

    pour_cost: CostBandRow | None
    """Null where the cost is not known."""
