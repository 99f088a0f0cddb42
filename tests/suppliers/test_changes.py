"""Changes of prices and which of them must be confirmed. Every expected figure is arithmetic beside its case."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.errors import InputFault
from service.suppliers.changes import Terms, change_between, same_currency

LIMIT = Decimal(25)
RATES = (Decimal(21), Decimal(9))


def found(old: str, new: str, count: int = 6, limit: Decimal = LIMIT) -> list[str]:
    """Doubts of a change of price of the same pack."""
    change = change_between(Terms(count, "70 cl", Decimal(old)), Terms(count, "70 cl", Decimal(new)), RATES, limit)
    return [doubt.code for doubt in change.doubts]


@pytest.mark.parametrize(
    ("new", "outcome", "percent"),
    # 120 to 126 is 6/120 = 5 %; to 119 is -1/120 = -0.8333 %; to 120.01 is 0.01/120 = 0.00833 %.
    [("126", "up", "5.00"), ("119", "down", "-0.83"), ("120.00", "unchanged", "0.00"), ("120.01", "up", "0.01")],
)
def test_outcome_and_percent(new: str, outcome: str, percent: str) -> None:
    change = change_between(Terms(6, "70 cl", Decimal(120)), Terms(6, "70 cl", Decimal(new)), RATES, LIMIT)
    assert (change.outcome, str(change.percent), change.doubts) == (outcome, percent, ())
    assert change.differs == (outcome != "unchanged")


@pytest.mark.parametrize(
    ("old", "new", "count", "suspicious"),
    [
        ("120", "20", 6, True),  # the bottle instead of the case: 1/6
        ("20", "120", 6, True),  # and back: 6
        ("100", "612", 6, True),  # 6.12 is 2 % over 6, the end itself
        ("100", "612.01", 6, False),
        ("100", "588", 6, True),  # 5.88 is 2 % under 6
        ("100", "587.99", 6, False),
        ("100", "17", 6, True),  # 0.17 times 6 is 1.02
        ("100", "17.01", 6, False),
        ("100", "105", 1, False),  # a pack of one has no count to mix up
    ],
)
def test_near_a_pack_count_or_its_inverse(old: str, new: str, count: int, suspicious: bool) -> None:
    assert ("near_pack_count" in found(old, new, count)) is suspicious


@pytest.mark.parametrize(
    ("old", "new", "suspicious"),
    [
        ("100", "121", True),  # 21 % taken in
        ("121", "100", True),  # and out
        ("100", "109", True),  # 9 %
        ("100", "121.605", True),  # 1.21 times 1.005
        ("100", "121.606", False),
        ("100", "120.395", True),  # 1.21 times 0.995
        ("100", "120.394", False),
        ("100", "115", False),
    ],
)
def test_near_a_tax_factor_or_its_inverse(old: str, new: str, suspicious: bool) -> None:
    assert ("near_tax" in found(old, new)) is suspicious


def test_a_tax_that_no_one_named_is_not_looked_for() -> None:
    change = change_between(Terms(1, "1 l", Decimal(100)), Terms(1, "1 l", Decimal(121)), (), LIMIT)
    assert change.doubts == ()


def test_a_rate_of_one_percent_or_less_is_no_sign_of_tax() -> None:
    change = change_between(Terms(1, "1 l", Decimal(100)), Terms(1, "1 l", Decimal("100.30")), (Decimal(1),), LIMIT)
    assert change.doubts == ()


@pytest.mark.parametrize(
    ("old", "new", "suspicious"),
    # 750/700 is 1.0714285..., times 1.005 is 1.0767857..., times 0.995 is 1.0660714...; 700/750 is 0.9333...
    [("70", "75", True), ("75", "70", True), ("1000", "1076.78", True), ("1000", "1076.79", False),
     ("1000", "1066.08", True), ("1000", "1066.07", False)],
)  # fmt: skip
def test_near_the_two_sizes_of_bottles(old: str, new: str, suspicious: bool) -> None:
    assert ("near_bottle_size" in found(old, new)) is suspicious


@pytest.mark.parametrize(
    ("old", "new", "over"),
    [
        ("100", "125", False),
        ("100", "125.01", True),
        ("100", "75", False),
        ("100", "74.99", True),
        ("100", "300", True),
    ],
)
def test_over_the_limit(old: str, new: str, over: bool) -> None:
    assert ("over_limit" in found(old, new)) is over


def test_a_pack_that_changed_is_compared_by_its_base_unit_and_confirmed() -> None:
    # 120 for 6 x 0.7 l is 28.571 a litre; 120 for 6 x 0.75 l is 26.667: down by 1/15 = 6.67 %.
    change = change_between(Terms(6, "70 cl", Decimal(120)), Terms(6, "75 cl", Decimal(120)), (), LIMIT)
    assert (change.outcome, str(change.percent)) == ("down", "-6.67")
    assert [doubt.code for doubt in change.doubts] == ["pack_changed", "near_bottle_size"]
    # 120 for 6 and 20 for 1 are the same price of a bottle, yet the price of the pack is a sixth.
    change = change_between(Terms(6, "70 cl", Decimal(120)), Terms(1, "700 ml", Decimal(20)), (), LIMIT)
    assert (change.outcome, str(change.percent), change.differs) == ("unchanged", "0.00", True)
    assert [doubt.code for doubt in change.doubts] == ["pack_changed", "near_pack_count", "over_limit"]


def test_a_measure_that_changed_is_compared_by_the_pack() -> None:
    change = change_between(Terms(1, "1 kg", Decimal(10)), Terms(54, "1 each", Decimal(11)), (), LIMIT)
    assert (change.outcome, str(change.percent)) == ("up", "10.00")
    assert [doubt.code for doubt in change.doubts] == ["pack_changed", "measure_changed"]


def test_the_same_size_in_other_words_is_no_change() -> None:
    change = change_between(Terms(6, "700 ml", Decimal(120)), Terms(6, "0.7 l", Decimal("120.00")), (), LIMIT)
    assert (change.outcome, change.doubts, change.differs) == ("unchanged", (), False)


def test_tax_taken_in_is_compared_without_it_and_confirmed() -> None:
    # 121 with 21 % is 100 without.
    change = change_between(Terms(1, "1 l", Decimal(100)), Terms(1, "1 l", Decimal(121), Decimal(21)), RATES, LIMIT)
    assert (change.outcome, str(change.percent), change.differs) == ("unchanged", "0.00", True)
    assert [doubt.code for doubt in change.doubts] == ["tax_changed", "near_tax"]


def test_prices_of_nothing() -> None:
    to_zero = change_between(Terms(6, "70 cl", Decimal(120)), Terms(6, "70 cl", Decimal(0)), RATES, LIMIT)
    assert (to_zero.outcome, str(to_zero.percent)) == ("down", "-100.00")
    assert [doubt.code for doubt in to_zero.doubts] == ["price_zero"]
    from_zero = change_between(Terms(6, "70 cl", Decimal(0)), Terms(6, "70 cl", Decimal(120)), RATES, LIMIT)
    assert (from_zero.outcome, from_zero.percent) == ("up", None)
    assert [doubt.code for doubt in from_zero.doubts] == ["price_from_zero"]


def test_a_change_of_currency_is_refused() -> None:
    same_currency("EUR", "EUR")
    with pytest.raises(InputFault, match="currency_changed"):
        same_currency("GBP", "EUR")


prices = st.decimals(min_value="0.01", max_value=10**6, places=2)


@given(prices, prices, st.integers(1, 100), st.sampled_from(["70 cl", "1 kg", "1 us gallon"]))
def test_doubts_are_those_of_exact_fractions(old: Decimal, new: Decimal, count: int, size: str) -> None:
    change = change_between(Terms(count, size, old), Terms(count, size, new), RATES, LIMIT)
    ratio = Fraction(new) / Fraction(old)

    def near(factor: Fraction, percent: Fraction) -> bool:
        return any(abs(one / aim - 1) <= percent / 100 for one, aim in ((ratio, factor), (ratio, 1 / factor)))

    expected = set()
    if count > 1 and near(Fraction(count), Fraction(2)):
        expected.add("near_pack_count")
    if near(Fraction(121, 100), Fraction(1, 2)) or near(Fraction(109, 100), Fraction(1, 2)):
        expected.add("near_tax")
    if near(Fraction(750, 700), Fraction(1, 2)):
        expected.add("near_bottle_size")
    if abs(ratio - 1) > Fraction(1, 4):
        expected.add("over_limit")
    if old == new:
        expected = set()
    assert {doubt.code for doubt in change.doubts} == expected
