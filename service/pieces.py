"""Words for what is counted: which piece of an item a word names, and how a count of something is written."""

from collections.abc import Collection
from typing import Final

EACH: Final = "each"

_EACH_WORDS: Final = frozenset({EACH, "piece", "pieces", "whole"})
_VES: Final = ("leaf", "half", "loaf", "calf", "knife")
_SIBILANTS: Final = ("s", "x", "z", "ch", "sh")

_NOUNS: Final = frozenset(
    ("dash", "drop", "barspoon", "cup", "gill", "pint", "quart", "gallon", "minim", "measure", "nip", "shot", "pony")
)
"""Words in the names of units that take a plural; the others are abbreviations, or name a size or a system."""


def piece_named(word: str, pieces: Collection[str]) -> str | None:
    """The piece that a word in singular or plural names: leaves a leaf, cherries a cherry, twists a twist.

    >>> piece_named("leaves", ("leaf", "sprig")), piece_named("pieces", ()), piece_named("ml", ("leaf",))
    ('leaf', 'each', None)
    """
    if word in _EACH_WORDS:
        return EACH
    singulars = [word]
    if word.endswith("ies"):
        singulars.append(word[:-3] + "y")
    if word.endswith("ves"):
        singulars += [word[:-3] + "f", word[:-3] + "fe"]
    if word.endswith("es"):
        singulars.append(word[:-2])
    if word.endswith("s"):
        singulars.append(word[:-1])
    for singular in singulars:
        for spelt in (singular, singular.replace(" ", "_"), singular.replace(" ", "-")):
            if spelt in pieces:
                return spelt
    return None


def pieces_counted(figure: str, piece: str) -> str:
    """A count of pieces in words; what is one or less stays singular.

    >>> pieces_counted("8", "wheel"), pieces_counted("2", "leaf"), pieces_counted("0.5", "leaf")
    ('8 wheels', '2 leaves', '0.5 leaf')
    >>> pieces_counted("2", "each"), pieces_counted("3", "knife_cut")
    ('2 each', '3 knife cuts')
    """
    noun = piece.replace("_", " ")
    return f"{figure} {noun}" if piece == EACH or not _over_one(figure) else f"{figure} {_plural(noun)}"


def units_counted(figure: str, unit: str) -> str:
    """A figure and the name of its unit in words; an abbreviation has no plural.

    >>> units_counted("2", "dash"), units_counted("1", "dash"), units_counted("2", "us fl oz")
    ('2 dashes', '1 dash', '2 us fl oz')
    """
    if not _over_one(figure):
        return f"{figure} {unit}"
    return " ".join([figure, *(_plural(word) if word in _NOUNS else word for word in unit.split(" "))])


def _over_one(figure: str) -> bool:
    return float(figure) > 1


def _plural(noun: str) -> str:
    if noun.endswith(_VES):
        return noun.removesuffix("fe").removesuffix("f") + "ves"
    if noun.endswith("y") and noun[-2:-1] not in ("", "a", "e", "i", "o", "u"):
        return noun[:-1] + "ies"
    if noun.endswith(_SIBILANTS):
        # A piece that a house calls by a plural, such as "crumbs", is left as it is.
        return noun if noun.endswith("s") and not noun.endswith(("ss", "us")) else noun + "es"
    return noun + "s"
