"""Usage, moves, ladder and perishing as CSV, workbook and page: equal to the JSON, and nothing in them is live."""

import csv
import json
from collections.abc import Iterator
from decimal import Decimal
from io import BytesIO, StringIO
from typing import Any
from xml.etree import ElementTree

import pytest
from openpyxl import load_workbook

from service.api.sheets import ANSWERS, XLSX
from tests.api.conftest import Client
from tests.examples import FOLDER
from tests.margins.test_outputs import LIVE, nothing_live

Body = dict[str, Any]
GIN = {"item": "rum-aged-46", "size": "700 ml"}
LATE = {"item": "rum-aged-46", "day": "2026-10-31", "type": "delivery", "units": "2", "size": "700 ml"}
ASKED: dict[str, Body] = {
    "usage": {
        "period": {"month": "2026-10"}, "venue": "slack-warp", "roll_counts": True,
        "sales": [{"drink": "fog-signal", "day": "2026-10-10", "quantity": "20", "gross": "260.00"}],
        "opening": [{**GIN, "per_pack": 6, "packs": "1"}],
        "closing": [{**GIN, "units": "2", "tenths": ["5"], "day": "2026-10-30"}],
        "movements": [{**LATE, "day": "2026-10-13", "type": "spill", "units": "0.5"}, LATE],
        "stock": [{"item": "rum-aged-46", "purchases": [
            {"day": "2026-10-12", "units": "1", "size": "700 ml", "invoiced": "35.00"}]}],
        "valuation": {"method": "fifo"}, "beside": {"method": "weighted_average"},
    },
    "moves": {"menu": "last-ferry", "as_of": "2026-11-25", "changes": [{"percent": "60", "item": "rum-aged-46"}]},
    "ladder": {
        "currency": "EUR", "margin_percent": "73", "as_of": "2026-11-25",
        "drinks": [
            {"drink": "a", "quantity": "100", "menu_price": "10.00", "pour_cost": "3.00", "points": ["10.50", "11.00"]},
            {"drink": "b", "quantity": "100", "menu_price": "8.00", "pour_cost": "2.00", "points": ["8.50", "9.50"]},
        ],
    },
    "perishing": {"currency": "EUR", "items": [
        {"id": "cut-lime", "sales_a_day": "2", "life_days": "0.5", "serve_cost": "0.50", "wanted": 2},
        {"id": "still", "sales_a_day": "0", "life_days": "1", "serve_cost": "1"},
    ]},
}  # fmt: skip
"""One question for each answer, in which as many parts of it are filled as can be."""


@pytest.fixture(scope="module")
def bodies(demo_client: Client) -> dict[str, Body]:
    """The answers as JSON."""
    found = {}
    for name, asked in ASKED.items():
        answer = demo_client.ask("POST", f"/v1/margins/{name}", json=asked)
        assert answer.status_code == 200, answer.text
        found[name] = answer.json()
    return found


def figures(held: Any, ignored: frozenset[str] = frozenset()) -> Iterator[str]:
    """Every figure of a JSON answer that is decimal text, in any depth."""
    if isinstance(held, dict):
        for name, one in held.items():
            if name not in ignored:
                yield from figures(one, ignored)
    elif isinstance(held, list):
        for one in held:
            yield from figures(one, ignored)
    elif isinstance(held, str):
        try:
            yield str(Decimal(held).normalize())
        except ArithmeticError:
            return


def cells(content: bytes) -> list[list[Any]]:
    """The rows of every sheet but the notes."""
    book = load_workbook(BytesIO(content))
    return [list(row) for one in book if one.title != "Notes" for row in one.iter_rows(values_only=True)]


@pytest.mark.parametrize("name", ASKED)
def test_every_figure_of_the_json_stands_on_the_sheets_and_no_other(bodies: dict[str, Body], name: str) -> None:
    body = bodies[name]
    told = sorted(figures(body, frozenset({"meta", "period", "offers_changed", "offers_new"})))
    told += (
        sorted(str(batch["serves"]) for row in body["items"] for batch in (row["best"], row["wanted"]) if batch)
        if (name == "perishing")
        else []
    )
    numbers = [
        str(Decimal(repr(cell)).normalize())
        for row in cells(ANSWERS[name][XLSX](body))
        for cell in row
        if isinstance(cell, int | float)
    ]
    assert len(told) > 2
    assert {str(Decimal(one)) for one in told} == {str(Decimal(one)) for one in numbers}


