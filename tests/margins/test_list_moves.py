"""POST /v1/price-lists/moves and a kept list in POST /v1/margins/moves: a small bar worked by hand.

Gin at 20.00 a litre: 50 ml cost 1.00. The list asks 24.00: 1.20. Tonic has no offer before; at 2.00 a litre 100 ml cost
0.20. Neat sells at 5.00, long at 7.00, no tax, target 78 %: neat earns 80.0 % and then 76.0 %, and just meets its
target at a cost of 5.00 x 22 % = 1.10, which is gin at 22.00. Arithmetic.
"""

import csv
from collections.abc import Iterator
from io import StringIO
from typing import Any

import pytest

from service.settings import Settings
from tests.api.conftest import Client

LIST = """code;item;name;pack;price
G;;Gin;1 l;24,00
T;tonic;Tonic;1 l;2,00
V;;Vermouth;1 l;25,00
?;;What is this;1 l;9,00
"""
QUERY = {"supplier": "quay", "valid_from": "2026-11-25"}
ENTRIES: tuple[tuple[str, dict[str, Any]], ...] = (
    ("venues", {
        "id": "group", "name": "House",
        "pricing": {
            "currency": "EUR", "target": {"gross_margin_percent": "78"}, "round": {"to": "0.50", "mode": "up"},
        },
    }),
    ("suppliers", {
        "id": "quay", "name": "Quay", "currency": "EUR",
        "price_list": {
            "mapping": {"code": "code", "item": "item", "name": "name", "pack": "pack", "price": "price"},
        },
    }),
    ("ingredients", {"id": "gin", "name": "Gin", "kind": "spirit", "abv_percent": "40"}),
    ("ingredients", {"id": "tonic", "name": "Tonic", "kind": "mixer"}),
    ("ingredients", {"id": "vermouth", "name": "Vermouth", "kind": "wine", "abv_percent": "16"}),
    ("offers", {"id": "g", "item": "gin", "supplier": "quay", "code": "G", "pack": {"size": "1 l"}, "price":
        {"amount": "20.00", "currency": "EUR"}}),
    ("offers", {"id": "v", "item": "vermouth", "supplier": "quay", "code": "V", "pack": {"size": "1 l"}, "price":
        {"amount": "10.00", "currency": "EUR"}}),
    ("drinks", {"id": "neat", "name": "Neat", "lines": [{"item": "gin", "amount": "50 ml"}]}),
    ("drinks", {"id": "long", "name": "Long", "lines": [
        {"item": "gin", "amount": "50 ml"}, {"item": "tonic", "amount": "100 ml"}]}),
    ("drinks", {"id": "wet", "name": "Wet", "lines": [{"item": "vermouth", "amount": "100 ml"}]}),
    ("menus", {"id": "board", "name": "Board", "entries": [
        {"drink": "neat", "menu_price": "5.00"}, {"drink": "long", "menu_price": "7.00"},
        {"drink": "wet", "menu_price": "6.00"}]}),
)  # fmt: skip


@pytest.fixture
def house() -> Iterator[Client]:
    """The small bar, written anew for each test."""
    made = Client(Settings())
    for kind, body in ENTRIES:
        answer = made.ask("POST", f"/v1/{kind}", json=body)
        assert answer.status_code == 201, answer.text
    yield made
    made.close()


def _sent(client: Client, path: str, **query: str) -> Any:
    headers = {"Content-Type": "text/csv"}
    return client.ask("POST", path, params={**QUERY, **query}, content=LIST.encode(), headers=headers)


def _drinks(answer: Any) -> dict[str, Any]:
    assert answer.status_code == 200, answer.text
    return {row["drink"]: row for row in answer.json()["drinks"]}


def test_a_list_moves_every_drink_and_stores_nothing(house: Client) -> None:
    before = house.app.state.store.versions()
    answer = _sent(house, "/v1/price-lists/moves", menu="board")
    body, rows = answer.json(), _drinks(answer)
    neat, long = rows["neat"], rows["long"]
    assert (neat["cost_before"], neat["cost_after"], neat["cost_change_percent"]) == ("1.00", "1.20", "20.00")
    assert (neat["gross_margin_before"], neat["gross_margin_after"]) == ("80.0", "76.0")
    assert (neat["meets_before"], neat["meets_after"], body["fall_under"]) == (True, False, ["neat"])
    assert neat["suggested_after"] == "5.50"  # 1.20 / 0.22 = 5.4545, on steps of 0.50. Arithmetic.
    assert [neat[name][0]["breaks_even_at"] for name in ("sensitivities", "sensitivities_after")] == ["22.000000"] * 2
    assert [neat[name][0]["price"] for name in ("sensitivities", "sensitivities_after")] == ["20.00", "24.00"]
    assert (long["cost_before"], long["cost_after"], long["gross_margin_after"]) == (None, "1.40", "80.0")
    assert long["sensitivities"] == []
    assert len(long["sensitivities_after"]) == 2
    assert (body["offers_changed"], body["offers_new"]) == (1, 1)
    assert {(row["drink"], row["item"]) for row in body["missing"]} == {("long", "tonic")}
    assert house.app.state.store.versions() == before
    assert house.get("/v1/offers/g").json()["price"]["amount"] == "20.00"


