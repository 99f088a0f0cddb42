"""Stock valued four ways, rebates by tier, two ways side by side."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.errors import InputFault
from service.margins.valuation import METHODS, Purchase, Side, Stock, Tier, rebate, side_by_side, value
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
