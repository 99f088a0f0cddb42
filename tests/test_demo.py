"""The demo bar: every drink is answered in full, and its figures agree with what was worked by hand."""

import shutil
import tomllib
from datetime import date
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from schemas.evaluation import EvaluationRequest
from service.amounts import Measures
from service.demo import FOLDER, demo, load_demo
from service.errors import DataFault
from service.evaluate import evaluate
from service.lookup import Catalogue
from service.offers import has_check_digit, offers_by_item
from service.reference import reference
from service.report import answer

CASES = Path(__file__).parent / "cases"
TODAY = date(2026, 11, 25)

# The drinks that issue 2, item 14 asks for, each of another kind.
KINDS = {
    "shaken sour with egg white": "wickwarden-sour",
    "stirred with an acid solution": "ballast-line",
    "gum syrup": "cooperage-lane",
    "saline": "brinewalk-daisy",
    "topped with a foam": "breakwater-froth",
    "clarified milk punch": "still-water-punch",
    "nut syrup": "almond-pier",
    "sparkling top filled to the line": "regatta-morning",
    "zero-proof": "sober-tide",
    "frozen": "drift-ice",
    "hot": "night-watch-toddy",
    "pre-batched": "bollard-serve",
    "long built drink": "long-jetty",
    "bowl for eight": "pilots-bowl",
}

EU_FOURTEEN = frozenset(
    ("gluten", "crustaceans", "eggs", "fish", "peanuts", "soybeans", "milk", "nuts", "celery", "mustard", "sesame",
     "sulphites", "lupin", "molluscs")
)  # fmt: skip


def cases(name: str) -> dict[str, Any]:
    return tomllib.loads((CASES / name).read_text("utf-8"))


def rows(name: str) -> list[Any]:
    return [pytest.param(row, id=row["drink"]) for row in cases(name)["case"]]


def full_body(drink_id: str) -> dict[str, Any]:
    """A drink's body with the bar's whole catalogue in it, so that nothing has to be stored."""
    bar = demo()

    def sent(models: Any) -> list[Any]:
        return [model.model_dump(mode="json", by_alias=True, exclude_unset=True) for model in models]

    return {
        **bar.drinks[drink_id],
        "ingredients": sent(bar.ingredients),
        "preparations": sent(bar.preparations.values()),
        "offers": sent(bar.offers),
    }


@cache
def answered(drink_id: str) -> dict[str, Any]:
    request = EvaluationRequest.model_validate(full_body(drink_id))
    result: dict[str, Any] = answer(evaluate(request, TODAY, ["EU"], reference()), "")
    return result


def declared(drink_id: str, jurisdiction: str) -> dict[str, Any]:
    found = [row for row in answered(drink_id)["allergens"]["declarations"] if row["jurisdiction"] == jurisdiction]
    assert len(found) == 1
    result: dict[str, Any] = found[0]
    return result


def line(drink_id: str, item: str) -> dict[str, Any]:
    found = [row for row in answered(drink_id)["lines"] if row["item"] == item]
    assert len(found) == 1
    result: dict[str, Any] = found[0]
    return result


def test_every_kind_of_drink_has_a_drink_of_its_own() -> None:
    assert len(set(KINDS.values())) == len(KINDS) == 14
    assert set(KINDS.values()) < set(demo().drinks)


def test_the_drinks_are_what_their_kinds_say() -> None:
    drinks = {kind: demo().drinks[drink_id]["drink"] for kind, drink_id in KINDS.items()}
    lines = {kind: {row["item"]: row for row in drink["lines"]} for kind, drink in drinks.items()}
    methods = {kind: drink["method"]["kind"] for kind, drink in drinks.items()}
    assert "egg-white" in lines["shaken sour with egg white"]
    assert methods["shaken sour with egg white"] == "shaken"
    assert "house-acid" in lines["stirred with an acid solution"]
    assert methods["stirred with an acid solution"] == "stirred"
    assert "house-gum-syrup" in lines["gum syrup"]
    assert "house-saline" in lines["saline"]
    assert "milk-punch-base" in lines["clarified milk punch"]
    assert "almond-syrup" in lines["nut syrup"]
    assert lines["topped with a foam"]["ginger-foam"]["role"] == "top"
    assert demo().preparations["ginger-foam"].overrun_percent == 250
    assert lines["sparkling top filled to the line"]["skerrowmouth-brut"]["amount"] == "fill"
    assert [methods[kind] for kind in ("frozen", "hot", "pre-batched", "long built drink")] == [
        "frozen", "heated", "prediluted", "built",
    ]  # fmt: skip
    assert drinks["long built drink"]["serve"]["ice"]["ice_g"] > 0
    assert drinks["bowl for eight"]["serves"] == 8


