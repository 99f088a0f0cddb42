"""Takes a written amount apart: an exact figure and its word, by one regular expression.

A figure is ``50``, ``0.75``, ``.75``, ``3/4``, ``1 1/2``, ``¾`` or ``1¾`` in plain ASCII digits. Nothing of a
text that cannot be read stands in its refusal.
"""

import functools
import re
from decimal import Decimal
from typing import Final, NamedTuple

from service.errors import InputFault

LONGEST_TEXT: Final = 64

_GLYPHS: Final = {
    "¼": (1, 4), "½": (1, 2), "¾": (3, 4), "⅓": (1, 3), "⅔": (2, 3),
    "⅛": (1, 8), "⅜": (3, 8), "⅝": (5, 8), "⅞": (7, 8),
}  # fmt: skip
_MILLI_OR_MEGA: Final = frozenset({"Mg", "MG", "mG"})

# Every quantifier is bounded or followed by a character outside its own class, so that matching is linear.
_FIGURE: Final = (
    r"(?:([0-9]{1,20})(?:\.([0-9]{1,12})|/([0-9]{1,6})| ([0-9]{1,6})/([0-9]{1,6})| ?([¼½¾⅓⅔⅛⅜⅝⅞]))?"
    r"|\.([0-9]{1,12})|([¼½¾⅓⅔⅛⅜⅝⅞]))"
)
_WORD: Final = r"([A-Za-z][A-Za-z0-9 ./_-]*)"
_AMOUNT_TEXT: Final = re.compile(rf" ?{_FIGURE} ?{_WORD}(?:\( ?{_FIGURE} ?{_WORD}\) ?)?")
_FIGURE_TEXT: Final = re.compile(rf" ?{_FIGURE} ?")
_WORD_TEXT: Final = re.compile(rf" ?{_WORD}")
_ABBREVIATION_DOT: Final = re.compile(r"\.(?![0-9])")
_DECIMAL_COMMA: Final = re.compile(r"[0-9],[0-9]")
_LONG_FIGURE: Final = re.compile(r"[0-9]{13}")
_NEGATIVE: Final = re.compile(r" ?-[0-9.]")


class Written(NamedTuple):
    """A figure as an exact ratio, and its word in lower case and single spaces."""

    numerator: int
    denominator: int
    word: str


@functools.lru_cache(maxsize=4096)
def written_figures(text: str) -> tuple[Written, ...]:
    """One figure with its word, or two, or none for ``fill``."""
    match = _AMOUNT_TEXT.fullmatch(text) if len(text) <= LONGEST_TEXT else None
    if match is None:
        if len(text) <= LONGEST_TEXT and text.strip(" ").lower() == "fill":
            return ()
        raise _unreadable(text)
    groups = match.groups()
    first = Written(*_ratio(groups[:8]), _plain_word(groups[8]))
    if groups[17] is None:
        return (first,)
    return first, Written(*_ratio(groups[9:17]), _plain_word(groups[17]))


def _ratio(groups: tuple[str | None, ...]) -> tuple[int, int]:
    """The figure that the eight groups of ``_FIGURE`` hold, as numerator and denominator."""
    whole_text, decimals, below, over, under, glyph_after, decimals_alone, glyph_alone = groups
    whole = int(whole_text) if whole_text else 0
    decimals, glyph = decimals or decimals_alone, glyph_after or glyph_alone
    if decimals:
        scale = 10 ** len(decimals)
        return whole * scale + int(decimals), scale
    if below:
        numerator, denominator = whole, int(below)
    elif glyph:
        over_glyph, denominator = _GLYPHS[glyph]
        numerator = whole * denominator + over_glyph
    elif over and under:
        denominator = int(under)
        if int(over) >= denominator:
            raise InputFault("amount_unreadable", "The fraction of a mixed number must be below one, as in 1 1/2.")
        numerator = whole * denominator + int(over)
    else:
        numerator, denominator = whole, 1
    if denominator == 0:
        raise InputFault("amount_unreadable", "A fraction cannot be divided by zero.")
    return numerator, denominator


def _plain_word(word: str) -> str:
    """The word in lower case, single spaces and without the dots of abbreviations."""
    word = word.rstrip(" ")
    if word in _MILLI_OR_MEGA:
        raise InputFault("unit_ambiguous", "Write mg or milligram in lower case; a capital M would be a megagram.")
    if "." in word:
        word = _ABBREVIATION_DOT.sub(" ", word)
    return " ".join(word.lower().split())


def unit_word(unit: str) -> str:
    match = _WORD_TEXT.fullmatch(unit) if len(unit) <= LONGEST_TEXT else None
    if match is None:
        raise InputFault("unit_unknown", "The unit must be one of the allowed words alone, such as ml, oz or dash.")
    return _plain_word(match[1])


def figure_ratio(value: str | int | Decimal) -> tuple[int, int]:
    if isinstance(value, str):
        match = _FIGURE_TEXT.fullmatch(value) if len(value) <= LONGEST_TEXT else None
        if match is None:
            raise _unreadable(value)
        return _ratio(match.groups())
    number = Decimal(value)
    if isinstance(value, bool) or not number.is_finite():
        raise InputFault("amount_unreadable", "The value must be a finite number.")
    # A huge exponent would take minutes to write out as an integer; both bounds lie far outside every limit.
    if number <= 0:
        raise not_positive()
    if number.adjusted() > 20:
        raise InputFault("amount_too_large", "At most 100 l, 100 kg or 10,000 pieces may stand on one line.")
    if number.adjusted() < -12 or len(number.as_tuple().digits) > 40:
        raise InputFault("amount_unreadable", "A figure may have at most 12 digits after the point.")
    return number.as_integer_ratio()


def _unreadable(text: str) -> InputFault:
    """Why a text is no amount, told from its shape alone."""
    if len(text) > LONGEST_TEXT:
        return InputFault("amount_too_long", f"An amount is written in at most {LONGEST_TEXT} characters.")
    if _DECIMAL_COMMA.search(text):
        detail = "A comma may mean thousands or decimals: write the decimal point, and thousands without a mark."
        return InputFault("decimal_comma", detail)
    if _NEGATIVE.match(text):
        return not_positive()
    if _FIGURE_TEXT.fullmatch(text):
        return InputFault("unit_missing", "The unit is missing: write it after the figure, as in 50 ml or 1 each.")
    if _LONG_FIGURE.search(text):
        detail = "A figure has at most 20 digits before the point and 12 after it."
        return InputFault("amount_unreadable", detail)
    detail = "Write a figure and a unit, such as 50 ml, 3/4 oz, 1 1/2 oz, 2 dashes, 1 each, 2 parts, or fill."
    return InputFault("amount_unreadable", detail)


def not_positive() -> InputFault:
    return InputFault("amount_not_positive", "The amount must be over 0.")
