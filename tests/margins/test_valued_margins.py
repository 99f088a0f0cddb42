"""POST /v1/margins by other valuations than list price: a small bar worked by hand."""

import csv
from collections.abc import Iterator
from decimal import Decimal
from io import BytesIO, StringIO
from typing import Any

import pytest
from openpyxl import load_workbook

from service.renderers.margins_csv import csv_of
from service.renderers.margins_html import html_of
from service.renderers.margins_xlsx import xlsx_of
from tests.api.conftest import Client
from tests.margins.bar import bar, sold
from tests.margins.cases import of

GIN: dict[str, Any] = {
    "item": "gin", "opening_units": "1", "opening_size": "1 l", "opening_value": "18.00",
    "purchases": [
        {"day": "2026-11-20", "units": "2", "size": "1 l", "invoiced": "48.00"},
        {"day": "2026-11-03", "units": "1", "size": "1 l", "invoiced": "20.00"},
    ],
    "tiers": [{"from_sum": "50.00", "percent": "10"}],
}  # fmt: skip
MONTH = {"period": {"month": "2026-11"}}


@pytest.fixture(scope="module")
def house() -> Iterator[Client]:
    """The small bar."""
    made = bar()
    yield made
    made.close()


def _books(house: Client, **asked: Any) -> dict[str, Any]:
    answer = house.ask("POST", "/v1/margins", json={**MONTH, **asked})
    assert answer.status_code == 200, answer.text
    body: dict[str, Any] = answer.json()
    return body


@pytest.mark.parametrize("case", of("valued"))
@pytest.mark.parametrize("method", ["list", "last_invoice", "weighted_average", "fifo"])
def test_what_sold_costs_by_a_valuation(house: Client, case: dict[str, Any], method: str) -> None:
    sales = [sold("neat", case["serves"], "500.00")]
    body = _books(house, sales=sales, stock=[GIN], valuation={"method": method, "at": case["at"]})
    assert body["total"]["pour_cost"] == case["pour_cost"][method]
    assert Decimal(body["total"]["contribution"]) == 500 - Decimal(case["pour_cost"][method])
    assert (body["at_list"], body["missing"]) == ([], [])


def test_the_second_valuation_stands_beside_the_first_with_the_difference(house: Client) -> None:
    """40 neat and 10 long take 2.5 l: 18 + 20 + 12 = 50.00, 20.00 a litre; tonic 2.00 at list. By list 50 + 2 = 52.00.

    Neat 40.00, long 10.00 + 2.00. By the last invoice 24.00 a litre: 48.00 and 12.00 + 2.00, 62.00 in all.
    """
    sales = [sold("neat", 40, "200.00"), sold("long", 10, "60.00")]
    asked = {"valuation": {"method": "fifo", "at": "invoice"}, "beside": {"method": "last_invoice", "at": "invoice"}}
    body = _books(house, sales=sales, stock=[GIN], **asked)
    beside = body["beside"]
    assert (body["total"]["pour_cost"], beside["total"]["pour_cost"], beside["pour_cost_difference"]) == (
        "52.00", "62.00", "10.00",
    )  # fmt: skip
    assert (body["total"]["contribution"], beside["total"]["contribution"], beside["contribution_difference"]) == (
        "208.00", "198.00", "-10.00",
    )  # fmt: skip
    names = ("drink", "pour_cost", "pour_cost_beside", "difference")
    assert [[row[name] for name in names] for row in beside["drinks"]] == [
        ["long", "12.00", "14.00", "2.00"], ["neat", "40.00", "48.00", "8.00"],
    ]  # fmt: skip
    assert body["at_list"] == beside["at_list"] == ["tonic"]
    assert (
        body["meta"]["valuation"] == "first in, first out, at invoice; items without stock or deliveries at list price"
    )
    assert beside["valuation"].startswith("last invoice")

    book = load_workbook(BytesIO(xlsx_of(body)))
    rows = [(row[0], *row[2:5]) for row in book["Two valuations"].iter_rows(min_row=2, max_row=5, values_only=True)]
    assert rows == [
        ("long", 12, 14, 2), ("neat", 40, 48, 8), ("All drinks", 52, 62, 10),
        ("Contribution of all drinks", 208, 198, -10),
    ]  # fmt: skip
    for one in book.worksheets[1:]:
        assert "beside it last invoice, at invoice" in str(one.cell(one.max_row, 1).value)
    notes = [row[:2] for row in book["Notes"].iter_rows(min_row=2, values_only=True)]
    assert ("at list price, since no stock of it is stated", "tonic") in notes
    records = list(csv.DictReader(StringIO(csv_of(body).decode("utf-8-sig"), newline="")))
    lines = {(row["kind"], row["id"]): row["pour_cost"] for row in records}
    assert lines["drink, second less first", "neat"] == "8.00"
    assert lines["total, second less first", ""] == "10.00"
    page = html_of(body).decode()
    assert "Two valuations" in page
    assert "first in, first out, at invoice" in page


