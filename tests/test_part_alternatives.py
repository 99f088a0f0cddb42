"""Alternatives inside a house-made part, and the words that its steps go by."""

import pytest

from service.stepwords import kind_of
from tests.asked import Body, answered, preparation, refused, with_part

STRONG = {"id": "strong", "name": "Strong", "kind": "spirit", "abv_percent": 60}
WEAK = {"id": "weak", "name": "Weak", "kind": "spirit", "abv_percent": 30}
NUTTY = {"id": "nutty", "name": "Nutty", "kind": "spirit", "abv_percent": 40, "allergens": {"almond": "contains"},
         "allergens_declared": "complete"}  # fmt: skip


def poured(*alternatives: str, **more: Body) -> Body:
    """A drink of 50 ml of a part that is a spirit of 40 % vol and nothing else."""
    part = preparation([{"item": "vodka-40", "amount": "500 ml", "alternatives": list(alternatives)}])
    return answered(with_part(part, amount="50 ml", ingredients=[STRONG, WEAK, NUTTY], jurisdictions=["EU"], **more))


def test_strength_is_a_range_over_the_alternatives_of_a_part() -> None:
    # 500 ml of 30, 40 or 60 % vol alone keep their strength, arithmetic.
    found = poured("strong", "weak")["alcohol"]
    assert found["abv_percent"] == pytest.approx(40.0, abs=0.01)
    assert found["range"]["abv_percent"] == pytest.approx([30.0, 60.0], abs=0.01)


def test_the_range_passes_through_a_part_in_a_part() -> None:
    inner = preparation([{"item": "vodka-40", "amount": "500 ml", "alternatives": ["strong"]}])
    outer = {**preparation([{"item": "part", "amount": "500 ml"}]), "id": "outer"}
    found = answered(with_part(outer, inner, amount="50 ml", ingredients=[STRONG]))["alcohol"]
    assert found["range"]["abv_percent"] == pytest.approx([40.0, 60.0], abs=0.01)


def test_allergens_are_the_union_over_the_alternatives_of_a_part() -> None:
    assert "almond" in poured("nutty")["allergens"]["declarations"][0]["contains"]
    assert "almond" not in poured("weak")["allergens"]["declarations"][0]["contains"]


def test_an_unknown_alternative_of_a_part_is_refused_at_its_place() -> None:
    part = preparation([{"item": "vodka-40", "amount": "500 ml", "alternatives": ["vodka-40", "nothing-such"]}])
    assert refused(with_part(part)) == [("item_unknown", "/preparations/0/lines/0/alternatives/1")]


def test_a_whole_unit_is_opened_for_the_batch() -> None:
    line = {"item": "vodka-40", "amount": "500 ml", "charge": "whole_unit"}
    money = {"amount": "7.00", "currency": "EUR"}
    offer = {"id": "q", "item": "vodka-40", "supplier": "Quay", "pack": {"size": "700 ml"}, "price": money}
    found = answered(with_part(preparation([line]), amount="500 ml", offers=[offer], serves=2))
    # One bottle of 7.00 is opened for the batch, of which each of two serves takes half; arithmetic.
    assert found["cost"]["pour_cost"] == "3.50"


@pytest.mark.parametrize(
    ("word", "kind"),
    [
        ("freezing out", "freezing_out"), ("freeze-distilling", "freezing_out"), ("evaporating", "reducing"),
        ("distilled", "distilling"), ("redistillation", "redistilling"), ("fermentation", "fermenting"),
        ("milk washing", "milk_washing"), ("infusing", "infusing"),
    ],
)  # fmt: skip
def test_steps_go_by_the_words_of_a_bar(word: str, kind: str) -> None:
    assert kind_of(word) == kind


def test_a_word_like_distilling_leaves_the_strength_unknown() -> None:
    part = preparation([{"item": "vodka-40", "amount": "500 ml"}], steps=[{"kind": "distillation"}])
    assert answered(with_part(part))["alcohol"]["abv_percent"] is None


def test_a_measured_strength_wins_over_the_shares_kept() -> None:
    step = {"kind": "redistilling", "keeps": {"ethanol": 0.9, "water": 0.1}, "measured": {"abv_percent": 80}}
    part = preparation([{"item": "vodka-40", "amount": "1000 ml"}], steps=[step])
    found = answered(with_part(part))["preparations"][0]
    # 0.9 x 400 ml of ethanol at 80 % vol is 450 ml, arithmetic.
    assert found["abv_percent"] == pytest.approx(80.0, abs=0.01)
    assert found["yield_ml"] == pytest.approx(450.0, abs=0.1)


NEUTRAL = {"id": "neutral", "name": "Neutral", "kind": "spirit", "abv_percent": 96}
COLD = {"id": "cold", "name": "Cold", "kind": "water"}
AT_ALTERNATIVES = "/preparations/0/lines/0/alternatives"


@pytest.mark.parametrize(
    ("more", "code"),
    [
        # 96 ml of ethanol have no room in 50 ml, arithmetic.
        ({"yield": {"amount": "50 ml", "reduced": True}}, "yield_below_solids"),
        ({"steps": [{"kind": "reducing", "measured": {"volume_ml": 50}}]}, "measured_impossible"),
    ],
)
def test_an_alternative_that_the_measured_result_cannot_hold_is_refused_at_its_place(more: Body, code: str) -> None:
    part = preparation([{"item": "cold", "amount": "100 ml", "alternatives": ["neutral"]}], **more)
    assert refused(with_part(part, ingredients=[COLD, NEUTRAL])) == [(code, AT_ALTERNATIVES)]
    plain = preparation([{"item": "cold", "amount": "100 ml"}], **more)
    assert answered(with_part(plain, ingredients=[COLD]))["alcohol"]["abv_percent"] == 0