def rows_of(body: Body, name: str, sheet: str) -> list[dict[str, Any]]:
    """A sheet read back, each row by its heads."""
    head, *rows = load_workbook(BytesIO(ANSWERS[name][XLSX](body)))[sheet].iter_rows(values_only=True)
    return [dict(zip(head, row, strict=True)) for row in rows[:-2]]


def same(cell: Any, text: str | None) -> bool:
    """Whether a cell holds the figure of the JSON."""
    return bool(cell == "not known") if text is None else Decimal(repr(cell)) == Decimal(text)


def test_usage_read_back(bodies: dict[str, Body]) -> None:
    body = bodies["usage"]
    (item,) = body["items"]
    row, total = rows_of(body, "usage", "Items")
    assert (row["Item"], row["Unit"], total["Item"]) == ("rum-aged-46", "ml", "Total")
    for title, text in {
        "Opening": item["opening"], "Closing": item["closing"], "Used by the counts": item["actual"],
        "Used by what sold": item["theoretical"], "Variance": item["variance"]["quantity"],
        "Variance in money": item["variance"]["money"], "Unexplained": item["unexplained"]["quantity"],
        "Unexplained in money": item["unexplained"]["money"], "Value of one unit": item["unit_value"],
        "Closing stock": item["closing_value"], "Second less first": item["value_difference"],
        "Closing stock, second valuation": item["closing_value_beside"],
    }.items():  # fmt: skip
        assert same(row[title], text), title
    assert same(total["Closing stock"], body["total"]["closing_value"])
    explained = rows_of(body, "usage", "Explained")
    unexplained = Decimal(repr(row["Unexplained in money"]))
    assert sum((Decimal(repr(one["Money"])) for one in explained), unexplained) == Decimal(item["variance"]["money"])
    counted, moved = rows_of(body, "usage", "Rolled counts")
    assert (counted["Counted on"], counted["Cut-off"], moved["Moved on"], moved["Moved"]) == (
        "2026-10-30", "2026-10-31", "2026-10-31", 1400,
    )  # fmt: skip
    assert {row["Type"]: row["Quantity"] for row in rows_of(body, "usage", "Movements")} == {
        "delivery": 1400, "spill": 350,
    }  # fmt: skip


def test_moves_read_back(bodies: dict[str, Body]) -> None:
    body = bodies["moves"]
    rows = rows_of(body, "moves", "Drinks")
    assert len(rows) == len(body["drinks"]) > 3
    assert body["fall_under"]
    for row, drink in zip(rows, body["drinks"], strict=True):
        assert row["Drink"] == drink["drink"]
        assert same(row["Cost before"], drink["cost_before"])
        assert same(row["Cost after"], drink["cost_after"])
        assert same(row["Margin % after"], drink["gross_margin_after"])
        assert row["Falls under"] == ("yes" if drink["drink"] in body["fall_under"] else "no")
    parts = rows_of(body, "moves", "Price by price then")
    told = [one for drink in body["drinks"] for one in drink["sensitivities_after"]]
    assert len(parts) == len(told)
    for row, part in zip(parts, told, strict=True):
        assert (row["Offer"], row["Currency of the pack"]) == (part["offer"], part["price_currency"])
        assert same(row["Cost in one serve"], part["cost"])


def test_ladder_and_perishing_read_back(bodies: dict[str, Body]) -> None:
    body = bodies["ladder"]
    for row, change in zip(rows_of(body, "ladder", "Changes"), body["changes"], strict=True):
        assert row["Drink"] == change["drink"]
        assert same(row["Price today"], change["from"])
        assert same(row["New price"], change["to"])
    margins = [row["Weighted margin %"] for row in rows_of(body, "ladder", "Margin")]
    assert [Decimal(repr(one)) for one in margins] == [Decimal(body["margin_before"]), Decimal(body["margin_after"])]
    best, made = rows_of(bodies["perishing"], "perishing", "Batches")
    assert (best["Batch"], best["Serves"], made["Batch"]) == ("costs least", 1, "made now")
    assert (made["Thrown away"], made["Waste of one serve sold"]) == (1.1, 0.615621)  # The case of two a day.
    _, still = rows_of(bodies["perishing"], "perishing", "Items")
    assert (still["What"], still["Made now, dearer for one serve by"]) == ("still", "none")


