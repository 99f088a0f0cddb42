"""Offers of the request as costs want them: sizes by hand, GTINs by the GS1 rule, faults at their place."""

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from schemas.offer import Offer as Written
from service.amounts import Measures
from service.choosing import Offer
from service.errors import InputFault
from service.offers import has_check_digit, offers_by_item


def written(offer_id: str = "q1", **facts: Any) -> Written:
    body = {
        "id": offer_id, "item": "rum", "supplier": "Example Quay Supply", "pack": {"count": 6, "size": "700 ml"},
        "price": {"amount": "141.00", "currency": "EUR"},
    }  # fmt: skip
    return Written.model_validate({**body, **facts})


def read(*offers: Written, by_mass: Callable[[str], bool] = lambda _: False) -> list[Offer]:
    return [offer for rows in offers_by_item(offers, Measures(), by_mass).values() for offer in rows]


def fault_of(*offers: Written) -> tuple[str, str]:
    with pytest.raises(InputFault) as fault:
        read(*offers)
    return fault.value.code, fault.value.pointer


def test_a_plain_offer() -> None:
    assert read(written()) == [
        Offer(
            "q1", "rum", "Example Quay Supply", Decimal(6), Decimal(700), "ml", Decimal("141.00"), "EUR",
            pointer="/offers/0",
        )
    ]  # fmt: skip


def test_every_fact_of_an_offer_goes_along() -> None:
    [offer] = read(
        written(
            tax_included=True, tax_rate_percent="20", delivery="9", discount_percent="10", free_units=1, rebate="5",
            deposit={"amount": "6", "currency": "EUR"}, valid_from="2026-01-01", valid_to="2026-12-31", preferred=True,
            duty={"state": "suspended", "amount": "20"},
        )
    )  # fmt: skip
    assert (offer.tax_included, offer.tax_rate_percent, offer.delivery, offer.rebate) == (
        True,
        Decimal(20),
        Decimal(9),
        Decimal(5),
    )
    assert (offer.discount_percent, offer.free_units, offer.deposit) == (Decimal(10), Decimal(1), Decimal(6))
    assert (offer.valid_from, offer.valid_to, offer.preferred) == (date(2026, 1, 1), date(2026, 12, 31), True)
    assert (offer.duty_unknown, offer.duty_amount) == (False, Decimal(20))


def test_offers_are_listed_by_item_in_the_order_given() -> None:
    found = offers_by_item([written("a"), written("b", item="lime"), written("c")], Measures())
    assert {item: [offer.id for offer in rows] for item, rows in found.items()} == {"rum": ["a", "c"], "lime": ["b"]}
    assert [offer.order for offer in found["rum"]] == [0, 2]


@pytest.mark.parametrize(
    ("size", "quantity", "base"),
    [
        ("700 ml", "700", "ml"),
        ("0.7 l", "700", "ml"),
        ("75 cl", "750", "ml"),
        ("2 kg", "2000", "g"),
        ("1 each", "1", "each"),
        # A US gallon is 231 cubic inches (legal definition), a pound 453.59237 g (1959 agreement).
        ("1 us gallon", "3785.411784", "ml"),
        ("1 lb", "453.59237", "g"),
    ],
)
def test_pack_sizes(size: str, quantity: str, base: str) -> None:
    [offer] = read(written(pack={"size": size}))
    assert (offer.size, offer.base, offer.units) == (Decimal(quantity), base, Decimal(1))


def test_an_ounce_of_a_pack_is_a_mass_where_the_item_is_kept_by_mass() -> None:
    # Fluid 29.5735295625 ml (231 / 128 cubic inches), avoirdupois 28.349523125 g.
    pack = {"size": "16 oz"}
    assert [(one.size, one.base) for one in read(written(pack=pack))] == [(Decimal("473.176473"), "ml")]
    by_mass = read(written(pack=pack), by_mass=lambda item: item == "rum")
    assert [(one.size, one.base) for one in by_mass] == [(Decimal("453.59237"), "g")]


@pytest.mark.parametrize(
    ("duty", "unknown", "amount"),
    [
        ("paid", False, 0),
        ("suspended", True, 0),
        ({"state": "paid"}, False, 0),
        # What is paid is in the price; an amount beside it tells of it and adds nothing.
        ({"state": "paid", "amount": "20"}, False, 0),
        ({"state": "suspended"}, True, 0),
        ({"state": "suspended", "amount": {"amount": "20", "currency": "EUR"}}, False, 20),
        ({"state": "suspended", "amount": "0"}, False, 0),
    ],
)
def test_duty_that_is_still_due_is_added_or_unknown(duty: Any, unknown: bool, amount: int) -> None:
    [offer] = read(written(duty=duty))
    assert (offer.duty_unknown, offer.duty_amount) == (unknown, Decimal(amount))


@pytest.mark.parametrize(
    ("facts", "code", "pointer"),
    [
        ({"gtin": "9520123456789"}, "gtin_check_digit", "/offers/1/gtin"),
        ({"price": {"amount": "1", "currency": "QQQ"}}, "currency_unknown", "/offers/1/price/currency"),
        # ISO 4217 has XXX for no currency.
        ({"price": {"amount": "1", "currency": "XXX"}}, "currency_unknown", "/offers/1/price/currency"),
        ({"pack": {"size": "fill"}}, "pack_size_unreadable", "/offers/1/pack/size"),
        ({"pack": {"size": "2 parts"}}, "pack_size_unreadable", "/offers/1/pack/size"),
        ({"id": "q0"}, "duplicate_id", "/offers/1/id"),
    ],
)
def test_a_fault_of_an_offer_has_its_place(facts: dict[str, Any], code: str, pointer: str) -> None:
    assert fault_of(written("q0"), written(**facts)) == (code, pointer)


def test_a_size_nobody_can_read_points_to_itself() -> None:
    assert fault_of(written(pack={"size": "a crate"}))[1] == "/offers/0/pack/size"


@pytest.mark.parametrize(
    "gtin",
    [
        # GS1 General Specifications 7.9: weights 3 and 1 from the right, to the next ten. 3x9+6+3x3+8+3x5+0+3x7 = 86.
        "96385074",
        # 0x3+1+2x3+3+4x3+5+6x3+7+8x3+9+0x3 = 85.
        "012345678905",
        # 9+5x3+2+0x3+1+2x3+3+4x3+5+6x3+7+8x3 = 102.
        "9520123456788",
        # 1x3+0+0x3+1+2x3+3+4x3+5+6x3+7+8x3+9+0x3 = 88.
        "10012345678902",
    ],
)
def test_gtins_of_each_length(gtin: str) -> None:
    assert has_check_digit(gtin)
    for wrong in range(10):
        assert has_check_digit(gtin[:-1] + str(wrong)) is (str(wrong) == gtin[-1])
    assert read(written(gtin=gtin))
