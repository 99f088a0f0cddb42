"""Periods and targets as parameters of GET /v1/menus/{id}/margins and of a file of POST /v1/margins."""

from decimal import Decimal
from typing import Any

import pytest

from service.money import half_up
from tests.api.conftest import Client

WEEKS = {"weeks": "4-4-5", "year_begins": "2026-02-01", "year": "2026", "number": "12"}


def _menu(client: Client, **query: str) -> Any:
    return client.ask("GET", "/v1/menus/winter-harbour/margins", params=query)


@pytest.mark.parametrize(
    ("query", "first", "last", "days"),
    [
        ({"month": "2026-10"}, "2026-10-01", "2026-10-31", 31),
        ({"first": "2026-10-05", "last": "2026-10-11"}, "2026-10-05", "2026-10-11", 7),
        # Eleven periods of 2026 have 4 + 4 + 5 three times and 4 + 4, 47 weeks: 2026-02-01 + 329 days. Arithmetic.
        (WEEKS, "2026-12-27", "2027-01-30", 35),
        ({**WEEKS, "long_years": "2026,2032"}, "2026-12-27", "2027-02-06", 42),
        # Three quarters are 39 weeks, 273 days: 2026-11-01; four weeks on: 2026-11-29. Arithmetic.
        ({**WEEKS, "weeks": "5-4-4", "number": "10"}, "2026-11-01", "2026-12-05", 35),
        ({**WEEKS, "weeks": "4-5-4", "number": "11"}, "2026-11-29", "2027-01-02", 35),
    ],
)
def test_a_menu_over_a_period(demo_client: Client, query: dict[str, str], first: str, last: str, days: int) -> None:
    """One of each drink a day unless a mix is stated, and so as many of each as there are days."""
    answer = _menu(demo_client, **query)
    assert answer.status_code == 200, answer.text
    body = answer.json()
    assert {name: body["period"][name] for name in ("first", "last", "days")} == {
        "first": first, "last": last, "days": days,
    }  # fmt: skip
    assert {row["figures"]["quantity"] for row in body["drinks"]} == {str(days)}


def test_a_mix_is_spread_over_the_days_in_whole_serves(demo_client: Client) -> None:
    """Ten over four days are 2, 3, 2, 3: floor(10 n / 4) = 2, 5, 7, 10. Arithmetic."""
    body = _menu(demo_client, first="2026-10-01", last="2026-10-04", mix="fog-signal:10").json()
    rows = {row["drink"]: row["figures"]["quantity"] for row in body["drinks"]}
    assert rows == {"fog-signal": "10"}
    assert body["rows"] == 4


def test_a_target_of_the_query_stands_instead_of_the_venues(demo_client: Client) -> None:
    """No drink earns less than 1 %, none 99 %; a cash margin of 1000 is met by none."""
    low = _menu(demo_client, as_of="2026-11-25", gross_margin_percent="1").json()
    high = _menu(demo_client, as_of="2026-11-25", gross_margin_percent="99").json()
    cash = _menu(demo_client, as_of="2026-11-25", cash_margin="1000").json()
    known = [row for row in high["drinks"] if row["figures"]["complete"]]
    assert (len(low["under_target"]), len(high["under_target"]), len(cash["under_target"])) == (
        0,
        len(known),
        len(known),
    )
    assert cash["under_target"][0]["determined_by"] == "cash_margin"


@pytest.mark.parametrize(
    ("query", "named", "days"),
    [
        ({"compare_month": "2026-10"}, "2026-10", 31),
        ({"compare_first": "2026-10-05", "compare_last": "2026-10-11"}, "2026-10-05 to 2026-10-11", 7),
        # Nine periods of 2026 are 39 weeks, so the tenth has the four weeks from 2026-11-01 on. Arithmetic.
        ({**WEEKS, "compare_year": "2026", "compare_number": "10"}, "2026 4-4-5 period 10", 28),
    ],
)
def test_a_menu_beside_another_period(demo_client: Client, query: dict[str, str], named: str, days: int) -> None:
    """The same mix over both: its serves do not change, so there is no volume and no mix in what changes."""
    first = {} if "weeks" in query else {"month": "2026-11"}
    body = _menu(demo_client, mix="fog-signal:60,long-jetty:30", **first, **query).json()
    effects = body["effects"]
    assert (effects["compared_with"], body["rows_outside"]) == (named, 0)
    assert body["rows"] > days
    parts = [Decimal(effects[name]) for name in ("price", "mix", "volume", "cost")]
    assert sum(parts) == Decimal(effects["change"])
    assert (effects["volume"], effects["mix"]) == ("0.00", "0.00")
    alone = _menu(demo_client, mix="fog-signal:60,long-jetty:30", **_as_period(query)).json()
    assert effects["before"] == alone["total"]["contribution"]
    assert effects["after"] == body["total"]["contribution"]


