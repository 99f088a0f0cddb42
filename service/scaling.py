"""Amounts as they are written, times a factor: ``3/4 oz (22.5 ml)`` doubled is ``1.5 oz (45 ml)``, exactly."""

from decimal import Decimal
from fractions import Fraction

from service.errors import InputFault
from service.figures import LONGEST_TEXT, figure_ratio, written_figures

_PLACES = 12
_WHOLE_DIGITS = 20
_BELOW = 10**6
"""What a figure may have after its point, before it, and below the line of a fraction (``service.figures``)."""

INEXACT = "scale_inexact"
"""Code of the refusal of a product that cannot be written."""

PART_WORDS = frozenset({"part", "parts"})


def scaled_text(text: str, factor: Fraction) -> str:
    """An amount written as text with each figure multiplied; ``fill`` has none and stays.

    Raises ``InputFault`` where the text is no amount, or where the product cannot be written exactly.

    >>> scaled_text("3/4 oz (22.5 ml)", Fraction(2)), scaled_text("1/3 part", Fraction(1, 2))
    ('1.5 oz (45 ml)', '1/6 part')
    """
    written = written_figures(text)
    if not written:
        return text
    first, *other = [f"{_figure(Fraction(row.numerator, row.denominator) * factor)} {row.word}" for row in written]
    made = f"{first} ({other[0]})" if other else first
    if len(made) > LONGEST_TEXT:
        raise _inexact()
    return made


def scaled_value(value: str | float, factor: Fraction) -> str:
    """The figure of an amount given as a figure and a unit, multiplied, as text."""
    return _figure(Fraction(*figure_ratio(_exact(value))) * factor)


def parts_in(text: str) -> Fraction:
    """How many parts an amount is; 0 where it is in another measure."""
    written = written_figures(text)
    if len(written) != 1 or written[0].word not in PART_WORDS:
        return Fraction(0)
    return Fraction(written[0].numerator, written[0].denominator)


def parts_of_value(value: str | float) -> Fraction:
    """The figure of an amount given as a figure and a unit."""
    return Fraction(*figure_ratio(_exact(value)))


def _exact(value: str | float) -> str | Decimal:
    """A JSON number as the shortest decimal that reads as it."""
    return value if isinstance(value, str) else Decimal(format(Decimal(repr(value)), "f"))


def _figure(figure: Fraction) -> str:
    """A figure as a decimal where it is one, else as a fraction."""
    numerator, denominator = figure.numerator, figure.denominator
    scale = 10**_PLACES
    if scale % denominator == 0 and numerator < 10**_WHOLE_DIGITS * denominator:
        whole, rest = divmod(numerator * (scale // denominator), scale)
        return f"{whole}.{rest:0{_PLACES}d}".rstrip("0").rstrip(".") if rest else str(whole)
    if denominator < _BELOW and numerator < 10**_WHOLE_DIGITS:
        return f"{numerator}/{denominator}"
    raise _inexact()


def _inexact() -> InputFault:
    detail = (
        "The scaled amount cannot be written with 20 digits before the point and 12 after it; use a factor of fewer "
        "digits, or replace the amount."
    )
    return InputFault(INEXACT, detail)
