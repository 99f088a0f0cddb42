"""The change feeds: which drinks moved, since when and why. Expectations follow from the bar's specs by hand."""

import re
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from service.rules import rules
from service.settings import Settings
from service.store.store import Store
from tests.api.bar import write
from tests.api.conftest import Client

ENDS = ("pier-punch", "price")
"""The offer of its wine ends with 2027, which is told with each change of its cost before."""


class Feeds:
    """Both feeds of a bar, read on from where they were left."""

    def __init__(self, client: Client) -> None:
        self.client = client
        self._cursors = {"costs": "0.", "labels": "0."}
        self.read("costs")
        self.read("labels")

    def read(self, feed: str) -> list[dict[str, Any]]:
        """What is new in a feed."""
        found: list[dict[str, Any]] = []
        more = True
        while more:
            answer = self.client.get(f"/v1/changes/{feed}?page_size=2&cursor={self._cursors[feed]}")
            assert answer.status_code == 200, answer.text
            page = answer.json()
            found += page["changes"]
            self._cursors[feed], more = page["next_cursor"], page["more"]
        return found

    def moved(self) -> tuple[list[tuple[str, str]], list[tuple[str, str]]]:
        """Drinks and reasons that are new in the feed of costs and in that of labels."""
        costs, labels = ([(row["drink"], row["why"]) for row in self.read(feed)] for feed in ("costs", "labels"))
        return costs, labels

    def patch(self, address: str, body: dict[str, Any]) -> None:
        """Changes an entry."""
        answer = self.client.ask("PATCH", f"/v1/{address}", json=body, headers={"If-Match": "*"})
        assert answer.status_code == 200, answer.text


@pytest.fixture
def feeds(database_url: str) -> Iterator[Feeds]:
    """A bar of one test, its feeds read to the end."""
    client = Client(Settings(database_url=database_url))
    write(client)
    yield Feeds(client)
    client.close()


def _price(amount: str) -> dict[str, Any]:
    return {"price": {"amount": amount, "currency": "EUR"}}


def test_a_price_moves_the_costs_of_the_drinks_it_is_in_and_no_label(feeds: Feeds) -> None:
    before = feeds.client.get("/v1/drinks/quay-sour/cost").json()["cost"]["pour_cost"]
    feeds.patch("offers/rum-case", _price("282.00"))
    rows = feeds.read("costs")
    assert {(row["drink"], row["why"]) for row in rows} == {("quay-sour", "price"), ("pier-punch", "price")}
    sour = next(row for row in rows if row["drink"] == "quay-sour")
    assert sour["before"]["pour_cost"] == before
    assert sour["after"]["pour_cost"] == feeds.client.get("/v1/drinks/quay-sour/cost").json()["cost"]["pour_cost"]
    assert float(sour["after"]["pour_cost"]) > float(before)
    assert feeds.read("labels") == []
    assert feeds.moved() == ([], [])


def test_the_price_of_an_offer_that_is_not_chosen_moves_nothing(feeds: Feeds) -> None:
    dear = {"id": "rum-dear", "item": "pier-rum", "supplier": "pier", "pack": {"size": "700 ml"}, **_price("400.00")}
    assert feeds.client.ask("POST", "/v1/offers", json=dear).status_code == 201
    feeds.moved()
    feeds.patch("offers/rum-dear", _price("390.00"))
    costs = feeds.read("costs")
    assert [row for row in costs if row["before"] == row["after"]] == costs == []
    assert feeds.read("labels") == []


def test_the_price_of_a_part_moves_the_drinks_above_it(feeds: Feeds) -> None:
    feeds.patch("offers/sugar", _price("9.00"))
    assert feeds.moved() == ([("quay-sour", "price")], [])


def test_a_juice_moves_with_its_fruit(feeds: Feeds) -> None:
    feeds.patch("offers/lime", _price("3.00"))
    assert feeds.moved() == ([("almond-light", "price"), ("quay-sour", "price")], [])


