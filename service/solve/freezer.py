"""Whether a pre-batch stays liquid in the freezer: its freezing point with the margin that published tables ask for."""

from msgspec import Struct

from service.errors import OutOfRange
from service.mixture import Mixture
from service.physics import freezing
from service.unknown import Missing


class Freezer(Struct, frozen=True):
    """``verdict``: liquid, uncertain (inside the margin), freezes, or unknown; temperatures in C."""

    set_c: float
    freezing_point_c: float | None
    limit_c: float | None
    verdict: str
    note: str
    missing: tuple[Missing, ...]


NOTE = (
    "Published tables disagree by about 1 C, so the freezer has to stay 1.5 C above the freezing point. Acids and salt "
    "are left out, which errs to the safe side; a freezer swings by some degrees, so measure in it. Very cold strong "
    "drinks can hurt skin and hide their strength."
)


def freezer(batch: Mixture, set_c: float) -> Freezer:
    """What a freezer at ``set_c`` makes of a batch."""
    missing = batch.missing("abv_percent", "sugars_g")
    if missing:
        return Freezer(set_c, None, None, "unknown", "Not known without strength and sugars of every part.", missing)
    try:
        point = freezing.freezing_point_of_mix_c(batch.ethanol_g, batch.content("water"), batch.content("sugars"))
    except OutOfRange:
        high = 100 * freezing.W_HIGH
        note = f"Outside the range of the formula: at most {high:g} % of ethanol by mass, and sugar that dissolves."
        return Freezer(set_c, None, None, "unknown", note, ())
    limit = freezing.storage_limit_c(point)
    verdict = "liquid" if set_c >= limit else "freezes" if set_c <= point else "uncertain"
    return Freezer(set_c, point, limit, verdict, NOTE, ())
