"""Any written amount: read within the limits or refused without an echo, exact, and alike as text and as a pair."""

import doctest
import time
from decimal import Context, Decimal, localcontext
from fractions import Fraction

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

import service.amounts
from service.amounts import read_pair, shown
from service.errors import InputFault
from service.units import EXACT, TABLE
from tests.test_amounts import PIECES, US, read


@given(st.text(max_size=80))
@example("1 \N{RIGHT-TO-LEFT OVERRIDE}ml")
def test_any_text_is_read_or_refused_without_an_echo(text: str) -> None:
    marked = text + "qzxj"
    assume("qzxj" not in text)
    with pytest.raises(InputFault) as caught:
        read(marked)
    assert "qzxj" not in caught.value.detail.lower()
    assert caught.value.code in {
        "amount_unreadable", "amount_too_long", "unit_unknown", "unit_ambiguous", "decimal_comma",
        "amount_not_positive",
    }  # fmt: skip


@given(st.text(alphabet="0123456789./ ½¼⅓mlozgcdashft()-,eE_", max_size=24))
def test_what_is_read_lies_within_the_limits(text: str) -> None:
    try:
        amount = read(text)
    except InputFault:
        return
    if amount.dimension != "fill":
        assert 0 < amount.quantity <= 100_000


UNIT_NAMES = st.sampled_from(sorted(TABLE.units))
FRACTIONS = st.fractions(min_value=Fraction(1, 999), max_value=20, max_denominator=999)


def expected_quantity(figure: Fraction, word: str) -> Decimal:
    unit = TABLE.explicit[word]
    exact = figure * Fraction(unit.numerator, unit.denominator)
    return EXACT.divide(Decimal(exact.numerator), Decimal(exact.denominator))


@given(UNIT_NAMES, FRACTIONS)
def test_a_fraction_reads_as_its_exact_product(name: str, figure: Fraction) -> None:
    word = TABLE.units[name].name
    expected = expected_quantity(figure, word)
    assert read(f"{figure.numerator}/{figure.denominator} {word}").quantity == expected
    whole, rest = divmod(figure, 1)
    if whole and rest:
        assert read(f"{whole} {rest.numerator}/{rest.denominator} {word}").quantity == expected


@given(UNIT_NAMES, UNIT_NAMES, FRACTIONS)
def test_from_one_unit_to_another_and_back(first: str, second: str, figure: Fraction) -> None:
    one, other = TABLE.units[first], TABLE.units[second]
    assume(one.dimension == other.dimension)
    there = figure * Fraction(one.numerator, one.denominator) / Fraction(other.numerator, other.denominator)
    assume(there.numerator < 10**6 and there.denominator < 10**6)
    again = read(f"{there.numerator}/{there.denominator} {other.name}").quantity
    assert again == read(f"{figure.numerator}/{figure.denominator} {one.name}").quantity


@given(st.decimals(min_value="0.001", max_value=1000, places=6), UNIT_NAMES)
def test_text_and_pair_read_alike(value: Decimal, name: str) -> None:
    word = TABLE.units[name].name
    assume(value * TABLE.units[name].factor <= 100_000)
    from_text = read(f"{value:f} {word}")
    for given_value in (value, format(value, "f")):
        assert read_pair(given_value, word, US, by_mass=False, pieces=()) == from_text


def test_ambient_decimal_context_changes_nothing() -> None:
    expected = read("2/3 us tsp")
    service.amounts._amount.cache_clear()
    with localcontext(Context(prec=3)):
        assert read("2/3 us tsp") == expected


def test_documentation_examples() -> None:
    outcome = doctest.testmod(service.amounts)
    assert outcome.attempted >= 3
    assert outcome.failed == 0


@pytest.mark.parametrize(
    ("value", "unit", "quantity"),
    [
        ("2", "dash", "1.6"),
        (2, "dashes", "1.6"),
        (Decimal("0.75"), "fl. oz.", "22.180147171875"),
        ("3/4", "oz", "22.180147171875"),
        ("1 1/2", "metric oz", "45"),
        ("½", "each", "0.5"),
        (Decimal("1E+2"), "ml", "100"),
        (3, "leaves", "3"),
        (2, "parts", "2"),
    ],
)
def test_pair(value: str | int | Decimal, unit: str, quantity: str) -> None:
    assert read_pair(value, unit, US, by_mass=False, pieces=PIECES).quantity == Decimal(quantity)


@pytest.mark.parametrize(
    ("value", "unit", "code", "pointer"),
    [
        ("0", "ml", "amount_not_positive", "/value"),
        (0, "ml", "amount_not_positive", "/value"),
        (-1, "ml", "amount_not_positive", "/value"),
        ("-1", "ml", "amount_not_positive", "/value"),
        ("1e3", "ml", "amount_unreadable", "/value"),
        ("1_000", "ml", "amount_unreadable", "/value"),
        ("٣", "ml", "amount_unreadable", "/value"),
        ("1,5", "ml", "decimal_comma", "/value"),
        ("2 ml", "ml", "amount_unreadable", "/value"),
        ("", "ml", "amount_unreadable", "/value"),
        (True, "ml", "amount_unreadable", "/value"),
        (Decimal("NaN"), "ml", "amount_unreadable", "/value"),
        (Decimal("sNaN"), "ml", "amount_unreadable", "/value"),
        (Decimal("Infinity"), "ml", "amount_unreadable", "/value"),
        (Decimal("1E+999999"), "ml", "amount_too_large", "/value"),
        (Decimal("1E-999999"), "ml", "amount_unreadable", "/value"),
        (10**400, "ml", "amount_too_large", "/value"),
        (101, "l", "amount_too_large", "/value"),
        (1, "", "unit_unknown", "/unit"),
        (1, "ml\0", "unit_unknown", "/unit"),
        (1, "ml (1 oz)", "unit_unknown", "/unit"),
        (1, "fill", "unit_unknown", "/unit"),
        (1, "shot", "unit_ambiguous", "/unit"),
        (1, "Mg", "unit_ambiguous", "/unit"),
    ],
)
def test_pair_fault_points_to_its_member(value: str | int | Decimal, unit: str, code: str, pointer: str) -> None:
    started = time.perf_counter()
    with pytest.raises(InputFault) as caught:
        read_pair(value, unit, US, by_mass=False, pieces=())
    assert (caught.value.code, caught.value.pointer) == (code, pointer)
    assert time.perf_counter() - started < 0.05


def test_shown() -> None:
    # Half up at the fourth significant digit; digits before the point are never dropped.
    assert shown(Decimal("29.5735295625")) == "29.57"
    assert shown(Decimal("2.0005000")) == "2.001"
    assert shown(Decimal("12345.6789")) == "12346"
    assert shown(Decimal("0.061611519921875")) == "0.06161"
    assert shown(Decimal(100000)) == "100000"
    assert shown(Decimal("1.500")) == "1.5"
