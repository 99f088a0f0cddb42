"""The way out: every answer has the shape of the contract, figures are rounded once, money only where asked for."""

import json
from collections.abc import Iterator
from inspect import isclass
from typing import Any

import pytest
from pydantic import ValidationError

import schemas.answer
import schemas.answer_allergens
import schemas.answer_delta
import schemas.answer_labels
import schemas.answer_money
import schemas.answer_strength
import schemas.problem
from schemas._base import Output
from schemas.answer import Answer
from schemas.described import described
from schemas.evaluation import EvaluationRequest
from schemas.problem import Problem
from service.demo import demo
from service.evaluate import evaluate
from service.item import KINDS
from service.lookup import Catalogue
from service.reference import reference
from service.report import answer
from service.rules import codes
from tests.one_drink import DAY, answer_to, asked, poured, request_of, thing

FOG_SIGNAL: dict[str, Any] = {
    "drink": {
        "id": "fog-signal", "name": "Fog Signal", "serves": 1,
        "lines": [
            {"item": "rum-aged-46", "amount": "50 ml"},
            {"item": "smoked-tea-syrup", "amount": "15 ml"},
            {"item": "lime-juice", "amount": "3/4 oz (22.5 ml)"},
            {"item": "aromatic-bitters", "amount": {"value": "2", "unit": "dash"}},
            {"item": "lime", "amount": "1 wheel", "role": "garnish"},
        ],
        "method": {"kind": "shaken"},
        "serve": {"glass_ml": 180, "ice": {"kind": "none"}},
    },
    "ingredients": [
        {"id": "rum-aged-46", "name": "Aged rum, 46 %", "kind": "spirit", "abv_percent": 46, "process": ["distilled"],
         "allergens": {}, "allergens_declared": "complete"},
    ],
    "preparations": [
        {"id": "smoked-tea-syrup", "name": "Smoked tea syrup",
         "lines": [
             {"item": "white-sugar", "amount": "500 g"}, {"item": "water", "amount": "500 g"},
             {"item": "smoked-tea", "amount": "20 g", "strained_out": True, "absorbs_ml": 40}],
         "yield": {"loss_percent": "4"}, "shelf_life_days": 14, "storage": "chilled"},
    ],
    "offers": [
        {"id": "q1", "item": "rum-aged-46", "supplier": "Example Quay Supply", "pack": {"count": 6, "size": "700 ml"},
         "price": {"amount": "141.00", "currency": "EUR"}, "valid_from": "2026-09-01", "gtin": "9520123456788"},
        {"id": "q2", "item": "lime", "supplier": "Quay", "pack": {"size": "1 each"},
         "price": {"amount": "0.30", "currency": "EUR"}},
        {"id": "q3", "item": "white-sugar", "supplier": "Quay", "pack": {"size": "1 kg"},
         "price": {"amount": "1.20", "currency": "EUR"}},
        {"id": "q4", "item": "smoked-tea", "supplier": "Quay", "pack": {"size": "1 kg"},
         "price": {"amount": "30.00", "currency": "EUR"}},
        {"id": "q5", "item": "aromatic-bitters", "supplier": "Quay", "pack": {"size": "200 ml"},
         "price": {"amount": "14.00", "currency": "EUR"}},
    ],
    "pricing": {
        "currency": "EUR", "target": {"gross_margin_percent": "78"}, "tax": {"rate_percent": "21", "included": True},
        "round": {"to": "0.50", "mode": "up"},
        "allowances": {"over_pour_percent": "3", "spillage_percent": "1"}, "menu_price": "13.00",
    },
    "jurisdictions": ["EU", "US"], "as_of": "2026-11-25",
}  # fmt: skip
"""The contract's own example, whose figures are explained there."""


