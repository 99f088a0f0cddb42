"""What is to be asked of suppliers for a stored menu: once per item, with what one answer clears.

sour: milk unknown by the syrup alone, celery by syrup and bitters. punch: milk is contained, celery by the syrup alone.
fizz: celery by the bitters alone. So the syrup clears milk of sour and celery of punch, the bitters celery of fizz
(worked by hand; the rule is that of tests/test_evidence.py).
"""

from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import pytest
import time_machine

from service.settings import Settings
from tests.api.conftest import Client

PAPER = {"document": "D-1", "issuer": "Quay", "dated": "2026-01-01", "reviewed_by": "A", "review_by": "2027-01-01"}
ITEMS: dict[str, dict[str, Any]] = {
    "syrup": {"allergens": {"milk": "unknown", "celery": "unknown"}},
    "bitters": {"allergens": {"celery": "unknown"}},
    "cream": {"allergens": {"milk": "contains"}, "evidence": {**PAPER, "review_by": "2026-11-24"}},
    "plain": {},
}
DRINKS = {"sour": ("syrup", "bitters"), "punch": ("syrup", "cream"), "fizz": ("bitters", "cream", "plain")}
ASKED = "jurisdiction=EU"


@pytest.fixture
def client(database_url: str) -> Iterator[Client]:
    """A menu of three drinks."""
    with time_machine.travel(datetime(2026, 11, 25, 12, tzinfo=UTC), tick=False):
        made = Client(Settings(database_url=database_url))
        for item, more in ITEMS.items():
            _put(made, f"ingredients/{item}", {"name": item, "allergens_declared": "complete", **more})
        for drink, items in DRINKS.items():
            _put(made, f"drinks/{drink}", {"name": drink, "lines": [{"item": one, "amount": "10 ml"} for one in items]})
        _put(made, "menus/evening", {"name": "Evening", "entries": [{"drink": drink} for drink in DRINKS]})
        yield made
        made.close()


def _put(client: Client, path: str, body: dict[str, Any]) -> None:
    answer = client.ask("PUT", f"/v1/{path}", json=body)
    assert answer.status_code == 201, answer.text


def _work(client: Client, query: str = "menu=evening") -> tuple[list[tuple[Any, ...]], list[tuple[Any, ...]]]:
    answer = client.get(f"/v1/allergen-work?{query}&{ASKED}")
    assert answer.status_code == 200, answer.text
    told = answer.json()
    questions = [
        (
            row["item"],
            row["allergens"],
            sorted((one["drink"], one["allergen"]) for one in row["clears"]),
            row["settled"],
        )
        for row in told["questions"]
    ]
    return questions, [(row["item"], row["state"], sorted(row["drinks"])) for row in told["declarations"]]


def test_each_unknown_is_asked_once_with_what_its_answer_clears(client: Client) -> None:
    questions, declarations = _work(client)
    assert questions == [
        ("syrup", ["celery", "milk"], [("punch", "celery"), ("sour", "milk")], ["punch"]),
        ("bitters", ["celery"], [("fizz", "celery")], ["fizz"]),
    ]
    assert sorted(declarations) == [
        ("bitters", "declared_unverified", ["fizz", "sour"]), ("cream", "stale", ["fizz", "punch"]),
        ("plain", "declared_unverified", ["fizz"]), ("syrup", "declared_unverified", ["punch", "sour"]),
    ]  # fmt: skip


def test_what_a_question_clears_is_known_on_the_labels_once_it_is_answered(client: Client) -> None:
    def unknown() -> set[tuple[str, str]]:
        rows = client.get(f"/v1/labels?{ASKED}").json()["drinks"]
        return {(row["drink"], one) for row in rows for one in row["allergens"]["declarations"][0]["unknown"]}

    before = unknown()
    assert before == {("sour", "milk"), ("sour", "celery"), ("punch", "celery"), ("fizz", "celery")}
    answer = {"allergens": None, "evidence": PAPER}
    told = client.ask("PATCH", "/v1/ingredients/syrup", json=answer, headers={"If-Match": "*"})
    assert told.status_code == 200, told.text
    assert unknown() == before - {("punch", "celery"), ("sour", "milk")}
    questions, declarations = _work(client)
    assert [row[:2] for row in questions] == [("bitters", ["celery"])]
    assert "syrup" not in [row[0] for row in declarations]


def test_a_drink_that_is_archived_asks_nothing_beside_the_menus_that_name_it(client: Client) -> None:
    assert client.ask("POST", "/v1/drinks/fizz/archive").status_code == 200
    assert {drink for row in _work(client, "page_size=100")[1] for drink in row[2]} == {"sour", "punch"}
    assert {drink for row in _work(client)[1] for drink in row[2]} == set(DRINKS)


def test_a_modifier_that_changes_what_another_brings_is_looked_at_behind_that_one(client: Client) -> None:
    modifiers = [
        {"id": "other", "name": "Other", "replace": [{"item": "syrup", "with": "plain"}]},
        {"id": "sweet", "name": "Sweet", "add": [{"item": "syrup", "amount": "5 ml"}]},
    ]
    told = client.ask("PATCH", "/v1/drinks/fizz", json={"modifiers": modifiers}, headers={"If-Match": "*"})
    assert told.status_code == 200, told.text
    assert client.get(f"/v1/allergen-work?menu=evening&{ASKED}").json()["problems"] == []
    work = {item: drinks for item, _, drinks in _work(client)[1]}
    assert work["syrup"] == ["fizz+sweet", "punch", "sour"]
    assert work["plain"] == ["fizz", "fizz+sweet", "fizz+sweet+other"]
