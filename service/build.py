"""The drink as built: pour lines mixed, ice become water, tops and fill, foam; one frozen mixture for its
readers.

All figures are for one serve. The dilution model acts on the lines of role pour alone, never on a top, a rinse,
a foam or a garnish. Strength is at the moment of handing over; what melts later is not in it.
"""

from collections.abc import Mapping, Sequence
from math import fsum
from types import MappingProxyType

from msgspec import Struct
from msgspec.structs import replace

from service.errors import InputFault
from service.glass import Glass, displaced_ml, filled, washline_percent
from service.icewater import Dilution, Method, diluted
from service.line import ResolvedLine
from service.mixture import (
    ACID_NAMES,
    AMOUNT,
    POLYOL_NAMES,
    Assumption,
    Mixture,
    Part,
    Substance,
    mixture,
    together,
    with_water,
)
from service.preparation import Warn
from service.unknown import KNOWN, Missing, Unknown, unknown_of

ICE_UNKNOWN: Missing = ("ice", "method.water")

HELD_AS: Mapping[str, tuple[str, ...]] = MappingProxyType({
    "abv_percent": ("ethanol",), "sugars_g": ("sugars",), "carbohydrate_g": ("carbohydrate",),
    "protein_g": ("protein",), "fat_g": ("fat",), "saturates_g": ("saturates",), "fibre_g": ("fibre",),
    "salt_g": ("salt",), "acids_g": tuple(ACID_NAMES), "polyols_g": tuple(POLYOL_NAMES),
    "caffeine_mg": ("caffeine_mg",), "quinine_mg": ("quinine_mg",), "glycyrrhizin_mg": ("glycyrrhizin_mg",),
})  # fmt: skip
"""What an item's field says of its constituents."""


class Build(Struct, frozen=True):
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

    @property
    def volume_known(self) -> bool:
        """Whether the amount of everything but the ice's water is known."""
        return all(name != AMOUNT for _, name in self.missing)


def of_unknown_amount(line: ResolvedLine) -> Unknown:
    """What is not known of a drink because the amount of one of its lines is not.

    What neither the line's item nor an alternative holds at all does not depend on the amount.
    """
    fields = {name for made in (line.substance, *line.alternatives) for name in _may_hold(made)}
    return unknown_of((line.ref, name) for name in (AMOUNT, *fields)) if fields else KNOWN


def _may_hold(made: Substance) -> set[str]:
    unknown = made.unknown.fields
    return {name for name, held in HELD_AS.items() if name in unknown or any(made.contents.get(key) for key in held)}


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
    displaced = displaced_ml(glass)
    to_fill = next((line for line in lines if line.amount.dimension == "fill" and line.part is None), None)
    fill = {}
    if to_fill is not None:
        there = None if dilution.water_g is None else together(with_water(base, dilution.water_g), mixture(around))
        fill = filled(to_fill, None if there is None else there.volume_ml, glass, displaced)
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
    if to_fill is not None and not fill:
        missing.append((to_fill.ref, AMOUNT))
        undiluted = replace(undiluted, unknown=undiluted.unknown.union((of_unknown_amount(to_fill),)))
    washline = washline_percent(liquid, foam_ml, foam_liquid_ml, displaced, glass, warnings)
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


def with_parts(lines: Sequence[ResolvedLine], chosen: Mapping[int, Part]) -> tuple[ResolvedLine, ...]:
    """The lines with other parts on some of them, by index: an alternative poured, or the fill that became known."""
    return tuple(
        replace(line, part=chosen[line.number], substance=chosen[line.number].substance)
        if line.number in chosen
        else line
        for line in lines
    )
