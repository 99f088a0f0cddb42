"""The drink as built: pour lines mixed, ice become water, tops and fill, foam; one frozen mixture for its
readers.

All figures are for one serve. The dilution model acts on the lines of role pour alone, never on a top, a rinse,
a foam or a garnish. Strength is at the moment of handing over; what melts later is not in it.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import fsum, isfinite

from service.errors import InputFault, OutOfRange
from service.line import LEAST, ResolvedLine
from service.mixture import Assumption, Missing, Mixture, Part, mixture, together, with_water
from service.physics import dilution as model
from service.preparation import Warn
from service.substance import NUTRIENTS, TRACES

WATER_G_PER_ML = 0.99820123
"""Water at 20 C (OIML R 22, A1)."""

WITHOUT_WATER = frozenset(("none", "carbonated", "dry_shaken", "prediluted"))
"""Methods that take no water unless some is stated."""

MELTS_ALL = frozenset(("blended", "frozen"))
"""Methods in which all the ice becomes part of the drink."""

LEAST_ROOM_ML = 1e-6
"""Less room than this is none: it is below the accuracy of any figure of a glass."""

ENERGY_BALANCE = "energy balance: ice melts until the mix is at its own freezing point (333.55 J/g)"

ICE_UNKNOWN: Missing = ("ice", "method.water")

CONSTITUENTS = ("abv_percent", *NUTRIENTS, *TRACES)
"""What is not known of a drink while the amount of one of its lines is not."""


@dataclass(frozen=True, slots=True)
class Water:
    """Water of the whole spec, one way of saying it: ``ml``, ``fraction`` of the mixed volume, or ``ice_g`` at
    ``ice_c``."""

    ml: float | None = None
    fraction: float | None = None
    ice_g: float | None = None
    ice_c: float | None = None


@dataclass(frozen=True, slots=True)
class Method:
    """How the drink is made; ``water`` as stated, ``None`` where a model or the house decides."""

    kind: str = "none"
    water: Water | None = None


@dataclass(frozen=True, slots=True)
class Glass:
    """The glass of one serve, to its brim and to its line, and the ice in it; ``None`` where unknown."""

    glass_ml: float | None = None
    line_ml: float | None = None
    ice_kind: str = "none"
    ice_g: float | None = None


@dataclass(frozen=True, slots=True)
class Dilution:
    """Water from ice: ``water_ml`` is ``fraction`` x ``base_ml``; both ``None`` where unknown."""

    model: str
    base_ml: float
    fraction: float | None
    water_ml: float | None
    in_range: bool | None
    source: str

    @property
    def water_g(self) -> float | None:
        """Grams of water added."""
        return None if self.water_ml is None else self.water_ml * WATER_G_PER_ML


@dataclass(frozen=True, slots=True)
class Build:
    """``liquid`` is the drink as handed over (``None`` where its water is unknown), ``undiluted`` the same
    without ice's water."""

    base: Mixture
    undiluted: Mixture
    liquid: Mixture | None
    dilution: Dilution
    foam_ml: float
    foam_liquid_ml: float
    ice_displaced_ml: float | None
    washline_percent: float | None
    fill: Mapping[int, Part]
    missing: tuple[Missing, ...]
    warnings: tuple[Warn, ...]
    assumptions: tuple[Assumption, ...]


