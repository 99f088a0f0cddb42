"""The glass: what its ice displaces, the line that it is filled to, how high everything stands in it."""

from math import isfinite

from msgspec import Struct

from service.errors import InputFault
from service.icewater import WATER_G_PER_ML
from service.line import ResolvedLine
from service.mixture import Mixture, Part
from service.preparation import Warn

LEAST_ROOM_ML = 1e-6
"""Less room than this is none: it is below the accuracy of any figure of a glass."""


OVERFLOWS_PERCENT = 100.2
"""From here a glass is said to overflow: fill is told by the volumes before mixing (contract, amounts), from which what
is mixed differs by so much at most, and the brim holds more; common practice, no source."""


class Glass(Struct, frozen=True):
    """The glass of one serve, to its brim and to its line, and the ice in it; ``None`` where unknown."""

    glass_ml: float | None = None
    line_ml: float | None = None
    ice_kind: str = "none"
    ice_g: float | None = None


def displaced_ml(glass: Glass) -> float | None:
    """Liquid that floating ice displaces: its own mass of water (Archimedes); ``None`` where the ice was not
    weighed."""
    if glass.ice_kind == "none":
        return 0.0
    return None if glass.ice_g is None else glass.ice_g / WATER_G_PER_ML


def filled(line: ResolvedLine, there_ml: float | None, glass: Glass, displaced: float | None) -> dict[int, Part]:
    """The amount of the line that fills the glass to its line, by its index; empty where it cannot be told.

    ``there_ml`` is the liquid in the glass before (``None``: not known).
    """
    pointer = line.pointer + "/amount"
    if displaced is None:
        raise InputFault(
            "ice_mass_missing", "fill needs serve.ice.ice_g, the mass of the ice in the glass.", "/drink/serve/ice"
        )
    if there_ml is None:
        return {}
    to_line = glass.line_ml or glass.glass_ml or 0.0
    room = to_line - displaced - there_ml
    if room < LEAST_ROOM_ML:
        raise InputFault("fill_no_room", "The glass is full to its line before this line is poured.", pointer)
    if line.substance.basis != "ml":
        raise InputFault("density_unknown", "fill is for a liquid.", pointer)
    return {line.number: Part(line.substance, room / line.substance.gas_factor)}


def washline_percent(
    liquid: Mixture | None,
    foam_ml: float,
    foam_liquid_ml: float,
    displaced: float | None,
    glass: Glass,
    warnings: list[Warn],
) -> float | None:
    """Liquid, foam and floating ice as a share of the glass to its brim; ``None`` where one of them is unknown."""
    if liquid is None or displaced is None or glass.glass_ml is None:
        return None
    height = 100.0 * (liquid.volume_ml - foam_liquid_ml + foam_ml + displaced) / glass.glass_ml
    if not isfinite(height):
        return None
    if height > OVERFLOWS_PERCENT:
        warnings.append(Warn("glass_overflows", "Liquid, foam and ice are more than the glass holds."))
    return height
