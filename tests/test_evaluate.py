"""One drink from the request to its figures: whole drinks worked by hand, and what the line hands on to whom."""

import tomllib
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from schemas.evaluation import SECTIONS, EvaluationRequest
from service.amounts import Measures
from service.errors import InputFault
from service.evaluate import Evaluation, evaluate, leaves_of, measures_of, reference_substance
from service.reference import reference
from tests.one_drink import DAY, answer_to, cautions, poured, request_of, thing

FOLDER = Path(__file__).parent / "cases"
WHOLE: dict[str, Any] = tomllib.loads((FOLDER / "whole_drinks.toml").read_text(encoding="utf-8"))
METHODS = {"stirred", "shaken", "built", "blended", "prediluted", "heated", "thrown"}


def stocked() -> tuple[list[Any], list[Any]]:
    """The stock as ingredients and as offers."""
    things, offers = [], []
    for row in WHOLE["stock"]:
        facts = {"allergens": row.get("allergens", {}), "per_100": row.get("holds", {})}
        things.append(thing(row["id"], abv_percent=row["abv_percent"], **facts))
        price = {"amount": row["price"], "currency": "EUR"}
        offers.append(
            {"id": row["id"], "item": row["id"], "supplier": "S", "pack": {"size": "1000 ml"}, "price": price}
        )
    return things, offers


def answer_of(case: dict[str, Any]) -> Any:
    things, offers = stocked()
    drink = {key: case[key] for key in ("method", "serve", "serves") if key in case}
    more = {key: case[key] for key in ("pricing", "measures", "preparations") if key in case}
    offers += case.get("offers", [])
    return answer_to(request_of(case["lines"], things, ("GB",), drink=drink, offers=offers, **more))


def found_at(answer: Any, path: str) -> Any:
    for name in path.split("/"):
        answer = answer[int(name)] if isinstance(answer, list | tuple) else answer[name]
    return answer


@pytest.mark.parametrize("case", WHOLE["case"], ids=lambda case: case["id"])
def test_a_whole_drink_by_hand(case: dict[str, Any]) -> None:
    answer = answer_of(case)
    for path, expected in case["expected"].items():
        found = found_at(answer, path)
        if isinstance(expected, float):
            assert found == pytest.approx(expected, rel=case["tolerance"], abs=1e-9), path
        else:
            assert (list(found) if isinstance(expected, list) else found) == expected, path


def test_the_whole_drinks_are_of_many_methods_and_each_is_sourced() -> None:
    assert {case["method"]["kind"] for case in WHOLE["case"]} == METHODS
    for case in WHOLE["case"]:
        assert case["source"] and case["standing"] in ("arithmetic", "secondary", "memory")
        assert case["tolerance"] <= 0.01
        assert len(case["expected"]) >= 7


@pytest.mark.parametrize("case", WHOLE["case"], ids=lambda case: case["id"])
def test_of_a_whole_drink_nothing_is_lost(case: dict[str, Any]) -> None:
    # What the lines state is complete, so that every section is.
    answer = answer_of(case)
    assert all(answer[section]["complete"] for section in ("cost", "alcohol", "nutrition", "balance"))


# The line itself.

BODY = request_of([poured("gin-london-dry-40", "50 ml")])


def evaluation(body: Any, day: date = DAY, defaults: tuple[str, ...] = ("EU",)) -> Evaluation:
    return evaluate(EvaluationRequest.model_validate(body), day, list(defaults), reference())


def without(body: Any, *keys: str) -> Any:
    return {key: value for key, value in body.items() if key not in keys}


def test_the_day_and_the_jurisdictions_are_those_of_the_request_or_the_defaults() -> None:
    made = evaluation(without(BODY, "jurisdictions"), defaults=("GB", "US"))
    assert (made.day, [regime.code for regime in made.rules]) == (DAY, ["GB", "US"])
    stated = evaluation({**BODY, "as_of": "2026-01-02", "jurisdictions": ["AU", "EU", "AU"]})
    assert (stated.day, [regime.code for regime in stated.rules]) == (date(2026, 1, 2), ["AU", "EU"])


@pytest.mark.parametrize(
    ("facts", "code", "pointer"),
    [
        ({"jurisdictions": ["EU", "QQ"]}, "jurisdiction_unknown", "/jurisdictions/1"),
        # A day before every rule is the fault of the day and not of the code.
        ({"as_of": "1900-01-01"}, "rules_not_held", "/as_of"),
    ],
)
def test_rules_that_cannot_be_had_are_a_fault_at_their_place(facts: Any, code: str, pointer: str) -> None:
    with pytest.raises(InputFault) as fault:
        evaluation({**BODY, **facts})
    assert (fault.value.code, fault.value.pointer) == (code, pointer)