def _as_period(query: dict[str, str]) -> dict[str, str]:
    """The compared period as the period itself."""
    weeks = {name: query[name] for name in ("weeks", "year_begins") if name in query}
    return weeks | {name.removeprefix("compare_"): one for name, one in query.items() if name.startswith("compare_")}


def test_a_menu_without_a_mix_sells_one_of_each_on_each_day_of_both(demo_client: Client) -> None:
    """One day beside five: a fifth of the serves."""
    query = {"compare_first": "2026-11-20", "compare_last": "2026-11-24"}
    body = _menu(demo_client, as_of="2026-11-25", **query).json()
    effects = body["effects"]
    lines = len(demo_client.get("/v1/menus/winter-harbour").json()["entries"])
    assert (body["total"]["quantity"], body["rows"]) == (str(lines), 6 * lines)
    # One serve of each now for five then: (1 - 5) / 5, so volume is -0.8 x before. Arithmetic.
    assert Decimal(effects["volume"]) == half_up(Decimal(effects["before"]) * Decimal("-0.8"), 2)


def test_a_file_takes_stated_days_to_compare_with(demo_client: Client) -> None:
    """Two serves lie in the first period and three in the other: 26.00 and 39.00 gross. Arithmetic."""
    text = "drink,day,serves,gross\nfog-signal,2026-02-28,2,26.00\nfog-signal,2026-01-03,3,39.00\n"
    columns = {"col_drink": "drink", "col_day": "day", "col_quantity": "serves", "col_gross": "gross"}
    query = {"month": "2026-02", "compare_first": "2026-01-01", "compare_last": "2026-01-10", "venue": "slack-warp"}
    answer = demo_client.ask(
        "POST", "/v1/margins", params={**query, **columns}, content=text.encode(), headers={"Content-Type": "text/csv"}
    )
    assert answer.status_code == 200, answer.text
    body = answer.json()
    assert (body["rows"], body["rows_outside"], body["total"]["quantity"]) == (2, 0, "2")
    assert body["effects"]["compared_with"] == "2026-01-01 to 2026-01-10"


@pytest.mark.parametrize(
    ("query", "pointer"),
    [
        ({"month": "2026-10", "compare_month": "2026-10"}, "/compare_month"),
        ({"month": "2026-10", "compare_first": "2026-09-20", "compare_last": "2026-10-01"}, "/compare_first"),
        ({"month": "2026-10", "compare_first": "2026-09-20"}, "/compare_first"),
        ({"month": "2026-10", "compare_first": "2026-09-20", "compare_last": "2026-09-19"}, "/compare_last"),
        ({"month": "2026-10", "compare_year": "2026", "compare_number": "1"}, "/compare_year"),
        ({**WEEKS, "compare_year": "2026"}, "/compare_year"),
        ({**WEEKS, "compare_year": "2026", "compare_number": "12"}, "/compare_year"),
        ({"month": "2026-10", "compare_month": "2026-08", "compare_first": "2026-09-20"}, "/compare_month"),
        ({"month": "2026-10", "as_of": "2026-10-01"}, "/as_of"),
        ({"month": "2026-10", "first": "2026-10-01", "last": "2026-10-02"}, "/month"),
        ({"first": "2026-10-01"}, "/first"),
        ({"first": "2026-10-02", "last": "2026-10-01"}, "/last"),
        ({"weeks": "4-4-5", "year": "2026"}, "/weeks"),
        ({"year": "2026"}, "/weeks"),
        ({**WEEKS, "number": "13"}, "/number"),
        ({**WEEKS, "weeks": "6-6-1"}, "/weeks"),
        ({"gross_margin_percent": "100"}, "/gross_margin_percent"),
    ],
)
def test_periods_that_are_unclear_are_refused(demo_client: Client, query: dict[str, str], pointer: str) -> None:
    answer = _menu(demo_client, **query)
    assert answer.status_code == 422, answer.text
    assert [row["pointer"] for row in answer.json()["errors"]] == [pointer]


def test_a_file_takes_weeks_and_a_target(demo_client: Client) -> None:
    """Two of five serves lie in the four weeks from 2026-02-01 to 2026-02-28. Arithmetic."""
    text = "drink,day,serves,gross\nfog-signal,2026-02-28,2,26.00\nfog-signal,2026-03-01,3,39.00\n"
    query = {**WEEKS, "number": "1", "col_drink": "drink", "col_day": "day", "col_quantity": "serves",
             "col_gross": "gross", "venue": "slack-warp", "gross_margin_percent": "99"}  # fmt: skip
    answer = demo_client.ask(
        "POST", "/v1/margins", params=query, content=text.encode(), headers={"Content-Type": "text/csv"}
    )
    assert answer.status_code == 200, answer.text
    body = answer.json()
    assert (body["total"]["quantity"], body["rows_outside"]) == ("2", 1)
    assert [row["drink"] for row in body["under_target"]] == ["fog-signal"]
