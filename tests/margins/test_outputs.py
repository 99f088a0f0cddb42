"""CSV, workbook and page of the books: equal to the JSON to the cent, and nothing in them is live."""

import csv
import re
from decimal import Decimal
from io import BytesIO, StringIO
from typing import Any
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import Workbook, load_workbook

from service.money import half_up
from service.renderers.book import inert
from service.renderers.margins_csv import COLUMNS, csv_of
from service.renderers.margins_html import html_of
from service.renderers.margins_xlsx import TITLES, xlsx_of
from service.report.books import apportioned
from tests.api.conftest import Client
from tests.margins.test_routes import QUERY, SALES, STATED, XLSX

LIVE = [
    "=1+1", "=cmd|'/C calc'!A0", "+1", "-1+2", "@SUM(A1)", "\t=1", "\r=1", " =1", "%0A=1", "|calc", '=HYPERLINK("x")',
    "http://harbour.invalid", "mailto:a@b.invalid", "internal:'Notes'!A1", "<script>alert(1)</script>", "]]>",
    "a\"b'c&d", "＝1+1", "＠SUM(A1)",
]  # fmt: skip
"""Texts that spreadsheets and browsers are known to run or follow (from memory)."""
STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "|", "%", "＝", "＋", "－", "＠")
"""First characters that make a cell live in one spreadsheet or another (from memory)."""


def _books(client: Client, **change: Any) -> dict[str, Any]:
    answer = client.ask("POST", "/v1/margins", json={**STATED, **change})
    assert answer.status_code == 200, answer.text
    body: dict[str, Any] = answer.json()
    return body


def _named(body: dict[str, Any], text: str) -> dict[str, Any]:
    """The books with a text in every place that somebody may name."""
    drinks = [
        {**row, "drink": text, "name": text, "section": text, "menu": text, "with": [text]} for row in body["drinks"]
    ]
    groups = {kind: [{**row, "id": text} for row in body[kind]] for kind in ("sections", "menus", "venues", "channels")}
    under = [{**row, "drink": text, "with": [text]} for row in body["under_target"]]
    missing = [{"drink": text, "item": text, "field": text}]
    effects = {**body["effects"], "compared_with": text, "left_out": [text]}
    period = {**body["period"], "name": text}
    beside = {
        "valuation": text, "at_list": [text], "total": body["total"], "pour_cost_difference": "1.00",
        "contribution_difference": None,
        "drinks": [
            {"drink": text, "with": [text], "pour_cost": "1.00", "pour_cost_beside": "2.00", "difference": "1.00"}
        ],
    }  # fmt: skip
    row = dict.fromkeys(("batch", "life_days", "used", "thrown", "thrown_percent", "money"))
    waste = {**body["waste"], "assumes": text, "missing": missing,
             "rows": [{**row, "item": text, "venue": text, "kind": text, "base": text}]}  # fmt: skip
    valued = {"at_list": [text], "beside": beside, "waste": waste}
    more = {**valued, "under_target": under, "missing": missing, "effects": effects, "period": period}
    return {**body, **groups, **more, "drinks": drinks}


@pytest.mark.parametrize("currency", ["EUR", "JPY", "KWD"])
def test_a_workbook_read_back_equals_the_json_to_the_cent(client: Client, currency: str) -> None:
    body = _books(client, currency=currency)
    book = load_workbook(BytesIO(xlsx_of(body)))
    assert book.sheetnames == [
        "Notes", "Drinks", "Sections", "Menus", "Venues", "Channels", "Under target", "Waste", "Effects",
    ]  # fmt: skip
    *rows, blank, (last, *_) = list(book["Drinks"].iter_rows(values_only=True))
    assert set(blank) == {None}
    assert last == f"Valuation: {body['meta']['valuation']}"
    assert rows[0][5 : 5 + len(TITLES)] == tuple(TITLES.values())
    expected = [row["figures"] for row in body["drinks"]] + [body["total"]]
    assert len(rows) == 1 + len(expected)
    for row, figures in zip(rows[1:], expected, strict=True):
        for cell, name in zip(row[5 : 5 + len(TITLES)], TITLES, strict=True):
            if figures[name] is None:
                assert cell == "not known"
            else:
                assert half_up(Decimal(repr(cell)), 3) == half_up(Decimal(figures[name]), 3), name
    effects = {row[0]: row[1] for row in book["Effects"].iter_rows(min_row=2, max_row=7, values_only=True)}
    for name in ("price", "mix", "volume", "cost"):
        assert half_up(Decimal(repr(effects[f"{name.capitalize()} effect"])), 3) == Decimal(body["effects"][name])
    notes = {row[0]: row[1] for row in book["Notes"].iter_rows(min_row=2, values_only=True)}
    assert notes["rules version"] == body["meta"]["rules_version"]
    assert {"valuation", "as of", "missing", "cost version", "data version"} <= set(notes)


def test_formats_follow_the_currency(client: Client) -> None:
    for currency, form in (("JPY", "#,##0;[Red]-#,##0"), ("KWD", "#,##0.000;[Red]-#,##0.000")):
        book = load_workbook(BytesIO(xlsx_of(_books(client, currency=currency))))
        assert book["Drinks"].cell(2, 7).number_format == form


def nothing_live(book: Workbook, table: bytes) -> None:
    """No cell of a workbook and of a table is a formula or a link."""
    for sheet in book:
        for row in sheet.iter_rows():
            for cell in row:
                assert cell.data_type != "f", (sheet.title, cell.coordinate)
                assert cell.hyperlink is None
    for record in csv.reader(StringIO(table.decode("utf-8-sig"), newline="")):
        for cell_text in record:
            figure = re.fullmatch(r"-?[0-9]+(\.[0-9]+)?", cell_text)
            assert figure or not cell_text.lstrip().startswith(STARTS), cell_text


