"""How far a declaration stands, what the answer says of it, and the questions of a menu worked by hand."""

import json
from datetime import date
from typing import Any

import pytest
from pydantic import ValidationError

from schemas.evaluation import EvaluationRequest
from schemas.ingredient import Ingredient
from service.evaluate import evaluate
from service.evidence import MenuDrink, Question, Work, questions, standing_of, work_to_do
from service.lookup import item_of
from service.reference import reference
from tests.one_drink import DAY, answer_to, asked, declared, poured, request_of, thing

WHOLE = {
    "document": "Specification 12", "issuer": "Pier Distillery", "dated": "2026-01-15", "reviewed_by": "bar manager",
    "review_by": "2027-01-15",
}  # fmt: skip


def state(day: date = DAY, suppliers: tuple[str, ...] = (), /, **facts: Any) -> tuple[str, str | None]:
    found = standing_of(item_of(Ingredient.model_validate(thing(**facts))), day, suppliers)
    return found.state, found.why


# One item.


def test_complete_with_all_its_evidence_in_date_is_declared() -> None:
    assert state(evidence=WHOLE) == ("declared", None)


def test_complete_without_evidence_is_unverified() -> None:
    assert state() == ("declared_unverified", "no_evidence")


@pytest.mark.parametrize("lacking", sorted(WHOLE))
def test_complete_without_any_piece_of_it_is_unverified(lacking: str) -> None:
    evidence = {key: value for key, value in WHOLE.items() if key != lacking}
    assert state(evidence=evidence) == ("declared_unverified", "evidence_incomplete")


def test_the_supplier_need_not_be_stated() -> None:
    assert state(DAY, ("Anybody",), evidence=WHOLE) == ("declared", None)


def test_it_counts_on_its_last_day_and_not_on_the_next() -> None:
    assert state(date(2027, 1, 15), evidence=WHOLE) == ("declared", None)
    assert state(date(2027, 1, 16), evidence=WHOLE) == ("stale", "past_review_by")


def test_a_paper_does_not_count_before_its_day() -> None:
    assert state(date(2026, 1, 14), evidence=WHOLE) == ("declared_unverified", "not_yet_dated")
    assert state(date(2026, 1, 15), evidence=WHOLE) == ("declared", None)


@pytest.mark.parametrize(
    ("suppliers", "expected"),
    [
        ((), ("declared", None)),
        (("Quay",), ("declared", None)),
        (("  QUAY ",), ("declared", None)),
        (("Quay", "Larder"), ("stale", "supplier_changed")),
        (("Larder",), ("stale", "supplier_changed")),
    ],
)
def test_any_other_supplier_makes_it_stale(suppliers: tuple[str, ...], expected: tuple[str, str | None]) -> None:
    assert state(DAY, suppliers, evidence={**WHOLE, "supplier": "Quay"}) == expected


def test_a_partial_declaration_is_partial_and_may_be_stale() -> None:
    some = {"allergens_declared": "partial", "allergens": {"milk": "absent"}}
    assert state(**some, evidence=WHOLE) == ("partial", None)
    assert state(date(2027, 2, 1), **some, evidence=WHOLE) == ("stale", "past_review_by")
    assert state(allergens_declared="partial", evidence=WHOLE) == ("undeclared", None)


def test_an_embedded_item_has_its_sources_and_no_evidence() -> None:
    assert standing_of(reference().items["lime-juice"], DAY).state == "reference"


def test_a_review_is_due_no_earlier_than_the_paper() -> None:
    with pytest.raises(ValidationError, match="review_by lies before dated"):
        Ingredient.model_validate(thing(evidence={"dated": "2026-02-01", "review_by": "2026-01-31"}))


# The answer.


def offer(supplier: str, amount: str = "10.00", number: int = 0, **more: Any) -> dict[str, Any]:
    price = {"amount": amount, "currency": "EUR"}
    return {"id": f"o{number}", "item": "thing", "supplier": supplier, "pack": {"size": "1 l"}, "price": price, **more}


def test_every_bought_item_of_the_drink_has_its_standing() -> None:
    part = {"id": "part", "name": "Part", "lines": [poured("lime-juice", "50 ml"), poured("inner", "5 ml")]}
    found = asked([poured(), poured("part", "10 ml")], [thing(evidence=WHOLE), thing("inner")], preparations=[part])
    rows = {row["item"]: row for row in found["allergens"]["evidence"]}
    assert rows == {
        "thing": {"item": "thing", "state": "declared", "why": None, "review_by": "2027-01-15"},
        "lime-juice": {"item": "lime-juice", "state": "reference", "why": None, "review_by": None},
        "inner": {"item": "inner", "state": "declared_unverified", "why": "no_evidence", "review_by": None},
    }
    assert found["warnings"] == []


def test_a_stale_declaration_keeps_its_figures_and_says_so_everywhere() -> None:
    milk = thing(name="Cream", allergens={"milk": "contains"}, evidence={**WHOLE, "review_by": "2026-02-01"})
    found = asked([poured()], [milk])
    row = declared(found, "EU")
    assert (row["contains"], row["unknown"]) == (["milk"], [])
    assert "Declarations to be renewed, so that more may be in it: Cream." in row["statement"]
    [warning] = found["warnings"]
    assert (warning["code"], warning["item"]) == ("declaration_stale", "thing")
    assert "may be there" in warning["detail"]


