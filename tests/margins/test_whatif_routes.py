"""POST /v1/margins/moves, ladder, usage, perishing: against the answers about single drinks, and by hand."""

from decimal import Decimal
from typing import Any

import pytest

from service.money import half_up
from tests.api.conftest import Client

DAY = "2026-11-25"


def _post(client: Client, path: str, body: Any) -> Any:
    return client.ask("POST", f"/v1/margins/{path}", json=body)


def test_nothing_moved_leaves_every_cost_as_it_is(demo_client: Client) -> None:
    body = _post(demo_client, "moves", {"menu": "winter-harbour", "as_of": DAY}).json()
    assert body["offers_changed"] == 0
    assert len(body["drinks"]) == 12
    for row in body["drinks"]:
        one = demo_client.get(f"/v1/drinks/{row['drink']}/margin?venue=slack-warp&as_of={DAY}").json()
        assert row["cost_before"] == row["cost_after"] == one["pour_cost"]
        assert row["gross_margin_before"] == one["at_menu_price"]["gross_margin_percent"]
        assert row["meets_before"] == one["at_menu_price"]["meets_target"]
        parts = sum((Decimal(part["cost"]) for part in row["sensitivities"]), Decimal(0))
        assert half_up(parts, 2) == Decimal(row["cost_before"])


def test_everything_dearer_by_a_tenth_makes_every_drink_so(demo_client: Client) -> None:
    body = _post(demo_client, "moves", {"menu": "winter-harbour", "as_of": DAY, "changes": [{"percent": "10"}]}).json()
    assert body["offers_changed"] > 10
    # Cost is linear in prices: a tenth on all of them is ten times what 1 % on each adds. Arithmetic.
    for row in body["drinks"]:
        rise = Decimal(row["cost_after"]) - Decimal(row["cost_before"])
        by_parts = [10 * Decimal(part["per_percent"]) for part in row["sensitivities"]]
        assert rise > 0
        assert abs(rise - sum(by_parts, Decimal(0))) <= Decimal("0.01")
    assert body["fall_under"] == [
        row["drink"] for row in body["drinks"] if row["meets_before"] and not row["meets_after"]
    ]


def test_at_its_break_even_price_the_drink_just_meets_its_target(demo_client: Client) -> None:
    """Against a second question with the price that the first one answered, rounded so that it meets."""
    asked = {"menu": "winter-harbour", "as_of": DAY}
    now = _post(demo_client, "moves", asked).json()
    drink = next(row for row in now["drinks"] if row["meets_before"])
    part = next(one for one in drink["sensitivities"] if one["breaks_even_at"] is not None)
    at = Decimal(part["breaks_even_at"])
    for price, meets in ((at - Decimal("0.001"), True), (at + Decimal("0.01"), False)):
        moved = _post(demo_client, "moves", {**asked, "prices": [{"offer": part["offer"], "price": str(price)}]}).json()
        row = next(row for row in moved["drinks"] if row["drink"] == drink["drink"])
        assert row["meets_after"] is meets


def test_what_a_percent_adds_is_what_it_adds(demo_client: Client) -> None:
    asked = {"menu": "winter-harbour", "as_of": DAY}
    now = _post(demo_client, "moves", asked).json()
    drink = next(row for row in now["drinks"] if row["drink"] == "fog-signal")
    part = drink["sensitivities"][0]
    dearer = Decimal(part["price"]) * Decimal("1.10")
    moved = _post(demo_client, "moves", {**asked, "prices": [{"offer": part["offer"], "price": str(dearer)}]}).json()
    after = next(row for row in moved["drinks"] if row["drink"] == "fog-signal")
    rise = Decimal(after["cost_after"]) - Decimal(drink["cost_before"])
    assert abs(rise - 10 * Decimal(part["per_percent"])) <= Decimal("0.01")


@pytest.mark.parametrize(
    ("change", "status"),
    [
        ({"prices": [{"offer": "no-such", "price": "1"}]}, 422),
        ({"menu": "no-such"}, 404),
        ({"venue": "ferry-landing"}, 404),
        ({"changes": [{"percent": "-101"}]}, 422),
    ],
)
def test_moves_that_cannot_be_are_refused(demo_client: Client, change: Any, status: int) -> None:
    assert _post(demo_client, "moves", {"menu": "winter-harbour", "as_of": DAY, **change}).status_code == status


