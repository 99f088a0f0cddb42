"""The demo as a store of its own: two venues, the lists of two suppliers, and a year of prices."""

from datetime import date, timedelta
from pathlib import Path

from service.demo import demo
from tests.api.conftest import Client

LISTS = Path(__file__).parents[2] / "service" / "demo" / "price_lists"


def test_the_demo_has_two_venues_that_answer_apart(demo_client: Client) -> None:
    venues = {entry["id"] for entry in demo_client.get("/v1/venues").json()["entries"]} - {"group"}
    assert len(venues) == 2
    answers = [demo_client.get(f"/v1/costs?venue={venue}&page_size=100").json()["drinks"] for venue in sorted(venues)]
    assert answers[0] != answers[1]


def test_the_lists_of_two_suppliers_are_read_in_two_formats_and_written_to_nothing(demo_client: Client) -> None:
    read_as = []
    before = demo_client.get("/v1/offers?page_size=100").content
    suppliers = {entry["id"]: entry["body"] for entry in demo_client.get("/v1/suppliers").json()["entries"]}
    of_lists = sorted(one for one, body in suppliers.items() if "price_list" in body)
    for path, supplier in zip(sorted(LISTS.glob("*.csv")), of_lists, strict=True):
        url, csv = f"/v1/price-lists?supplier={supplier}", {"Content-Type": "text/csv"}
        answer = demo_client.ask("POST", url, content=path.read_bytes(), headers=csv)
        assert answer.status_code == 201, answer.text
        told = answer.json()
        assert told["counts"]["refused"] == 0
        assert sum(told["counts"].values()) >= 5
        read_as.append((told["read_as"]["delimiter"], told["read_as"]["decimal"]))
    assert len({delimiter for delimiter, _ in read_as}) == len({mark for _, mark in read_as}) == 2
    assert demo_client.get("/v1/offers?page_size=100").content == before


def test_a_year_of_prices_is_answered_as_of_its_days(demo_client: Client) -> None:
    days = sorted({row.day for row in demo().history} | {demo().history_until})
    assert date(2026, 11, 25) - days[0] >= timedelta(days=365), "from the day of the demo back"

    def costs(day: date) -> dict[str, str]:
        rows = demo_client.get(f"/v1/costs?as_of={day}&page_size=100").json()["drinks"]
        return {row["drink"]: row["cost"]["pour_cost"] for row in rows}

    told = [costs(day) for day in (days[0], days[len(days) // 2], days[-1])]
    assert len(told[0]) >= 8
    for one, other in ((0, 1), (1, 2)):
        assert sum(told[one][drink] != told[other][drink] for drink in told[0]) >= 3