def test_a_spec_moves_both(feeds: Feeds) -> None:
    spec = feeds.client.get("/v1/drinks/pier-punch").json()
    lines = [{**spec["lines"][0], "amount": "60 ml"}, *spec["lines"][1:]]
    feeds.patch("drinks/pier-punch", {"lines": lines})
    assert feeds.moved() == ([("pier-punch", "spec"), ENDS], [("pier-punch", "spec")])
    feeds.patch("ingredients/pier-rum", {"abv_percent": "50"})
    costs, labels = feeds.moved()
    assert costs == []  # the strength is no cost
    assert labels == [("pier-punch", "spec"), ("quay-sour", "spec")]


def test_a_drink_that_goes_has_nothing_after(feeds: Feeds) -> None:
    for menu in ("evening", "deck", "board"):
        feeds.patch(f"menus/{menu}", {"entries": []})
    assert feeds.client.ask("DELETE", "/v1/drinks/pier-punch", headers={"If-Match": "*"}).status_code == 204
    for feed, known in (("labels", "abv_percent"), ("costs", "pour_cost")):
        *_, row = feeds.read(feed)
        assert (row["drink"], row["state"], row["after"]) == ("pier-punch", "gone", None)
        assert float(row["before"][known]) > 0


def test_a_drink_that_comes_back_is_told_as_it_is_then(feeds: Feeds) -> None:
    spec = feeds.client.get("/v1/drinks/almond-light").json()
    for menu in ("evening", "deck", "board"):
        feeds.patch(f"menus/{menu}", {"entries": []})
    assert feeds.client.ask("DELETE", "/v1/drinks/almond-light", headers={"If-Match": "*"}).status_code == 204
    feeds.moved()
    assert feeds.client.ask("PUT", "/v1/drinks/almond-light", json=spec).status_code == 201
    for feed in ("costs", "labels"):
        (row,) = feeds.read(feed)
        assert (row["drink"], row["state"], row["before"]) == ("almond-light", "live", None)
        assert row["after"] is not None


def _states(feeds: Feeds) -> list[list[tuple[str, str, bool]]]:
    """Drink, state and whether it is answered as before, of what is new from the day of the change on."""
    today = datetime.now(UTC).date().isoformat()
    return [
        [
            (row["drink"], row["state"], row["before"] == row["after"])
            for row in feeds.read(feed)
            if row["since"] <= today
        ]
        for feed in ("costs", "labels")
    ]


def test_a_drink_that_is_archived_or_taken_back_is_told_in_both_feeds(feeds: Feeds) -> None:
    """It is answered as before, for the menus that name it, but it is on no list any more."""
    for verb, state in (("archive", "archived"), ("reinstate", "live")):
        assert feeds.client.ask("POST", f"/v1/drinks/pier-punch/{verb}").status_code == 200
        assert _states(feeds) == [[("pier-punch", state, True)]] * 2
        assert feeds.client.ask("POST", f"/v1/drinks/pier-punch/{verb}").status_code == 200  # It is so already.
        assert feeds.moved() == ([], [])
        feeds.patch("offers/rum-case", _price("282.00" if state == "archived" else "141.00"))
        assert {(row["drink"], row["state"]) for row in feeds.read("costs")} == {
            ("pier-punch", state), ("quay-sour", "live"),
        }  # fmt: skip
        assert feeds.read("labels") == []


@pytest.mark.parametrize(
    "address", ["ingredients/pier-rum", "preparations/tea-syrup", "suppliers/quay", "venues/cellar"]
)
def test_what_is_archived_and_still_named_moves_no_drink(feeds: Feeds, address: str) -> None:
    def told() -> list[Any]:
        pages = [feeds.client.get(f"/v1/{what}?venue=cellar").json() for what in ("costs", "labels")]
        return [page["drinks"] for page in pages]

    before = told()
    for verb in ("archive", "reinstate"):
        assert feeds.client.ask("POST", f"/v1/{address}/{verb}").status_code == 200
        assert feeds.moved() == ([], [])
        assert told() == before


