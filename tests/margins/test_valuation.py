"""Stock valued four ways, rebates by tier, two ways side by side."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.errors import InputFault
from service.margins.valuation import METHODS, Purchase, Side, Stock, Tier, rebate, side_by_side, unit_cost, value
from service.money import half_up
from tests.margins.cases import of


def _stock(case: dict[str, Any]) -> Stock:
    purchases = tuple(
        Purchase(date.fromisoformat(day), Decimal(quantity), Decimal(sum_), Decimal(free))
        for day, quantity, sum_, free in case["purchases"]
    )
    tiers = tuple(Tier(Decimal(from_), Decimal(percent)) for from_, percent in case.get("tiers", ()))
    opening, worth = Decimal(case["opening"]), Decimal(case["opening_value"])
    return Stock("gin", opening, worth, purchases, Decimal(case["list_price"]), tiers)


@pytest.mark.parametrize("case", of("valuation"))
def test_a_stock_is_worth(case: dict[str, Any]) -> None:
    left = Decimal(case["left"])
    found = {method: value(_stock(case), left, method, case["at"]) for method in METHODS}
    shown = {method: half_up(worth, 6) for method, worth in found.items() if worth is not None}
    assert shown == {method: Decimal(worth) for method, worth in case["values"].items()}


@pytest.mark.parametrize(
    ("bought", "whole", "band"),
    [
        # 2 % from 1000, 4 % from 5000. By band: (5000 - 1000) x 2 % = 80, and 4 % of what is above. Arithmetic.
        ("999.99", "0", "0"), ("1000", "20", "0"), ("3000", "60", "40"), ("5000", "200", "80"), ("7000", "280", "160"),
        ("-100", "0", "0"),
    ],
)  # fmt: skip
def test_rebates_by_tier(bought: str, whole: str, band: str) -> None:
    tiers = (Tier(Decimal(5000), Decimal(4)), Tier(Decimal(1000), Decimal(2)))
    assert rebate(Decimal(bought), tiers, False) == Decimal(whole)
    assert rebate(Decimal(bought), tiers, True) == Decimal(band)


def test_a_discount_on_the_invoice_counts_at_invoice_and_net_a_rebate_at_net_alone() -> None:
    # 10 for 100.00 less 10.00: 9.00 each; 10 % of 90.00 back at the year's end: 8.10 each. Arithmetic.
    stock = Stock("gin", purchases=(Purchase(date(2026, 11, 1), Decimal(10), Decimal(100), discount=Decimal(10)),),
                  tiers=(Tier(Decimal(0), Decimal(10)),))  # fmt: skip
    assert value(stock, Decimal(1), "last_invoice", "invoice") == Decimal(9)
    assert value(stock, Decimal(1), "last_invoice", "net") == Decimal("8.1")


def test_two_ways_side_by_side_with_the_difference() -> None:
    stock = Stock("gin", Decimal(10), Decimal(100), list_price=Decimal(12))
    unknown = Stock("rum", list_price=Decimal(12))
    found = side_by_side([(stock, Decimal(4)), (unknown, Decimal(4))], Side("fifo"), Side("list"))
    rows = [[one.first, one.second, one.difference] for one in found]
    assert rows == [[Decimal(40), Decimal(48), Decimal(8)], [None, Decimal(48), None]]
    with pytest.raises(InputFault, match="valuations_same"):
        side_by_side([], Side("fifo"), Side("fifo"))


def _came(*rows: tuple[int, str, str]) -> Stock:
    purchases = [Purchase(date(2026, 11, day), Decimal(quantity), Decimal(sum_)) for day, quantity, sum_ in rows]
    return Stock("gin", purchases=tuple(purchases))


@pytest.mark.parametrize(
    ("stock", "used", "cost", "left", "worth"),
    [
        # 10 for 100, 5 of them back, 10 for 200: 5 at 10 and 3 at 20 are used, 7 at 20 are left.
        (_came((3, "10", "100"), (4, "-5", "-50"), (5, "10", "200")), "8", "110", "7", "140"),
        # 2 for 48 less 8 without goods: 20 each. The note may be written down before the delivery of its day.
        (_came((3, "0", "-8"), (3, "2", "48")), "1", "20", "1", "20"),
        # A whole delivery back, at less than was paid: the 10 of it are lost on the delivery before.
        (_came((2, "4", "40"), (3, "5", "60"), (4, "-5", "-50")), "1", "12.5", "3", "37.5"),
        # A note before anything came waits for the delivery.
        (_came((1, "-1", "-10"), (3, "5", "50")), "1", "10", "3", "30"),
        # Two deliveries of a day: the first one written is used first, and so what is left is the second.
        (_came((3, "1", "20"), (3, "1", "40")), "1", "20", "1", "40"),
    ],
)  # fmt: skip
def test_what_is_used_and_what_is_left_are_all_that_was_paid(
    stock: Stock, used: str, cost: str, left: str, worth: str
) -> None:
    """First in, first out with credit notes. Arithmetic."""
    each = unit_cost(stock, Decimal(used), "fifo")
    assert each is not None
    assert each * Decimal(used) == Decimal(cost)
    assert value(stock, Decimal(left), "fifo") == Decimal(worth)
    assert Decimal(cost) + Decimal(worth) == sum(one.paid for one in stock.purchases)


def test_notes_without_a_delivery_value_nothing() -> None:
    notes = _came((3, "-1", "-10"))
    assert (unit_cost(notes, Decimal(1), "fifo"), value(notes, Decimal(1), "fifo")) == (None, None)


lots = st.lists(
    st.builds(
        Purchase,
        st.dates(date(2026, 1, 1), date(2026, 12, 31)),
        st.integers(1, 500).map(Decimal),
        st.decimals(0, 5000, places=2, allow_nan=False),
        st.integers(0, 20).map(Decimal),
    ),
    min_size=1, max_size=8,
)  # fmt: skip


@given(lots, st.integers(0, 100), st.decimals(0, 900, places=2, allow_nan=False))
def test_all_that_came_in_is_worth_what_was_paid(purchases: list[Purchase], opening: int, opened: Decimal) -> None:
    stock = Stock("gin", Decimal(opening), opened if opening else Decimal(0), tuple(purchases))
    whole = stock.opening + sum(one.received for one in purchases)
    paid = stock.opening_value + sum(one.paid for one in purchases)
    for method in ("fifo", "weighted_average"):
        worth = value(stock, whole, method)
        assert worth is not None
        assert half_up(worth, 20) == paid
