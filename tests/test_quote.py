"""What a request's pricing makes of a drink: floors, forms of sums and duty, units opened, currencies."""

from typing import Any

import pytest

from tests.asked import Body, answered, body_of, refused

SPIRIT = {"id": "sp", "name": "Spirit", "kind": "spirit", "abv_percent": 37.5, "process": ["distilled"]}


def offered(price: str, currency: str = "GBP", size: str = "700 ml", **more: Any) -> Body:
    """One offer of the spirit."""
    money = {"amount": price, "currency": currency}
    return {"id": "q", "item": "sp", "supplier": "Quay", "pack": {"size": size}, "price": money, **more}


def bottle(pricing: Body, offer: Body | None = None, thing: Body | None = None, **more: Any) -> Body:
    """A whole bottle of 700 ml in Scotland."""
    return answered(
        body_of(
            [{"item": "sp", "amount": "700 ml"}],
            ingredients=[thing or SPIRIT],
            offers=[offer or offered("1.00")],
            pricing={"currency": "GBP", **pricing},
            jurisdictions=["GB-SCT"],
            **more,
        )
    )


FREE = {"target": {"gross_margin_percent": "0"}}


def codes(found: Body) -> list[str]:
    """Codes of the warnings."""
    return [row["code"] for row in found["warnings"]]


def test_the_floor_is_shown_with_its_sum() -> None:
    # Scottish Government, minimum unit price 0.65 from 30 September 2024: 26.25 units, 17.0625, rounded up.
    price = bottle(FREE)["price"]
    assert price["suggested"] == "17.07"
    assert price["floor"] == {"jurisdiction": "GB-SCT", "amount": "17.07", "currency": "GBP"}


def test_nothing_is_suggested_below_the_houses_own_least_price() -> None:
    found = bottle({**FREE, "floor": "18.00"})  # above the legal 17.07, arithmetic
    assert found["price"]["suggested"] == "18.00"
    assert found["price"]["floor"] == {"jurisdiction": "house", "amount": "18.00", "currency": "GBP"}
    assert bottle({**FREE, "floor": "17.00"})["price"]["suggested"] == "17.07"


def test_a_floor_in_another_currency_is_converted_and_rounded_up() -> None:
    rate = {"from": "GBP", "to": "EUR", "rate": "1.2"}
    found = bottle({**FREE, "currency": "EUR", "rates": [rate]})
    # 17.07 x 1.2 = 20.484, arithmetic.
    assert found["price"]["suggested"] == "20.49"


def test_a_floor_without_a_rate_is_named_in_a_warning() -> None:
    found = bottle({**FREE, "currency": "EUR", "round": {"to": "1", "mode": "down"}}, offered("1.00", "EUR"))
    # A price that nobody could compare may lie below the law's: none is suggested.
    assert found["price"]["suggested"] is None
    assert codes(found) == ["price_floor_not_checked"]
    assert "rate from GBP to EUR" in found["warnings"][0]["detail"]


def test_nothing_is_suggested_where_a_floor_needs_an_unknown_strength() -> None:
    found = bottle(FREE, thing={"id": "sp", "name": "Spirit", "kind": "spirit"})
    assert found["price"]["suggested"] is None
    assert "price_floor_not_checked" in codes(found)


@pytest.mark.parametrize("pricing", [{**FREE, "menu_price": "15.00"}, {"menu_price": "15.00"}])
def test_a_menu_price_under_the_floor_is_warned_of(pricing: Body) -> None:
    assert "menu_price_below_floor" in codes(bottle(pricing))
    assert "menu_price_below_floor" not in codes(bottle({**pricing, "menu_price": "17.07"}))


def test_a_floor_holds_for_what_the_guest_pays() -> None:
    # 20 % on the bill: 14.22 x 1.2 = 17.064 is below 17.07 and 14.23 x 1.2 = 17.076 above it, arithmetic.
    tax = {"rate_percent": "20", "included": False}
    assert bottle({**FREE, "tax": tax})["price"]["suggested"] == "14.23"
    assert "menu_price_below_floor" not in codes(bottle({"menu_price": "14.23", "tax": tax}))
    assert "menu_price_below_floor" in codes(bottle({"menu_price": "14.22", "tax": tax}))
    included = {**tax, "included": True}
    assert bottle({**FREE, "tax": included})["price"]["suggested"] == "17.07"
    assert "menu_price_below_floor" in codes(bottle({"menu_price": "17.06", "tax": included}))


