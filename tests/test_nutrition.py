"""Energy and nutrients of whole drinks: published energies, each regime's factors, declared rows, what is missing."""

import tomllib
from pathlib import Path
from typing import Any

import pytest

from service.physics.energy import energy as energy_of
from tests.one_drink import NOTHING, asked, poured, thing

CASES = Path(__file__).parent / "cases"
ENERGY = tomllib.loads((CASES / "energy.toml").read_text())["case"]
TABLE = tomllib.loads((CASES / "usda_energy.toml").read_text())
ITEMS = tomllib.loads((CASES / "usda_items.toml").read_text())
ETHANOL_G_PER_ML = 0.789239  # OIML R 22 at 20 C.


def eaten(per_100: dict[str, Any], amount: str = "100 ml", codes: tuple[str, ...] = ("EU",), **facts: Any) -> Any:
    more = facts.pop("request", {})
    return asked([poured(amount=amount)], [thing(per_100=per_100, **facts)], codes, **more)["nutrition"]


def of_regime(found: Any, code: str) -> Any:
    return next(row for row in found["by_jurisdiction"] if row["jurisdiction"] == code)


def rows(found: Any, code: str, basis: str) -> dict[str, Any]:
    return {row["nutrient"]: row for row in found["declared"] if (row["jurisdiction"], row["basis"]) == (code, basis)}


# Published energies.


@pytest.mark.parametrize("case", ENERGY, ids=lambda case: case["id"])
def test_published_energy(case: dict[str, Any]) -> None:
    assert case["source"] and case["standing"] in ("arithmetic", "confirmed", "secondary", "memory")
    sugars, polyols = case["sugars_g_per_l"] / 10, case.get("polyols_g_per_l", 0) / 10
    per_100 = {
        "sugars_g": sugars, "carbohydrate_g": sugars + polyols,
        "acids_g": {"tartaric": case.get("acids_g_per_l", 0) / 10},
        "polyols_g": {"glycerol": polyols},
    }  # fmt: skip
    found = eaten(per_100, f"{case['per_ml']} ml", (case["jurisdiction"],), abv_percent=case["abv_percent"])
    assert found["complete"] is True
    for figures in (found["per_serve"], of_regime(found, case["jurisdiction"])):
        assert figures["energy_kcal"] == pytest.approx(case["energy_kcal"], abs=case["tolerance_kcal"])
        assert figures["energy_kj"] == pytest.approx(case["energy_kj"], abs=case["tolerance_kj"])
    assert found["per_serve"]["carbohydrate_g"] == pytest.approx(case["carbohydrate_g"], abs=0.006)


@pytest.mark.parametrize("row", TABLE["case"], ids=lambda row: row["ndb_no"])
def test_energy_of_the_food_table_by_its_own_factors(row: dict[str, Any]) -> None:
    found = energy_of(row["grams"], {**row["factors"], "alcohol": TABLE["alcohol_factor"]})
    allowed = max(TABLE["tolerance_kcal"], row["energy_kcal"] * TABLE["tolerance_percent"] / 100)
    assert abs(found - row["energy_kcal"]) <= allowed


@pytest.mark.parametrize("row", TABLE["disagreement"], ids=lambda row: row["ndb_no"])
def test_rows_that_do_not_fit_their_own_factors_are_shown(row: dict[str, Any]) -> None:
    # The table disagrees with itself here; nothing is tuned to it.
    found = energy_of(row["grams"], {**row["factors"], "alcohol": TABLE["alcohol_factor"]})
    assert found == pytest.approx(row["by_factors_kcal"], abs=0.051)
    assert abs(found - row["energy_kcal"]) > max(
        TABLE["tolerance_kcal"], row["energy_kcal"] * TABLE["tolerance_percent"] / 100
    )
    assert row["reason"]


def test_enough_of_the_food_table_is_carried() -> None:
    alcoholic = [row for row in TABLE["case"] if row["name"].lower().startswith("alcoholic beverage")]
    assert len(alcoholic) >= 48
    assert len(TABLE["case"]) >= 140


