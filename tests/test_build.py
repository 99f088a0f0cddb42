"""The drink as built: water from ice by each way of saying it, tops, rinses, fill, foam, the wash line."""

from typing import Any

import pytest

from tests.asked import Body, answered, body_of, evaluation, preparation, refused
from tests.one_drink import NOTHING

GIN = {"item": "gin-london-dry-40", "amount": "60 ml"}
SYRUP = {"item": "simple-syrup-1-1", "amount": "20 ml"}
ETHANOL = 0.789239
WATER = 0.99820123


def drink(*lines: Body, kind: str = "none", water: Body | None = None, **more: Any) -> Body:
    method = {"kind": kind} if water is None else {"kind": kind, "water": water}
    return body_of(list(lines), method=method, **more)


def dilution(body: Body) -> Any:
    return answered(body)["serve"]["dilution"]


# The published models.


@pytest.mark.parametrize(
    ("kind", "constant", "linear", "square"), [("stirred", 0.145, 1.246, -1.21), ("shaken", 0.203, 1.742, -1.567)]
)
def test_a_published_model_acts_on_the_mixed_strength_and_volume(
    kind: str, constant: float, linear: float, square: float
) -> None:
    # Liquid Intelligence (2014), p. 123, coefficients from a secondary copy
    built = evaluation(drink(GIN, SYRUP, kind=kind)).build
    a = 24 / built.base.volume_ml
    assert built.base.abv_percent == pytest.approx(100 * a)
    assert built.dilution.fraction == pytest.approx(constant + linear * a + square * a * a)
    assert built.dilution.water_ml == pytest.approx((built.dilution.fraction or 0.0) * built.base.volume_ml)
    assert built.dilution.in_range
    assert built.liquid is not None
    assert built.liquid.ethanol_g == pytest.approx(24 * ETHANOL)


@pytest.mark.parametrize("role", ["top", "rinse", "garnish", "consumable"])
def test_the_model_never_acts_on_any_role_but_pour(role: str) -> None:
    other = {"item": "sparkling-wine-dry", "amount": "100 ml", "role": role}
    assert dilution(drink(GIN, other, kind="shaken")) == dilution(drink(GIN, kind="shaken"))


def test_the_model_never_acts_on_a_foam() -> None:
    foam = preparation([{"item": "vodka-40", "amount": "100 ml"}], overrun_percent=100) | {"id": "foam"}
    with_foam = drink(GIN, {"item": "foam", "amount": "40 ml"}, kind="shaken", preparations=[foam])
    assert dilution(with_foam) == dilution(drink(GIN, kind="shaken"))


@pytest.mark.parametrize(
    ("abv", "in_range"), [(9.9, False), (10.1, True), (44.9, True), (45.1, False), (100, False), (0, False)]
)
def test_outside_its_range_the_figure_is_given_with_a_warning(abv: float, in_range: bool) -> None:
    things = [{"id": "thing", "name": "Thing", "kind": "spirit", "abv_percent": abv}]
    answer = answered(drink({"item": "thing", "amount": "60 ml"}, kind="stirred", ingredients=things))
    assert answer["serve"]["dilution"]["in_range"] is in_range
    assert answer["serve"]["water_added_ml"] > 0
    assert ("dilution_out_of_range" in [row["code"] for row in answer["warnings"]]) is not in_range


# What is stated wins.


@pytest.mark.parametrize(
    ("water", "ml"), [({"ml": 50}, 50.0), ({"fraction": 0.5}, 30.0), ({"ml": 0}, 0.0), ({"fraction": 0}, 0.0)]
)
def test_a_stated_figure_wins_over_model_and_house(water: Body, ml: float) -> None:
    body = drink(GIN, kind="shaken", water=water, measures={"water_fraction": {"shaken": 0.9}})
    answer = answered(body)
    assert answer["serve"]["water_added_ml"] == pytest.approx(ml)
    assert answer["serve"]["mass_g"] == pytest.approx(60 * 0.94805 + ml * WATER, abs=0.02)
    assert answer["warnings"] == []