def built(
    lines: Sequence[ResolvedLine], method: Method, glass: Glass, serves: int, house_fractions: Mapping[str, float]
) -> Build:
    """The drink of these lines; amounts of ``lines`` are for one serve already, those of ``method.water`` for all."""
    warnings: list[Warn] = []
    assumptions: list[Assumption] = []
    base = mixture(_parts(lines, "pour", foam=False))
    dilution = diluted(base, method, serves, house_fractions, warnings, assumptions)
    foams = [line.part for line in lines if _is_foam(line) and line.part is not None]
    around = [*_parts(lines, "top", foam=False), *_rinses(lines)]
    displaced = _displaced_ml(glass)
    fill = _fill(lines, base, dilution, mixture(around), glass, displaced)
    foams += [part for part in fill.values() if part.substance.gas_factor > 1.0]
    foam_ml = fsum(part.base * part.substance.gas_factor for part in foams)
    foam_liquid_ml = fsum(part.base for part in foams)
    extra = [*around, *foams, *(part for part in fill.values() if part.substance.gas_factor <= 1.0)]
    undiluted = together(base, mixture(extra)) if extra else base
    missing: list[Missing] = []
    liquid: Mixture | None = None
    if dilution.water_g is None:
        missing.append(ICE_UNKNOWN)
    else:
        liquid = with_water(undiluted, dilution.water_g) if dilution.water_g else undiluted
    unfilled = [
        line for line in lines if line.amount.dimension == "fill" and line.part is None and line.number not in fill
    ]
    missing += [(line.ref, "amount") for line in unfilled]
    if unfilled:
        unknown = {(line.ref, name) for line in unfilled for name in CONSTITUENTS}
        undiluted = undiluted._replace(unknown=undiluted.unknown | unknown)
    washline = _washline_percent(liquid, foam_ml, foam_liquid_ml, displaced, glass, warnings)
    return Build(
        base, undiluted, liquid, dilution, foam_ml, foam_liquid_ml, displaced, washline, fill, tuple(missing),
        tuple(warnings), tuple(assumptions),
    )  # fmt: skip


def _is_foam(line: ResolvedLine) -> bool:
    return line.substance.gas_factor > 1.0 and line.role in ("pour", "top")


def _parts(lines: Sequence[ResolvedLine], role: str, *, foam: bool) -> list[Part]:
    return [line.part for line in lines if line.role == role and line.part is not None and _is_foam(line) == foam]


def _rinses(lines: Sequence[ResolvedLine]) -> list[Part]:
    """What stays of each rinse; its whole amount costs and its allergens stay even where nothing does."""
    parts: list[Part] = []
    for line in lines:
        if line.role != "rinse" or line.part is None or not line.residue_ml:
            continue
        volume = line.part.volume_ml
        if volume is None:
            raise InputFault(
                "density_unknown", "A rinse leaves a volume, so its density is needed.", line.pointer + "/amount"
            )
        if line.residue_ml > volume * (1 + 1e-9):
            raise InputFault(
                "residue_exceeds_amount", "No more of a rinse can stay than was poured.", line.pointer + "/residue_ml"
            )
        parts.append(Part(line.substance, line.part.base * line.residue_ml / volume))
    return parts


def diluted(
    base: Mixture,
    method: Method,
    serves: int,
    house_fractions: Mapping[str, float],
    warnings: list[Warn],
    assumptions: list[Assumption],
) -> Dilution:
    """Water from ice for one serve: what is stated wins, then the house's figure, then a published model."""
    volume = base.volume_ml
    if method.water is not None:
        return _stated(base, method, serves, warnings)
    if method.kind in house_fractions:
        fraction = house_fractions[method.kind]
        detail = f"Water of a {method.kind} drink taken as the house's {fraction:g} of the mixed volume."
        assumptions.append(Assumption("house_water_fraction", detail))
        return Dilution(
            "house_fraction", volume, fraction, fraction * volume, None, "house setting measures.water_fraction"
        )
    if method.kind in WITHOUT_WATER:
        return Dilution("none", volume, 0.0, 0.0, None, "contract: this method adds no water unless some is stated")
    if volume <= 0 and method.kind not in MELTS_ALL:
        return Dilution("none", volume, 0.0, 0.0, None, "nothing is poured that the ice could dilute")
    formula = model.MODELS.get(method.kind)
    strength = base.abv_percent if volume > 0 else None
    if formula is None or strength is None:
        return _unknown(volume, "no published model; state method.water or measures.water_fraction")
    share = min(max(strength / 100.0, 0.0), 1.0)  # rounding alone may put pure ethanol above 1
    fraction = formula(share)
    in_range = model.in_range(share)
    if not in_range:
        low, high = (100 * bound for bound in model.IN_RANGE)
        detail = (
            f"The dilution model was published for {low:g} to {high:g} % vol before ice; measure the water instead."
        )
        warnings.append(Warn("dilution_out_of_range", detail))
    return Dilution(
        f"{method.kind}_regression", volume, fraction, fraction * volume, in_range, model.SOURCES[method.kind]
    )


def _unknown(volume_ml: float, source: str) -> Dilution:
    return Dilution("unknown", volume_ml, None, None, None, source)