@pytest.mark.parametrize("drink_id", sorted(demo().drinks))
def test_every_drink_is_answered_with_cost_and_strength(drink_id: str) -> None:
    found = answered(drink_id)
    assert found["cost"]["complete"], found["cost"]["missing"]
    assert found["cost"]["missing"] == []
    assert found["alcohol"]["complete"], found["alcohol"]["missing"]
    assert found["alcohol"]["abv_percent"] is not None
    assert found["warnings"] == []
    assert found["serve"]["washline_percent"] is not None
    assert 50 < found["serve"]["washline_percent"] < 100
    suggested = Decimal(found["price"]["suggested"])
    assert suggested % Decimal("0.50") == 0
    assert Decimal(found["price"]["gross_margin_percent"]) >= 78
    assert all(row["cross_contact"] == "assessed" for row in found["allergens"]["declarations"])


@pytest.mark.parametrize("drink_id", sorted(demo().drinks))
def test_the_catalogue_completes_the_short_body(drink_id: str) -> None:
    """Parts, products and offers found in a catalogue give the figures that they give in the body."""
    bar = demo()
    catalogue = Catalogue(bar.items, bar.preparations, offers_by_item(bar.offers, Measures()))
    request = EvaluationRequest.model_validate(bar.drinks[drink_id])
    found = answer(evaluate(request, TODAY, ["EU"], reference(), catalogue), "")
    for key in ("serve", "cost", "price", "alcohol", "nutrition", "balance", "use_by", "advisories", "allergens"):
        assert found[key] == answered(drink_id)[key], key


@pytest.mark.parametrize("case", rows("demo_strength.toml"))
def test_strength_as_worked_by_hand(case: dict[str, Any]) -> None:
    given = cases("demo_strength.toml")
    found = answered(case["drink"])
    ethanol = given["tolerance_ethanol_percent"] / 100 * case["ethanol_ml"]
    liquid = given["tolerance_liquid_percent"] / 100 * case["liquid_ml"]
    assert found["alcohol"]["ethanol_ml"] == pytest.approx(case["ethanol_ml"], abs=ethanol)
    assert found["serve"]["liquid_ml"] == pytest.approx(case["liquid_ml"], abs=liquid)
    strength = 100 * case["ethanol_ml"] / case["liquid_ml"]
    assert found["alcohol"]["abv_percent"] == pytest.approx(strength, rel=0.02, abs=0)


@pytest.mark.parametrize("case", rows("demo_costs.toml"))
def test_cost_as_worked_by_hand(case: dict[str, Any]) -> None:
    tolerance = cases("demo_costs.toml")["tolerance"]
    cost = answered(case["drink"])["cost"]
    assert float(cost["pour_cost"]) == pytest.approx(case["pour_cost"], abs=tolerance)
    assert float(cost["serve_cost"]) == pytest.approx(case["serve_cost"], abs=tolerance)


@pytest.mark.parametrize("case", rows("demo_allergens.toml"))
def test_allergens_as_read_from_the_spec(case: dict[str, Any]) -> None:
    dutch, american = declared(case["drink"], "NL"), declared(case["drink"], "US")
    for state in ("contains", "may_contain", "unknown"):
        assert set(dutch[state]) & EU_FOURTEEN == set(case[state]), state
    assert {key for key in american["contains"] if key != "almond"} == set(case["us_contains"])
    assert {key for key in american["unknown"] if key != "almond"} == set(case["us_unknown"])
    diet = answered(case["drink"])["allergens"]["diet"]
    assert (diet["vegan"], diet["vegetarian"]) == (case["vegan"], case["vegetarian"])


def test_cases_cover_every_drink() -> None:
    for name in ("demo_allergens.toml", "demo_strength.toml"):
        assert {row["drink"] for row in cases(name)["case"]} == set(demo().drinks), name