def test_measured_water_is_of_the_whole_spec() -> None:
    body = drink({**GIN, "amount": "240 ml"}, kind="stirred", water={"ml": 100}, serves=4)
    answer = answered(body)
    assert answer["serve"]["water_added_ml"] == pytest.approx(25.0)
    assert answer["serve"]["dilution"]["fraction"] == pytest.approx(25 / 60, abs=1e-4)
    assert answer["alcohol"]["ethanol_g"] == pytest.approx(24 * ETHANOL, abs=0.005)


@pytest.mark.parametrize("kind", ["swizzled", "built", "thrown", "whipped", "spindle", "heated", "draught", "blended"])
def test_a_house_figure_is_shown_as_an_assumption(kind: str) -> None:
    answer = answered(drink(GIN, kind=kind, measures={"water_fraction": {kind: 0.25}}))
    assert answer["serve"]["water_added_ml"] == pytest.approx(15.0)
    assert "house_water_fraction" in [row["code"] for row in answer["assumptions"]]


@pytest.mark.parametrize("kind", ["none", "carbonated", "dry_shaken", "prediluted"])
def test_methods_without_ice_take_no_water(kind: str) -> None:
    assert answered(drink(GIN, kind=kind))["serve"]["water_added_ml"] == 0.0


@pytest.mark.parametrize(
    "kind", ["swizzled", "built", "thrown", "whipped", "spindle", "heated", "draught", "blended", "frozen"]
)
def test_without_any_figure_the_water_is_unknown_and_what_needs_none_is_given(kind: str) -> None:
    offers = [
        {
            "id": "o",
            "item": "gin-london-dry-40",
            "supplier": "S",
            "pack": {"size": "600 ml"},
            "price": {"amount": "12.00", "currency": "EUR"},
        }
    ]
    answer = answered(drink(GIN, kind=kind, offers=offers, jurisdictions=["GB"]))
    serve, alcohol = answer["serve"], answer["alcohol"]
    assert serve["water_added_ml"] is serve["liquid_ml"] is serve["dilution"]["fraction"] is None
    assert serve["missing"] == [{"item": "ice", "field": "method.water"}]
    assert alcohol["abv_percent"] is None
    assert {"item": "ice", "field": "method.water"} in alcohol["missing"]
    assert alcohol["ethanol_g"] == pytest.approx(24 * ETHANOL, abs=0.005)
    assert alcohol["standard_drinks"][0]["count"] == pytest.approx(2.4, abs=1e-3)
    assert answer["nutrition"]["per_serve"]["energy_kcal"] == pytest.approx(24 * ETHANOL * 7, rel=0.01)
    assert answer["cost"]["pour_cost"] == "1.20"
    assert answer["allergens"]["declarations"]


@pytest.mark.parametrize("kind", ["blended", "frozen"])
def test_blended_and_frozen_melt_all_their_ice(kind: str) -> None:
    answer = answered(drink(GIN, kind=kind, water={"ice_g": 180, "ice_c": -18}))
    assert answer["serve"]["water_added_ml"] == pytest.approx(180 / WATER, abs=0.01)
    assert answer["serve"]["mass_g"] == pytest.approx(60 * 0.94805 + 180, abs=0.02)


def test_next_to_no_ice_is_no_water() -> None:
    garnish = {"item": "lime", "amount": "1 each", "role": "garnish"}
    answer = answered(drink(garnish, kind="blended", water={"ice_g": 5e-324, "ice_c": 0}))
    assert answer["serve"]["liquid_ml"] == 0.0


def test_an_energy_balance_melts_a_part_of_the_ice_and_says_what_it_is() -> None:
    answer = answered(drink(GIN, SYRUP, kind="shaken", water={"ice_g": 200, "ice_c": 0}))
    assert answer["serve"]["dilution"]["model"] == "energy_balance"
    assert 15 < answer["serve"]["water_added_ml"] < 60
    assert "energy_balance" in [row["code"] for row in answer["warnings"]]
    colder = answered(drink(GIN, SYRUP, kind="shaken", water={"ice_g": 200, "ice_c": -18}))
    assert colder["serve"]["water_added_ml"] < answer["serve"]["water_added_ml"]


