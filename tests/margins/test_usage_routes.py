"""POST /v1/margins/usage by a small bar: what is refused, with its place; parts that are revised in a period."""

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import pytest

from service.margins.bought import Part, Used
from service.margins.waste import Shelf, Stored
from tests.api.conftest import Client
from tests.margins.bar import bar, sold

LATE = {"day": "2026-12-24", "units": "5", "size": "1 l", "invoiced": "500.00"}
ASKED: dict[str, Any] = {
    "period": {"month": "2026-11"}, "sales": [sold("neat", 20, "100.00")],
    "opening": [{"item": "gin", "size": "1 l", "units": "2"}],
    "closing": [{"item": "gin", "size": "1 l", "units": "1"}],
}  # fmt: skip


@pytest.fixture(scope="module")
def house() -> Iterator[Client]:
    """The small bar."""
    made = bar()
    yield made
    made.close()


@pytest.mark.parametrize(
    ("change", "pointer", "code"),
    [
        # What came in December is not on the shelf at the end of November: the litre left is worth 20.00.
        ({"stock": [{"item": "gin", "opening_value": "40.00", "purchases": [LATE]}]},
         "/stock/0/purchases/0/day", "delivery_outside"),
        ({"stock": [{"item": "gin", "opening_value": "40.00"}],
          "opening": [{"item": "gin", "size": "1 l", "units": "0"}]}, "/stock/0/opening_value", "opening_missing"),
        ({"period": {"first": "0001-01-01", "last": "0001-01-02"}}, "/period", "period_out_of_range"),
        ({"period": {"first": "9999-12-30", "last": "9999-12-31"}, "roll_counts": True},
         "/period", "period_out_of_range"),
    ],
)  # fmt: skip
def test_what_cannot_be_used_is_refused(house: Client, change: Any, pointer: str, code: str) -> None:
    answer = house.ask("POST", "/v1/margins/usage", json={**ASKED, "valuation": {"method": "fifo"}, **change})
    assert answer.status_code == 422, answer.text
    assert [(row["pointer"], row["code"]) for row in answer.json()["errors"]] == [(pointer, code)]


def test_an_opening_stock_of_unknown_worth_is_named(house: Client) -> None:
    """Nobody offers this water and nobody states its worth: the litre that came for 3.00 is all that values it."""
    size = {"item": "water", "size": "1 l"}
    counts = {"opening": [{**size, "units": "2"}], "closing": [{**size, "units": "1"}]}
    stock = [{"item": "water", "purchases": [{"day": "2026-11-02", "units": "1", "size": "1 l", "invoiced": "3.00"}]}]
    asked = {**ASKED, **counts, "stock": stock, "valuation": {"method": "weighted_average"}}
    body = house.ask("POST", "/v1/margins/usage", json=asked).json()
    assert [(row["item"], row["closing_value"]) for row in body["items"]] == [("water", "3.00")]
    assert ("water", "opening_value") in {(row["item"], row["field"]) for row in body["missing"]}


MIXED: dict[str, Any] = {"id": "cup", "name": "Cup", "yield": {"amount": "200 ml"}, "shelf_life_days": 3}
NOW = [{"item": "gin", "amount": "100 ml"}, {"item": "tonic", "amount": "100 ml"}]
THEN = [{"item": "tonic", "amount": "200 ml"}]


@pytest.fixture(scope="module")
def revised() -> Iterator[Client]:
    """The small bar with a cup of half gin and half tonic, of tonic alone from the 16th on; 100 ml are a serve."""
    served = {"id": "cupful", "name": "Cupful", "lines": [{"item": "cup", "amount": "100 ml"}]}
    made = bar(("preparations", {**MIXED, "lines": NOW}), ("drinks", served))
    path = "/v1/preparations/cup"
    held = {"If-Match": made.get(path).headers["etag"]}
    answer = made.ask("PUT", f"{path}?valid_from=2026-11-16", json={**MIXED, "lines": THEN}, headers=held)
    assert answer.status_code == 200, answer.text
    yield made
    made.close()


SOLD = [sold("cupful", 10, "50.00", "2026-11-05"), sold("cupful", 10, "50.00", "2026-11-20")]


def test_a_part_that_is_revised_takes_on_each_day_what_it_was_made_of(revised: Client) -> None:
    """A litre of half and half and one of tonic: 500 ml and 1500 ml.

    200 ml of the cup counted at the start are 100 and 100, 400 ml at the end are 400 of tonic. Arithmetic.
    """
    counts = {
        name: [{"item": "cup", "size": size, "units": "1"},
               *({"item": item, "size": "1 l", "units": units} for item in ("gin", "tonic"))]
        for name, size, units in (("opening", "200 ml", "5"), ("closing", "400 ml", "4"))
    }  # fmt: skip
    answer = revised.ask("POST", "/v1/margins/usage", json={"period": {"month": "2026-11"}, "sales": SOLD, **counts})
    rows = {row["item"]: (row["theoretical"], row["opening"], row["closing"]) for row in answer.json()["items"]}
    assert rows == {"gin": ("500", "5100", "4000"), "tonic": ("1500", "5100", "4400")}


def test_first_in_first_out_costs_what_a_revised_part_took(revised: Client) -> None:
    """500 ml of gin are the first five of 100 ml at 1.00, 1.5 l of tonic 3.00 at list price: 8.00. Arithmetic."""
    came = [
        {"day": day, "units": "5", "size": "100 ml", "invoiced": invoiced}
        for day, invoiced in (("2026-11-01", "5.00"), ("2026-11-02", "50.00"))
    ]
    asked = {"stock": [{"item": "gin", "purchases": came}], "valuation": {"method": "fifo"}}
    answer = revised.ask("POST", "/v1/margins", json={"period": {"month": "2026-11"}, "sales": SOLD, **asked})
    assert answer.json()["total"]["pour_cost"] == "8.00"


def test_what_a_part_was_made_of_before_stays_in_the_waste(revised: Client) -> None:
    """Half of the batches took 100 ml of gin, so half as much gin as the cup that was made; none is forgotten."""
    answer = revised.ask("POST", "/v1/margins", json={"period": {"month": "2026-11"}, "sales": SOLD})
    waste = answer.json()["waste"]
    rows = {row["item"]: row for row in waste["rows"]}
    cup = float(rows["cup"]["used"]) + float(rows["cup"]["thrown"])
    assert float(rows["gin"]["used"]) == pytest.approx(cup / 4, abs=0.001)
    assert float(rows["tonic"]["used"]) == pytest.approx(cup * 3 / 4, abs=0.001)
    assert ("gin", "open_life_days") in {(row["item"], row["field"]) for row in waste["missing"]}


def test_parts_that_turn_about_are_taken_apart_by_the_last_recipes() -> None:
    """First the one is made of the other, then the other of the one."""
    rum = Used("rum", "ml", Decimal(10))
    one, other = (Used(name, "ml", Decimal(10)) for name in ("one", "other"))
    kept = [Stored(name, "ml", Decimal(10), None, Decimal(1), name) for name in ("one", "other")]
    shelf = Shelf()
    for top, first, second in (("one", "one", "other"), ("other", "other", "one")):
        lines = Used(second, "ml", Decimal(10))
        parts = [Part(second, {second: Decimal(10)}, (rum,)), Part(first, {first: Decimal(10)}, (lines,))]
        shelf.sold(Decimal(1), [one if top == "one" else other], parts, kept)
    assert {found.taken.stored.ref for found in shelf.wasted(30)} == {"one", "other"}