@pytest.mark.parametrize("name", ASKED)
def test_the_valuation_stands_on_every_sheet(bodies: dict[str, Body], name: str) -> None:
    body = bodies[name]
    book = load_workbook(BytesIO(ANSWERS[name][XLSX](body)))
    notes = dict(row[:2] for row in book["Notes"].iter_rows(min_row=2, values_only=True))
    assert notes["valuation"]
    for one in book.worksheets[1:]:
        assert str(one.cell(one.max_row, 1).value).startswith(f"Valuation: {notes['valuation']}")
    assert f"Valuation: {notes['valuation']}" in ANSWERS[name]["text/html"](body).decode()
    assert notes["valuation"] in ANSWERS[name]["text/csv"](body).decode("utf-8-sig")


@pytest.mark.parametrize("name", ASKED)
def test_csv_holds_the_texts_of_the_json(bodies: dict[str, Body], name: str) -> None:
    records = list(csv.DictReader(StringIO(ANSWERS[name]["text/csv"](bodies[name]).decode("utf-8-sig"), newline="")))
    held = {cell for row in records for cell in row.values()}
    rows = bodies[name].get("items") or bodies[name].get("drinks") or bodies[name]["changes"]
    for row in rows:
        for one in row.values():
            assert not isinstance(one, str) or one in held
    assert {row["currency"] for row in records} == {bodies[name]["currency"]}


def named(held: Any, text: str) -> Any:
    """The answer with a text in place of every text that is no figure and no currency."""
    if isinstance(held, dict):
        return {name: one if name in ("currency", "price_currency") else named(one, text) for name, one in held.items()}
    if isinstance(held, list):
        return [named(one, text) for one in held]
    if not isinstance(held, str) or any(figures(held)):
        return held
    return text


@pytest.mark.parametrize("text", LIVE)
@pytest.mark.parametrize("name", ASKED)
def test_no_text_becomes_a_formula_or_a_link(bodies: dict[str, Body], name: str, text: str) -> None:
    body = named(bodies[name], text)
    if "missing" in body:
        body["missing"] = [{"drink": text, "item": text, "field": text}]
    if name == "usage":
        body["not_counted"] = [text]
        body["items"] = [{**row, "moved": {text: "1"}} for row in body["items"]]
    nothing_live(load_workbook(BytesIO(ANSWERS[name][XLSX](body))), ANSWERS[name]["text/csv"](body))
    page = ANSWERS[name]["text/html"](body).decode()
    assert "<script" not in page
    assert 'href="' not in page
    # Every element is closed and every text escaped, so that what stands after the doctype is XML too.
    main = page[page.index("<main>") : page.index("</main>")] + "</main>"
    ElementTree.fromstring(main)


def test_rows_of_a_price_list_stand_on_a_sheet_of_their_own() -> None:
    """The answer of the committed example, whose rows to look at a human has read."""
    body = json.loads((FOLDER / "create_price_list_moves" / "tried.json").read_text(encoding="utf-8"))["response"][
        "body"
    ]
    looked = body["price_list"]["to_look_at"]
    rows = rows_of(body, "moves", "Rows to look at")
    assert len(rows) == len(looked) > 0
    for row, told in zip(rows, looked, strict=True):
        assert (row["Row"], row["Outcome"]) == (told["row"], told["outcome"])
        for one in (*told["reasons"], *told["must_confirm"]):
            assert one["detail"] in row["Why it does not count"]
    for text in LIVE[:3]:
        content = named(body, text)
        nothing_live(load_workbook(BytesIO(ANSWERS["moves"][XLSX](content))), ANSWERS["moves"]["text/csv"](content))


@pytest.mark.parametrize("name", ASKED)
def test_each_answer_comes_in_each_form(demo_client: Client, name: str) -> None:
    for accept, media in (
        (XLSX, XLSX), ("text/csv", "text/csv; charset=utf-8"), ("text/html", "text/html; charset=utf-8"),
    ):  # fmt: skip
        answer = demo_client.ask("POST", f"/v1/margins/{name}", json=ASKED[name], headers={"Accept": accept})
        assert (answer.status_code, answer.headers["content-type"]) == (200, media)
        assert "Accept" in answer.headers["vary"]
    refused = demo_client.ask("POST", f"/v1/margins/{name}", json=ASKED[name], headers={"Accept": "image/png"})
    assert refused.status_code == 406
