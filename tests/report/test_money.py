"""Cost and price as they are written: decimal text at the minor unit, a choice with its reasons; sums by hand."""

from typing import Any

import pytest

from tests.one_drink import asked, poured, thing

SPIRIT = thing("spirit", abv_percent=40)


def offer(offer_id: str = "q1", price: str = "20.00", currency: str = "EUR", **more: Any) -> dict[str, Any]:
    whole = {"id": offer_id, "item": "spirit", "supplier": "S", "pack": {"size": "1000 ml"}}
    return {**whole, "price": {"amount": price, "currency": currency}, **more}


def sold(amount: str = "50 ml", offers: Any = None, **pricing: Any) -> Any:
    made = {"currency": "EUR", **pricing}
    return asked([poured("spirit", amount)], [SPIRIT], offers=[offer()] if offers is None else offers, pricing=made)


@pytest.mark.parametrize(
    ("currency", "amount", "text"),
    # 50 ml at 20.00 for 1000 ml are 1; 17 ml 0.34: to two, no and three decimals (ISO 4217, from memory), half up.
    [("EUR", "50 ml", "1.00"), ("EUR", "17.25 ml", "0.35"), ("JPY", "17 ml", "0"), ("JPY", "25 ml", "1"),
     ("KWD", "17.25 ml", "0.345")],
)  # fmt: skip
def test_sums_stand_at_the_minor_unit(currency: str, amount: str, text: str) -> None:
    found = sold(amount, [offer(currency=currency)], currency=currency)
    assert found["cost"]["pour_cost"] == text
    assert found["cost"]["currency"] == currency


def test_line_costs_have_six_decimals_and_unit_costs_nine() -> None:
    # 20.00 / 700 is 0.028571428...; 50 ml of it 1.428571...
    found = sold(offers=[offer(pack={"size": "700 ml"})])
    assert found["lines"][0]["cost"] == "1.428571"
    [row] = found["cost"]["choices"]
    assert (row["unit_cost"], row["per"], row["offer"], row["supplier"]) == ("0.028571429", "ml", "q1", "S")
    assert row["considered"] == []


def test_a_choice_lists_every_offer_that_was_considered() -> None:
    dear = offer("q2", "21.00")
    [row] = sold(offers=[dear, offer()])["cost"]["choices"]
    assert row["reason"] == "cheapest of 2 valid on 2026-11-25"
    assert row["considered"] == [
        {"offer": "q2", "unit_cost": "0.021000000", "reason": "dearer"},
        {"offer": "q1", "unit_cost": "0.020000000", "reason": "chosen"},
    ]


def test_an_item_on_two_lines_has_one_choice() -> None:
    found = asked([poured("spirit", "10 ml"), poured("spirit", "20 ml")], [SPIRIT], offers=[offer()])
    assert [row["item"] for row in found["cost"]["choices"]] == ["spirit"]


def test_without_any_offer_nothing_is_zero() -> None:
    found = sold(offers=[])
    cost = found["cost"]
    assert (cost["complete"], cost["missing"]) == (False, [{"item": "spirit", "field": "offer"}])
    assert cost["pour_cost"] is cost["ingredients"] is cost["serve_cost"] is None
    assert cost["at_least"] == {"pour_cost": "0.00", "serve_cost": "0.00"}
    assert found["price"]["suggested"] is None


def test_without_pricing_there_is_a_cost_in_the_offers_currency_and_no_price() -> None:
    found = asked([poured("spirit", "50 ml")], [SPIRIT], offers=[offer(currency="GBP")])
    assert (found["cost"]["currency"], found["cost"]["pour_cost"]) == ("GBP", "1.00")
    assert found["price"] is None


def test_a_price_without_a_target_suggests_nothing_and_judges_the_menu_price() -> None:
    # 6.00 with 20 % tax inside is 5.00 net; a cost of 1.00 is 20 %.
    found = sold(menu_price="6.00", tax={"rate_percent": "20"})["price"]
    assert {name for name, value in found.items() if value is not None} == {"currency", "at_menu_price"}
    menu = found["at_menu_price"]
    assert (menu["menu_price"], menu["net"], menu["tax"], menu["tax_on_bill"]) == ("6.00", "5.00", "1.00", "0.00")
    assert (menu["gross_margin_percent"], menu["pour_cost_percent"], menu["meets_target"]) == ("80.0", "20.0", None)


def test_tax_on_the_bill_is_beside_the_price() -> None:
    # 1.00 at a pour cost of 20 % is 5.00; 10 % of it is added on the bill.
    found = sold(target={"pour_cost_percent": "20"}, tax={"rate_percent": "10", "included": False})["price"]
    assert (found["suggested"], found["net"], found["tax"], found["tax_on_bill"]) == ("5.00", "5.00", "0.00", "0.50")
    assert (found["unrounded"], found["determined_by"], found["floor"]) == ("5.000000", "pour_cost_percent", None)


def test_a_legal_floor_that_sets_the_price_is_shown() -> None:
    # Scotland: 0.65 GBP for each 10 ml of ethanol; 100 ml of it are 6.50, above the 2 x cost of the target.
    found = asked(
        [poured("spirit", "250 ml")],
        [SPIRIT],
        ("GB-SCT",),
        offers=[offer(price="4.00", currency="GBP")],
        pricing={"currency": "GBP", "target": {"markup_percent": "100"}},
    )["price"]
    assert found["suggested"] == "6.50"
    assert found["floor"] == {"jurisdiction": "GB-SCT", "amount": "6.50", "currency": "GBP"}