def test_a_ladder_by_hand_without_a_catalogue(client: Client) -> None:
    """The case of tests/cases/margins.toml: 1300 of 1800 is 72.2 %; A to 11.00: 1400 of 1900 = 73.7 %. Arithmetic."""
    body = {
        "currency": "EUR", "margin_percent": "73",
        "drinks": [
            {"drink": "a", "quantity": "100", "menu_price": "10.00", "pour_cost": "3.00", "points": ["10.50", "11.00"]},
            {"drink": "b", "quantity": "100", "menu_price": "8.00", "pour_cost": "2.00", "points": ["8.50", "9.50"]},
        ],
    }  # fmt: skip
    found = _post(client, "ladder", body).json()
    assert found["changes"] == [{"drink": "a", "with": [], "from": "10.00", "to": "11.00"}]
    assert (found["met"], found["exact"], found["margin_before"], found["margin_after"]) == (True, True, "72.2", "73.7")


def test_a_ladder_over_the_stored_menu_meets_its_margin(demo_client: Client) -> None:
    drinks = [
        {"drink": one, "quantity": str(9 - at)} for at, one in enumerate(("fog-signal", "almond-pier", "long-jetty"))
    ]
    body = {"venue": "slack-warp", "as_of": DAY, "margin_percent": "79.5", "drinks": drinks}
    found = _post(demo_client, "ladder", body).json()
    assert found["met"]
    assert Decimal(found["margin_after"]) >= Decimal("79.5")
    for change in found["changes"]:
        assert Decimal(change["to"]) % Decimal("0.50") == 0  # The steps of the demo house.
    refused = _post(demo_client, "ladder", {**body, "drinks": [{"drink": "no-such", "quantity": "1"}]})
    assert [row["pointer"] for row in refused.json()["errors"]] == ["/drinks/0/menu_price"]


def test_perishing_by_hand(client: Client) -> None:
    """Mean 1, two made: sold 0.896362, thrown 1.103638 (the case); of 2 - 3/e; waste 0.50 x 1.2312422 = 0.615621."""
    item = {"id": "cut-lime", "sales_a_day": "2", "life_days": "0.5", "serve_cost": "0.50", "wanted": 2}
    body = _post(client, "perishing", {"currency": "EUR", "items": [item]}).json()
    (row,) = body["items"]
    assert (row["mean_demand"], row["best"]["serves"]) == ("1", 1)
    assert (row["wanted"]["sold"], row["wanted"]["thrown"], row["wanted"]["waste_each"]) == ("0.90", "1.10", "0.615621")
    # One made: 0.50 / (1 - 1/e) = 0.790988353; two: 1.00 / (2 - 3/e) = 1.115621132; 0.324632779 more. Arithmetic.
    assert row["dearer_each"] == "0.324633"


def test_a_keg_states_its_line_loss(client: Client) -> None:
    keg = {
        "size_ml": "30000",
        "serve_ml": "500",
        "line_loss_ml": "600",
        "cleanings": "2",
        "left_ml": "300",
        "cost": "60.00",
    }
    item = {"id": "keg", "sales_a_day": "40", "life_days": "5", "keg": keg}
    (row,) = _post(client, "perishing", {"currency": "EUR", "items": [item]}).json()["items"]
    assert (row["wanted"]["serves"], row["line_loss_each"]) == (57, "0.052632")  # The case of test_perishing.py.
    refused = _post(client, "perishing", {"currency": "EUR", "items": [{**item, "wanted": 3}]})
    assert refused.status_code == 422


def _usage(**more: Any) -> dict[str, Any]:
    gin = {"item": "rum-aged-46", "size": "700 ml"}
    return {
        "period": {"month": "2026-10"}, "venue": "slack-warp",
        "sales": [{"drink": "fog-signal", "day": "2026-10-10", "quantity": "20", "gross": "260.00"}],
        "opening": [{**gin, "per_pack": 6, "packs": "1"}], "closing": [{**gin, "units": "2", "tenths": ["5"]}],
        "movements": [
            {"item": "rum-aged-46", "day": "2026-10-12", "type": "delivery", "units": "1", "size": "700 ml"},
            {"item": "rum-aged-46", "day": "2026-10-13", "type": "spill", "units": "1", "size": "100 ml"},
        ],
        **more,
    }  # fmt: skip