def test_outside_the_energy_balance_the_water_is_unknown_and_not_a_guess() -> None:
    for lines, water in (
        ([GIN], {"ice_g": 100, "ice_c": -60}),
        ([{"item": "rum-overproof-75-5", "amount": "60 ml"}], {"ice_g": 100, "ice_c": 0}),
    ):
        answer = answered(drink(*lines, kind="shaken", water=water))
        assert answer["serve"]["liquid_ml"] is None
        assert "energy_balance_out_of_range" in [row["code"] for row in answer["warnings"]]


def test_an_unknown_strength_leaves_the_model_without_its_input() -> None:
    things = [{"id": "thing", "name": "Thing"}]
    answer = answered(drink({"item": "thing", "amount": "60 ml"}, kind="shaken", ingredients=things))
    assert answer["serve"]["dilution"]["model"] == "unknown"
    assert {"item": "thing", "field": "abv_percent"} in answer["alcohol"]["missing"]


def test_a_drink_of_which_nothing_is_poured_takes_no_water() -> None:
    answer = answered(drink({"item": "lime", "amount": "1 each", "role": "garnish"}, kind="shaken"))
    assert answer["serve"]["liquid_ml"] == 0.0
    assert answer["alcohol"]["abv_percent"] is None
    top = answered(drink({"item": "sparkling-wine-dry", "amount": "100 ml", "role": "top"}, kind="stirred"))
    assert top["serve"]["water_added_ml"] == 0.0


def test_undiluted_ml_is_all_that_is_drunk_without_the_water_of_ice() -> None:
    top = {"item": "water", "amount": "40 ml", "role": "top"}
    rinse = {"item": "gin-london-dry-40", "amount": "10 ml", "role": "rinse", "residue_ml": 2}
    with_both = evaluation(drink(GIN, top, rinse, kind="stirred", water={"ml": 30})).build
    ethanol = (24 + 0.8) * ETHANOL
    assert with_both.undiluted.ethanol_g == pytest.approx(ethanol)
    assert with_both.undiluted.mass_g == pytest.approx(62 * 0.94805 + 40 * WATER, abs=0.001)
    assert with_both.liquid is not None
    assert with_both.liquid.mass_g == pytest.approx(62 * 0.94805 + 70 * WATER, abs=0.001)


# Rinses.


def test_of_a_rinse_the_residue_stays_the_whole_costs_and_the_allergens_stay() -> None:
    offers = [
        {
            "id": "o",
            "item": "cream",
            "supplier": "S",
            "pack": {"size": "100 ml"},
            "price": {"amount": "10.00", "currency": "EUR"},
        }
    ]
    things = [
        {
            "id": "cream",
            "name": "Cream liqueur",
            "kind": "liqueur",
            "abv_percent": 17,
            "allergens": {"milk": "contains"},
        }
    ]
    rinse = {"item": "cream", "amount": "10 ml", "role": "rinse"}
    for residue, ethanol in ((None, 0.0), (4, 4 * 0.17 * ETHANOL)):
        line = rinse if residue is None else {**rinse, "residue_ml": residue}
        answer = answered(drink(line, offers=offers, ingredients=things))
        assert answer["alcohol"]["ethanol_g"] == pytest.approx(ethanol, abs=0.001)
        assert answer["lines"][0]["cost"] == "1.000000"
        assert answer["allergens"]["declarations"][0]["contains"] == ["milk"]


def test_the_residue_is_of_the_whole_spec_and_no_more_than_was_poured() -> None:
    rinse = {"item": "gin-london-dry-40", "amount": "10 ml", "role": "rinse", "residue_ml": 4}
    assert answered(drink(rinse, serves=2))["serve"]["liquid_ml"] == pytest.approx(2.0)
    assert refused(drink(GIN, {**rinse, "residue_ml": 10.1})) == [
        ("residue_exceeds_amount", "/drink/lines/1/residue_ml")
    ]


# The glass.


def test_fill_goes_to_the_line_less_ice_less_the_liquid_there() -> None:
    top = {"item": "sparkling-wine-dry", "amount": "fill", "role": "top"}
    serve = {"glass_ml": 250, "line_ml": 200, "ice": {"kind": "cubes", "ice_g": 50}}
    answer = answered(drink({**GIN, "amount": "40 ml"}, top, serve=serve))
    assert answer["lines"][1]["volume_ml"] == pytest.approx(200 - 50 / WATER - 40, abs=0.01)
    assert answer["serve"]["ice_displaced_ml"] == pytest.approx(50.09, abs=0.01)
    assert answer["serve"]["washline_percent"] == pytest.approx(80.0, abs=0.2)  # mixing contracts a little