def test_list_beside_list_prices_says_what_is_known_of_neither(house: Client) -> None:
    """By list price 40.00; the average of what came in 43.00, which is the case of two litres sold."""
    asked = {"beside": {"method": "weighted_average", "at": "invoice"}, "stock": [GIN]}
    body = _books(house, sales=[sold("neat", 40, "200.00")], **asked)
    assert body["meta"]["valuation"].startswith("offers in force")
    assert (body["total"]["pour_cost"], body["beside"]["pour_cost_difference"]) == ("40.00", "3.00")
    assert (body["at_list"], body["beside"]["at_list"]) == ([], [])


def test_two_periods_by_one_valuation_each_by_its_own_stock(house: Client) -> None:
    """October 20 neat of 1 l at 18.00; November 40 of 18.00 and 20.00: 38.00. M0 = 100 - 18 = 82, M1 = 200 - 38 = 162.

    Cost 40 x (0.90 - 0.95) = -2.00, volume (40 - 20) x 82 / 20 = 82.00, price and mix 0. Arithmetic.
    """
    before = {"item": "gin", "purchases": [{"day": "2026-10-02", "units": "1", "size": "1 l", "invoiced": "18.00"}]}
    sales = [sold("neat", 40, "200.00"), sold("neat", 20, "100.00", "2026-10-09")]
    asked = {"valuation": {"method": "fifo", "at": "invoice"}, "stock": [GIN], "compare_stock": [before]}
    body = _books(house, compare_with={"month": "2026-10"}, sales=sales, **asked)
    effects = body["effects"]
    names = ("before", "after", "change", "price", "mix", "volume", "cost")
    assert [effects[name] for name in names] == ["82.00", "162.00", "80.00", "0.00", "0.00", "82.00", "-2.00"]


def test_stock_in_other_measures_than_the_offers_moves_no_amount(house: Client) -> None:
    """Gin weighed: its offers are by volume, so it stays kept by volume, and its density turns one into the other.

    40 % vol at 20 C is 948.05 g/l (OIML R 22, table), so 0.94805 kg for 24.00 is 1 l: 40 neat cost 48.00.
    """
    weighed = {
        "item": "gin",
        "purchases": [{"day": "2026-11-03", "units": "1", "size": "948.05 g", "invoiced": "24.00"}],
    }
    for method in ("last_invoice", "fifo"):
        body = _books(house, sales=[sold("neat", 40, "200.00")], stock=[weighed], valuation={"method": method})
        assert body["total"]["pour_cost"] == "48.00"


def test_an_opening_stock_that_states_no_worth_is_worth_its_list_price(house: Client) -> None:
    """1 l at 20.00 and 1 l at 30.00: 25.00 on average, 1.25 a serve. Arithmetic."""
    held = {"item": "gin", "opening_units": "1", "opening_size": "1 l",
            "purchases": [{"day": "2026-11-03", "units": "1", "size": "1 l", "invoiced": "30.00"}]}  # fmt: skip
    body = _books(house, sales=[sold("neat", 4, "20.00")], stock=[held], valuation={"method": "weighted_average"})
    assert body["total"]["pour_cost"] == "5.00"


def test_stock_of_which_nothing_is_known_leaves_the_item_at_list_price(house: Client) -> None:
    body = _books(house, sales=[sold("neat", 4, "20.00")], stock=[{"item": "gin"}], valuation={"method": "fifo"})
    assert (body["total"]["pour_cost"], body["at_list"]) == ("4.00", ["gin"])


@pytest.mark.parametrize(
    ("change", "pointer", "code"),
    [
        ({"stock": []}, "", "stock_missing"),
        ({"compare_with": {"month": "2026-10"}}, "", "stock_missing"),
        ({"beside": {"method": "fifo", "at": "invoice"}}, "/beside", "valuations_same"),
        ({"valuation": {}, "beside": {"method": "list", "at": "invoice"}}, "/beside", "valuations_same"),
        ({"stock": [GIN, GIN]}, "/stock/1/item", "duplicate_id"),
        ({"stock": [{**GIN, "opening_size": None}]}, "/stock/0", "size_missing"),
        ({"stock": [{**GIN, "opening_size": "700 g"}]}, "/stock/0/purchases/0/size", "base_differs"),
        ({"stock": [{**GIN, "purchases": [{**GIN["purchases"][0], "day": "2026-12-01"}]}]},
         "/stock/0/purchases/0/day", "delivery_outside"),
        ({"stock": [{**GIN, "opening_units": "0"}]}, "/stock/0/opening_value", "opening_missing"),
    ],
)  # fmt: skip
def test_a_valuation_that_cannot_be_made_is_refused(house: Client, change: Any, pointer: str, code: str) -> None:
    asked = {**MONTH, "sales": [sold("neat", 4, "20.00")], "stock": [GIN]}
    asked |= {"valuation": {"method": "fifo", "at": "invoice"}}
    answer = house.ask("POST", "/v1/margins", json={**asked, **change})
    assert answer.status_code == 422, answer.text
    assert [(row["pointer"], row["code"]) for row in answer.json()["errors"]] == [(pointer, code)]
