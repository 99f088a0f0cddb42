"""Exact money: the decimal context, half-up rounding, minor units, exchange rates.

Everything here is :class:`decimal.Decimal`. Sums are carried with 60 significant digits; before a figure is rounded it
is snapped to 40 decimals, so that what is shown is the exact fraction half up, unless that fraction lies within 1e-40
of a tie.
"""

from collections.abc import Iterable
from datetime import date
from decimal import (
    ROUND_HALF_EVEN,
    ROUND_HALF_UP,
    ROUND_UP,
    Context,
    Decimal,
    DivisionByZero,
    FloatOperation,
    InvalidOperation,
    Overflow,
)
from functools import cache

from babel.core import get_global
from msgspec import Struct

from service.errors import InputFault

EXACT = Context(prec=60, rounding=ROUND_HALF_EVEN, traps=[InvalidOperation, DivisionByZero, Overflow, FloatOperation])
"""The context of every sum of money; a float that strays into it raises."""

_WIDE = Context(prec=400, rounding=ROUND_HALF_EVEN, traps=[InvalidOperation, FloatOperation])
"""Wide enough that quantising itself never runs out of digits."""

ZERO = Decimal(0)
ONE = Decimal(1)
HUNDRED = Decimal(100)

_QUANTA = tuple(Decimal((0, (1,), -places)) for places in range(41))
_SNAP = _QUANTA[40]

_NO_CURRENCY = frozenset({"XXX", "XTS"})
"""ISO 4217 codes that stand for no currency and for tests."""


class Rate(Struct, frozen=True):
    """One unit of ``from_`` is ``rate`` units of ``to``, from the day ``as_of`` on (``None``: since ever)."""

    from_: str
    to: str
    rate: Decimal
    as_of: date | None = None


def snapped(amount: Decimal) -> Decimal:
    """``amount`` to 40 decimals, which takes away what the 60 digits of the sums leave behind.

    >>> snapped(EXACT.multiply(EXACT.divide(Decimal(1), Decimal(3)), Decimal(3))) == 1
    True
    """
    return amount.quantize(_SNAP, None, _WIDE)


def half_up(amount: Decimal, places: int) -> Decimal:
    """``amount`` to ``places`` decimals, halves away from zero, never a negative zero.

    >>> half_up(Decimal("2.345"), 2), half_up(Decimal("-2.345"), 2), half_up(Decimal("-0.001"), 2)
    (Decimal('2.35'), Decimal('-2.35'), Decimal('0.00'))
    """
    rounded = amount.quantize(_SNAP, None, _WIDE).quantize(_QUANTA[places], ROUND_HALF_UP, _WIDE)
    return rounded if rounded else rounded.copy_abs()


def minor_unit_up(amount: Decimal, currency: str) -> Decimal:
    """``amount`` to the minor unit of ``currency``, never downwards: what a legal floor asks for.

    >>> minor_unit_up(Decimal("17.0625"), "GBP")
    Decimal('17.07')
    """
    return snapped(amount).quantize(_QUANTA[minor_unit_digits(currency)], rounding=ROUND_UP, context=_WIDE)


@cache
def _currency_data() -> tuple[frozenset[str], dict[str, int], int]:
    fractions = get_global("currency_fractions")
    known = frozenset(get_global("all_currencies")) - _NO_CURRENCY
    digits = {code: row[0] for code, row in fractions.items() if code != "DEFAULT"}
    return known, digits, fractions["DEFAULT"][0]


@cache
def minor_unit_digits(currency: str) -> int:
    """Decimals of the minor unit of an ISO 4217 currency, by the currency data of the Unicode CLDR.

    >>> [minor_unit_digits(code) for code in ("EUR", "JPY", "KWD")]
    [2, 0, 3]
    """
    known, digits, default = _currency_data()
    if currency not in known:
        raise InputFault("currency_unknown", "Expected an ISO 4217 currency code in capitals, such as EUR.")
    return digits.get(currency, default)


def money_text(amount: Decimal, currency: str) -> str:
    """``amount`` half up at the minor unit of ``currency``, as decimal text without exponent or separators.

    >>> money_text(Decimal("2.159289"), "EUR"), money_text(Decimal("215.9"), "JPY"), money_text(Decimal(2), "KWD")
    ('2.16', '216', '2.000')
    """
    return format(half_up(amount, minor_unit_digits(currency)), "f")


def rate_between(from_: str, to: str, rates: Iterable[Rate], day: date) -> Decimal:
    """The rate to multiply with: the latest one as of ``day`` or earlier, the first of equals.

    A rate is never inverted and never chained through a third currency; an undated rate counts as the oldest.
    """
    if from_ == to:
        return ONE
    best: Rate | None = None
    for rate in rates:
        if rate.from_ != from_ or rate.to != to or (rate.as_of is not None and rate.as_of > day):
            continue
        if best is None or (rate.as_of or date.min) > (best.as_of or date.min):
            best = rate
    if best is None:
        raise InputFault(
            "rate_missing",
            f"A rate from {from_} to {to}, as of the day of the calculation or earlier, is needed; "
            "rates are never inverted or chained.",
            "/pricing/rates",
        )
    return best.rate


def converted(amount: Decimal, from_: str, to: str, rates: Iterable[Rate], day: date) -> Decimal:
    """``amount`` of one currency in another, unrounded.

    >>> converted(Decimal("10"), "USD", "EUR", [Rate("USD", "EUR", Decimal("0.92"))], date(2026, 11, 25))
    Decimal('9.20')
    """
    if from_ == to:
        return amount
    return EXACT.multiply(amount, rate_between(from_, to, rates, day))
