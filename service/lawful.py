"""Lawful rounding: half up to 9 significant digits, which takes the noise off a float, then half up to the legal place.

A figure goes through a rounding table of :mod:`service.rulekinds`; ``None`` never comes here.
"""

import functools
import math
from collections.abc import Callable, Sequence
from decimal import ROUND_HALF_UP, Context, Decimal

from msgspec import Struct

from service.ruleentry import Band

NINE = Context(prec=9, rounding=ROUND_HALF_UP)
WIDE = Context(prec=40, rounding=ROUND_HALF_UP)
_ZERO = Decimal(0)
_ONE = Decimal(1)


class Rounded(Struct, frozen=True):
    """``value`` is ``None`` where the table shows words (less than 1 g) and where the figure is unknown."""

    value: Decimal | None
    text: str


@functools.lru_cache(maxsize=64)
def lawful_decimal(figure: float) -> Decimal:
    """The figure rounded half up to 9 significant digits. One answer asks for the same few many times.

    >>> lawful_decimal(1.6500000000000001), lawful_decimal(0.1 + 0.2)
    (Decimal('1.65'), Decimal('0.3'))
    """
    if not math.isfinite(figure):
        raise ValueError("a lawful figure has to be finite")
    # Adding 0.0 makes a negative zero a plain one, which is the same key.
    return nine_digits(Decimal(repr(float(figure) + 0.0)))


def nine_digits(figure: Decimal) -> Decimal:
    """The figure half up to 9 significant digits, without trailing zeros."""
    return plain(NINE.normalize(figure))


def plain(value: Decimal) -> Decimal:
    """The value without trailing zeros behind the point, and without an exponent before it."""
    bare = value.normalize()
    # A bare value is written with E+ exactly where its exponent is over 0; taking its digits apart takes far longer.
    return bare.quantize(_ONE) if "E+" in str(bare) else bare


def stands(figure: Decimal, comparator: str, limit: Decimal) -> bool:
    """Whether ``figure comparator limit`` is true."""
    if comparator == "<":
        return figure < limit
    if comparator == "<=":
        return figure <= limit
    if comparator == ">":
        return figure > limit
    return figure >= limit


def nearest_multiple(figure: Decimal, step: Decimal) -> Decimal:
    """The nearest multiple of ``step``, half up, with the decimals of the step.

    >>> nearest_multiple(Decimal("3.25"), Decimal("0.1")), nearest_multiple(Decimal("52"), Decimal("10"))
    (Decimal('3.3'), Decimal('50'))
    """
    multiples = WIDE.divide(figure, step).quantize(_ONE, rounding=ROUND_HALF_UP)
    return multiples * step


def rounded(figure: float | Decimal, bands: Sequence[Band], unit: str = "", less_than: str = "") -> Rounded:
    """The figure by a rounding table; one that rounds into the next band is rounded by that band."""
    if type(figure) is float:
        quick = _multiple_by_float(figure, bands)
        if quick is not None:
            return Rounded(quick[0], f"{quick[1]} {unit}" if unit else quick[1])
    exact = NINE.plus(figure if isinstance(figure, Decimal) else Decimal(repr(figure)))
    if not exact.is_finite() or exact < 0:
        raise ValueError("a lawful figure has to be finite and zero or more")
    suffix = f" {unit}" if unit else ""
    value = None
    for band in bands:
        if (band.lt is not None and exact >= band.lt) or (band.le is not None and exact > band.le):
            continue
        if band.zero or not exact:
            return Rounded(_ZERO, f"0{suffix}")
        if band.less_than is not None:
            pattern = less_than or "less than {n} {unit}"
            return Rounded(None, pattern.format(n=band.less_than, unit=unit).strip())
        value = _in_band(exact, band)
        if band.holds(value):
            break
    if value is None:
        raise ValueError("the rounding table has no band for the figure")
    return Rounded(value, f"{value:f}{suffix}")


def _multiple_by_float(figure: float, bands: Sequence[Band]) -> tuple[Decimal, str] | None:
    """The rounded figure and its text where floats alone leave no doubt; ``None``: decimals have to decide.

    There is doubt near a tie, near the end of a band, and in every band but one with a step. The distance asked for
    is twenty times what 9 significant digits can move, so the answer is the same as that of the decimals.
    """
    for band in bands:
        end = band.end
        if figure >= end * 0.9999999:
            if figure <= end * 1.0000001:
                return None
            continue
        if band.step is None or not figure > 0.0:
            return None
        steps = figure / band.step_float + 0.5
        count = int(steps)
        doubt = 1e-7 * (1.0 + steps)
        if not doubt < steps - count < 1.0 - doubt or count * band.step_float >= end * 0.9999999:
            return None
        # Kept by the step as a float, since hashing a decimal takes longer than the rest of this function.
        place = (band.step_float, band.quantum is not None, count)
        known = _multiples.get(place)
        if known is None:
            if len(_multiples) > 16_384:
                _multiples.clear()
            known = _multiples[place] = _multiple(band.step, band.quantum is not None, count)
        return known
    return None


_multiples: dict[tuple[float, bool, int], tuple[Decimal, str]] = {}


def _multiple(step: Decimal, keeps_decimals: bool, count: int) -> tuple[Decimal, str]:
    value = step.normalize() * count if keeps_decimals else plain(step * count)
    return value, f"{value:f}"


def _in_band(exact: Decimal, band: Band) -> Decimal:
    if band.quantum is not None:
        return exact.quantize(band.quantum, rounding=ROUND_HALF_UP)
    if band.step is not None:
        # A step of 0.1 keeps its decimal (2.0). That of a step of 0.5 is not a precision: 2.0 is shown as 2.
        return plain(nearest_multiple(exact, band.step))
    assert band.figures is not None
    return plain(nearest_multiple(exact, _ONE.scaleb(exact.adjusted() - band.figures + 1)))


_THREE = Context(prec=3, rounding=ROUND_HALF_UP)
_LEAST = Decimal("0.000000001")


def judged(figure: Decimal, comparator: str, limit: Decimal) -> Decimal:
    """A figure as it is shown beside a judgement: three significant digits, in full where those are judged otherwise.

    >>> judged(Decimal("14.9999"), ">=", Decimal(15)), judged(Decimal("39.123"), ">=", Decimal(15))
    (Decimal('14.9999'), Decimal('39.1'))
    """
    short = plain(_THREE.plus(figure))
    same = short != limit and stands(short, comparator, limit) == stands(figure, comparator, limit)
    return short if same else figure


def readable(figure: Decimal, number: Callable[[str], str] = str) -> str:
    """A figure in digits, which ``number`` writes; one under a billionth as that, since nobody reads its digits.

    >>> readable(Decimal("20.01")), readable(Decimal("1E-300"))
    ('20.01', '<0.000000001')
    """
    return f"<{number(f'{_LEAST:f}')}" if 0 < figure < _LEAST else number(f"{figure:f}")
