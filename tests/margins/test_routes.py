"""POST /v1/margins and GET /v1/menus/{id}/margins: JSON and files, worked by hand, refused as a whole."""

import json
import tomllib
from decimal import Decimal
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook

from service.api.scopes import SCOPES
from tests.api.conftest import Client

SALES = Path(__file__).parents[2] / "service" / "demo" / "sales" / "harbour-october.csv"
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
QUERY = {
    name: one
    for name, one in tomllib.loads(SALES.with_suffix(".toml").read_text(encoding="utf-8")).items()
    if name != "file"
}

STATED: dict[str, Any] = {
    "period": {"month": "2026-11"},
    "compare_with": {"month": "2026-10"},
    "currency": "EUR",
    "target": {"gross_margin_percent": "75"},
    "tax_classes": [{"id": "high", "rate_percent": "20"}],
    "channels": [{"id": "boat", "commission_percent": "10", "packaging": "0.50"}],
    "drinks": [
        {"id": "keel", "name": "Keel", "section": "Short", "pour_cost": "3.00"},
        {"id": "mast", "name": "Mast", "section": "Long", "pour_cost": "2.00"},
    ],
    "sales": [
        {"drink": "keel", "day": "2026-11-03", "quantity": "10", "gross": "120.00", "tax_class": "high"},
        {
            "drink": "mast",
            "day": "2026-11-04",
            "quantity": "5",
            "gross": "60.00",
            "tax_class": "high",
            "channel": "boat",
        },
        {"drink": "mast", "day": "2026-11-04", "quantity": "-1", "gross": "-12.00", "tax_class": "high"},
        {"drink": "keel", "day": "2026-10-03", "quantity": "8", "gross": "96.00", "tax_class": "high"},
        {"drink": "mast", "day": "2026-09-30", "quantity": "99", "gross": "999.00", "tax_class": "high"},
    ],
}


def _post(client: Client, body: Any) -> Any:
    return client.ask("POST", "/v1/margins", json=body)


def test_a_month_worked_by_hand(client: Client) -> None:
    """Keel: 120 / 1.2 = 100 net, cost 30. Mast: 60 - 12 = 48 / 1.2 = 40 net, cost 4 x 2 = 8. Together 140, 38, 102.

    Boat: 50 net x 10 % + 5 x 0.50 = 7.50. Keel earns 70 %: 3.00 / 0.25 = 12.00 net, no tax on the group: 12.00.
    Before: keel 8 x (10 - 3) = 56. Volume: (14 - 8) x 56 / 8 = 42; price and cost 0; mix 102 - 56 - 42 = 4. Arithmetic.
    """
    answer = _post(client, STATED)
    assert answer.status_code == 200, answer.text
    body = answer.json()
    total = body["total"]
    assert (total["net"], total["pour_cost"], total["contribution"]) == ("140.00", "38.00", "102.00")
    assert (total["tax"], total["gross_margin_percent"], total["pour_cost_percent"]) == ("28.00", "72.9", "27.1")
    assert (total["channel_cost"], total["after_channels"]) == ("7.50", "94.50")
    assert (body["rows"], body["rows_outside"]) == (4, 1)
    assert [row["figures"]["share_percent"] for row in body["sections"]] == ["28.6", "71.4"]
    (under,) = body["under_target"]
    assert (under["drink"], under["asked_net"], under["menu_price"]) == ("keel", "12.00", "12.00")
    effects = body["effects"]
    assert {name: effects[name] for name in ("before", "after", "change", "price", "mix", "volume", "cost")} == {
        "before": "56.00", "after": "102.00", "change": "46.00", "price": "0.00", "mix": "4.00", "volume": "42.00",
        "cost": "0.00",
    }  # fmt: skip


@pytest.mark.parametrize(("currency", "shown"), [("JPY", "140"), ("KWD", "140.000"), ("EUR", "140.00")])
def test_sums_have_the_digits_of_their_currency(client: Client, currency: str, shown: str) -> None:
    body = _post(client, {**STATED, "currency": currency}).json()
    assert body["total"]["net"] == shown
    parts = sum(Decimal(body["effects"][name]) for name in ("price", "mix", "volume", "cost"))
    assert parts == Decimal(body["effects"]["change"])


