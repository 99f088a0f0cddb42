"""POST /v1/reformulate below HTTP: against every point of a grid, against arithmetic, and the same bytes twice."""

from itertools import product
from typing import Any

import pytest
from pydantic_core import to_json

from schemas.evaluation import EvaluationRequest
from service.errors import InputFault
from tests.one_drink import answer_to, poured, request_of, thing
from tests.solve.desk import reformed

GIN = thing("gin", abv_percent=40)
SYRUP = thing("syrup", per_100={"sugars_g": 60, "carbohydrate_g": 60})
SOUR = thing("sour", per_100={"acids_g": {"citric": 6}})
MILK = thing("milky", allergens={"milk": "contains"})
VAGUE = thing("vague", allergens_declared="partial")
THINGS = (GIN, SYRUP, SOUR, MILK, VAGUE)
LINES = [poured("gin", "50 ml"), poured("sour", "20 ml"), poured("syrup", "20 ml")]
OFFERS = [
    {"id": "q1", "item": "gin", "supplier": "Example Quay Supply", "pack": {"size": "1 l"},
     "price": {"amount": "20.00", "currency": "EUR"}},
    {"id": "q2", "item": "sour", "supplier": "Example Quay Supply", "pack": {"size": "1 l"},
     "price": {"amount": "5.00", "currency": "EUR"}},
    {"id": "q3", "item": "syrup", "supplier": "Example Quay Supply", "pack": {"size": "1 l"},
     "price": {"amount": "2.00", "currency": "EUR"}},
]  # fmt: skip


def ask(goals: list[Any], free: list[Any], lines: list[Any] | None = None, **more: Any) -> dict[str, Any]:
    return {**request_of(lines or LINES, THINGS, **more), "goals": goals, "free": free}


def free(*places: int, step: float = 1.0, low: float = 0.0, high: float = 100.0) -> list[dict[str, Any]]:
    return [{"line": place, "min": low, "max": high, "step": step} for place in places]


def test_grams_of_sugar_and_acid_by_arithmetic() -> None:
    """15 g of sugars are 25 ml of syrup at 60 g in 100 ml, 1.5 g of acid 25 ml of a 6 % solution."""
    found = reformed(ask([{"figure": "sugars_g", "target": 15}, {"figure": "acid_g", "target": 1.5}], free(1, 2)))
    assert found["solved"]
    assert [row["after"] for row in found["amounts"]] == [25.0, 25.0]


def test_standard_drinks_by_arithmetic() -> None:
    """One US standard drink is 14 g of ethanol (dated rule of the US), which is 14 / 0.789239 / 0.4 = 44.35 ml."""
    body = {
        **ask([{"figure": "standard_drinks", "target": 1, "jurisdiction": "US"}], free(0, step=0.01)),
        "jurisdictions": ["EU", "US"],
    }
    assert reformed(body)["amounts"][0]["after"] == pytest.approx(44.35, abs=0.011)


def test_a_cost_is_met_from_below() -> None:
    """Arithmetic: 0.90 less 20 x 5 / 1000 and 20 x 2 / 1000 leaves 0.76, which are 38 ml at 20 a litre."""
    found = reformed(ask([{"figure": "cost", "max": 0.9}], free(0), offers=OFFERS))
    assert found["amounts"][0]["after"] == 38.0
    assert found["compared"][1]["money"]["pour_cost"] == "0.90"


@pytest.mark.parametrize(
    "goals",
    [
        [{"figure": "abv_percent", "target": 14}, {"figure": "sugars_g_per_100_ml", "target": 8},
         {"figure": "volume_ml", "max": 130}],
        [{"figure": "abv_percent", "min": 25}, {"figure": "acid_g", "min": 1.8}, {"figure": "volume_ml", "max": 80}],
        [{"figure": "energy_kcal", "max": 120}, {"figure": "sugars_g", "min": 12}, {"figure": "acid_g", "target": 1.1}],
        [{"figure": "abv_percent", "max": 5}, {"figure": "sugars_g", "max": 3}, {"figure": "volume_ml", "min": 90}],
    ],
)  # fmt: skip
def test_no_point_of_a_small_grid_is_better(goals: list[Any]) -> None:
    """Every point is evaluated whole, by POST /v1/evaluate's own path, and judged by squared shares of the goals."""
    step, most = 5.0, 45.0
    body = ask(goals, free(0, 1, 2, step=step, low=5.0, high=most), drink={"method": {"kind": "shaken"}})
    found = reformed(body)
    counts = [step * number for number in range(1, 10)]
    best = min(_missed(goals, _figures(amounts)) for amounts in product(counts, repeat=3))
    reached = _missed(goals, _figures([row["after"] for row in found["amounts"]]))
    # What the search gives away for staying near the written amounts is below 3e-8 of a square a line.
    assert reached <= best + 2e-6
    assert found["solved"] is (reached < 1e-9) or reached <= 2.5e-5


