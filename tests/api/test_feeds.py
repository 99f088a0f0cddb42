"""The change feeds: which drinks moved, since when and why. Expectations follow from the bar's specs by hand."""

from collections.abc import Iterator
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
    (row,) = feeds.read("labels")
    assert (row["drink"], row["after"]) == ("pier-punch", None)
    assert row["before"]["abv_percent"] > 0


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


def test_a_cursor_of_another_form_is_refused(feeds: Feeds) -> None:
    for cursor in ("x", "-1.a", "1", "9" * 16 + ".a"):
        answer = feeds.client.get(f"/v1/changes/costs?cursor={cursor}")
        assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (422, "/cursor")