def test_a_moment_falls_on_its_trading_day(client: Client) -> None:
    # 01:00 UTC on 1 November is 02:00 in Amsterdam: still 31 October where a day ends at 04:00. Source: tz database.
    sale = {"drink": "keel", "quantity": "1", "gross": "12", "at": "2026-11-01T01:00:00Z"}
    trading_day = {"time_zone": "Europe/Amsterdam", "ends": "04:00"}
    body = {**STATED, "compare_with": None, "trading_day": trading_day, "sales": [sale]}
    assert _post(client, body).json()["rows_outside"] == 1
    sale["at"] = "2026-11-01T03:00:00Z"
    assert _post(client, body).json()["rows"] == 1


def test_nothing_sold_and_unknown_costs_are_told_as_such(client: Client) -> None:
    empty = _post(client, {**STATED, "sales": []}).json()
    assert (empty["total"]["net"], empty["total"]["gross_margin_percent"], empty["thresholds"]) == ("0.00", None, None)
    assert empty["effects"]["change"] == "0.00"


@pytest.mark.parametrize(
    ("change", "pointer", "code"),
    [
        ({"period": {}}, "/period", "period_unclear"),
        ({"period": {"month": "2026-11", "first": "2026-11-01", "last": "2026-11-02"}}, "/period", "period_unclear"),
        ({"trading_day": {"time_zone": "Skerrowmouth"}}, "/trading_day/time_zone", "time_zone_unknown"),
        ({"sales": [{**STATED["sales"][0], "tax_class": "none"}]}, "/sales/0/tax_class", "tax_class_unknown"),
        ({"sales": [{**STATED["sales"][0], "channel": "raft"}]}, "/sales/0/channel", "channel_unknown"),
        ({"sales": [STATED["sales"][0], {**STATED["sales"][0], "drink": "oar"}]}, "/sales/1/drink", "drink_unknown"),
        ({"sales": [{"external_id": "PLU9", "day": "2026-11-01", "quantity": "1", "gross": "1"}]},
         "/sales/0/external_id", "external_id_unknown"),
        ({"sales": [{"drink": "keel", "at": "2026-02-30T10:00", "quantity": "1", "gross": "1"}]}, "/sales/0/at",
         "moment_unreadable"),
        ({"sales": [{"drink": "keel", "quantity": "1", "gross": "1"}]}, "/sales/0", "day_unclear"),
        ({"currency": "XXX"}, "/currency", "currency_unknown"),
        ({"compare_with": {"first": "2026-10-20", "last": "2026-11-02"}}, "/compare_with", "periods_overlap"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_with_its_place(client: Client, change: Any, pointer: str, code: str) -> None:
    answer = _post(client, {**STATED, **change})
    assert answer.status_code == 422, answer.text
    assert [(row["pointer"], row["code"]) for row in answer.json()["errors"]] == [(pointer, code)]


def _rows() -> list[list[str]]:
    return [line.split(",") for line in SALES.read_text(encoding="utf-8").splitlines()]


def _workbook(rows: list[list[Any]]) -> bytes:
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    for row in rows:
        sheet.append(row)
    held = BytesIO()
    book.save(held)
    return held.getvalue()


def _file(client: Client, data: bytes, media: str, **query: str) -> Any:
    return client.ask("POST", "/v1/margins", params={**QUERY, **query}, content=data, headers={"Content-Type": media})


def test_a_file_says_the_same_in_every_format(demo_client: Client) -> None:
    head, *rows = _rows()
    rows = rows[:60]
    typed = [[*row[:3], int(row[3]), *[float(one) for one in row[4:7]], row[7]] for row in rows]
    text = "\n".join(",".join(row) for row in [head, *rows]).encode()
    comma = "\n".join(
        ";".join([*row[:4], *[one.replace(".", ",") for one in row[4:7]], row[7]]) for row in [head, *rows]
    )
    answers = [
        _file(demo_client, text, "text/csv"),
        _file(demo_client, comma.encode(), "text/csv", decimal=","),
        _file(demo_client, _workbook([head, *typed]), XLSX),
        _file(
            demo_client, json.dumps([dict(zip(head, row, strict=True)) for row in rows]).encode(), "application/json"
        ),
    ]
    assert [answer.status_code for answer in answers] == [200] * 4, answers[0].text
    bodies = [answer.json() for answer in answers]
    assert bodies[0]["rows"] == 60
    assert all(body == bodies[0] for body in bodies)
    gross = sum(Decimal(row[4]) for row in rows)
    assert Decimal(bodies[0]["total"]["gross"]) == gross


def test_a_bad_file_is_refused_as_a_whole_row_by_row(demo_client: Client) -> None:
    head, *rows = _rows()
    rows[1][3] = "many"
    rows[4][0] = "2026-13-01"
    rows[6][1] = "Not An Id"
    text = "\n".join(",".join(row) for row in [head, *rows[:9]]).encode()
    answer = _file(demo_client, text, "text/csv")
    assert answer.status_code == 422
    places = [row["pointer"] for row in answer.json()["errors"]]
    assert places == ["/rows/3/quantity", "/rows/6/day", "/rows/8/drink"]


def test_a_drink_that_is_not_sold_here_refuses_the_file(demo_client: Client) -> None:
    head, *rows = _rows()
    rows[2][1] = "no-such-drink"
    answer = _file(demo_client, "\n".join(",".join(row) for row in [head, *rows[:4]]).encode(), "text/csv")
    assert answer.status_code == 422
    assert [(row["pointer"], row["code"]) for row in answer.json()["errors"]] == [("/rows/4/drink", "drink_unknown")]


@pytest.mark.parametrize(
    "query",
    [{"month": "2026-13"}, {"col_gross": "Sold"}, {"col_gross": "Nowhere"}, {"more": "1"}, {"first": "2026-10-01"}],
)
def test_a_query_that_cannot_be_used_is_refused(demo_client: Client, query: dict[str, str]) -> None:
    assert _file(demo_client, SALES.read_bytes(), "text/csv", **query).status_code == 422


@pytest.mark.parametrize(
    ("written", "expected"), [("(13.00)", "-13.00"), ("13.00-", "-13.00"), ("-13.00", "-13.00"), ("EUR 13.00", "13.00")]
)
def test_refunds_as_ledgers_write_them(demo_client: Client, written: str, expected: str) -> None:
    text = f"{','.join(_rows()[0])}\n2026-10-01,fog-signal,,-1,{written},0,0,bar\n".encode()
    answer = _file(demo_client, text, "text/csv")
    assert answer.json()["total"]["gross"] == expected


def test_modifiers_are_known_by_the_till_and_by_their_ids(demo_client: Client) -> None:
    rows = ["2026-10-02,fog-signal,PLU 7301,1,15.50,0,0,bar", "2026-10-02,fog-signal,long-measure,1,15.50,0,0,bar"]
    answer = _file(demo_client, "\n".join([",".join(_rows()[0]), *rows]).encode(), "text/csv")
    (drink,) = answer.json()["drinks"]
    assert (drink["with"], drink["figures"]["quantity"]) == (["long-measure"], "2")


def test_the_menu_at_its_prices_agrees_with_each_drink(demo_client: Client) -> None:
    body = demo_client.get("/v1/menus/winter-harbour/margins?as_of=2026-11-25").json()
    assert len(body["drinks"]) == 12
    for row in body["drinks"]:
        one = demo_client.get(f"/v1/drinks/{row['drink']}/margin?venue=slack-warp&as_of=2026-11-25").json()
        assert row["figures"]["pour_cost"] == one["pour_cost"]
        assert row["figures"]["gross_margin_percent"] == one["at_menu_price"]["gross_margin_percent"]
        assert row["figures"]["net"] == one["at_menu_price"]["net"]
    under = {row["drink"] for row in body["under_target"]}
    assert under == {
        row["drink"] for row in body["drinks"]
        if Decimal(row["figures"]["gross_margin_percent"]) < Decimal("78")
    }  # fmt: skip


def test_a_mix_weighs_the_menu(demo_client: Client) -> None:
    body = demo_client.get("/v1/menus/winter-harbour/margins?as_of=2026-11-25&mix=fog-signal:3,sober-tide:1").json()
    assert body["total"]["gross"] == "47.50"  # 3 x 13.00 + 8.50. Arithmetic.
    for mix in ("fog-signal", "fog-signal:1,fog-signal:2", "no-such:1", "fog-signal:-1"):
        assert demo_client.get(f"/v1/menus/winter-harbour/margins?mix={mix}").status_code == 422
    assert demo_client.get("/v1/menus/no-such/margins").status_code == 404
    assert demo_client.get("/v1/menus/winter-harbour/margins?venue=ferry-landing").status_code == 404


def test_what_may_ask() -> None:
    assert SCOPES["create_margins"] == SCOPES["read_menu_margins"] == (frozenset({"margins:read"}),)
    for operation in ("create_moves", "create_usage", "create_perishing"):
        assert SCOPES[operation] == (frozenset({"margins:read", "costs:read"}),)