def test_an_archived_menu_moves_the_prices_it_asked_for(feeds: Feeds) -> None:
    for verb, asked in (("archive", None), ("reinstate", "12.00")):
        assert feeds.client.ask("POST", f"/v1/menus/evening/{verb}").status_code == 200
        prices = {row["drink"]: row["after"]["menu_price"] for row in feeds.read("costs")}
        assert (len(prices), prices["quay-sour"]) == (3, asked)
        assert feeds.read("labels") == []


def test_a_life_that_runs_out_moves_the_label_on_the_day_after_its_last(feeds: Feeds) -> None:
    """A part keeps 14 days, as its spec says, and a bottle 1 day, as its cordial does once it is opened."""
    made = datetime.now(UTC).date() + timedelta(days=40)
    feeds.patch("preparations/tea-syrup", {"made_on": made.isoformat()})
    feeds.patch("ingredients/odd-cordial", {"open_life_days": 1})
    feeds.patch("drinks/pier-punch", {"sold_as": "prepacked", "made_on": made.isoformat()})
    rows = feeds.read("labels")
    for drink, days in (("quay-sour", 14), ("pier-punch", 1)):
        told = [row for row in rows if row["drink"] == drink and row["after"]["past_use_by"]]
        assert {(row["since"], row["why"]) for row in told} == {
            ((made + timedelta(days=days + 1)).isoformat(), "spec"),
        }  # fmt: skip
        for day, past in ((days, False), (days + 1, True)):
            address = f"/v1/drinks/{drink}/label?as_of={made + timedelta(days=day)}"
            codes = [row["code"] for row in feeds.client.get(address).json()["advisories"]]
            assert ("past_use_by" in codes) is past
    assert feeds.read("costs") == []


def test_a_price_of_a_day_to_come_is_told_with_its_day(feeds: Feeds) -> None:
    address = "/v1/offers/cordial?valid_from=2031-01-01"
    assert feeds.client.ask("PATCH", address, json=_price("70.00"), headers={"If-Match": "*"}).status_code == 200
    (row,) = feeds.read("costs")
    assert (row["drink"], row["since"], row["why"]) == ("pier-punch", "2031-01-01", "price")


def test_an_archived_offer_moves_costs(feeds: Feeds) -> None:
    assert feeds.client.ask("POST", "/v1/offers/cordial/archive").status_code == 200
    row, later = feeds.read("costs")
    assert (row["drink"], row["after"]["complete"]) == ("pier-punch", False)
    assert (later["drink"], later["since"]) == ("pier-punch", "2028-01-01")  # more of it is unknown from then on
    assert feeds.read("labels") == []


def test_an_archived_drink_leaves_the_labels_at_once(feeds: Feeds) -> None:
    assert len(feeds.client.get("/v1/labels").json()["drinks"]) == 3
    assert feeds.client.ask("POST", "/v1/drinks/pier-punch/archive").status_code == 200
    assert len(feeds.client.get("/v1/labels").json()["drinks"]) == 2


def test_other_rules_are_announced_for_every_drink(database_url: str) -> None:
    client = Client(Settings(database_url=database_url))
    write(client)
    read = Feeds(client)
    other = Store(database_url, rules().version + "-next", client.app.state.reference.version)
    other.close()
    costs, labels = read.moved()
    drinks = [("almond-light", "rules"), ("pier-punch", "rules"), ("quay-sour", "rules")]
    assert (costs, labels) == ([*drinks[:2], ENDS, *drinks[2:]], drinks)
    client.close()