def cost(line: Body, offer: Body, **more: Any) -> Body:
    """The cost of one line."""
    body = body_of([{"item": "sp", **line}], ingredients=[SPIRIT], offers=[offer], include=["cost"], **more)
    found: Body = answered(body)["cost"]
    return found


def test_a_bottle_is_opened_for_each_serve() -> None:
    # Contract, lines: a bottle opened per serve; arithmetic: two serves of 25 ml open two bottles at 4.00.
    opened = cost({"amount": "50 ml", "charge": "whole_unit"}, offered("4.00", size="200 ml"), serves=2)
    assert opened["pour_cost"] == "4.00"
    assert cost({"amount": "50 ml"}, offered("4.00", size="200 ml"), serves=2)["pour_cost"] == "0.50"


@pytest.mark.parametrize(
    ("duty", "pour_cost"),
    [
        ("paid", "7.00"),
        ({"state": "paid"}, "7.00"),
        ({"state": "suspended", "amount": "2.00"}, "9.00"),
        ({"state": "suspended", "amount": {"amount": "2.00", "currency": "GBP"}}, "9.00"),
        ("suspended", None),
        ({"state": "suspended"}, None),
    ],
)
def test_duty_is_paid_added_or_unknown(duty: object, pour_cost: str | None) -> None:
    found = cost({"amount": "700 ml"}, offered("7.00", duty=duty))
    assert found["pour_cost"] == pour_cost
    assert found["complete"] is (pour_cost is not None)


def test_duty_in_another_currency_is_refused() -> None:
    duty = {"state": "suspended", "amount": {"amount": "2.00", "currency": "EUR"}}
    with pytest.raises(ValueError, match="one offer are in the currency"):
        cost({"amount": "700 ml"}, offered("7.00", duty=duty))


def test_sums_of_pricing_may_name_their_currency() -> None:
    plain = {"target": {"cash_margin": "6"}, "labour": {"minutes": 3, "rate_per_hour": "20"}, "menu_price": "9"}
    sums: Body = {
        "target": {"cash_margin": {"amount": "6", "currency": "GBP"}},
        "labour": {"minutes": "3", "rate_per_hour": {"amount": "20", "currency": "GBP"}},
        "menu_price": {"amount": "9", "currency": "GBP"},
    }
    first, second = bottle(plain), bottle(sums)
    assert first["price"] == second["price"]
    # Three minutes at 20.00 an hour, arithmetic.
    assert first["cost"]["labour"] == second["cost"]["labour"] == "1.00"


def test_a_sum_in_another_currency_than_the_pricing_is_refused() -> None:
    with pytest.raises(ValueError, match="pricing currency"):
        bottle({"menu_price": {"amount": "9", "currency": "EUR"}})


def test_a_markup_may_exceed_a_thousand_percent() -> None:
    found = bottle({"target": {"markup_percent": "1500"}}, offered("2.00"))
    # 2.00 x 16 = 32.00, above the floor; arithmetic.
    assert found["price"]["suggested"] == "32.00"


def test_no_free_units_is_a_figure() -> None:
    assert cost({"amount": "700 ml"}, offered("7.00", free_units=0))["pour_cost"] == "7.00"


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({"offers": [offered("1.00", "XYZ")]}, "/offers/0/price/currency"),
        ({"offers": [offered("1.00")], "pricing": {"currency": "QQQ"}}, "/pricing/currency"),
        (
            {
                "offers": [offered("1.00")],
                "pricing": {"currency": "EUR", "rates": [{"from": "GBP", "to": "QQQ", "rate": "1"}]},
            },
            "/pricing/rates/0/to",
        ),
    ],
)
def test_a_code_that_is_no_currency_is_refused_at_its_place(body: Body, pointer: str) -> None:
    asked = body_of([{"item": "sp", "amount": "10 ml"}], ingredients=[SPIRIT], **body)
    assert refused(asked) == [("currency_unknown", pointer)]


def test_an_ounce_of_a_pack_is_a_mass_where_the_item_is_kept_by_mass() -> None:
    nuts = {"id": "nuts", "name": "Nuts", "kind": "nut"}
    offer = {**offered("4.00", size="16 oz"), "item": "nuts"}
    lines = [{"item": "nuts", "amount": "1 lb", "role": "garnish"}]
    found = answered(body_of(lines, ingredients=[nuts], offers=[offer], include=["cost"]))
    # 16 avoirdupois ounces are a pound (NIST Handbook 44, appendix C).
    assert found["cost"]["garnish"] == "4.00"
