"""House-made parts: worked cases with their sources, and what a mass balance refuses."""

import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest

from service.preparation import Prepared
from tests.asked import Body, answered, body_of, evaluation, part_refused, preparation, prepared, with_part

CASES = tomllib.loads((Path(__file__).parent / "cases" / "preparations.toml").read_text(encoding="utf-8"))["case"]
SYRUP = [{"item": "white-sugar", "amount": "500 g"}, {"item": "water", "amount": "500 g"}]
GIN = {"item": "gin-london-dry-40", "amount": "500 ml"}
TEA = {"item": "smoked-tea", "amount": "20 g", "strained_out": True}

KINDS = {
    "syrup by mass",
    "syrup by cup",
    "acid solution",
    "saline",
    "infusion",
    "maceration of fresh fruit",
    "oleo saccharum",
    "shrub",
    "fat-washing",
    "milk-washing",
    "clarified milk punch",
    "gum syrup",
    "cordial",
    "peel-and-acid juice",
    "foam with overrun",
    "carbonated part",
    "pre-diluted part",
    "reduction",
    "redistillate",
    "fermenting",
}
"""Every kind of house-made part that the service promises."""


def _per_ethanol(name: str) -> Callable[[Prepared], float | None]:
    return lambda made: made.batch.content(name) / made.batch.ethanol_g


def _grams(name: str) -> Callable[[Prepared], float | None]:
    return lambda made: made.batch.content(name)


def _known(made: Prepared, field: str, figure: float) -> float | None:
    return figure if made.batch.knows(field) else None


FIGURES: Mapping[str, Callable[[Prepared], float | None]] = {
    "volume_ml": lambda made: made.yield_ml,
    "mass_g": lambda made: made.batch.mass_g,
    "brix": lambda made: 100 * made.batch.content("sugars") / (made.batch.mass_g or 0),
    "density_g_per_ml": lambda made: made.substance.density_g_per_ml,
    "sugars_g_per_l": lambda made: _known(made, "sugars_g", 1000 * made.substance.contents.get("sugars", 0.0)),
    "abv_percent": lambda made: made.batch.abv_percent,
    "abv_percent_with_fruit_water": lambda made: (
        None if (wet := made.with_fruit_water) is None else wet.mixture.abv_percent
    ),
    "gas_factor": lambda made: made.substance.gas_factor,
    "acids_g": lambda made: made.batch.acids_g,
    "acid_g_per_100_ml": lambda made: 100 * made.batch.acids_g / made.batch.volume_ml,
    "acid_percent_of_mass": lambda made: 100 * made.batch.acids_g / (made.batch.mass_g or 0),
    "salt_g_per_100_ml": lambda made: 100 * made.substance.contents["salt"],
    "sugars_g_per_ethanol_g": _per_ethanol("sugars"),
    "protein_g_per_ethanol_g": _per_ethanol("protein"),
    **{f"{name}_g": _grams(name) for name in ("sugars", "protein", "fat", "fibre", "ethanol")},
}


def part_of(case: dict[str, Any]) -> dict[str, Any]:
    more = {key: case[key] for key in ("steps", "yield", "parts_total", "overrun_percent") if key in case}
    return preparation(case["lines"], **more)


@pytest.mark.parametrize("case", CASES, ids=[case["id"] for case in CASES])
def test_worked_case(case: dict[str, Any]) -> None:
    assert case["source"] and case["standing"] in ("arithmetic", "secondary", "memory", "common practice")
    made = prepared(part_of(case), ingredients=case.get("ingredients", []))
    for name, figure in case["expected"].items():
        found = FIGURES[name](made)
        if figure == "unknown":
            assert found is None, name
        else:
            assert found == pytest.approx(figure, rel=case["tolerance"], abs=1e-12), name