def test_a_yield_by_mass_needs_the_density_of_the_alternatives_too() -> None:
    odd = {"id": "odd", "name": "Odd", "kind": "liqueur"}
    part = preparation([{"item": "cold", "amount": "100 ml", "alternatives": ["odd"]}], **{"yield": {"amount": "90 g"}})
    assert refused(with_part(part, ingredients=[COLD, odd])) == [("density_unknown", AT_ALTERNATIVES)]


@pytest.mark.parametrize("kind", ["zapping", "fermenting", "reducing"])
def test_a_step_that_leaves_nothing_to_measure_is_refused(kind: str) -> None:
    measured = {"kind": kind, "measured": {"volume_ml": 100, "brix": 0}}
    part = preparation([{"item": "white-sugar", "amount": "100 g"}], steps=[measured])
    code, pointer = refused(with_part(part))[0]
    assert (code, pointer) == ("measured_impossible", "/preparations/0/steps/0/measured")
    gone = preparation([{"item": "white-sugar", "amount": "100 g"}], steps=[{**measured, "keeps": {"sugars": 0}}])
    assert refused(with_part(gone))[0] == ("preparation_empty", "/preparations/0/steps/0")


def test_a_still_that_is_fed_no_liquid_is_refused() -> None:
    step = {"kind": "rotovap", "measured": {"volume_ml": 100, "brix": 0}}
    part = preparation([{"item": "white-sugar", "amount": "100 g"}], steps=[step])
    assert refused(with_part(part)) == [("measured_impossible", "/preparations/0/steps/0/measured")]


def test_a_weaker_alternative_that_what_was_measured_excludes_is_refused() -> None:
    # 300 ml of 60 % vol hold 180 ml of ethanol, of which 500 ml of 30 % vol have 150, arithmetic.
    step = {"kind": "freezing out", "measured": {"volume_ml": 300, "abv_percent": 60}}
    part = preparation([{"item": "vodka-40", "amount": "500 ml", "alternatives": ["weak"]}], steps=[step])
    assert refused(with_part(part, ingredients=[WEAK])) == [("measured_impossible", AT_ALTERNATIVES)]


def test_an_alternative_without_alcohol_that_what_was_measured_excludes_is_not_refused() -> None:
    # What is measured is the sugar syrup; a syrup of the sweetener of 0.1 g has no Brix of 50, and no strength either.
    sweet = {"id": "sweet", "name": "Sweet", "kind": "additive", "abv_percent": 0,
             "per_100": {"basis": "g", "sugars_g": 1, "carbohydrate_g": 1}}  # fmt: skip
    lines: list[Body] = [
        {"item": "water", "amount": "500 g"},
        {"item": "white-sugar", "amount": "500 g", "alternatives": ["sweet"]},
    ]
    part = preparation(lines, steps=[{"kind": "reducing", "measured": {"brix": 55, "volume_ml": 720}}])
    found = answered(with_part(part, ingredients=[sweet]))
    assert found["alcohol"]["abv_percent"] == 0
    assert found["preparations"][0]["brix"] == pytest.approx(55, abs=0.1)


def test_water_of_fruit_in_an_inner_part_that_what_was_measured_excludes_opens_no_range() -> None:
    fruit = {"id": "berry", "name": "Berry", "kind": "fruit",
             "per_100": {"basis": "g", "sugars_g": 10, "carbohydrate_g": 10}}  # fmt: skip
    rows: list[Body] = [
        {"item": "vodka-40", "amount": "500 ml"},
        {"item": "berry", "amount": "500 g", "strained_out": True},
    ]
    inner = {**preparation(rows), "id": "inner"}
    steps = [{"kind": "washing", "measured": {"volume_ml": 500, "mass_g": 474}}]
    outer = preparation([{"item": "inner", "amount": "500 ml"}], steps=steps)
    found = answered(with_part(outer, inner, ingredients=[fruit]))
    assert found["alcohol"]["abv_percent"] == pytest.approx(40.0, abs=0.01)


def test_measured_figures_that_exclude_water_of_fruit_leave_the_weaker_alternative() -> None:
    # 500 ml weigh 474 g at 40 % vol (OIML R 22: 0.948 g/ml); with 450 g of water the same volume would weigh over 2 %
    # more, so none of it can have come, and 500 ml of 38 % vol are the lower end.
    fruit = {"id": "berry", "name": "Berry", "kind": "fruit",
             "per_100": {"basis": "g", "sugars_g": 10, "carbohydrate_g": 10}}  # fmt: skip
    lighter = {**WEAK, "abv_percent": 38}
    lines: list[Body] = [
        {"item": "vodka-40", "amount": "500 ml", "alternatives": ["weak"]},
        {"item": "berry", "amount": "500 g", "strained_out": True},
    ]
    part = preparation(lines, steps=[{"kind": "washing", "measured": {"volume_ml": 500, "mass_g": 474}}])
    found = answered(with_part(part, ingredients=[fruit, lighter]))["alcohol"]
    assert found["range"]["abv_percent"] == pytest.approx([38.0, 40.0], abs=0.01)