def models() -> Iterator[type[Output]]:
    for module in (
        schemas.answer, schemas.answer_allergens, schemas.answer_delta, schemas.answer_duties, schemas.answer_labels,
        schemas.answer_money, schemas.answer_strength, schemas.problem,
    ):  # fmt: skip
        for found in vars(module).values():
            if isclass(found) and issubclass(found, Output) and found.__module__ == module.__name__:
                yield found


def valid(found: Any) -> Answer:
    """The answer as its own schema reads it, once it went over the wire."""
    return Answer.model_validate(json.loads(json.dumps(found, allow_nan=False)))


# The contract's example, whose figures it explains; tolerances are what its printed digits leave open.


def test_the_example_of_the_contract() -> None:
    found = answer_to(FOG_SIGNAL)
    valid(found)
    serve, alcohol = found["serve"], found["alcohol"]
    assert serve["undiluted_ml"] == pytest.approx(88.66, abs=0.2)
    assert serve["water_added_ml"] == pytest.approx(49.37, abs=0.15)
    assert serve["liquid_ml"] == pytest.approx(138.1, abs=0.3)
    assert serve["mass_g"] == pytest.approx(139.1, abs=0.2)
    assert serve["washline_percent"] == pytest.approx(76.7, abs=0.2)
    assert alcohol["abv_percent"] == pytest.approx(17.17, abs=0.05)
    assert alcohol["abv_percent_undiluted"] == pytest.approx(26.75, abs=0.06)
    assert alcohol["ethanol_ml"] == 23.72
    assert alcohol["ethanol_g"] == 18.72
    assert alcohol["us_proof"] == pytest.approx(34.3, abs=0.1)
    assert alcohol["menu_text"][0] == {
        "jurisdiction": "EU",
        "text": "about 17 % vol",
        "reason": None,
        "standing": "memory",
        "uncertainty_percent": 1.0,
        "uncertainty_from": "assumed",
    }
    assert alcohol["label"] == []
    us = alcohol["standard_drinks"]
    assert [row["jurisdiction"] for row in us] == ["US"]
    assert (us[0]["grams_each"], us[0]["count"], us[0]["text"]) == (14.0, 1.3365, "1.3 standard drinks")
    nutrition = found["nutrition"]
    assert nutrition["complete"] is False
    assert {"item": "aromatic-bitters", "field": "sugars_g"} in nutrition["missing"]
    assert nutrition["per_serve"]["energy_kcal"] is nutrition["per_serve"]["energy_kj"] is None
    assert nutrition["per_serve"]["at_least"]["energy_kcal"] == pytest.approx(175, abs=1)
    eu = found["allergens"]["declarations"][0]
    assert (eu["contains"], eu["may_contain"], eu["unknown"], eu["exempt"]) == ([], [], ["sulphites"], [])
    assert eu["cross_contact"] == "not_assessed"
    assert eu["statement"] == "Not known: sulphites (aromatic bitters). Cross-contact not assessed."
    assert found["allergens"]["sulphites_mg_per_l"] is None
    assert found["allergens"]["diet"]["vegan"] == found["allergens"]["diet"]["vegetarian"] == "yes"
    assert {
        "allergen": "sulphites",
        "state": "unknown",
        "path": ["fog-signal", "aromatic-bitters"],
        "equipment": None,
        "gs1": "AU",
    } in (found["allergens"]["routes"])
    assert (found["use_by"]["days"], found["use_by"]["path"]) == (1, ["fog-signal", "lime-juice"])
    assert found["use_by"]["reason"] == "lime-juice, 1 day once opened"


