"""The waste of a period's books: by hand, beside POST /v1/margins/perishing, in no pour cost."""

import csv
from collections.abc import Iterator
from decimal import Decimal
from io import BytesIO, StringIO
from math import exp, factorial
from typing import Any

import pytest
from openpyxl import load_workbook

from service.api.sheets import XLSX
from service.margins.bought import Part, Used
from service.margins.waste import Shelf, Stored, Wasted
from service.money import half_up
from service.renderers.margins_csv import csv_of
from service.renderers.margins_html import html_of
from service.renderers.margins_xlsx import xlsx_of
from tests.api.conftest import Client
from tests.margins.bar import bar, sold
from tests.margins.cases import of

KEPT: tuple[tuple[str, dict[str, Any]], ...] = (
    ("ingredients", {"id": "cola", "name": "Cola", "kind": "mixer", "open_life_days": 1}),
    ("offers", {"id": "c", "item": "cola", "supplier": "quay", "pack": {"size": "1 l"},
                "price": {"amount": "2.00", "currency": "EUR"}}),
    ("preparations", {"id": "mix", "name": "Mix", "lines": [{"item": "cola", "amount": "200 ml"}],
                      "yield": {"amount": "200 ml"}, "shelf_life_days": 1}),
    ("preparations", {"id": "still-mix", "name": "Still mix", "lines": [{"item": "tonic", "amount": "200 ml"}],
                      "yield": {"amount": "200 ml"}}),
    ("drinks", {"id": "soft", "name": "Soft", "lines": [{"item": "mix", "amount": "100 ml"}]}),
    ("drinks", {"id": "flat", "name": "Flat", "lines": [{"item": "still-mix", "amount": "100 ml"}]}),
    ("drinks", {"id": "bottle", "name": "Bottle", "lines": [
        {"item": "cola", "amount": "1 l", "charge": "whole_unit"}]}),
    ("menus", {"id": "board", "name": "Board", "entries": [{"drink": "soft", "menu_price": "3.00"}]}),
)  # fmt: skip
MONTH = {"period": {"month": "2026-11"}}


@pytest.fixture(scope="module")
def house() -> Iterator[Client]:
    """The small bar with a part that keeps a day, and one whose life nobody states."""
    made = bar(*KEPT)
    yield made
    made.close()


def _books(house: Client, *sales: dict[str, str], **more: Any) -> dict[str, Any]:
    answer = house.ask("POST", "/v1/margins", json={**MONTH, "sales": sales, **more})
    assert answer.status_code == 200, answer.text
    body: dict[str, Any] = answer.json()
    return body


@pytest.mark.parametrize("case", of("waste"))
def test_waste_by_hand(case: dict[str, Any]) -> None:
    shelf = Shelf()
    kept = Stored("mix", "ml", Decimal(case["batch"]), case["life_days"], Decimal(case["unit_cost"]))
    shelf.sold(Decimal(case["serves"]), [Used("mix", "ml", Decimal(case["each"]))], [], [kept])
    (found,) = shelf.wasted(30)
    assert found.thrown is not None
    assert found.money is not None
    assert abs(found.thrown - Decimal(case["thrown"])) < Decimal("0.001")
    assert abs(found.money - Decimal(case["money"])) < Decimal("0.000002")


def _sold_of(mean: float, serves: int) -> float:
    """E[min(demand, serves)] of a Poisson demand by its definition, in floats."""
    return sum(min(k, serves) * exp(-mean) * mean**k / factorial(k) for k in range(100))


def test_a_part_and_what_goes_into_it(house: Client) -> None:
    """The part as in the case: 7.39. Each batch of it takes 200 ml of an opened litre that keeps a day.

    33.468633 takes in 30 days are 1.115621 a day, five are in a litre: 33.468633 / E[min(D, 5)] litres are opened.
    """
    takes = 30 / _sold_of(1, 2)
    opened = takes / _sold_of(takes / 30, 5)
    body = _books(house, sold("soft", 30, "90.00"))
    rows = {row["item"]: row for row in body["waste"]["rows"]}
    part, bottle = rows["mix"], rows["cola"]
    assert (part["kind"], part["batch"], part["life_days"], part["used"]) == ("part", "200", 1, "3000")
    assert (part["thrown"], part["thrown_percent"], part["money"]) == ("3693.727", "55.2", "7.39")
    assert (bottle["kind"], bottle["batch"]) == ("opened", "1000")
    assert float(bottle["used"]) == pytest.approx(takes * 200, abs=0.001)
    assert float(bottle["thrown"]) == pytest.approx(opened * 1000 - takes * 200, abs=0.001)
    waste = body["waste"]
    assert waste["money"] == waste["money_at_least"] == str(sum(Decimal(row["money"]) for row in rows.values()))
    exact = (opened * 1000 - takes * 200 + takes * 200 - 3000) * 0.002
    assert float(waste["money"]) == pytest.approx(exact, abs=0.005)
    assert float(waste["each"]) == pytest.approx(exact / 30, abs=1e-6)
    assert waste["percent_of_sales"] == str(half_up(Decimal(exact) * 100 / 90, 2))
    assert waste["missing"] == []