def _figures(amounts: Any) -> dict[str, float]:
    names = ("gin", "sour", "syrup")
    lines = [poured(name, f"{amount} ml") for name, amount in zip(names, amounts, strict=True)]
    found = answer_to(request_of(lines, THINGS, drink={"method": {"kind": "shaken"}}))
    serve = found["nutrition"]["per_serve"]
    return {
        "abv_percent": found["alcohol"]["abv_percent"], "volume_ml": found["serve"]["liquid_ml"],
        "sugars_g": serve["sugars_g"], "acid_g": serve["acids_g"], "energy_kcal": serve["energy_kcal"],
        "sugars_g_per_100_ml": found["balance"]["sugars_g_per_100_ml"],
    }  # fmt: skip


def _missed(goals: list[Any], figures: dict[str, float]) -> float:
    total = 0.0
    for goal in goals:
        figure = figures[goal["figure"]]
        low = goal.get("min", goal.get("target"))
        high = goal.get("max", goal.get("target"))
        scale = max(one for one in (low, high) if one is not None)
        # Half a unit of the last place that answers show is no miss.
        if low is not None and figure < low - 0.005:
            total += ((figure - low) / scale) ** 2
        if high is not None and figure > high + 0.005:
            total += ((figure - high) / scale) ** 2
    return total


def test_what_the_bounds_do_not_reach_is_named_with_the_nearest() -> None:
    """Arithmetic: all gin and nothing else is 40 % vol, and no amount of it is more."""
    found = reformed(ask([{"figure": "abv_percent", "min": 45}], free(0, 1, 2)))
    assert not found["solved"]
    assert found["unmet"] == [
        {"figure": "abv_percent", "nearest": 40.0, "nearest_alone": 40.0, "why": "bounds",
         "detail": "The bounds of the free lines do not reach it, even alone."}
    ]  # fmt: skip


def test_goals_that_exclude_each_other_are_each_named() -> None:
    """12 g and 6 g of sugars at once: each alone can be met, and the nearest lies between them."""
    goals = [{"figure": "sugars_g", "min": 12}, {"figure": "sugars_g", "max": 6}]
    found = reformed(ask(goals, free(2)))
    assert [row["why"] for row in found["unmet"]] == ["other_goals", "other_goals"]
    assert all(6 < row["nearest"] < 12 for row in found["unmet"])


def test_what_lies_between_steps_says_so() -> None:
    """Arithmetic: 7 g of sugars are 11.67 ml, between 10 and 20."""
    found = reformed(ask([{"figure": "sugars_g", "target": 7}], free(2, step=10)))
    assert found["unmet"][0]["why"] == "steps"
    assert found["amounts"][0]["exact"] == pytest.approx(11.67, abs=0.02)
    assert found["amounts"][0]["after"] == 10.0


def test_a_free_line_with_an_allergen_goes_and_a_fixed_one_is_named() -> None:
    lines = [*LINES, poured("milky", "10 ml")]
    goals = [{"figure": "sugars_g", "target": 12}]
    gone = reformed(ask(goals, free(2, 3), lines, avoid=["milk"]))
    assert gone["solved"]
    assert [line["item"] for line in gone["drink"]["lines"]] == ["gin", "sour", "syrup"]
    kept = reformed(ask(goals, free(2), lines, avoid=["milk"]))
    assert not kept["solved"]
    assert kept["avoided"] == [{"allergen": "milk", "jurisdiction": "EU", "state": "contains", "items": ["milky"]}]


def test_unknown_is_never_absent() -> None:
    found = reformed(
        ask([{"figure": "sugars_g", "target": 12}], free(2), [*LINES, poured("vague", "1 ml")], avoid=["milk"])
    )
    assert found["avoided"][0]["state"] == "unknown"


@pytest.mark.parametrize(
    ("key", "allergens"),
    [
        ("walnut", {"nuts": "unknown"}), ("walnut", {"nuts": "contains"}), ("walnut", {"nuts": "may_contain"}),
        ("walnut", {"almond": "contains", "nuts": "unknown"}), ("wheat", {"gluten": "contains"}),
    ],
)  # fmt: skip
def test_a_group_that_is_not_told_apart_leaves_its_members_unknown(key: str, allergens: dict[str, str]) -> None:
    """Annex II of Regulation (EU) 1169/2011 lists walnuts among nuts and wheat among cereals containing gluten."""
    mixed = thing("mixed", allergens=allergens)
    lines = [*LINES, poured("mixed", "1 ml")]
    found = reformed(
        {**(asked := ask([{"figure": "sugars_g", "target": 12}], free(2), lines, avoid=[key])),
         "ingredients": [*asked["ingredients"], mixed]}
    )  # fmt: skip
    assert not found["solved"]
    assert found["avoided"] == [{"allergen": key, "jurisdiction": "EU", "state": "unknown", "items": ["mixed"]}]