def test_the_money_of_the_example() -> None:
    found = answer_to(FOG_SIGNAL)
    cost, price = found["cost"], found["price"]
    assert (cost["pour_cost"], cost["ingredients"], cost["garnish"], cost["allowances"]) == (
        "2.16",
        "2.04",
        "0.04",
        "0.08",
    )
    assert cost["complete"] is True and cost["serve_cost"] == "2.16" and cost["labour"] is None
    assert (price["suggested"], price["net"], price["tax"]) == ("12.00", "9.92", "2.08")
    assert (price["gross_margin_percent"], price["pour_cost_percent"]) == ("78.2", "21.8")
    assert float(price["unrounded"]) == pytest.approx(11.876090, abs=0.0001)
    menu = price["at_menu_price"]
    assert (menu["net"], menu["gross_margin_percent"], menu["pour_cost_percent"], menu["meets_target"]) == (
        "10.74",
        "79.9",
        "20.1",
        True,
    )
    rum = found["lines"][0]
    assert (rum["cost"], rum["cost_share_percent"], rum["offer"]) == ("1.678571", "80.8", "q1")
    assert sum(float(line["cost_share_percent"]) for line in found["lines"]) == pytest.approx(100.0)


def test_the_same_request_gives_the_same_bytes() -> None:
    assert json.dumps(answer_to(FOG_SIGNAL)) == json.dumps(answer_to(FOG_SIGNAL))


# Shape.


@pytest.mark.parametrize("section", ["cost", "price", "alcohol", "nutrition", "allergens", "balance"])
def test_only_what_is_asked_for_is_there(section: str) -> None:
    found = answer_to({**FOG_SIGNAL, "include": [section]})
    valid(found)
    sections = {"cost", "price", "alcohol", "nutrition", "allergens", "balance"}
    assert sections & set(found) == {section}
    line = found["lines"][0]
    assert ("cost" in line) is (section == "cost")
    assert ("cost_per_ml" in found["preparations"][0]) is (section == "cost")


def test_a_section_says_the_same_alone_as_among_others() -> None:
    whole = answer_to(FOG_SIGNAL)
    for section in ("cost", "price", "alcohol", "nutrition", "allergens", "balance"):
        assert answer_to({**FOG_SIGNAL, "include": [section]})[section] == whole[section]


def test_a_trace_is_there_where_it_is_asked_for() -> None:
    found = answer_to({**FOG_SIGNAL, "trace": True})
    valid(found)
    rows = found["trace"]
    assert rows and all(row["figure"] and row["formula"] and row["source"] for row in rows)
    assert "trace" not in answer_to(FOG_SIGNAL)


def test_a_trace_without_cost_tells_no_money() -> None:
    found = answer_to({**FOG_SIGNAL, "trace": True, "include": ["alcohol"]})
    text = json.dumps(found)
    assert "EUR" not in text and "q1" not in text and "Example Quay Supply" not in text


@pytest.mark.parametrize("kind", KINDS)
def test_every_embedded_item_answers_in_shape(kind: str) -> None:
    items = [item for item in reference().items.values() if item.kind == kind]
    assert items
    for item in items:
        # Sticks, straws and bottles have no mass: they stand beside a drink.
        bare = kind == "other" and item.density_g_per_ml is None and not item.per_100
        lines = [poured("water"), poured(item.id, "1 each", role="consumable")] if bare else [poured(item.id, "10 g")]
        valid(asked(lines, codes=("EU", "US", "AU")))


@pytest.mark.parametrize("drink", sorted(demo().drinks))
def test_every_drink_of_the_demo_answers_in_shape(drink: str) -> None:
    bar = demo()
    request = EvaluationRequest.model_validate(bar.drinks[drink])
    found = answer(evaluate(request, DAY, ["EU"], reference(), Catalogue(bar.items, bar.preparations, {})), "0" * 64)
    valid(found)


def test_every_jurisdiction_answers_in_shape() -> None:
    # A request names at most 60.
    for some in (codes()[:40], codes()[40:]):
        found = asked([poured(amount="50 ml")], [thing(abv_percent=40)], some)
        valid(found)
        assert [row["jurisdiction"] for row in found["allergens"]["declarations"]] == list(some)


