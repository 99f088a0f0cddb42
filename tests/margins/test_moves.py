"""What supplier prices do to a drink, and the price at which it breaks even."""

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from service.choosing import Offer
from service.margins.moves import Change, Need, allowed_cost, changed, price_share, sensitivities
from service.money import EXACT, snapped
from service.pricing import Target
from tests.margins.cases import of

RUM = Offer("w-rum", "rum", "wharf", Decimal(6), Decimal(700), "ml", Decimal(144), "EUR")
GIN = Offer("w-gin", "gin", "wharf", Decimal(1), Decimal(700), "ml", Decimal(20), "EUR")
LIME = Offer("l-lime", "lime", "lane", Decimal(54), Decimal(1), "each", Decimal(12), "EUR")


@pytest.mark.parametrize("case", of("break_even"))
def test_break_even(case: dict[str, Any]) -> None:
    allowed, by = allowed_cost(Decimal(case["net"]), Target(Decimal(case["margin"])))
    assert (allowed, by) == (Decimal(case["allowed"]), "gross_margin_percent")
    need = Need("rum", "o", Decimal(case["part"]), Decimal(case["part"]))
    (found,) = sensitivities([need], {"o": Decimal(case["price"])}, Decimal(case["cost"]), allowed)
    assert found.breaks_even_at == Decimal(case["breaks_even_at"])
    assert found.per_percent == Decimal(case["per_percent"])


def test_no_price_of_one_item_alone_saves_a_drink_that_is_too_dear() -> None:
    need = Need("rum", "o", Decimal(1), Decimal(1))
    (found,) = sensitivities([need], {"o": Decimal(24)}, Decimal(5), Decimal(2))
    assert found.breaks_even_at is None
    (free,) = sensitivities([Need("ice", "i", Decimal(0), Decimal(0))], {"i": Decimal(0)}, Decimal(5), Decimal(9))
    assert free.breaks_even_at is None


@pytest.mark.parametrize(
    ("changes", "prices"),
    [
        # 144 x 1.12 = 161.28; 20 x 0.95 = 19.00; 144 x 1.1 x 1.1 = 174.24. Arithmetic.
        ([Change(Decimal(12), item="rum")], {"w-rum": "161.28"}),
        ([Change(Decimal(-5), kind="spirit", item="gin")], {"w-gin": "19.00"}),
        ([Change(Decimal(10), supplier="wharf"), Change(Decimal(10), item="rum")], {"w-rum": "174.24", "w-gin": "22"}),
        ([Change(Decimal(10), kind="fruit")], {"l-lime": "13.2"}),
        ([Change(Decimal(0))], {}),
    ],
)
def test_a_percentage_by_item_kind_or_supplier(changes: list[Change], prices: dict[str, str]) -> None:
    kinds = {"rum": "spirit", "gin": "spirit", "lime": "fruit"}
    found = changed([RUM, GIN, LIME], {}, changes, kinds)
    assert {offer_id: offer.price for offer_id, offer in found.items()} == {
        offer_id: Decimal(price) for offer_id, price in prices.items()
    }


def test_a_stated_price_stands_before_any_percentage() -> None:
    found = changed([RUM, GIN], {"w-rum": Decimal(150)}, [Change(Decimal(50))], {})
    assert {key: one.price for key, one in found.items()} == {"w-rum": Decimal(150), "w-gin": Decimal(30)}


def test_the_share_of_a_pack_that_scales_with_its_price() -> None:
    # 100 less 10 % = 90; with 15 delivery, 5 rebate, 20 duty the pack is 120: 90 / 120 = 0.75. Arithmetic.
    more: dict[str, Any] = {
        "discount_percent": Decimal(10),
        "delivery": Decimal(15),
        "rebate": Decimal(5),
        "duty_amount": Decimal(20),
    }
    assert price_share(replace(RUM, price=Decimal(100), **more)) == Decimal("0.75")
    assert price_share(RUM) == 1
    assert price_share(replace(RUM, price=Decimal(0))) == 0


cents = st.decimals("0.01", "50", places=2, allow_nan=False)


@given(st.lists(st.tuples(cents, st.integers(1, 100)), min_size=1, max_size=6), cents, st.integers(1, 95))
def test_at_its_break_even_price_the_drink_just_meets_its_target(
    rows: list[tuple[Decimal, int]], net: Decimal, margin: int
) -> None:
    needs = [
        Need(f"i{at}", f"o{at}", cost, EXACT.divide(EXACT.multiply(cost, Decimal(share)), Decimal(100)))
        for at, (cost, share) in enumerate(rows)
    ]
    cost = sum((need.cost for need in needs), Decimal(0))
    target = Target(Decimal(margin))
    allowed, _ = allowed_cost(net, target)
    prices = {need.offer: Decimal(40) for need in needs}
    parts = {need.offer: need.price_part for need in needs}
    for row in sensitivities(needs, prices, cost, allowed):
        if row.breaks_even_at is None:
            assert allowed < EXACT.subtract(cost, parts[row.offer])
            continue
        factor = EXACT.subtract(EXACT.divide(row.breaks_even_at, row.price), Decimal(1))
        new = EXACT.add(cost, EXACT.multiply(parts[row.offer], factor))
        assert snapped(target.net_price(new)[0]) == snapped(net)