def test_what_moves_by_itself_is_told_ahead_and_a_cursor_goes_on_between_its_days(feeds: Feeds) -> None:
    """The wine of the punch: cheaper in May 2027 alone, its own offer ends with 2027; a till counts 2 days of it."""
    may = {"id": "may", "item": "sparkling-wine-dry", "supplier": "pier", "pack": {"size": "750 ml"},
           "valid_from": "2027-05-01", "valid_to": "2027-05-31", **_price("3.00")}  # fmt: skip
    start = feeds.client.get("/v1/changes/costs?page_size=100").json()["next_cursor"]
    assert feeds.client.ask("POST", "/v1/offers", json=may).status_code == 201
    (page, *_) = pages = [feeds.client.get(f"/v1/changes/costs?page_size=1&cursor={start}").json()]
    while pages[-1]["more"]:
        cursor = pages[-1]["next_cursor"]
        assert cursor == f"{page['next_cursor'].split('.')[0]}.pier-punch.{pages[-1]['changes'][0]['since']}"
        pages.append(feeds.client.get(f"/v1/changes/costs?page_size=1&cursor={cursor}").json())
    rows = [row for one in pages for row in one["changes"]]
    assert [row["since"] for row in rows] == ["2027-05-01", "2027-06-01", "2028-01-01"]
    assert rows[0]["before"] == rows[1]["after"] == rows[2]["before"]
    assert float(rows[0]["after"]["pour_cost"]) < float(rows[1]["after"]["pour_cost"])
    assert rows[2]["after"]["complete"] is False
    whole = pages[-1]["next_cursor"]
    assert whole == f"{page['next_cursor'].split('.')[0]}.pier-punch"  # the form of before: after all of the drink
    assert feeds.client.get(f"/v1/changes/costs?cursor={whole}").json()["changes"] == []
    assert feeds.read("labels") == []


def test_a_menu_that_asks_another_price_moves_the_price_and_no_label(feeds: Feeds) -> None:
    entries = [{"drink": "quay-sour", "menu_price": "19.00"}]
    feeds.patch("menus/evening", {"entries": entries})
    rows = feeds.read("costs")
    assert {(row["drink"], row["why"]) for row in rows} == {
        ("quay-sour", "price"), ("pier-punch", "price"), ("almond-light", "price"),
    }  # fmt: skip
    (sour,) = [row for row in rows if row["drink"] == "quay-sour"]
    assert (sour["before"]["menu_price"], sour["after"]["menu_price"]) == ("12.00", "19.00")
    assert sour["before"]["pour_cost"] == sour["after"]["pour_cost"]
    assert feeds.read("labels") == []


def test_a_declaration_that_runs_out_moves_a_label_on_the_day_after(feeds: Feeds) -> None:
    evidence = {"document": "D-1", "issuer": "Quay", "dated": "2026-01-01", "review_by": "2031-03-31"}
    feeds.patch("ingredients/pier-rum", {"evidence": evidence})
    rows = feeds.read("labels")
    assert [(row["drink"], row["why"]) for row in rows] == [("pier-punch", "spec")] * 2 + [("quay-sour", "spec")] * 2
    assert [row["since"] for row in rows[1::2]] == ["2031-04-01"] * 2
    assert feeds.read("costs") == []


def test_a_page_is_charged_with_the_drinks_that_it_looks_at(feeds: Feeds) -> None:
    key = feeds.client.key("costs:read", "margins:read")

    def left(path: str) -> int:
        answer = feeds.client.get(path, headers=key)
        assert answer.status_code == 200, answer.text
        (found,) = re.findall(r'"work";r=(\d+)', answer.headers["RateLimit"])
        return int(found)

    begun = left("/v1/changes/costs?page_size=1")
    assert begun - left("/v1/changes/costs?page_size=1") == 1
    assert begun - 1 - left("/v1/changes/costs?page_size=3") == 3
    history = "/v1/costs/history?from=2026-01-01&to=2026-01-02"  # three drinks at two venues
    assert begun - 4 - left(history) == 6
    assert begun - 10 - left(history + "&venue=cellar") == 3


def test_a_cursor_of_another_form_is_refused(feeds: Feeds) -> None:
    for cursor in ("x", "-1.a", "1", "9" * 16 + ".a", "1.a.b", "1.a.2026-02-30", "1.a."):
        answer = feeds.client.get(f"/v1/changes/costs?cursor={cursor}")
        assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (422, "/cursor")
