"""A supplier's price list over the API: a dry run, then all of its rows or none."""

import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest

from service.settings import Settings
from service.store.backup import backup, restore
from tests.api.conftest import Client

LISTS = Path(__file__).parents[2] / "service" / "demo" / "price_lists"
SUPPLIER = "tarrick-wharf-wines-and-spirits"
CSV = (LISTS / "tarrick-wharf.csv").read_bytes()


@pytest.fixture(params=["sqlite", "postgresql"])
def bar(request: pytest.FixtureRequest, new_database: Callable[[str], str]) -> Iterator[Client]:
    """The demo bar on each store."""
    made = Client(Settings(demo=True, database_url=new_database(request.param)))
    yield made
    made.close()


def sent(bar: Client, data: bytes = CSV, **query: str) -> httpx.Response:
    """The answer to a list as the supplier sends it."""
    asked = {"supplier": SUPPLIER, "valid_from": "2027-01-15", **query}
    return bar.ask("POST", "/v1/price-lists", params=asked, content=data, headers={"Content-Type": "text/csv"})


def committed(bar: Client, list_id: str, **body: Any) -> httpx.Response:
    """The answer to taking a list in."""
    return bar.ask("POST", f"/v1/price-lists/{list_id}/commit", json=body)


def test_a_dry_run_changes_nothing_and_tells_every_row(bar: Client) -> None:
    before = bar.get("/v1/offers?page_size=100").content
    found = sent(bar)
    assert found.status_code == 201
    told = found.json()
    # Rows of the file, counted by hand: 4 dearer, 3 cheaper, 3 as before, 1 new; the whiskey at a bottle's price waits.
    counts = {"new": 1, "up": 4, "down": 3, "unchanged": 3, "refused": 0, "left_out": 0, "to_confirm": 1}
    assert (told["counts"], told["committable"]) == (counts, False)
    assert [row["row"] for row in told["to_look_at"]] == [9]
    lines = [json.loads(line) for line in bar.get(f"/v1/price-lists/{told['id']}/rows").text.splitlines()]
    assert (len(lines), lines[-1]) == (12, {"rows": 11, "end": True})
    assert bar.get("/v1/offers?page_size=100").content == before


def test_a_doubtful_row_is_confirmed_by_its_number_or_nothing_is_taken_in(bar: Client) -> None:
    list_id = sent(bar).json()["id"]
    before = bar.get("/v1/offers?page_size=100").content
    refused = committed(bar, list_id)
    assert refused.status_code == 422
    assert {error["pointer"] for error in refused.json()["errors"]} == {"/rows/9"}
    assert bar.get("/v1/offers?page_size=100").content == before
    assert committed(bar, list_id, confirm=[9]).json()["state"] == "committed"
    assert committed(bar, list_id, confirm=[9]).status_code == 409
    assert bar.get("/v1/offers/tw-irish-pot-still-46").json()["price"]["amount"] == "28.00"


def test_a_price_holds_from_its_day_on(bar: Client) -> None:
    before = bar.get("/v1/drinks/long-jetty/cost?as_of=2027-01-14").json()["cost"]["pour_cost"]
    assert committed(bar, sent(bar).json()["id"], leave_out=[9]).status_code == 200
    assert bar.get("/v1/drinks/long-jetty/cost?as_of=2027-01-14").json()["cost"]["pour_cost"] == before


def test_a_list_that_says_a_day_that_is_past_corrects_the_past_from_that_day(bar: Client) -> None:
    """A list holds from the day it states whenever it is taken in; the books of the days before stay as they were."""
    days = ("2026-11-01", "2026-11-02")
    before = [_costs(bar, day) for day in days]
    told = sent(bar, valid_from=days[1]).json()
    assert committed(bar, told["id"], confirm=[9]).status_code == 200
    after = [_costs(bar, day) for day in days]
    assert after[0] == before[0]
    assert after[1] != before[1]


def _costs(bar: Client, day: str) -> dict[str, str]:
    answer = bar.get("/v1/costs", params={"as_of": day, "page_size": 100})
    return {row["drink"]: row["cost"]["pour_cost"] for row in answer.json()["drinks"]}


def test_a_list_that_begins_later_may_be_sent_again_before_it_does(bar: Client) -> None:
    for _ in range(2):
        assert committed(bar, sent(bar).json()["id"], confirm=[9]).status_code == 200
    revisions = bar.get("/v1/offers/tw-irish-pot-still-46/revisions").json()["revisions"]
    assert [row["revision"] for row in revisions] == list(range(1, len(revisions) + 1))


def test_a_list_is_stale_once_an_offer_of_its_supplier_has_changed(bar: Client) -> None:
    list_id = sent(bar).json()["id"]
    assert committed(bar, sent(bar).json()["id"], confirm=[9]).status_code == 200
    refused = committed(bar, list_id, confirm=[9])
    assert (refused.status_code, refused.json()["type"]) == (409, "urn:washline:problem:changed-meanwhile")


def test_one_bad_row_holds_the_whole_list_back(bar: Client) -> None:
    bad = CSV.replace(b"12x70cl", b"case", 1)
    told = sent(bar, bad).json()
    assert told["counts"]["refused"] == 1
    before = bar.get("/v1/offers?page_size=100").content
    assert committed(bar, told["id"], confirm=[9]).status_code == 422
    assert bar.get("/v1/offers?page_size=100").content == before


def test_a_list_comes_back_from_a_backup(bar: Client, tmp_path: Path) -> None:
    read = sent(bar)
    backup(bar.app.state.store, tmp_path / "kept", "test")
    url = f"sqlite:///{tmp_path}/restored.db"
    restore(tmp_path / "kept", url)
    restored = Client(Settings(demo=True, database_url=url))
    try:
        address = f"/v1/price-lists/{read.json()['id']}"
        assert restored.get(address).json() == bar.get(address).json()
        assert restored.get(f"{address}/rows").content == bar.get(f"{address}/rows").content
    finally:
        restored.close()


def test_a_list_may_be_as_long_as_is_set_and_no_byte_longer() -> None:
    assert Settings().max_import_bytes == 10 * 1024 * 1024
    client = Client(Settings(demo=True, max_import_bytes=4096))
    longest = CSV + b"\n" * (4096 - len(CSV))  # Blank rows are skipped.
    assert sent(client, longest).status_code == 201
    refused = sent(client, longest + b"\n")
    assert (refused.status_code, refused.json()["type"]) == (413, "urn:washline:problem:body-too-large")
    client.close()