@pytest.mark.parametrize("case", [case for case in CASES if "contains" in case], ids=lambda case: case["id"])
def test_what_is_washed_or_strained_out_stays_declared(case: dict[str, Any]) -> None:
    answer = answered(with_part(part_of(case), ingredients=case.get("ingredients", [])))
    assert set(case["contains"]) <= set(answer["allergens"]["declarations"][0]["contains"])


def test_every_promised_kind_of_part_has_a_case() -> None:
    assert {case["kind"] for case in CASES} >= KINDS


# The yield.


def test_a_yield_may_be_two_percent_above_what_is_computed_and_no_more() -> None:
    computed = prepared(preparation(SYRUP)).computed_ml
    within = prepared(preparation(SYRUP, **{"yield": {"amount": f"{computed * 1.019:.3f} ml"}}))
    assert within.yield_ml == pytest.approx(computed * 1.019, abs=1e-3)
    above = preparation(SYRUP, **{"yield": {"amount": f"{computed * 1.021:.3f} ml"}})
    assert part_refused(above) == [("yield_exceeds_inputs", "/preparations/0/yield/amount")]


def test_a_yield_by_mass_is_held_to_the_same_two_percent() -> None:
    above = preparation(SYRUP, **{"yield": {"amount": "1.03 kg"}})
    assert part_refused(above) == [("yield_exceeds_inputs", "/preparations/0/yield/amount")]


def test_a_foam_weighed_above_its_inputs_is_refused_because_gas_weighs_nothing() -> None:
    part = preparation(SYRUP, overrun_percent=100, **{"yield": {"amount": "1.5 kg"}})
    assert part_refused(part) == [("yield_exceeds_inputs", "/preparations/0/yield/amount")]


def test_a_foam_measured_larger_than_its_overrun_has_more_gas_and_no_more_ethanol() -> None:
    part = preparation([GIN], overrun_percent=100, **{"yield": {"amount": "2 l"}})
    made = prepared(part)
    assert made.substance.gas_factor == pytest.approx(4.0)
    whole = evaluation(with_part(part, amount="2 l"))
    assert whole.alcohol.strength.ethanol_g == pytest.approx(500 * 0.40 * 0.789239)


def test_a_loss_of_everything_leaves_nothing_to_pour() -> None:
    part = preparation(SYRUP, **{"yield": {"loss_percent": 100}})
    assert part_refused(part) == [("yield_nothing", "/preparations/0/yield/loss_percent")]


def test_a_reduction_below_its_solids_and_above_its_inputs_is_refused() -> None:
    for amount, code in (
        ("300 ml", "yield_below_solids"),
        ("900 ml", "yield_exceeds_inputs"),
        ("400 g", "yield_below_solids"),
    ):
        part = preparation(SYRUP, **{"yield": {"amount": amount, "reduced": True}})
        assert part_refused(part) == [(code, "/preparations/0/yield/amount")], amount


def test_a_reduction_of_wine_keeps_its_ethanol_because_only_water_leaves() -> None:
    made = prepared(
        preparation([{"item": "cider", "amount": "750 ml"}], **{"yield": {"amount": "500 ml", "reduced": True}}),
        ingredients=[{"id": "cider", "name": "Cider", "kind": "wine", "abv_percent": 6}],
    )
    assert made.batch.abv_percent == pytest.approx(9.0)


def test_a_liquid_of_unknown_composition_can_be_reduced() -> None:
    stock = {"id": "stock", "name": "Stock", "kind": "juice"}
    part = preparation([{"item": "stock", "amount": "1 l"}], **{"yield": {"amount": "400 ml", "reduced": True}})
    made = prepared(part, ingredients=[stock])
    assert made.yield_ml == pytest.approx(400)
    assert not made.batch.knows("sugars_g")


def test_a_yield_by_mass_needs_a_density() -> None:
    part = preparation([{"item": "stock", "amount": "1 l"}], **{"yield": {"amount": "400 g"}})
    stock = {"id": "stock", "name": "Stock", "kind": "juice"}
    assert part_refused(part, ingredients=[stock]) == [("density_unknown", "/preparations/0/yield/amount")]