def test_the_books_and_what_perishes_say_the_same(house: Client) -> None:
    item = {"id": "mix", "sales_a_day": "1", "life_days": "1", "serve_cost": "0.20", "wanted": 2}
    answer = house.ask("POST", "/v1/margins/perishing", json={"currency": "EUR", "items": [item]})
    wanted = answer.json()["items"][0]["wanted"]
    rows = {row["item"]: row for row in _books(house, sold("soft", 30, "90.00"))["waste"]["rows"]}
    assert rows["mix"]["money"] == str(half_up(30 * Decimal(wanted["waste_each"]), 2))
    assert rows["mix"]["thrown_percent"] == wanted["thrown_percent"]


def test_waste_is_in_no_pour_cost_and_no_margin(house: Client) -> None:
    """30 serves of 100 ml at 0.002: 6.00, of which nothing is waste. Arithmetic."""
    body = _books(house, sold("soft", 30, "90.00"))
    assert (body["total"]["pour_cost"], body["total"]["contribution"]) == ("6.00", "84.00")
    assert sum(Decimal(part["each"]) for part in body["one_serve"]) == Decimal("3.00")


def test_an_unknown_life_is_named_and_never_nothing(house: Client) -> None:
    body = _books(house, sold("flat", 30, "90.00"), sold("soft", 30, "90.00"))
    waste = body["waste"]
    rows = {row["item"]: row for row in waste["rows"]}
    for item in ("still-mix", "tonic"):
        assert {rows[item][name] for name in ("thrown", "thrown_percent", "money")} == {None}
    assert rows["still-mix"]["life_days"] is None
    assert (waste["money"], waste["each"], waste["percent_of_sales"]) == (None, None, None)
    assert Decimal(waste["money_at_least"]) == Decimal(rows["mix"]["money"]) + Decimal(rows["cola"]["money"])
    assert {(row["item"], row["field"]) for row in waste["missing"]} == {
        ("still-mix", "shelf_life_days"), ("tonic", "open_life_days"),
    }  # fmt: skip


def test_a_bottle_opened_for_one_serve_is_not_kept(house: Client) -> None:
    assert _books(house, sold("bottle", 3, "9.00"))["waste"]["rows"] == []


def test_what_is_not_known_of_a_drink_is_named(house: Client) -> None:
    stated = {"drinks": [{"id": "keel", "pour_cost": "1.00"}]}
    body = _books(house, sold("keel", 3, "9.00"), sold("soft", 30, "90.00"), **stated)
    assert [row["item"] for row in body["waste"]["missing"]] == ["keel"]
    assert body["waste"]["money"] is None
    refunds = _books(house, sold("soft", -3, "-9.00"))
    assert (refunds["waste"]["rows"], refunds["waste"]["money"]) == ([], "0.00")


def test_a_menu_wastes_what_its_mix_says_and_without_one_is_not_asked(house: Client) -> None:
    path = "/v1/menus/board/margins?month=2026-11"
    assert house.get(path).json()["waste"] is None
    assert house.get(path + "&mix=soft:30").json()["waste"] == _books(house, sold("soft", 30, "90.00"))["waste"]


def _shelf(**lives: int | None) -> list[Wasted]:
    """10 limes give 300 ml of juice and 100 g of peel; a serve takes 1 ml and every twelfth 1 g."""
    press = Part("press", {"juice": Decimal(300), "peel": Decimal(100)}, (Used("lime", "each", Decimal(10)),))
    kept = [
        Stored("juice", "ml", Decimal(300), lives.get("juice", 365), Decimal("0.01"), "press"),
        Stored("peel", "g", Decimal(100), lives.get("peel", 365), Decimal("0.02"), "press"),
        Stored("lime", "each", Decimal(1), 365, Decimal("0.50")),
    ]
    shelf = Shelf()
    shelf.sold(Decimal(600), [Used("juice", "ml", Decimal(1))], [press], kept)
    shelf.sold(Decimal(50), [Used("peel", "g", Decimal(1))], [press], kept)
    return list(shelf.wasted(30))