def _stated(base: Mixture, method: Method, serves: int, warnings: list[Warn]) -> Dilution:
    water, volume = method.water, base.volume_ml
    assert water is not None
    if water.fraction is not None:
        return Dilution("stated_fraction", volume, water.fraction, water.fraction * volume, None, "stated in the spec")
    if water.ml is not None:
        ml, name, source = water.ml / serves, "measured", "measured, stated in the spec"
    else:
        assert water.ice_g is not None and water.ice_c is not None
        ice_g = water.ice_g / serves
        if method.kind in MELTS_ALL:
            ml, name, source = (
                ice_g / WATER_G_PER_ML,
                "all_ice_melts",
                "contract: blended and frozen melt all their ice",
            )
        else:
            melt_ml = _melt_ml(base, ice_g, water.ice_c, warnings)
            if melt_ml is None:
                return _unknown(volume, "outside the range of the energy balance; state method.water in ml")
            ml, name, source = melt_ml, "energy_balance", ENERGY_BALANCE
    if ml < LEAST:
        ml = 0.0
    return Dilution(name, volume, ml / volume if volume > 0 else None, ml, None, source)


def _melt_ml(base: Mixture, ice_g: float, ice_c: float, warnings: list[Warn]) -> float | None:
    """Water from the energy balance; ``None`` where it does not hold or the strength is not known."""
    if base.abv_percent is None:
        return None
    try:
        grams = model.energy_balance_water_g(
            base.ethanol_g, base.content("water"), base.content("sugars"), ice_g, ice_c
        )
    except OutOfRange:
        detail = "The energy balance holds for ice of -40 to 0 C in drinks up to 67 % vol; measure the water instead."
        warnings.append(Warn("energy_balance_out_of_range", detail))
        return None
    warnings.append(
        Warn("energy_balance", "Water from an energy balance gives the direction; a measured figure is better.")
    )
    return grams / WATER_G_PER_ML


def _displaced_ml(glass: Glass) -> float | None:
    """Liquid that floating ice displaces: its own mass of water (Archimedes); ``None`` where the ice was not
    weighed."""
    if glass.ice_kind == "none":
        return 0.0
    return None if glass.ice_g is None else glass.ice_g / WATER_G_PER_ML


def _fill(
    lines: Sequence[ResolvedLine],
    base: Mixture,
    dilution: Dilution,
    around: Mixture,
    glass: Glass,
    displaced: float | None,
) -> dict[int, Part]:
    """The amount of the line that fills the glass to its line, by its index; empty where it cannot be told."""
    for line in lines:
        if line.amount.dimension != "fill" or line.part is not None:
            continue
        pointer = line.pointer + "/amount"
        if displaced is None:
            raise InputFault(
                "ice_mass_missing", "fill needs serve.ice.ice_g, the mass of the ice in the glass.", "/drink/serve/ice"
            )
        if dilution.water_g is None:
            return {}
        there = together(with_water(base, dilution.water_g), around).volume_ml
        to_line = glass.line_ml or glass.glass_ml or 0.0
        room = to_line - displaced - there
        if room < LEAST_ROOM_ML:
            raise InputFault("fill_no_room", "The glass is full to its line before this line is poured.", pointer)
        if line.substance.basis == "ml":
            return {line.number: Part(line.substance, room / line.substance.gas_factor)}
        raise InputFault("density_unknown", "fill is for a liquid.", pointer)
    return {}


def _washline_percent(
    liquid: Mixture | None,
    foam_ml: float,
    foam_liquid_ml: float,
    displaced: float | None,
    glass: Glass,
    warnings: list[Warn],
) -> float | None:
    if liquid is None or displaced is None or glass.glass_ml is None:
        return None
    height = 100.0 * (liquid.volume_ml - foam_liquid_ml + foam_ml + displaced) / glass.glass_ml
    if not isfinite(height):
        return None
    if height > 100.0:
        warnings.append(Warn("glass_overflows", "Liquid, foam and ice are more than the glass holds."))
    return height


def with_parts(lines: Sequence[ResolvedLine], chosen: Mapping[int, Part]) -> tuple[ResolvedLine, ...]:
    """The lines with other parts on some of them, by index: an alternative poured, or the fill that became known."""
    return tuple(
        line._replace(part=chosen[line.number], substance=chosen[line.number].substance)
        if line.number in chosen
        else line
        for line in lines
    )