@pytest.mark.parametrize("amount", ["2 parts", "3 each", "fill", "12 blobs", "0 ml"])
def test_a_yield_that_is_no_volume_or_mass_is_refused_at_its_place(amount: str) -> None:
    [(_, pointer)] = part_refused(preparation(SYRUP, **{"yield": {"amount": amount}}))
    assert pointer == "/preparations/0/yield/amount"


# Straining.


def test_absorbs_is_ignored_with_a_warning_where_the_yield_is_measured() -> None:
    part = preparation([GIN, {**TEA, "absorbs_ml": 100}], **{"yield": {"amount": "450 ml"}})
    answer = answered(with_part(part))
    assert [row["code"] for row in answer["warnings"]] == ["absorbs_ignored"]
    assert prepared(part).yield_ml == pytest.approx(450)


def test_absorbing_everything_is_refused_at_the_line_that_absorbs_most() -> None:
    part = preparation([GIN, {**TEA, "absorbs_ml": 10}, {**TEA, "absorbs_ml": 600}])
    assert part_refused(part) == [("absorbs_exceeds", "/preparations/0/lines/2/absorbs_ml")]


def test_a_part_of_which_everything_is_strained_out_is_refused() -> None:
    assert part_refused(preparation([TEA])) == [("preparation_empty", "/preparations/0/lines")]


def test_strained_out_fruit_of_unknown_composition_gives_no_second_bound() -> None:
    berry = {"id": "berry", "name": "Berry", "kind": "fruit"}
    part = preparation([GIN, {"item": "berry", "amount": "100 g", "strained_out": True}])
    assert prepared(part, ingredients=[berry]).with_fruit_water is None


def test_a_piece_of_unknown_mass_may_be_strained_out_but_not_stay() -> None:
    herb = {"id": "herb", "name": "Herb", "kind": "spice", "pieces": {"sprig": {"share": 1}}}
    lines: list[dict[str, Any]] = [GIN, {"item": "herb", "amount": "2 sprigs", "strained_out": True}]
    assert prepared(preparation(lines), ingredients=[herb]).yield_ml == pytest.approx(500)
    stays = preparation([GIN, {"item": "herb", "amount": "2 sprigs"}])
    assert part_refused(stays, ingredients=[herb]) == [("piece_mass_unknown", "/preparations/0/lines/1/amount")]


def test_costs_and_cost_per_ml_carry_what_was_strained_out() -> None:
    offers = [
        {
            "id": "o1",
            "item": "gin-london-dry-40",
            "supplier": "S",
            "pack": {"size": "1 l"},
            "price": {"amount": "20.00", "currency": "EUR"},
        },
        {
            "id": "o2",
            "item": "smoked-tea",
            "supplier": "S",
            "pack": {"size": "1 kg"},
            "price": {"amount": "100.00", "currency": "EUR"},
        },
    ]
    part = preparation([GIN, {**TEA, "absorbs_ml": 100}])
    row = answered(with_part(part, offers=offers))["preparations"][0]
    assert row["cost_per_ml"] == "0.030000000"  # (10.00 + 2.00) / 400 ml


# Gas.


def test_a_foam_is_measured_with_its_gas_and_its_strength_counts_the_liquid() -> None:
    part = preparation([GIN], overrun_percent=300)
    answer = answered(
        body_of([{"item": "part", "amount": "80 ml", "role": "top"}], preparations=[part], serve={"glass_ml": 100})
    )
    assert answer["serve"]["liquid_ml"] == pytest.approx(20.0)
    assert answer["serve"]["foam_ml"] == pytest.approx(80.0)
    assert answer["alcohol"]["abv_percent"] == pytest.approx(40.0)
    assert answer["alcohol"]["ethanol_g"] == pytest.approx(20 * 0.40 * 0.789239, abs=0.005)
    assert answer["serve"]["washline_percent"] == pytest.approx(80.0)