def test_rows_that_would_not_be_taken_in_are_named_and_change_nothing(house: Client) -> None:
    """Vermouth from 10.00 to 25.00 is over the limit of 25 % and waits; confirmed, 100 ml cost 2.50 for 1.00."""
    answer = _sent(house, "/v1/price-lists/moves", menu="board")
    told = answer.json()["price_list"]
    assert (told["not_counted"], told["committable"]) == ([4, 5], False)
    assert [(row["row"], row["outcome"]) for row in told["to_look_at"]] == [(4, "up"), (5, "refused")]
    assert told["to_look_at"][1]["reasons"][0]["code"] == "item_needed"
    assert _drinks(answer)["wet"]["cost_after"] == "1.00"
    confirmed = _sent(house, "/v1/price-lists/moves", menu="board", confirm="4", leave_out="5")
    assert _drinks(confirmed)["wet"]["cost_after"] == "2.50"
    assert (confirmed.json()["price_list"]["not_counted"], confirmed.json()["price_list"]["committable"]) == ([], True)


def test_a_kept_list_moves_the_same_and_costs_that_once_it_is_taken_in(house: Client) -> None:
    kept = _sent(house, "/v1/price-lists").json()
    listed = {"id": kept["id"], "confirm": [4], "leave_out": [5]}
    asked = {"menu": "board", "as_of": "2026-11-25", "price_list": listed}
    by_id = house.ask("POST", "/v1/margins/moves", json=asked)
    by_file = _sent(house, "/v1/price-lists/moves", menu="board", confirm="4", leave_out="5")
    assert by_id.json() == by_file.json()
    more = {**asked, "changes": [{"percent": "10", "item": "tonic"}]}
    # A tenth more on the tonic of the list: 0.02 more. Arithmetic.
    assert _drinks(house.ask("POST", "/v1/margins/moves", json=more))["long"]["cost_after"] == "1.42"
    taken = house.ask(
        "POST", f"/v1/price-lists/{kept['id']}/commit", json={"confirm": [4], "leave_out": [5]},
    )  # fmt: skip
    assert taken.status_code == 200, taken.text
    for drink, row in _drinks(by_id).items():
        cost = house.get(f"/v1/drinks/{drink}/cost?as_of=2026-11-25").json()["cost"]["pour_cost"]
        assert cost == row["cost_after"], drink
    assert house.ask("POST", "/v1/margins/moves", json=asked).status_code == 409


def test_a_tried_list_comes_as_a_sheet(house: Client) -> None:
    headers = {"Content-Type": "text/csv", "Accept": "text/csv"}
    query = {**QUERY, "menu": "board"}
    answer = house.ask("POST", "/v1/price-lists/moves", params=query, content=LIST.encode(), headers=headers)
    assert answer.headers["content-type"] == "text/csv; charset=utf-8"
    records = list(csv.DictReader(StringIO(answer.content.decode("utf-8-sig"), newline="")))
    neat = next(row for row in records if (row["sheet"], row["drink"]) == ("Drinks", "neat"))
    assert (neat["cost_before"], neat["cost_after"], neat["falls_under"]) == ("1.00", "1.20", "yes")
    assert [row["row"] for row in records if row["sheet"] == "Rows to look at"] == ["4", "5"]


@pytest.mark.parametrize(
    ("query", "status", "pointer"),
    [
        ({"supplier": "no-such"}, 422, "/supplier"),
        ({"confirm": "four"}, 422, "/confirm"),
        ({"menu": "no-such"}, 404, None),
    ],
)
def test_lists_that_cannot_be_tried_are_refused(
    house: Client, query: dict[str, str], status: int, pointer: str | None
) -> None:
    answer = _sent(house, "/v1/price-lists/moves", **query)
    assert answer.status_code == status, answer.text
    if pointer is not None:
        assert [row["pointer"] for row in answer.json()["errors"]] == [pointer]