@pytest.mark.parametrize(
    ("drink_id", "allergen", "path"),
    [
        ("almond-pier", "almond", ["almond-pier", "almond-syrup", "almond-blanched"]),
        ("still-water-punch", "milk", ["still-water-punch", "milk-punch-base", "whole-milk"]),
        ("breakwater-froth", "eggs", ["breakwater-froth", "ginger-foam", "egg-white-pasteurised"]),
    ],
)
def test_an_allergen_is_followed_to_the_part_that_brings_it(drink_id: str, allergen: str, path: list[str]) -> None:
    routes = answered(drink_id)["allergens"]["routes"]
    assert any(row["allergen"] == allergen and row["state"] == "contains" and row["path"] == path for row in routes)


def test_the_zero_proof_drink_holds_no_alcohol_at_all() -> None:
    assert answered("sober-tide")["alcohol"]["ethanol_g"] == 0
    assert answered("sober-tide")["alcohol"]["abv_percent"] == 0


def test_the_sparkling_top_fills_to_its_line() -> None:
    # 180 to the line; what shrinks on mixing is under half a millilitre here.
    assert answered("regatta-morning")["serve"]["liquid_ml"] == pytest.approx(180, abs=0.5)


def test_the_foam_is_measured_with_its_gas_and_counted_without() -> None:
    # 60 ml of a foam that holds 250 % of its liquid in gas: 60 / 3.5.
    serve = answered("breakwater-froth")["serve"]
    assert serve["foam_ml"] == pytest.approx(60)
    assert line("breakwater-froth", "ginger-foam")["mass_g"] == pytest.approx(60 / 3.5 * 1.13, rel=0.02)


def test_frozen_melts_all_its_ice() -> None:
    # 150 g of ice is 150.3 ml of water at 20 C.
    assert answered("drift-ice")["serve"]["water_added_ml"] == pytest.approx(150.3, abs=0.1)


def test_heat_gives_a_range() -> None:
    heated = answered("night-watch-toddy")["alcohol"]["heated"]
    assert len(heated) >= 2
    assert all(row["ethanol_g"] < answered("night-watch-toddy")["alcohol"]["ethanol_g"] for row in heated)


def test_another_whiskey_gives_a_range() -> None:
    # With 45 %: 60 x 0.45 + 0.94 = 27.94 before ice in 69.9, a = 0.400, fraction 0.450: 31.4, so 27.94 in 101.3.
    low, high = answered("cooperage-lane")["alcohol"]["range"]["abv_percent"]
    assert low == pytest.approx(27.6, abs=0.4)
    assert high == pytest.approx(answered("cooperage-lane")["alcohol"]["abv_percent"], abs=0.01)


def test_the_bowl_is_answered_for_one_of_eight() -> None:
    # 10 oz in eight: 37.5 ml.
    assert line("pilots-bowl", "brandy-40")["volume_ml"] == pytest.approx(37.5)


def test_one_item_has_competing_offers_and_the_preferred_one_is_taken() -> None:
    choices = {row["item"]: row for row in answered("ballast-line")["cost"]["choices"]}
    gin = choices["skerrowmouth-gin-44"]
    assert gin["offer"] == "tw-skerrowmouth-gin-44"
    assert {row["offer"] for row in gin["considered"]} == {"tw-skerrowmouth-gin-44", "ol-skerrowmouth-gin-44"}
    # No lemon is preferred: 29.00 for 100 is less than 7.20 for 20.
    lemon = {row["item"]: row for row in answered("regatta-morning")["cost"]["choices"]}["lemon-juice"]
    assert lemon["offer"] == "ol-lemon"


def test_an_offer_outside_its_days_is_not_taken() -> None:
    choices = {row["item"]: row for row in answered("fog-signal")["cost"]["choices"]}
    assert choices["lime-juice"]["offer"] == "ol-lime-november"
    assert choices["white-sugar"]["offer"] == "ol-white-sugar"


def test_over_the_house_limit_one_drink_is_cautioned() -> None:
    # 30.9 ml of ethanol are 3.1 units of 10 ml; the house has set 3.
    cautioned = {
        drink_id
        for drink_id in demo().drinks
        if "over_house_limit" in {row["code"] for row in answered(drink_id)["advisories"]}
    }
    assert cautioned == {"cooperage-lane"}