def test_usage_of_what_sold(demo_client: Client) -> None:
    """Opening 4200, delivered 700, closing 2 x 700 + 350 = 1750: used 3150. 20 drinks take what the spec says each."""
    spec = demo_client.get("/v1/drinks/fog-signal").json()
    (line,) = [line for line in spec["lines"] if line["item"] == "rum-aged-46"]
    each = Decimal(str(line["amount"]).removesuffix(" ml"))
    answer = _post(demo_client, "usage", _usage())
    assert answer.status_code == 200, answer.text
    body = answer.json()
    (row,) = body["items"]
    assert (row["opening"], row["closing"], row["actual"]) == ("4200", "1750", "3150")
    assert Decimal(row["theoretical"]) == 20 * each
    assert Decimal(row["variance"]["quantity"]) == 3150 - 20 * each
    assert row["explained"][0]["type"] == "spill"
    assert Decimal(row["unexplained"]["quantity"]) == 3150 - 20 * each - 100
    assert Decimal(row["variance"]["money"]) == half_up(
        Decimal(row["variance"]["quantity"]) * Decimal(row["unit_value"]), 2
    )
    money = [Decimal(part["variance"]["money"]) for part in row["explained"]]
    assert sum(money, Decimal(row["unexplained"]["money"])) == Decimal(row["variance"]["money"])
    total = body["total"]
    explained = [Decimal(one) for one in total["explained"].values()]
    assert sum(explained, Decimal(total["unexplained"])) == Decimal(total["variance"])
    assert not {"rum-aged-46", "water"} & set(body["not_counted"])
    assert body["not_counted"]


def test_two_valuations_stand_side_by_side(demo_client: Client) -> None:
    purchases = [
        {"day": "2026-10-12", "units": "1", "size": "700 ml", "invoiced": "35.00"},
        {"day": "2026-10-02", "units": "3", "size": "700 ml", "invoiced": "84.00"},
    ]
    stock = [{"item": "rum-aged-46", "opening_value": "150.00", "purchases": purchases}]
    asked = _usage(stock=stock, valuation={"method": "fifo"}, beside={"method": "last_invoice"})
    body = _post(demo_client, "usage", asked).json()
    # 1750 ml: 700 at 0.05 = 35.00 and 1050 at 0.04 = 42.00, 77.00 in all; by the last invoice 1750 x 0.05 = 87.50.
    (row,) = body["items"]
    assert (row["closing_value"], row["closing_value_beside"], row["value_difference"]) == ("77.00", "87.50", "10.50")
    assert body["valuation"].startswith("first in, first out")


def test_a_count_on_the_wrong_side_is_refused_or_rolled(demo_client: Client) -> None:
    asked = _usage()
    asked["closing"][0]["day"] = "2026-10-30"
    late = {"item": "rum-aged-46", "day": "2026-10-31", "type": "delivery", "units": "2", "size": "700 ml"}
    asked["movements"].append(late)
    refused = _post(demo_client, "usage", asked)
    assert [row["pointer"] for row in refused.json()["errors"]] == ["/closing/0/day"]
    rolled = _post(demo_client, "usage", {**asked, "roll_counts": True}).json()["items"][0]
    assert rolled["closing"] == "3150"  # 1750 + 1400 delivered on the last day. Arithmetic.
    assert rolled["rolled"][0]["moved"] == [{"day": "2026-10-31", "type": "delivery", "quantity": "1400"}]


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"opening": [{"item": "rum-aged-46", "size": "1 kg"}]}, "/opening/0/size"),
        ({"opening": [{"item": "rum-aged-46", "size": "a lot"}]}, "/opening/0/size"),
        ({"opening": [{"item": "rum-dark", "size": "700 ml"}]}, "/closing/0/item"),
        ({"closing": [{"item": "rum-aged-46", "size": "700 ml", "weights_g": ["900"]}]}, "/closing/0/tare_g"),
    ],
)
def test_counts_that_cannot_be_used_are_refused(demo_client: Client, change: Any, pointer: str) -> None:
    answer = _post(demo_client, "usage", _usage(**change))
    assert answer.status_code == 422
    assert [row["pointer"] for row in answer.json()["errors"]] == [pointer]