def test_fill_takes_the_water_of_the_ice_and_the_other_tops_into_account() -> None:
    lines = [
        {**GIN, "amount": "40 ml"},
        {"item": "water", "amount": "fill", "role": "top"},
        {"item": "water", "amount": "30 ml", "role": "top"},
    ]
    answer = answered(drink(*lines, kind="shaken", water={"ml": 20}, serve={"glass_ml": 200}))
    assert answer["lines"][1]["volume_ml"] == pytest.approx(
        111.0, abs=1.0
    )  # 200 - 40 - 20 - 30, and what mixing contracts
    assert answer["serve"]["washline_percent"] == pytest.approx(100.0, abs=0.5)


def test_fill_is_of_one_serve_and_costs_for_each() -> None:
    offers = [
        {
            "id": "o",
            "item": "sparkling-wine-dry",
            "supplier": "S",
            "pack": {"size": "1 l"},
            "price": {"amount": "10.00", "currency": "EUR"},
        }
    ]
    lines = [{**GIN, "amount": "80 ml"}, {"item": "sparkling-wine-dry", "amount": "fill", "role": "top"}]
    answer = answered(drink(*lines, serves=2, serve={"glass_ml": 140}, offers=offers))
    assert answer["lines"][1]["volume_ml"] == pytest.approx(100.0)
    assert answer["lines"][1]["cost"] == "1.000000"


def test_fill_with_a_foam_counts_its_gas() -> None:
    foam = preparation([{"item": "vodka-40", "amount": "100 ml"}], overrun_percent=300) | {"id": "foam"}
    lines = [{**GIN, "amount": "40 ml"}, {"item": "foam", "amount": "fill", "role": "top"}]
    offers = [
        {
            "id": "o",
            "item": "vodka-40",
            "supplier": "S",
            "pack": {"size": "100 ml"},
            "price": {"amount": "4.00", "currency": "EUR"},
        }
    ]
    answer = answered(drink(*lines, serve={"glass_ml": 120}, preparations=[foam], offers=offers))
    assert answer["lines"][1]["volume_ml"] == pytest.approx(80.0)
    assert answer["serve"]["foam_ml"] == pytest.approx(80.0)
    assert answer["serve"]["liquid_ml"] == pytest.approx(60.0, abs=0.1)
    assert answer["serve"]["washline_percent"] == pytest.approx(100.0)
    assert answer["lines"][1]["cost"] == "0.800000"  # 20 ml of the 100 ml that cost 4.00


@pytest.mark.parametrize("role", ["pour", "rinse", "garnish", "consumable"])
def test_fill_is_for_a_top(role: str) -> None:
    body = drink(GIN, {"item": "water", "amount": "fill", "role": role}, serve={"glass_ml": 200})
    assert refused(body) == [("fill_role", "/drink/lines/1/amount")]


def test_every_other_fault_of_fill_has_its_place() -> None:
    fill = {"item": "water", "amount": "fill", "role": "top"}
    glass = {"glass_ml": 200}
    assert refused(drink(GIN, fill, fill, serve=glass)) == [("fill_twice", "/drink/lines/2/amount")]
    assert refused(drink(GIN, fill)) == [("fill_without_glass", "/drink/lines/1/amount")]
    assert refused(drink(GIN, fill, serve={"glass_ml": 50})) == [("fill_no_room", "/drink/lines/1/amount")]
    assert refused(drink(GIN, fill, serve={**glass, "ice": {"kind": "cubes"}})) == [
        ("ice_mass_missing", "/drink/serve/ice")
    ]
    assert refused(drink(GIN, {**fill, "item": "white-sugar"}, serve=glass)) == [
        ("density_unknown", "/drink/lines/1/amount")
    ]


