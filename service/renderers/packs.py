"""What a pack states and what its label lacks, in the words that panel, sheet and menu print."""

from service.renderers.phrases import Phrases
from service.renderers.reading import Row

STATED = ("net_ml", "lot", "made_on", "use_by", "storage", "responsible")
"""What a pack states, in the order of the panel."""

_NAMES = {"net_ml": "net_quantity", "use_by": "date_use_by"}
_MISSED = {"net_ml": "net_quantity", "use_by": "use_by_date"}


def pack_rows(pack: Row, words: Phrases) -> list[tuple[str, str]]:
    """Name and text of all that a pack states."""
    return [(words[_NAMES.get(key, key)], _text(pack, key, words)) for key in STATED]


def net_quantity(pack: Row, words: Phrases) -> str:
    """The net quantity with its unit."""
    return _text(pack, "net_ml", words)


def _text(pack: Row, key: str, words: Phrases) -> str:
    value = pack[key]
    if value is None:
        return words["not_known"]
    return f"{words.number(value)} ml" if key == "net_ml" else str(value)


def lacking_of(pack: Row, code: str | None, words: Phrases) -> list[str]:
    """What the panel of one jurisdiction lacks, in words; of one that was not asked for nothing is known."""
    row = next((row for row in pack["panels"] if row["jurisdiction"] == code), None)
    missing = (
        [*(key for key in STATED if pack[key] is None), "strength", "allergens", "nutrition"]
        if row is None
        else row["missing"]
    )
    return [words[_MISSED.get(key, key if key in STATED else f"missing_{key}")] for key in missing]


def readiness(pack: Row, code: str | None, words: Phrases) -> str:
    """That the panel of a jurisdiction is ready, or that it is not and what it lacks."""
    lacking = lacking_of(pack, code, words)
    return words["not_ready_missing"].format(what=", ".join(lacking)) if lacking else words["pack_ready"]