@pytest.mark.parametrize("text", LIVE)
def test_no_text_becomes_a_formula_or_a_link(client: Client, text: str) -> None:
    body = _named(_books(client), text)
    book = load_workbook(BytesIO(xlsx_of(body)))
    nothing_live(book, csv_of(body))
    page = html_of(body).decode()
    assert "<script" not in page
    assert 'href="' not in page
    for svg in re.findall(r"<svg.*?</svg>", page, re.DOTALL):
        ElementTree.fromstring(svg)


@given(st.text(max_size=30))
def test_an_inert_text_never_begins_live_and_loses_nothing(text: str) -> None:
    made = inert(text)
    assert made.endswith(text)
    assert not made.lstrip(" \u00a0\u3000").startswith(STARTS)


def test_csv_says_what_the_json_says(client: Client) -> None:
    body = _books(client)
    records = list(csv.DictReader(StringIO(csv_of(body).decode("utf-8-sig"), newline="")))
    drinks = [row for row in records if row["kind"] == "drink"]
    for record, row in zip(drinks, body["drinks"], strict=True):
        assert record["id"] == row["drink"]
        assert {name: record[name] or None for name in COLUMNS} == {name: row["figures"][name] for name in COLUMNS}
    (total,) = [row for row in records if row["kind"] == "total"]
    assert total["net"] == body["total"]["net"]
    assert any(row["kind"] == "note" and row["id"] == "valuation" for row in records)
    assert next(row for row in drinks if row["id"] == "keel")["menu_price_to_target"] == "12.00"


def test_the_page_shows_three_charts_and_says_every_figure_in_words(client: Client) -> None:
    body = _books(client)
    page = html_of(body).decode()
    assert page.count("<svg") == 3
    assert page.count('role="img"') == 3
    for part in body["one_serve"]:
        assert f"{part['each']} EUR" in page
    for name in ("before", "after", "price", "mix", "volume", "cost"):
        assert body["effects"][name] in page
    assert "@media print" in page
    assert "under target" in page
    for svg in re.findall(r"<svg.*?</svg>", page, re.DOTALL):
        tree = ElementTree.fromstring(svg)
        for bar in tree.iter("rect"):
            assert float(bar.get("x", "-1")) >= 0
            assert float(bar.get("x", "0")) + float(bar.get("width", "0")) <= 720
        for text in tree.iter("text"):  # What stands beside a bar is not cut off; 8 px is wide for a letter of 13 px.
            assert text.get("text-anchor") == "end" or float(text.get("x", "0")) + 8 * len(text.text or "") <= 720


def test_an_unknown_cost_is_not_known_in_every_form(demo_client: Client) -> None:
    headers = {"Content-Type": "text/csv"}
    answer = demo_client.ask("POST", "/v1/margins", params=QUERY, content=SALES.read_bytes(), headers=headers)
    body = answer.json()
    assert not body["total"]["complete"]
    assert body["one_serve"] == []
    assert "not known" in html_of(body).decode()
    book = load_workbook(BytesIO(xlsx_of(body)))
    assert "not known" in [cell.value for row in book["Drinks"].iter_rows() for cell in row]
    text = csv_of(body).decode("utf-8-sig")
    assert "skerrowmouth-brut, offer" in text


@pytest.mark.parametrize(
    ("accept", "media"),
    [
        (None, "application/json"), ("*/*", "application/json"), ("text/csv", "text/csv; charset=utf-8"), (XLSX, XLSX),
        ("text/html,application/xhtml+xml,*/*;q=0.8", "text/html; charset=utf-8"),
        ("text/*", "text/csv; charset=utf-8"),
        ("application/json;q=0.1, text/csv;q=0.5", "text/csv; charset=utf-8"),
    ],
)  # fmt: skip
def test_the_form_is_the_one_asked_for(client: Client, accept: str | None, media: str) -> None:
    headers = {} if accept is None else {"Accept": accept}
    answer = client.ask("POST", "/v1/margins", json=STATED, headers=headers)
    assert (answer.status_code, answer.headers["content-type"]) == (200, media)
    assert "Accept" in answer.headers["vary"]


def test_a_form_that_is_not_made_is_refused(client: Client) -> None:
    for accept in ("image/png", "text/csv;q=0", "nonsense"):
        assert client.ask("POST", "/v1/margins", json=STATED, headers={"Accept": accept}).status_code == 406


def test_where_the_money_of_one_serve_goes_adds_up(client: Client) -> None:
    """168.00 for 14 serves = 12.00: tax 2.00, cost 38 / 14 = 2.71, boat 7.50 / 14 = 0.54, stays 94.50 / 14 = 6.75."""
    body = _books(client)
    parts = {row["part"]: row["each"] for row in body["one_serve"]}
    assert parts == {"tax": "2.00", "pour_cost": "2.71", "channel_cost": "0.54", "stays": "6.75"}
    assert sum(Decimal(one) for one in parts.values()) == Decimal("12.00")
    assert sum(Decimal(row["share_percent"]) for row in body["one_serve"]) == 100


@given(st.lists(st.decimals(-500, 500, places=5, allow_nan=False), max_size=9), st.sampled_from([0, 2, 3]))
def test_apportioned_parts_add_up_and_none_is_a_unit_off(parts: list[Decimal], places: int) -> None:
    found = apportioned(parts, places)
    assert sum(found, Decimal(0)) == half_up(sum(parts, Decimal(0)), places)
    for part, shown in zip(parts, found, strict=True):
        assert abs(part - shown) < Decimal(1).scaleb(-places)
