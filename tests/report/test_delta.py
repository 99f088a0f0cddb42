"""The delta of an answer: what was asked for, in figures that add up with the answer's own."""

import json
from typing import Any

import pytest

from schemas.answer import Answer
from schemas.evaluation import SECTIONS
from tests.one_drink import answer_to, varied
from tests.test_variation import MODIFIERS, THINGS, request

PLACES: dict[str, tuple[tuple[str, ...], ...]] = {
    "cost": (("pour_cost",), ("serve_cost",)),
    "price": (("suggested",),),
    "alcohol": (("abv_percent",), ("ethanol_ml",), ("ethanol_g",)),
}


@pytest.mark.parametrize("name", sorted(MODIFIERS))
def test_base_and_change_are_together_what_the_answer_says(name: str) -> None:
    body = request(name)
    base, found = answer_to({**body, "with": []}), varied(body)
    for section, figures in PLACES.items():
        for (figure,) in figures:
            row = found["delta"][section][figure]
            assert row["base"] == base[section][figure]
            if row["base"] is not None and found[section][figure] is not None:
                assert float(row["base"]) + float(row["change"]) == pytest.approx(
                    float(found[section][figure]), abs=1e-9
                )
            else:
                assert row["change"] is None
    for row, before, after in zip(
        found["delta"]["alcohol"]["standard_drinks"],
        base["alcohol"]["standard_drinks"],
        found["alcohol"]["standard_drinks"],
        strict=True,
    ):
        assert row["jurisdiction"] == after["jurisdiction"] and row["base"] == before["count"]
        assert row["base"] + row["change"] == pytest.approx(after["count"], abs=1e-9)
    for unit in ("energy_kj", "energy_kcal"):
        row = found["delta"]["nutrition"][unit]
        assert row["base"] == base["nutrition"]["per_serve"][unit]
        assert row["base"] + row["change"] == pytest.approx(found["nutrition"]["per_serve"][unit], abs=1e-9)


@pytest.mark.parametrize("section", SECTIONS)
def test_a_section_that_was_not_asked_for_is_not_in_the_delta(section: str) -> None:
    found = varied(request("rum", include=[section]))["delta"]
    told = {"cost", "price", "alcohol", "nutrition", "allergens"} & {section}
    assert set(found) == {"with", "advisories_gained", "notes", *told}


@pytest.mark.parametrize("name", sorted(MODIFIERS))
def test_an_answer_with_a_delta_is_of_the_documented_model(name: str) -> None:
    Answer.model_validate_json(json.dumps(varied(request(name, trace=True)), allow_nan=False))


def test_a_change_of_what_is_not_known_is_not_known() -> None:
    body = request("unknown")
    body["ingredients"] = [*THINGS, {"id": "odd", "name": "Odd", "kind": "liqueur"}]
    body["drink"]["modifiers"] = [{"id": "unknown", "name": "U", "add": [{"item": "odd", "amount": "5 ml"}]}]
    alcohol = varied(body)["delta"]["alcohol"]
    assert alcohol["ethanol_ml"] == {"base": 20.0, "change": None}
    assert {row["change"] for row in alcohol["standard_drinks"]} == {None}


def test_costs_in_different_currencies_have_no_difference() -> None:
    body = request("rum", lines=[{"item": "gin", "amount": "50 ml"}], pricing=None)
    rum = next(offer for offer in body["offers"] if offer["item"] == "rum")
    body["offers"] = [*(offer for offer in body["offers"] if offer is not rum)]
    body["offers"].append({**rum, "price": {"amount": "30.00", "currency": "USD"}})
    cost = varied(body)["delta"]["cost"]
    assert (cost["currency"], cost["pour_cost"]) == ("USD", {"base": None, "change": None})


def test_a_caution_that_a_modifier_brings_is_named() -> None:
    # 20 ml of ethanol are 2 units of 10 ml, 40 ml are 4; the house has set 3.
    house = {"max_standard_drinks": 3}
    before = {row["code"] for row in answer_to(request(house=house))["advisories"]}
    assert "over_house_limit" not in before
    gained = varied(request("double", house=house))["delta"]["advisories_gained"]
    assert "over_house_limit" in gained
    assert varied(request("no-egg", house=house))["delta"]["advisories_gained"] == []


def test_measured_water_is_told_to_be_that_of_the_drink_as_written() -> None:
    measured = {"method": {"kind": "stirred", "water": {"ml": 20}}}
    [note] = varied(request("double", drink=measured))["delta"]["notes"]
    assert "measured" in note
    assert varied(request("double"))["delta"]["notes"] == []


def test_the_modifiers_are_named_in_their_order() -> None:
    found: Any = varied(request("no-egg", "double", "no-egg"))
    assert found["delta"]["with"] == ["no-egg", "double", "no-egg"]