def test_no_warning_where_allergens_were_not_asked_for() -> None:
    stale = thing(evidence={**WHOLE, "review_by": "2026-02-01"})
    assert asked([poured()], [stale], include=["alcohol"])["warnings"] == []


@pytest.mark.parametrize("choose", ["cheapest", "preferred", {"thing": "o0"}, {"thing": "o1"}])
def test_no_price_decides_on_it_and_no_supplier_is_named(choose: Any) -> None:
    own = thing(evidence={**WHOLE, "supplier": "Quay"})
    answers = [
        answer_to(
            request_of(
                [poured()],
                [own],
                offers=[offer("Quay", one), offer("Larder of Osk", two, 1, preferred=True)],
                pricing={"currency": "EUR", "choose": choose},
            )
        )
        for one, two in (("10.00", "20.00"), ("20.00", "10.00"))
    ]
    assert answers[0]["allergens"] == answers[1]["allergens"]
    assert answers[0]["allergens"]["evidence"][0]["why"] == "supplier_changed"
    for found in answers:
        assert "Larder" not in json.dumps([found["allergens"], found["warnings"]])


def test_an_offer_that_is_not_valid_on_the_day_changes_nothing() -> None:
    own = thing(evidence={**WHOLE, "supplier": "Quay"})
    old = offer("Larder", valid_to="2026-11-24")
    assert asked([poured()], [own], offers=[old])["allergens"]["evidence"][0]["state"] == "declared"
    today = offer("Larder", valid_to="2026-11-25")
    assert asked([poured()], [own], offers=[today])["allergens"]["evidence"][0]["state"] == "stale"


# A menu.


def menu(drinks: dict[str, list[str]], things: list[dict[str, Any]]) -> list[MenuDrink]:
    found = []
    for drink_id, items in drinks.items():
        body = request_of([poured(item, "10 ml") for item in items], things, ("EU",), drink={"id": drink_id})
        made = evaluate(EvaluationRequest.model_validate(body), DAY, ["EU"], reference())
        assert made.declarations is not None
        found.append(MenuDrink(drink_id, made.declarations, made.standings))
    return found


THREE = {"sour": ["syrup", "bitters"], "punch": ["syrup", "milk"], "fizz": ["bitters", "milk", "plain"]}
OWN = [
    thing("syrup", allergens={"milk": "unknown", "celery": "unknown"}),
    thing("bitters", allergens={"celery": "unknown"}),
    thing("milk", allergens={"milk": "contains"}, evidence={**WHOLE, "review_by": "2026-11-24"}),
    thing("plain"),
]


def test_the_questions_of_three_drinks_as_worked_by_hand() -> None:
    """sour: milk unknown by syrup alone, celery by syrup and bitters. punch: milk is contained, celery by syrup alone.
    fizz: celery by bitters alone. So syrup clears milk of sour and celery of punch, and punch has nothing else open;
    bitters clears celery of fizz, which has nothing else open; sour stays open for either.
    """
    assert questions(menu(THREE, OWN)) == (
        Question("syrup", ("celery", "milk"), ("sour", "punch"), (("sour", "milk"), ("punch", "celery")), ("punch",)),
        Question("bitters", ("celery",), ("sour", "fizz"), (("fizz", "celery"),), ("fizz",)),
    )


def test_a_menu_without_unknowns_asks_nothing() -> None:
    assert questions(menu({"one": ["milk", "plain"]}, OWN)) == ()
    assert questions([]) == ()


@pytest.mark.parametrize(("answered", "left"), [("syrup", {"sour", "fizz"}), ("bitters", {"sour", "punch"})])
def test_what_a_question_says_it_clears_is_cleared_by_its_answer(answered: str, left: set[str]) -> None:
    """By hand: without the syrup's unknowns the bitters' celery is open in sour and fizz, and the other way round."""
    known = [thing(answered) if row["id"] == answered else row for row in OWN]
    [question] = questions(menu(THREE, known))
    assert set(question.drinks) == left
    assert question.settled == question.drinks


def test_other_members_of_a_group_are_a_question_too() -> None:
    """Almond is in it and other nuts are not known: the group is contained and open."""
    nutty = [thing("nutty", allergens={"almond": "contains"}), thing("mix", allergens={"nuts": "unknown"})]
    [question] = questions(menu({"one": ["nutty", "mix"]}, nutty))
    assert question.item == "mix"
    assert ("one", "nuts") in question.clears


def test_a_stale_declaration_is_work_once_for_all_its_drinks() -> None:
    rows = menu(THREE, OWN)
    [work] = work_to_do(rows)
    assert work == Work(rows[1].standings[1], ("punch", "fizz"))
    assert (work.standing.item, work.standing.why) == ("milk", "past_review_by")
    unverified = work_to_do(rows, ("declared_unverified",))
    assert [(row.standing.item, row.drinks) for row in unverified] == [
        ("bitters", ("sour", "fizz")), ("plain", ("fizz",)), ("syrup", ("sour", "punch")),
    ]  # fmt: skip