@pytest.mark.parametrize(
    "more",
    [
        {"drink": {"method": {"kind": "swizzled"}}},
        {"drink": {"method": {"kind": "heated", "water": {"ml": 20}}}},
        {
            "house": {
                "sold_as": "prepacked",
                "cross_contact": [{"allergens": ["milk"], "equipment": "shaker"}],
                "max_standard_drinks": 1,
            }
        },
        {"pricing": {"currency": "JPY"}},
        {"trace": True},
    ],
    ids=["water-unknown", "heated", "packed", "no-offers", "trace"],
)
def test_answers_with_gaps_keep_their_shape(more: dict[str, Any]) -> None:
    odd = {"id": "odd", "name": "Odd", "kind": "liqueur"}
    body = request_of(
        [poured(amount="50 ml", alternatives=["odd"]), poured("odd", "5 ml")],
        [thing(abv_percent=40), odd],
        ("EU", "US", "DE"),
        **more,
    )
    valid(answer_to(body))


def test_every_model_and_field_is_documented() -> None:
    found = list(models())
    assert len(found) >= 30
    for model in found:
        assert model.__doc__
        for name in model.model_fields:
            words = described(model).get(name)
            assert words, f"{model.__name__}.{name}"
            assert words[-1] in ".:", f"{model.__name__}.{name}"


TRANSLATED = ("MenuText", "LabelText", "StatementRow", "StandardDrinksRow", "ClaimRow", "FoodClaimRow", "AdvisoryRow")
"""Rows whose text is in the language asked for, and says so."""


def test_no_field_that_is_always_there_has_a_default() -> None:
    optional = {
        f"{model.__name__}.{name}"
        for model in models()
        for name, field in model.model_fields.items()
        if not field.is_required()
    }
    assert optional == {
        "Answer.cost", "Answer.price", "Answer.alcohol", "Answer.nutrition", "Answer.allergens", "Answer.balance",
        "Answer.delta",
        "DeltaAnswer.cost", "DeltaAnswer.price", "DeltaAnswer.alcohol", "DeltaAnswer.nutrition",
        "DeltaAnswer.allergens",
        "Answer.pack", "Answer.trace", "Answer.duties", "Answer.labels",
        *(
            f"{row}.{mark}"
            for row in (*TRANSLATED, "Declaration")
            for mark in ("lang", "fallback")
        ),
        "ClaimRow.condition", "ClaimRow.condition_lang", "FoodClaimRow.condition", "FoodClaimRow.condition_lang",
        "AlcoholAnswer.legal_names", "DutyRow.lang",
        "DutyRow.fallback", "AdvisoryRow.deferral_lang", "MenuText.reason_lang", "LabelText.reason_lang",
        "Meta.data_version", "Meta.cost_version",
        "Answer.measured", "AlcoholAnswer.band", "AlcoholAnswer.label_check", "NutritionAnswer.band",
        "Cost.band",
        "LineAnswer.alternatives", "LineAnswer.cost", "LineAnswer.cost_share_percent", "LineAnswer.offer",
        "LineAnswer.choice",
        "LineAnswer.priced_from", "PreparationAnswer.cost_per_ml", "Problem.errors",
    }  # fmt: skip


def test_the_schema_refuses_an_answer_with_a_gap_or_an_extra() -> None:
    found = answer_to(FOG_SIGNAL)
    changes: tuple[dict[str, Any], ...] = ({"advisory": []}, {"meta": {**found["meta"], "secret": 1}})
    for change in changes:
        with pytest.raises(ValidationError):
            valid({**found, **change})
    with pytest.raises(ValidationError):
        valid({key: value for key, value in found.items() if key != "warnings"})


def test_a_problem_has_one_entry_for_each_fault() -> None:
    # RFC 9457 with the members of the contract.
    made = Problem.model_validate(
        {
            "type": "urn:x",
            "title": "T",
            "status": 422,
            "detail": "D",
            "errors": [{"pointer": "/a", "code": "c", "detail": "d"}],
        }
    )
    assert made.errors is not None and made.errors[0].pointer == "/a"
    assert Problem.model_validate({"type": "urn:x", "title": "T", "status": 404, "detail": "D"}).errors is None