@pytest.mark.parametrize("section", SECTIONS)
def test_what_is_not_asked_for_is_not_worked_out(section: str) -> None:
    body = {**BODY, "include": [section], "pricing": {"currency": "EUR"}}
    made = evaluation(body)
    assert (made.nutrition is None) is (section != "nutrition")
    assert (made.declarations is None) is (made.sulphites is None) is (made.diet is None) is (section != "allergens")
    assert (made.balance is None) is (section != "balance")
    # A price needs its cost; nothing else does.
    assert (made.cost is None) is (section not in ("cost", "price"))
    assert (made.price is None) is (section != "price")


def test_an_embedded_substance_is_made_once() -> None:
    item = reference().items["gin-london-dry-40"]
    assert reference_substance(item) is reference_substance(item)


def test_measures_of_the_house_are_the_decimals_that_were_written() -> None:
    stated = {**BODY, "measures": {"ounce": "metric", "dash_ml": 0.9, "drop_ml": "0.04", "barspoon_ml": 4}}
    made = measures_of(EvaluationRequest.model_validate(stated).measures)
    assert (made.ounce, str(made.dash_ml), str(made.drop_ml), str(made.barspoon_ml)) == ("metric", "0.9", "0.04", "4.0")
    assert measures_of(EvaluationRequest.model_validate(BODY).measures) == Measures()


def test_leaves_are_drunk_only_where_all_of_it_is() -> None:
    lines = [
        poured("gin-london-dry-40", "50 ml"),
        poured("gin-london-dry-40", "5 ml", role="rinse"),
        poured("lime-juice", "20 ml", alternatives=["lemon-juice"]),
        poured("mint", "1 g", role="garnish"),
        poured("orange", "5 g", role="garnish", eaten=True),
        poured("water", "5 ml", role="consumable"),
    ]
    found = {name: leaf.drunk for name, leaf in leaves_of(evaluation(request_of(lines)).lines).items()}
    assert found == {
        "gin-london-dry-40": False, "lime-juice": True, "lemon-juice": True, "mint": False, "orange": True,
    }  # fmt: skip


def test_a_garnish_that_is_eaten_counts_in_energy_and_not_in_strength() -> None:
    # 10 g of sugar at 4 kcal/g (Regulation (EU) 1169/2011, annex XIV).
    lump = thing("lump", kind="spice", density_g_per_ml=None, abv_percent=0, per_100={
        "basis": "g", "sugars_g": 100, "carbohydrate_g": 100,
    })  # fmt: skip
    plain = [poured(amount="50 ml"), poured("lump", "10 g", role="garnish")]
    left, eaten = (
        answer_to(request_of([plain[0], {**plain[1], "eaten": bite}], [thing(abv_percent=40), lump]))
        for bite in (False, True)
    )
    kcal = [found["nutrition"]["per_serve"]["energy_kcal"] for found in (left, eaten)]
    assert kcal[1] - kcal[0] == pytest.approx(40.0, abs=0.1)
    assert left["alcohol"] == eaten["alcohol"]


def test_tools_that_are_assessed_for_other_methods_say_nothing_of_this_one() -> None:
    def assessed(tools: list[Any]) -> str:
        body = {**BODY, "house": {"cross_contact": tools}}
        [row] = answer_to(body)["allergens"]["declarations"]
        return str(row["cross_contact"])

    blender = {"allergens": ["milk"], "equipment": "blender", "methods": ["blended"]}
    assert assessed([]) == "assessed"
    assert assessed([blender]) == "not_assessed"
    assert assessed([{**blender, "methods": ["none", "blended"]}]) == "assessed"
    assert assessed([{**blender, "methods": []}]) == "assessed"


def test_a_part_past_its_life_is_a_caution() -> None:
    part = {
        "id": "old",
        "name": "Old",
        "lines": [poured("water", "1 l")],
        "shelf_life_days": 3,
        "made_on": "2026-11-20",
    }
    found = answer_to(request_of([poured("old", "50 ml")], preparations=[part]))
    [row] = [row for row in found["advisories"] if row["code"] == "past_use_by"]
    # Made five days ago with a life of three.
    assert (row["level"], row["text"]) == ("serious", "old is 2 days past the life set for it: discard it.")
    assert found["use_by"]["days"] == -2
    fresh = answer_to(request_of([poured("old", "50 ml")], preparations=[{**part, "made_on": "2026-11-22"}]))
    assert "past_use_by" not in cautions(fresh)


def test_each_assumption_is_told_once() -> None:
    made = evaluation(request_of([poured("lime-juice", "20 ml"), poured("lime-juice", "10 ml")]))
    told = [(row.code, row.item) for row in made.assumptions]
    assert len(told) == len(set(told))