def test_nutrition_is_incomplete_only_where_the_reference_does_not_know() -> None:
    """Sugars of most bitters are published nowhere, so the drinks that hold them answer what is known at least.

    What almonds, tea or coffee give to the liquid that they are strained out of is known as little.
    """
    bitters = {"aromatic-bitters", "orange-bitters"}
    strained = {row.item for part in demo().preparations.values() for row in part.lines if row.strained_out}
    for drink_id, body in demo().drinks.items():
        found = answered(drink_id)["nutrition"]
        if bitters & {row["item"] for row in body["drink"]["lines"]}:
            assert not found["complete"]
            assert {row["item"] for row in found["missing"]} <= bitters
            assert found["per_serve"]["at_least"]["energy_kcal"] > 0
        else:
            assert {row["item"] for row in found["missing"]} <= strained
            assert found["complete"] == (found["missing"] == []) == (found["per_serve"]["energy_kcal"] is not None)


def test_what_the_demo_has_papers_for_is_declared() -> None:
    """Read from service/demo/items.toml: the gin and the rum carry all of their evidence, the tonic none."""
    states = {
        row["item"]: row["state"] for drink_id in demo().drinks for row in answered(drink_id)["allergens"]["evidence"]
    }
    assert (states["skerrowmouth-gin-44"], states["skerrowmouth-rum-43"]) == ("declared", "declared")
    assert states["slipway-tonic"] == "declared_unverified"
    assert states["lime-juice"] == "reference"
    assert set(states.values()) == {"declared", "declared_unverified", "reference"}


def test_the_bodies_share_the_house_settings() -> None:
    bar = demo()
    for body in bar.drinks.values():
        request = EvaluationRequest.model_validate(body)
        assert request.pricing is not None
        assert request.pricing.model_copy(update={"menu_price": None}) == bar.pricing
        assert request.house == bar.house
        assert request.jurisdictions == bar.jurisdictions
        assert request.as_of == TODAY
        assert (request.ingredients, request.preparations, request.offers) == ((), (), ())


def test_every_product_part_and_offer_is_used() -> None:
    bar = demo()
    lines = [row for body in bar.drinks.values() for row in body["drink"]["lines"]]
    named = {row["item"] for row in lines} | {other for row in lines for other in row.get("alternatives", ())}
    named |= {row.item for preparation in bar.preparations.values() for row in preparation.lines}
    assert set(bar.items) <= named
    assert set(bar.preparations) <= named
    assert {offer.item for offer in bar.offers} <= named


def test_demo_products_stand_in_for_nothing_of_the_reference() -> None:
    assert not (set(demo().items) | set(demo().preparations)) & set(reference().items)


def test_offers_are_of_two_suppliers_and_gtins_of_the_range_for_demonstrations() -> None:
    """GS1 keeps the prefix 952 for demonstrations and examples of its system (GS1 company prefixes)."""
    bar = demo()
    assert len({offer.supplier for offer in bar.offers}) == 2
    gtins = [offer.gtin for offer in bar.offers if offer.gtin is not None]
    assert len(gtins) > 40
    assert len(set(gtins)) == len(gtins)
    for gtin in gtins:
        assert gtin.startswith("952")
        assert has_check_digit(gtin)
        # GS1 General Specifications, 7.9: digits weigh 3 and 1 in turn from the right, the whole is a multiple of 10.
        assert sum(int(digit) * (3 if place % 2 else 1) for place, digit in enumerate(reversed(gtin))) % 10 == 0


@pytest.mark.parametrize(
    ("name", "old", "new"),
    [
        ("items.toml", "abv_percent = 44", "abv_percent = 440"),
        ("items.toml", "kind = ", "kin = "),
        ("items.toml", "[[item]]", "[[thing]]"),
        ("preparations.toml", 'id = "house-acid"', 'id = "house-saline"'),
        ("offers.toml", 'id = "ol-lemon"', 'id = "ol-lime-november"'),
        ("house.toml", "[pricing]", "[price]"),
        ("house.toml", "=", ":"),
        ("drinks/fog-signal.json", '"50 ml"', "50"),
        ("drinks/fog-signal.json", '"id": "fog-signal"', '"id": "fog"'),
        ("drinks/fog-signal.json", "{", "["),
    ],
)
def test_a_malformed_file_stops_the_start(tmp_path: Path, name: str, old: str, new: str) -> None:
    folder = tmp_path / "demo"
    shutil.copytree(FOLDER, folder)
    text = (folder / name).read_text("utf-8")
    assert old in text
    (folder / name).write_text(text.replace(old, new), "utf-8")
    with pytest.raises(DataFault, match=Path(name).name.replace(".", r"\.")):
        load_demo(folder)
