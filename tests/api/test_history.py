"""GET /v1/costs/history: periods that are, day by day, what the single route answers for the day."""

import random
from datetime import date, timedelta
from itertools import pairwise
from typing import Any

import pytest

from service.settings import Settings
from service.store.keys import new_key
from tests.api.conftest import Client
from tests.api.streamed import records

YEAR = "/v1/costs/history?from=2025-12-01&to=2026-11-30"


def periods(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The lines that are periods."""
    return [row for row in rows if "drink" in row]


def test_every_drink_has_every_day_once_and_the_last_line_counts(demo_client: Client) -> None:
    """Two venues, 16 drinks, 365 days: arithmetic."""
    answer = demo_client.get(YEAR)
    assert answer.headers["content-type"] == "application/x-ndjson"
    rows = records(answer.content)
    found = periods(rows)
    assert rows[-1]["end"] is True
    assert rows[-1]["periods"] == len(found)
    assert rows[-1]["drink_days"] == 2 * 16 * 365
    by_drink: dict[tuple[str, str], list[dict[str, Any]]] = {}
    for row in found:
        by_drink.setdefault((row["venue"], row["drink"]), []).append(row)
    assert len(by_drink) == 32
    for stretch in by_drink.values():
        stretch.sort(key=lambda row: str(row["from"]))
        assert (stretch[0]["from"], stretch[-1]["to"]) == ("2025-12-01", "2026-11-30")
        for one, following in pairwise(stretch):
            assert date.fromisoformat(one["to"]) + timedelta(days=1) == date.fromisoformat(following["from"])
            assert one["pour_cost"] != following["pour_cost"]
    last = [row["progress"] for row in rows if "progress" in row][-1]
    assert last["done"] == last["of"]


def test_the_days_of_a_period_cost_what_the_single_route_answers(demo_client: Client) -> None:
    found = periods(records(demo_client.get(YEAR).content))
    for row in random.Random(11).sample(found, 60):
        for day in {row["from"], row["to"]}:
            path = f"/v1/drinks/{row['drink']}/cost?venue={row['venue']}&as_of={day}"
            cost = demo_client.get(path).json()["cost"]
            assert (cost["currency"], cost["pour_cost"]) == (row["currency"], row["pour_cost"]), (row, day)


def test_one_venue_and_the_drinks_of_one_menu(demo_client: Client) -> None:
    menus = demo_client.get("/v1/menus").json()["entries"]
    menu = menus[0]["body"]
    venue = menu.get("venue") or "slack-warp"
    found = periods(records(demo_client.get(f"{YEAR}&venue={venue}&menu={menu['id']}").content))
    assert {row["venue"] for row in found} == {venue}
    assert {row["drink"] for row in found} == {entry["drink"] for entry in menu["entries"]}


@pytest.mark.parametrize(
    ("query", "status", "pointer"),
    [
        ("from=2026-01-02&to=2026-01-01", 422, ""),
        ("from=2020-01-01&to=2026-01-01", 422, ""),
        ("from=2026-01-01", 422, "/to"),
        ("from=2026-01-01&to=2026-01-02&venue=nowhere", 404, None),
        ("from=2026-01-01&to=2026-01-02&menu=nothing", 404, None),
        ("from=2026-01-01&from=2026-01-01&to=2026-01-02", 422, "/from"),
    ],
)
def test_what_cannot_be_told_is_refused(demo_client: Client, query: str, status: int, pointer: str | None) -> None:
    answer = demo_client.get(f"/v1/costs/history?{query}")
    assert answer.status_code == status
    if pointer is not None:
        assert [fault["pointer"] for fault in answer.json()["errors"]] == [pointer]


@pytest.mark.parametrize(
    ("scopes", "status"),
    [(("costs:read",), 403), (("margins:read",), 403), (("costs:read", "margins:read"), 200)],
)
def test_it_needs_costs_and_margins(scopes: tuple[str, ...], status: int) -> None:
    client = Client(Settings(demo=True))
    with client.app.state.store.writing() as connection:
        _, text = new_key(connection, "books", scopes, "slack-warp", None)
    answer = client.get("/v1/costs/history?from=2026-01-01&to=2026-01-02", headers={"Authorization": f"Bearer {text}"})
    client.close()
    assert answer.status_code == status
    if status == 200:
        assert {row["venue"] for row in periods(records(answer.content))} == {"slack-warp"}


def test_nothing_stored_is_an_empty_history() -> None:
    client = Client(Settings(demo=False))
    rows = records(client.get("/v1/costs/history?from=2026-01-01&to=2026-01-02").content)
    client.close()
    assert periods(rows) == []
    assert rows[-1]["drink_days"] == 0