@pytest.mark.parametrize("case", ITEMS["case"], ids=lambda case: case["item"])
def test_embedded_items_come_near_their_row(case: dict[str, Any]) -> None:
    found = asked([poured(case["item"], "100 g")], codes=["US"])["nutrition"]
    allowed = case.get("tolerance_percent", ITEMS["tolerance_percent"]) / 100
    twice_kcal = 4.0 * case.get("acid_in_sugars_g", 0.0)
    assert of_regime(found, "US")["energy_kcal"] - twice_kcal == pytest.approx(case["energy_kcal"], rel=allowed)


@pytest.mark.parametrize(("item", "grams"), [("egg-white", 33.0), ("egg-yolk", 17.0)])
def test_reference_pieces_of_egg(item: str, grams: float) -> None:
    # Contract, arithmetic 8, from USDA: one large white 33 g, one yolk 17 g.
    assert asked([poured(item, "1 each")])["lines"][0]["mass_g"] == grams


# Factors. Annex XIV of Regulation (EU) 1169/2011 (confirmed); Schedule 11 (memory, 4.18 confirmed); 21 CFR
# 101.9(c)(1)(i).

ONE_G = [
    # nutrient, per_100, EU kJ, EU kcal, AU kJ, US kcal
    ("carbohydrate", {"sugars_g": 1, "carbohydrate_g": 1}, 17, 4, 17, 4),
    ("starch", {"carbohydrate_g": 1}, 17, 4, 17, 4),
    ("protein", {"protein_g": 1}, 17, 4, 17, 4),
    ("fat", {"fat_g": 1}, 37, 9, 37, 9),
    ("fibre", {"fibre_g": 1}, 8, 2, 8, 2),
    ("citric", {"acids_g": {"citric": 1}}, 13, 3, 13, 4),
    ("titratable", {"acids_g": {"titratable_as_citric": 1}}, 13, 3, 13, 4),
    ("acetic", {"acids_g": {"acetic": 1}}, 13, 3, 13, 4),
    ("phosphoric", {"acids_g": {"phosphoric": 1}}, 0, 0, 0, 0),
    ("glycerol", {"carbohydrate_g": 1, "polyols_g": {"glycerol": 1}}, 10, 2.4, 18, 4.3),
    ("sorbitol", {"carbohydrate_g": 1, "polyols_g": {"sorbitol": 1}}, 10, 2.4, 14, 2.6),
    ("xylitol", {"carbohydrate_g": 1, "polyols_g": {"xylitol": 1}}, 10, 2.4, 14, 2.4),
    ("maltitol", {"carbohydrate_g": 1, "polyols_g": {"maltitol": 1}}, 10, 2.4, 13, 2.1),
    ("mannitol", {"carbohydrate_g": 1, "polyols_g": {"mannitol": 1}}, 10, 2.4, 9, 1.6),
    ("isomalt", {"carbohydrate_g": 1, "polyols_g": {"isomalt": 1}}, 10, 2.4, 11, 2.0),
    ("erythritol", {"carbohydrate_g": 1, "polyols_g": {"erythritol": 1}}, 0, 0, 1, 0),
    ("unnamed polyol", {"carbohydrate_g": 1, "polyols_g": 1}, 10, 2.4, 14, 2.6),
    ("salt", {"salt_g": 1}, 0, 0, 0, 0),
]  # fmt: skip