def test_a_fill_that_cannot_be_told_is_named() -> None:
    fill = {"item": "sparkling-wine-dry", "amount": "fill", "role": "top"}
    answer = answered(drink(GIN, fill, kind="swizzled", serve={"glass_ml": 200}))
    assert answer["lines"][1]["volume_ml"] is None
    assert answer["alcohol"]["ethanol_g"] is None
    assert {"item": "sparkling-wine-dry", "field": "amount"} in answer["serve"]["missing"]
    assert answer["cost"]["complete"] is False


def test_a_wash_line_over_the_brim_is_a_warning() -> None:
    answer = answered(drink(GIN, serve={"glass_ml": 50}))
    assert answer["serve"]["washline_percent"] == pytest.approx(120.0)
    assert [row["code"] for row in answer["warnings"]] == ["glass_overflows"]


def test_a_highball_of_unknown_ice_water_keeps_its_ethanol() -> None:
    """Contract, method: ethanol, standard drinks, energy per serve, cost and allergens are still given."""
    offers = [
        {
            "id": item, "item": item, "supplier": "S", "pack": {"size": "1 l"},
            "price": {"amount": "20.00", "currency": "EUR"},
        }
        for item in ("gin-london-dry-40", "soda")
    ]  # fmt: skip
    soda = {
        "id": "soda", "name": "Soda", "kind": "mixer", "allergens_declared": "complete",
        "per_100": {"basis": "ml", **NOTHING},
    }  # fmt: skip
    fill = {"item": "soda", "amount": "fill", "role": "top"}
    serve = {"glass_ml": 300, "ice": {"kind": "cubes", "ice_g": 120}}
    body = drink(GIN, fill, kind="built", serve=serve) | {"ingredients": [soda], "offers": offers}
    answer = answered(body | {"jurisdictions": ["US"]})
    alcohol, serve = answer["alcohol"], answer["serve"]
    volume_ml = float(answer["lines"][0]["volume_ml"])
    assert alcohol["ethanol_g"] == pytest.approx(volume_ml * 0.40 * 0.789239, abs=0.005)
    assert alcohol["at_least"] is None
    assert alcohol["standard_drinks"][0]["count"] == pytest.approx(alcohol["ethanol_g"] / 14, rel=1e-3)
    assert answer["nutrition"]["per_serve"]["energy_kcal"] is not None
    assert alcohol["abv_percent"] is None
    assert alcohol["abv_percent_undiluted"] is None
    assert serve["undiluted_ml"] is None
    gaps = [{"item": "ice", "field": "method.water"}, {"item": "soda", "field": "amount"}]
    assert serve["missing"] == alcohol["missing"] == gaps
    assert answer["cost"]["missing"] == [{"item": "soda", "field": "amount"}]
    assert answer["allergens"]["declarations"][0]["contains"] == []


def test_a_fill_that_may_hold_alcohol_leaves_the_ethanol_unknown() -> None:
    soda = {"id": "soda", "name": "Soda", "kind": "mixer", "per_100": {"basis": "ml", **NOTHING}}
    for top in (
        {"item": "sparkling-wine-dry"},
        {"item": "soda", "alternatives": ["sparkling-wine-dry"]},
    ):
        line = {**top, "amount": "fill", "role": "top"}
        body = drink(GIN, line, kind="built", serve={"glass_ml": 200}) | {"ingredients": [soda]}
        alcohol = answered(body)["alcohol"]
        assert alcohol["ethanol_g"] is None
        assert {"item": top["item"], "field": "amount"} in alcohol["missing"]
        assert alcohol["at_least"]["ethanol_g"] > 0


def test_ice_that_was_not_weighed_leaves_the_wash_line_unknown() -> None:
    assert answered(drink(GIN, serve={"glass_ml": 200, "ice": {"kind": "cubes"}}))["serve"]["washline_percent"] is None


def test_what_a_top_of_unknown_composition_does_not_know_the_drink_does_not_know() -> None:
    """A top that dissolves in nothing has no volume; what is unknown of it once went missing with it."""
    things = [{"id": "dust", "name": "Dust", "kind": "spice"}]
    answer = answered(drink(GIN, {"item": "dust", "amount": "1 g", "role": "top"}, ingredients=things))
    assert answer["nutrition"]["complete"] is False
    assert answer["serve"]["mass_g"] == pytest.approx(60 * 0.94805 + 1, abs=0.02)