def test_an_allergen_that_no_rules_asked_for_list_is_refused() -> None:
    """21 USC 321(qq) lists neither celery nor barley, Annex II of Regulation (EU) 1169/2011 lists both."""
    celery = thing("celeried", allergens={"celery": "contains"})
    lines = [*LINES, poured("celeried", "1 ml")]
    asked = ask([{"figure": "sugars_g", "target": 12}], free(2), lines, avoid=["milk", "celery"])
    asked["ingredients"] = [*asked["ingredients"], celery]
    with pytest.raises(InputFault) as fault:
        reformed({**asked, "jurisdictions": ["US"]})
    assert (fault.value.code, fault.value.pointer) == ("allergen_not_listed", "/avoid/1")
    rows = reformed({**asked, "jurisdictions": ["US", "EU"]})["avoided"]
    assert [(row["allergen"], row["jurisdiction"], row["state"]) for row in rows] == [("celery", "EU", "contains")]


def test_what_counts_as_a_listed_allergen_is_not_passed_as_absent() -> None:
    """Spelt is a wheat, which the United States list without its kinds (FDA questions and answers, from memory)."""
    spelt = thing("spelt-beer", kind="beer", abv_percent=5, allergens={"spelt": "contains"})
    lines = [*LINES, poured("spelt-beer", "10 ml")]
    asked = ask([{"figure": "sugars_g", "target": 12}], free(2), lines, avoid=["spelt"])
    found = reformed({**asked, "ingredients": [*asked["ingredients"], spelt], "jurisdictions": ["US"]})
    assert not found["solved"] and [row["items"] for row in found["avoided"]] == [["spelt-beer"]]


def test_members_that_are_told_apart_clear_the_others() -> None:
    mixed = thing("mixed", allergens={"almond": "contains"})
    asked = ask([{"figure": "sugars_g", "target": 12}], free(2), [*LINES, poured("mixed", "1 ml")], avoid=["walnut"])
    assert reformed({**asked, "ingredients": [*asked["ingredients"], mixed]})["solved"]


def test_the_same_request_gives_the_same_bytes() -> None:
    goals = [
        {"figure": "abv_percent", "max": 15},
        {"figure": "acid_g", "target": 1.3},
        {"figure": "volume_ml", "min": 100},
    ]
    body = ask(goals, free(0, 1, 2, step=0.5), drink={"method": {"kind": "stirred"}})
    assert to_json(reformed(body)) == to_json(reformed(body))


def test_the_new_drink_is_one_that_evaluate_takes_and_reaches_what_is_said() -> None:
    body = ask([{"figure": "sugars_g", "target": 9}, {"figure": "abv_percent", "target": 20}], free(0, 2))
    found = reformed(body)
    evaluated = answer_to({**request_of(LINES, THINGS), "drink": found["drink"]})
    assert EvaluationRequest.model_validate({"drink": found["drink"]})
    assert evaluated["nutrition"]["per_serve"]["sugars_g"] == found["goals"][0]["after"]
    assert evaluated["alcohol"]["abv_percent"] == found["goals"][1]["after"]


@pytest.mark.parametrize(
    ("goal", "line", "more", "code", "pointer"),
    [
        ({"figure": "sugars_g", "max": 5}, {"line": 7, "max": 5}, {}, "line_missing", "/free/0/line"),
        ({"figure": "cost", "max": 5}, {"line": 0, "max": 5}, {}, "figure_unknown", "/goals/0/figure"),
        ({"figure": "sugars_g", "max": 5}, {"line": 0, "min": 1.2, "max": 1.4}, {}, "free_range", "/free/0/step"),
        ({"figure": "standard_drinks", "max": 5, "jurisdiction": "US"}, {"line": 0, "max": 5}, {},
         "jurisdiction_not_asked", "/goals/0/jurisdiction"),
        ({"figure": "abv_percent", "max": 5}, {"line": 0, "max": 5}, {"drink": {"method": {"kind": "swizzled"}}},
         "figure_unknown", "/goals/0/figure"),
    ],
)  # fmt: skip
def test_refusals_say_where(goal: Any, line: Any, more: Any, code: str, pointer: str) -> None:
    body = {**request_of(LINES, THINGS, **more), "goals": [goal], "free": [line]}
    with pytest.raises(InputFault) as fault:
        reformed(body)
    assert (fault.value.code, fault.value.pointer) == (code, pointer)