def test_joint_products_come_out_of_one_batch() -> None:
    """600 ml are 2 batches, so 200 g of peel are made for 50: 150 g are thrown, 3.00; 20 limes are cut. Arithmetic."""
    rows = {one.taken.stored.ref: one for one in _shelf()}
    assert {ref: float(one.thrown or 0) for ref, one in rows.items()} == pytest.approx(
        {"juice": 0, "peel": 150, "lime": 0}, abs=1e-6
    )
    assert {ref: float(one.money or 0) for ref, one in rows.items()} == pytest.approx(
        {"juice": 0, "peel": 3, "lime": 0}, abs=1e-6
    )
    assert rows["lime"].taken.used == Decimal(20)


def test_what_is_not_known_of_a_part_is_not_known_of_what_goes_into_it() -> None:
    rows = {one.taken.stored.ref: one.lacks for one in _shelf(peel=None)}
    assert rows == {"juice": "shelf_life_days", "peel": "shelf_life_days", "lime": "use in press"}


def test_a_product_that_nothing_takes_is_named() -> None:
    shelf = Shelf()
    press = Part("press", {"juice": Decimal(300), "peel": Decimal(100)}, ())
    kept = Stored("juice", "ml", Decimal(300), 3, Decimal(1), "press")
    shelf.sold(Decimal(1), [Used("juice", "ml", Decimal(1))], [press], [kept])
    assert shelf.idle() == ["peel"]


def test_waste_stands_in_every_form(house: Client) -> None:
    body = _books(house, sold("soft", 30, "90.00"), sold("flat", 3, "9.00"))
    book = load_workbook(BytesIO(xlsx_of(body)))
    head, *rows = book["Waste"].iter_rows(values_only=True)
    read = {row[0]: dict(zip(head, row, strict=True)) for row in rows}
    for one in body["waste"]["rows"]:
        cell = read[one["item"]]["Waste"]
        assert cell == "not known" if one["money"] is None else Decimal(repr(cell)) == Decimal(one["money"])
    assert (read["Total"]["Waste"], Decimal(repr(read["Known of it"]["Waste"]))) == (
        "not known", Decimal(body["waste"]["money_at_least"]),
    )  # fmt: skip
    notes = [row[:2] for row in book["Notes"].iter_rows(min_row=2, values_only=True)]
    assert ("not known of the waste", "several: tonic, open_life_days") in notes
    records = list(csv.DictReader(StringIO(csv_of(body).decode("utf-8-sig"), newline="")))
    told = [row for row in records if row["kind"] == "waste"]
    for row, one in zip(told, body["waste"]["rows"], strict=True):
        names = ("venue", "base", "batch", "life_days", "used", "thrown", "thrown_percent")
        expected = {name: "" if one[name] is None else str(one[name]) for name in names}
        assert {name: row[name] for name in names} == expected
        assert (row["id"], row["waste"]) == (one["item"], one["money"] or "")
    assert {(row["menu"], row["pour_cost"]) for row in records if row["kind"].startswith("waste")} == {("", "")}
    sums = {row["kind"]: row["waste"] for row in records if row["kind"] in ("waste in all", "waste known")}
    assert sums == {"waste in all": "", "waste known": body["waste"]["money_at_least"]}
    assert "in no pour cost and no margin" in html_of(body).decode()


def test_a_key_that_sees_no_costs_is_told_the_sums_alone(house: Client) -> None:
    """Money over quantity is what a supplier asks, which such a key is not shown."""
    asked = {**MONTH, "sales": [sold("soft", 30, "90.00")]}
    whole = _books(house, sold("soft", 30, "90.00"))["waste"]
    for accept in ("application/json", "text/csv", XLSX, "text/html"):
        headers = {**house.key("margins:read"), "Accept": accept}
        answer = house.ask("POST", "/v1/margins", json=asked, headers=headers)
        assert answer.status_code == 200, answer.text
        if accept == "application/json":
            assert answer.json()["waste"] == {name: one for name, one in whole.items() if name != "rows"}
        else:
            assert b"3693.727" not in answer.content
            if accept != XLSX:
                assert "only for keys that may see supplier prices" in answer.text