def test_a_foam_by_mass_is_not_divided_by_its_gas() -> None:
    part = preparation([GIN], overrun_percent=300)
    made = evaluation(with_part(part, amount="20 g"))
    density = made.resolved.preparations["part"].substance.density_g_per_ml
    assert density is not None
    assert made.alcohol.strength.ethanol_g == pytest.approx(20 / density * 0.40 * 0.789239)


# Fresh fruit gives water back: both bounds.

BERRY = {
    "id": "berry", "name": "Berry", "kind": "fruit",
    "per_100": {"basis": "g", "sugars_g": 5, "carbohydrate_g": 5, "acids_g": {"citric": 1}, "fibre_g": 4},
}  # fmt: skip
STRAINED = {"item": "berry", "amount": "200 g", "strained_out": True}


def bounds(part: dict[str, Any], **more: Any) -> tuple[dict[str, Any], dict[str, Any]]:
    row = answered(with_part(part, ingredients=[BERRY], **more))["preparations"][-1]
    return row, row["with_fruit_water"]


def test_a_syrup_on_fresh_fruit_shows_both_bounds_of_brix_and_volume() -> None:
    row, wet = bounds(preparation([*SYRUP, STRAINED]))
    # 500 g of sugar in 1000 g, and in 1000 g with the 90 % of 200 g that is neither sugar, acid nor fibre
    assert row["brix"] == pytest.approx(50, abs=0.05)
    assert wet["brix"] == pytest.approx(100 * 500 / 1180, abs=0.05)
    assert wet["yield_ml"] == pytest.approx(row["yield_ml"] + 180, rel=0.01)
    assert wet["abv_percent"] == 0.0
    assert set(wet) == {"yield_ml", "abv_percent", "brix", "sugars_g_per_100_ml", "acid_g_per_100_ml"}


def test_without_fresh_fruit_strained_out_there_is_one_bound() -> None:
    assert bounds(preparation(SYRUP))[1] is None
    assert bounds(preparation([*SYRUP, {**STRAINED, "strained_out": False}]))[1] is None
    assert bounds(preparation([GIN, TEA]))[1] is None


def test_the_fruits_water_goes_through_steps_and_yield() -> None:
    kept = {"kind": "clarifying", "keeps": {"water": 0.5}}
    row, wet = bounds(preparation([GIN, STRAINED], steps=[kept], **{"yield": {"loss_percent": 10}}))
    assert wet["yield_ml"] == pytest.approx(row["yield_ml"] + 0.9 * 90, rel=0.02)
    measured = preparation([GIN, STRAINED], **{"yield": {"amount": "480 ml"}})
    row, wet = bounds(measured)
    assert row["yield_ml"] == wet["yield_ml"] == pytest.approx(480)
    assert wet["abv_percent"] == pytest.approx(29.42, abs=0.2)
    told = preparation([GIN, STRAINED], steps=[{"kind": "clarifying", "measured": {"abv_percent": 33}}])
    row, wet = bounds(told)
    assert row["abv_percent"] == wet["abv_percent"] == pytest.approx(33)


def test_a_drink_of_such_a_part_has_a_range_of_strength() -> None:
    part = preparation([GIN, STRAINED])
    alcohol = answered(with_part(part, ingredients=[BERRY], amount="50 ml"))["alcohol"]
    low, high = alcohol["range"]["abv_percent"]
    assert high == alcohol["abv_percent"] == pytest.approx(40)
    assert low == bounds(part)[1]["abv_percent"]
    assert alcohol["menu_text"][0]["text"] == "about 29.5 to 40 % vol"
    assert alcohol["range"]["ethanol_g"][0] == pytest.approx(50 * low / 100 * 0.789239, rel=1e-3)


