"""Exact money: roundings by hand, minor units of ISO 4217, exchange that is neither inverted nor chained."""

from datetime import date
from decimal import Decimal, FloatOperation
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.errors import InputFault
from service.money import (
    EXACT,
    Rate,
    converted,
    half_up,
    minor_unit_digits,
    minor_unit_up,
    money_text,
    rate_between,
    snapped,
)
from tests import money_oracle as oracle
from tests.offered import DAY, GATE

pytestmark = pytest.mark.usefixtures("floats_are_refused")

# Exchange.

RATES = (
    Rate("USD", "EUR", Decimal("0.80")),
    Rate("USD", "EUR", Decimal("0.90"), date(2026, 1, 1)),
    Rate("USD", "EUR", Decimal("0.91"), date(2026, 11, 25)),
    Rate("USD", "EUR", Decimal("0.99"), date(2026, 11, 26)),
    Rate("EUR", "GBP", Decimal("0.85"), date(2026, 1, 1)),
)


@pytest.mark.parametrize(
    "day, rate",
    [(date(2026, 11, 26), "0.99"), (DAY, "0.91"), (date(2026, 11, 24), "0.90"), (date(2025, 1, 1), "0.80")],
)
def test_the_latest_rate_not_after_the_day(day: date, rate: str) -> None:
    assert rate_between("USD", "EUR", RATES, day) == Decimal(rate)
    assert rate_between("USD", "EUR", RATES[::-1], day) == Decimal(rate)
    assert converted(Decimal(10), "USD", "EUR", RATES, day) == 10 * Decimal(rate)


@pytest.mark.parametrize("from_, to", [("GBP", "EUR"), ("USD", "GBP"), ("EUR", "USD")])
def test_a_rate_is_neither_inverted_nor_chained(from_: str, to: str) -> None:
    with pytest.raises(InputFault) as fault:
        converted(Decimal(1), from_, to, RATES, DAY)
    assert fault.value.code == "rate_missing"
    assert from_ in fault.value.detail and to in fault.value.detail


def test_a_rate_of_the_future_does_not_count_and_one_currency_needs_none() -> None:
    with pytest.raises(InputFault):
        rate_between("EUR", "GBP", RATES, date(2025, 12, 31))
    assert converted(Decimal("1.1"), "CHF", "CHF", (), DAY) == Decimal("1.1")


# Rounding. Ties go away from zero, as cash registers and the laws on change have it (common practice, no source).


@pytest.mark.parametrize(
    ("amount", "places", "text"),
    [
        ("2.345", 2, "2.35"),
        ("2.335", 2, "2.34"),
        ("-2.345", 2, "-2.35"),
        ("2.3449999999", 2, "2.34"),
        ("0.5", 0, "1"),
        ("1.5", 0, "2"),
        ("2.5", 0, "3"),
        ("-0.001", 2, "0.00"),
        ("999.995", 2, "1000.00"),
        ("1e-30", 9, "0.000000000"),
    ],
)
def test_halves_go_up_and_zero_has_no_sign(amount: str, places: int, text: str) -> None:
    assert format(half_up(Decimal(amount), places), "f") == text


def test_what_the_sums_leave_behind_is_taken_away() -> None:
    # A third three times is 0.999... to 60 digits, and a tie that a division made lies below itself: 2.335 / 17 x 17.
    third = EXACT.divide(Decimal(1), Decimal(3))
    assert EXACT.multiply(third, Decimal(3)) != 1
    assert snapped(EXACT.multiply(third, Decimal(3))) == 1
    tie = EXACT.multiply(EXACT.divide(Decimal("2.335"), Decimal(17)), Decimal(17))
    assert tie < Decimal("2.335")
    assert half_up(tie, 2) == Decimal("2.34")


@GATE
@given(st.integers(-(10**12), 10**12), st.integers(1, 10**6), st.integers(0, 9))
def test_h11_a_rounded_sum_is_the_exact_fraction_half_up(numerator: int, denominator: int, places: int) -> None:
    amount = EXACT.divide(Decimal(numerator), Decimal(denominator))
    exact = oracle.half_up_text(Fraction(numerator, denominator), places)
    assert half_up(amount, places) == Decimal(exact)
    assert not half_up(amount, places).is_signed() or half_up(amount, places) < 0


def test_a_float_never_becomes_money() -> None:
    with pytest.raises(FloatOperation):
        EXACT.create_decimal(0.1)


# Minor units: ISO 4217 list one, from memory; the service reads them from the Unicode CLDR.


@pytest.mark.parametrize(
    ("currency", "digits"), [("EUR", 2), ("USD", 2), ("GBP", 2), ("JPY", 0), ("KRW", 0), ("KWD", 3), ("TND", 3)]
)
def test_minor_units(currency: str, digits: int) -> None:
    assert minor_unit_digits(currency) == digits


@pytest.mark.parametrize("currency", ["XXX", "XTS", "QQQ", "eur", ""])
def test_what_is_no_currency_is_refused(currency: str) -> None:
    with pytest.raises(InputFault) as fault:
        minor_unit_digits(currency)
    assert fault.value.code == "currency_unknown"


@pytest.mark.parametrize(
    ("amount", "currency", "text"),
    [("2.159289", "EUR", "2.16"), ("215.5", "JPY", "216"), ("2", "KWD", "2.000"), ("1E+3", "EUR", "1000.00")],
)
def test_sums_as_text_have_no_exponent_and_no_separator(amount: str, currency: str, text: str) -> None:
    assert money_text(Decimal(amount), currency) == text


@pytest.mark.parametrize(
    ("amount", "currency", "up"),
    # A floor is met, never nearly met: 26.25 units at 0.65 are 17.0625.
    [("17.0625", "GBP", "17.07"), ("17.06", "GBP", "17.06"), ("0", "EUR", "0.00"), ("100.01", "JPY", "101")],
)
def test_a_legal_floor_is_never_rounded_down(amount: str, currency: str, up: str) -> None:
    assert format(minor_unit_up(Decimal(amount), currency), "f") == up


def test_of_two_rates_of_one_day_the_first_counts() -> None:
    twice = [Rate("USD", "EUR", Decimal("0.9"), DAY), Rate("USD", "EUR", Decimal("0.8"), DAY)]
    assert rate_between("USD", "EUR", twice, DAY) == Decimal("0.9")