@pytest.mark.parametrize(
    ("name", "per_100", "eu_kj", "eu_kcal", "au_kj", "us_kcal"),
    ONE_G,
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_energy_of_one_gram_in_100_ml(
    name: str, per_100: dict[str, Any], eu_kj: float, eu_kcal: float, au_kj: float, us_kcal: float
) -> None:
    found = eaten(per_100, codes=("EU", "GB", "AU", "NZ", "US"))
    for code in ("EU", "GB"):
        row = of_regime(found, code)
        assert (row["energy_kj"], row["energy_kcal"]) == (pytest.approx(eu_kj), pytest.approx(eu_kcal))
    for code in ("AU", "NZ"):
        row = of_regime(found, code)
        assert row["energy_kj"] == pytest.approx(au_kj)
        assert row["energy_kcal"] == pytest.approx(au_kj / 4.18, abs=0.005)
    row = of_regime(found, "US")
    assert row["energy_kj"] is None
    assert row["energy_kcal"] == pytest.approx(us_kcal)


def test_each_unit_has_its_own_factors() -> None:
    # Trap of conversion: 29 kJ and 7 kcal for one gram of ethanol are not 4.184 apart.
    found = eaten({}, abv_percent=50)
    grams = 50 * ETHANOL_G_PER_ML
    assert found["per_serve"]["energy_kj"] == pytest.approx(29 * grams, abs=0.01)
    assert found["per_serve"]["energy_kcal"] == pytest.approx(7 * grams, abs=0.01)


def test_acids_are_not_counted_as_carbohydrate_too() -> None:
    found = eaten({"sugars_g": 10, "carbohydrate_g": 10, "acids_g": {"malic": 2}})
    assert found["per_serve"]["energy_kcal"] == pytest.approx(10 * 4 + 2 * 3)


def test_sugars_are_never_counted_below_what_is_stated() -> None:
    # A table by difference can leave less carbohydrate than its sugars and polyols together.
    found = eaten({"sugars_g": 16, "carbohydrate_g": 16, "polyols_g": {"sorbitol": 6}})
    assert found["per_serve"]["energy_kcal"] == pytest.approx(16 * 4 + 6 * 2.4)


# Per serve and per 100 ml.


def test_a_hundred_millilitres_of_the_drink_with_its_water() -> None:
    found = asked(
        [poured(amount="50 ml")], [thing(per_100={"sugars_g": 20, "carbohydrate_g": 20})],
        drink={"method": {"kind": "stirred", "water": {"ml": 50}}},
    )  # fmt: skip
    volume = found["serve"]["liquid_ml"]
    assert found["nutrition"]["per_serve"]["sugars_g"] == 10.0
    assert found["nutrition"]["per_100_ml"]["sugars_g"] == pytest.approx(1000 / volume, abs=0.01)
    assert found["nutrition"]["per_100_ml"]["energy_kcal"] == pytest.approx(4000 / volume, abs=0.01)


def test_unknown_water_leaves_energy_per_serve() -> None:
    drink = {"method": {"kind": "swizzled"}}
    found = asked([poured()], [thing(per_100={"sugars_g": 5, "carbohydrate_g": 5})], drink=drink)["nutrition"]
    assert found["per_serve"]["energy_kcal"] == 20.0
    assert found["per_100_ml"] == {}
    assert found["complete"] is False
    assert found["missing"] == [{"item": "ice", "field": "method.water"}]
    # Article 32(2) of Regulation (EU) 1169/2011, from memory: the declaration is of 100 ml, of which nobody knows.
    of_100 = [row for row in found["declared"] if row["basis"] == "per_100_ml"]
    assert len(of_100) == 8 and {(row["unrounded"], row["text"]) for row in of_100} == {(None, "not known")}
    assert all(row["unrounded"] is not None for row in found["declared"] if row["basis"] == "per_serve")


@pytest.mark.parametrize("sugars", [0.0, 5.0])
def test_of_a_fill_of_unknown_amount_only_what_it_does_not_hold_is_known(sugars: float) -> None:
    drink = {"method": {"kind": "swizzled"}, "serve": {"glass_ml": 300}}
    top = thing(per_100={"sugars_g": sugars, "carbohydrate_g": sugars})
    found = asked([poured("water", "50 ml"), poured(amount="fill", role="top")], [top], drink=drink)["nutrition"]
    expected = None if sugars else 0.0
    assert found["per_serve"]["sugars_g"] == expected
    assert found["per_serve"]["energy_kcal"] == expected
    assert found["per_serve"]["protein_g"] == 0.0
    rows = [row for row in found["missing"] if row["item"] == "thing"]
    assert rows == [{"item": "thing", "field": "amount"}]


@pytest.mark.parametrize(("more", "sugars"), [({"role": "garnish"}, 0.0), ({"role": "garnish", "eaten": True}, 2.0),
                                              ({"role": "consumable"}, 0.0), ({"role": "rinse"}, 0.0),
                                              ({"role": "rinse", "residue_ml": 5}, 1.0),
                                              ({"role": "top"}, 2.0)])  # fmt: skip
def test_only_what_is_drunk_or_eaten_counts(more: dict[str, Any], sugars: float) -> None:
    things = [thing(per_100={"sugars_g": 20, "carbohydrate_g": 20})]
    found = asked([poured("water"), poured(amount="10 ml", **more)], things)["nutrition"]
    assert found["per_serve"]["sugars_g"] == pytest.approx(sugars)
    assert found["complete"] is True


def test_an_eaten_garnish_of_unknown_mass_is_missing() -> None:
    odd = {
        "id": "odd", "name": "Odd", "kind": "fruit",
        "per_100": {"basis": "g", **NOTHING, "sugars_g": 8, "carbohydrate_g": 8},
    }  # fmt: skip
    found = asked([poured("water"), poured("odd", "1 each", role="garnish", eaten=True)], [odd])["nutrition"]
    assert found["complete"] is False
    assert found["per_serve"]["energy_kcal"] is None
    assert found["missing"] == [{"item": "odd", "field": "amount"}]
    assert found["per_serve"]["alcohol_g"] == 0.0


def test_a_garnish_that_stays_in_the_glass_leaves_nothing_missing() -> None:
    odd = {"id": "odd", "name": "Odd", "kind": "fruit"}
    assert asked([poured("water"), poured("odd", "1 each", role="garnish")], [odd])["nutrition"]["complete"] is True


# What is missing.


@pytest.mark.parametrize("field", ["carbohydrate_g", "protein_g", "fat_g", "fibre_g", "polyols_g", "acids_g"])
def test_energy_needs_every_one_of_its_fields(field: str) -> None:
    made = thing(per_100={"sugars_g": 5, "carbohydrate_g": 5, "protein_g": 1})
    del made["per_100"][field]
    found = asked([poured("sure"), poured()], [thing("sure", per_100={"fat_g": 1}), made], ["EU", "US", "AU"])[
        "nutrition"
    ]
    assert found["complete"] is False
    assert {"item": "thing", "field": field} in found["missing"]
    assert found["per_serve"]["energy_kcal"] is found["per_serve"]["energy_kj"] is None
    assert found["per_serve"]["at_least"]["energy_kcal"] >= 9
    for code in ("EU", "US", "AU"):
        assert of_regime(found, code)["energy_kcal"] is None
    assert rows(found, "EU", "per_serve")["energy_kcal"]["text"] == "not known"


@pytest.mark.parametrize("field", ["sugars_g", "saturates_g", "salt_g"])
def test_other_fields_leave_the_energy_known(field: str) -> None:
    made = thing(per_100={"carbohydrate_g": 5})
    del made["per_100"][field]
    found = asked([poured()], [made])["nutrition"]
    assert found["complete"] is False
    assert found["missing"] == [{"item": "thing", "field": field}]
    assert found["per_serve"][field] is None
    assert found["per_serve"]["energy_kcal"] == 20.0


def test_an_unknown_strength_leaves_no_energy() -> None:
    made = thing(kind="liqueur")
    del made["abv_percent"]
    found = asked([poured()], [made])["nutrition"]
    assert {"item": "thing", "field": "abv_percent"} in found["missing"]
    assert found["per_serve"]["energy_kcal"] is found["per_serve"]["alcohol_g"] is None


def test_known_sugars_count_in_the_least_energy() -> None:
    made = thing(per_100={"sugars_g": 5})
    del made["per_100"]["carbohydrate_g"]
    found = asked([poured()], [made])["nutrition"]["per_serve"]
    assert found["energy_kcal"] is None
    assert found["at_least"] == {"energy_kcal": 20.0, "energy_kj": 85.0, "carbohydrate_g": 5.0}


def test_a_spirit_has_no_sugars_protein_fat_or_fibre_as_an_assumption() -> None:
    found = asked([poured(amount="50 ml")], [{"id": "thing", "name": "Spirit", "kind": "spirit", "abv_percent": 40}])
    assert found["nutrition"]["complete"] is True
    assert found["nutrition"]["per_serve"]["energy_kcal"] == pytest.approx(20 * ETHANOL_G_PER_ML * 7, abs=0.01)
    assert "spirit_without_solids" in {row["code"] for row in found["assumptions"]}


# Declared rows.


def test_declared_rows_of_the_union_round_by_the_guidance() -> None:
    # Commission guidance 2012, Table 4: energy to 1; 10 g and over to 1 g; under to 0.1 g; at most 0.5 g as less than.
    per_100 = {
        "sugars_g": 12.5,
        "carbohydrate_g": 12.5,
        "fat_g": 0.5,
        "saturates_g": 0.1,
        "protein_g": 0.55,
        "salt_g": 0.0125,
    }
    shown = rows(eaten(per_100), "EU", "per_100_ml")
    assert list(shown) == [
        "energy_kj",
        "energy_kcal",
        "fat_g",
        "saturates_g",
        "carbohydrate_g",
        "sugars_g",
        "protein_g",
        "salt_g",
    ]
    assert shown["energy_kj"]["text"] == "240 kJ"  # 212.5 + 18.5 + 9.35 = 240.35
    assert shown["energy_kcal"]["text"] == "57 kcal"  # 50 + 4.5 + 2.2 = 56.7
    assert shown["carbohydrate_g"]["text"] == "13 g"
    assert shown["protein_g"]["text"] == "0.6 g"
    assert shown["fat_g"]["text"] == "<0.5 g"
    assert shown["saturates_g"]["text"] == "<0.1 g"
    assert shown["salt_g"]["text"] == "<0.01 g"


@pytest.mark.parametrize(
    ("kcal", "text"),
    [
        (4.9, "0"),
        (5, "5"),
        (47.4, "45"),
        (47.5, "50"),
        (50, "50"),
        (54.9, "50"),
        (55, "60"),
    ],
)
def test_calories_of_the_united_states(kcal: float, text: str) -> None:
    # 21 CFR 101.9(c)(1): under 5 as 0, to 50 the nearest 5, over 50 the nearest 10.
    found = eaten({"sugars_g": kcal / 4, "carbohydrate_g": kcal / 4}, codes=("US",))
    assert rows(found, "US", "per_serve")["energy_kcal"]["text"] == text


def test_total_carbohydrate_of_the_united_states_has_the_fibre_in_it() -> None:
    # Contract, arithmetic 8.
    found = eaten({"sugars_g": 6, "carbohydrate_g": 7, "fibre_g": 2.6, "salt_g": 0.1}, codes=("US", "EU"))
    us = rows(found, "US", "per_serve")
    assert us["total_carbohydrate_g"]["text"] == "10 g"
    assert us["total_carbohydrate_g"]["unrounded"] == pytest.approx(9.6)
    assert us["fibre_g"]["text"] == "3 g"
    assert us["sodium_mg"]["text"] == "40 mg"  # salt = sodium x 2.5
    assert rows(found, "EU", "per_serve")["carbohydrate_g"]["text"] == "7.0 g"


def test_words_of_the_united_states_under_one_gram() -> None:
    us = rows(
        eaten({"sugars_g": 0.6, "carbohydrate_g": 0.6, "protein_g": 0.99, "fat_g": 0.49}, codes=("US",)),
        "US",
        "per_serve",
    )
    assert us["total_carbohydrate_g"]["text"] == us["protein_g"]["text"] == us["sugars_g"]["text"] == "less than 1 g"
    assert us["protein_g"]["value"] is None
    assert us["fat_g"]["text"] == "0 g"


def test_declared_rows_of_australia_have_three_figures() -> None:
    # Standard 1.2.8-7, from memory: at most three significant figures; Calories = kJ / 4.18.
    shown = rows(eaten({"sugars_g": 98.76, "carbohydrate_g": 98.76}, codes=("AU",)), "AU", "per_100_ml")
    assert shown["energy_kj"]["text"] == "1680 kJ"  # 17 x 98.76 = 1678.9
    assert shown["energy_kcal"]["text"] == "402 Cal"
    assert shown["sugars_g"]["text"] == "98.8 g"
    assert shown["protein_g"]["text"] == "0 g"


def test_every_declared_row_names_its_basis() -> None:
    found = eaten({}, codes=("EU", "US", "AU", "GB"))
    assert found["declared"]
    assert {row["basis"] for row in found["declared"]} == {"per_100_ml", "per_serve"}


# Heat.


def test_a_heated_drink_has_a_range_of_energy() -> None:
    drink = {"method": {"kind": "heated", "water": {"ml": 100}}}
    found = asked([poured(amount="50 ml")], [thing(abv_percent=40)], drink=drink)["nutrition"]
    full = found["per_serve"]["energy_kcal"]
    # From 40 % (simmered) to 85 % (stirred in) of the ethanol, at 7 kcal/g.
    assert found["heated_energy_kcal"] == [pytest.approx(full * 0.40, abs=0.02), pytest.approx(full * 0.85, abs=0.02)]
    assert eaten({}, abv_percent=40)["heated_energy_kcal"] is None