def test_the_range_comes_through_a_part_in_a_part() -> None:
    inner = preparation([GIN, STRAINED]) | {"id": "inner"}
    outer = preparation([{"item": "inner", "amount": "100 g"}, {"item": "water", "amount": "100 g"}])
    # 100 g of the weaker part: 157.85 g of ethanol in 474.03 + 180 g
    made = prepared(outer, inner, ingredients=[BERRY])
    assert made.with_fruit_water is not None
    assert made.with_fruit_water.mixture.ethanol_g == pytest.approx(100 * 157.85 / 654.03, rel=2e-3)


def test_a_syrup_on_fruit_opens_no_range_of_strength() -> None:
    assert answered(with_part(preparation([*SYRUP, STRAINED]), ingredients=[BERRY]))["alcohol"]["range"] is None


def test_a_rinse_of_such_a_part_is_weaker_by_what_stays() -> None:
    part = preparation([GIN, STRAINED])
    line = {"item": "part", "amount": "10 g", "role": "rinse", "residue_ml": 10}
    body = body_of([{"item": "water", "amount": "50 ml"}, line], preparations=[part], ingredients=[BERRY])
    low, high = answered(body)["alcohol"]["range"]["abv_percent"]
    assert low < high


def test_claims_are_judged_on_the_upper_bound() -> None:
    part = preparation([GIN, STRAINED])
    lines = [{"item": "part", "amount": "1.3 ml"}, {"item": "water", "amount": "98.7 ml"}]
    claims = answered(body_of(lines, preparations=[part], ingredients=[BERRY]))["alcohol"]["claims"]
    assert claims
    assert all(row["figure_percent"] == pytest.approx(0.52, abs=0.01) for row in claims)


# Sugar beyond what water dissolves: 66.7 % by mass of sucrose at 20 C (Vavrinecz; standing: memory).


@pytest.mark.parametrize(("sugar", "warned"), [("500 g", False), ("1 kg", False), ("1.05 kg", True)])
def test_sugar_above_saturation_is_told(sugar: str, warned: bool) -> None:
    part = preparation([{"item": "white-sugar", "amount": sugar}, {"item": "water", "amount": "500 g"}])
    codes = [row["code"] for row in answered(with_part(part))["warnings"]]
    assert ("sugar_above_saturation" in codes) == warned


def test_dry_sugar_on_peel_is_never_100_brix_without_a_word() -> None:
    lines: list[dict[str, Any]] = [{"item": "white-sugar", "amount": "500 g"}, {**STRAINED, "item": "lemon-peel"}]
    answer = answered(with_part(preparation(lines)))
    assert answer["preparations"][0]["brix"] > 99
    assert "sugar_above_saturation" in [row["code"] for row in answer["warnings"]]


HEAVY = {"id": "heavy", "name": "Heavy", "kind": "wine", "abv_percent": 12, "density_g_per_ml": 1.05}


def test_ethanol_never_fills_more_than_the_whole() -> None:
    # All water gone from 12 ml of ethanol in 100 ml leaves ethanol: 100 % vol at most, arithmetic.
    step = {"kind": "freezing out", "keeps": {"water": 0}}
    part = preparation([{"item": "heavy", "amount": "100 ml"}], steps=[step])
    found = answered(with_part(part, ingredients=[HEAVY]))["preparations"][0]
    assert found["abv_percent"] == pytest.approx(100.0, abs=0.01)
    assert found["yield_ml"] == pytest.approx(12.0, abs=0.05)


@pytest.mark.parametrize(
    ("more", "fault"),
    [
        # 120 ml of ethanol in 115 ml, arithmetic.
        (
            {"steps": [{"kind": "reducing", "measured": {"volume_ml": 115}}]},
            ("measured_impossible", "/steps/0/measured"),
        ),
        ({"yield": {"amount": "115 ml", "reduced": True}}, ("yield_below_solids", "/yield/amount")),
    ],
)
def test_no_less_is_left_than_the_ethanol_takes_up(more: Body, fault: tuple[str, str]) -> None:
    part = preparation([{"item": "heavy", "amount": "1 l"}], **more)
    assert part_refused(part, ingredients=[HEAVY]) == [(fault[0], "/preparations/0" + fault[1])]
