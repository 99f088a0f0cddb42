"""The dated rules: each value has its provenance, a bad file stops the start, the day decides."""

import shutil
import tomllib
import typing
from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from schemas import drink, ingredient
from service.errors import DataFault, InputFault
from service.ruleentry import STANDINGS
from service.rules import DATA, Rules, advisories_on, codes, jurisdiction, rule_book, rules
from service.stepwords import kind_of
from service.units import TABLE

TODAY = date(2026, 11, 25)

# Member states: Treaty on European Union, Article 52, as the union stands since 2020.
MEMBERS = (
    "AT", "BE", "BG", "HR", "CY", "CZ", "DK", "EE", "FI", "FR", "DE", "GR", "HU", "IE", "IT", "LV", "LT",
    "LU", "MT", "NL", "PL", "PT", "RO", "SK", "SI", "ES", "SE",
)  # fmt: skip

# Grams of ethanol by country: Kalinowski and Humphreys, Addiction 2016;111:1293, as reprinted; national
# sources for AU, NZ, IE, CA, US, JP. The countries from FI on are from memory.
GRAMS = {
    "AU": "10", "NZ": "10", "IE": "10", "FR": "10", "CN": "10", "IN": "10", "SG": "10", "VN": "10",
    "PL": "10", "SE": "10", "HR": "10", "BA": "10", "EE": "10", "GB": "8", "IS": "8", "CR": "8", "DK": "12",
    "IT": "12", "LV": "12", "LU": "12.8", "BG": "13", "CA": "13.45", "US": "14", "CL": "14", "MX": "14",
    "PH": "14", "GD": "14", "BJ": "14", "AR": "14", "AT": "20", "JP": "10", "DE": "10-12", "PT": "10-12",
    "CH": "10-12", "ZA": "11-12", "CZ": "16-18", "AL": "10-14",
    "FI": "12", "NL": "10", "ES": "10", "HU": "17", "BE": "10", "MT": "8", "NA": "10", "MU": "10",
    "HK": "10", "TW": "10", "KR": "8-10", "SI": "10", "GY": "8", "GE": "8", "MK": "14.2",
}  # fmt: skip


def held(code: str, day: date = TODAY) -> Rules:
    return jurisdiction(code).on(day)


def data_files() -> list[Path]:
    named = [DATA / f"{name}.toml" for name in ("allergens", "advisories", "rounding")]
    return [*named, *sorted((DATA / "jurisdictions").glob("*.toml"))]


def entries(path: Path) -> Iterator[tuple[str, dict[str, Any], dict[str, Any]]]:
    raw = tomllib.loads(path.read_text())
    for kind, listed in raw.items():
        if isinstance(listed, list):
            for entry in listed:
                yield kind, entry, raw["sources"]


@pytest.mark.parametrize("path", data_files(), ids=lambda path: path.name)
def test_every_value_says_where_it_is_from(path: Path) -> None:
    for kind, entry, sources in entries(path):
        where = f"{path.name} {kind} {entry.get('key')}"
        provenance = {**sources[entry["source"]], **entry}
        assert provenance["title"].strip(), where
        assert provenance["standing"] in STANDINGS, where
        assert isinstance(provenance["since"], date), where
        assert date(2026, 1, 1) <= provenance["checked"] <= TODAY, where


@pytest.mark.parametrize("path", data_files(), ids=lambda path: path.name)
def test_no_source_stands_unused(path: Path) -> None:
    used = {entry["source"] for _, entry, _ in entries(path)}
    assert used == set(tomllib.loads(path.read_text()).get("sources", {}))


def test_every_code_is_held() -> None:
    regions = {"EU", "GB-ENG", "GB-SCT", "GB-WLS", "GB-NIR", "US-UT"}
    assert set(codes()) == set(MEMBERS) | set(GRAMS) | regions
    assert list(codes()) == sorted(codes())


@pytest.mark.parametrize("code", GRAMS)
def test_standard_drink_of_a_country(code: str) -> None:
    drink = held(code).standard_drink
    assert drink is not None
    if "-" in GRAMS[code]:
        low, high = map(Decimal, GRAMS[code].split("-"))
        assert (drink.grams, drink.grams_low, drink.grams_high) == (None, low, high)
    else:
        assert (drink.grams, drink.grams_low, drink.grams_high) == (Decimal(GRAMS[code]), None, None)


def test_the_union_alone_has_no_standard_drink() -> None:
    assert held("EU").standard_drink is None


def test_densities_are_the_regimes_own() -> None:
    # The unit of GB is 10 ml of ethanol, 8 g by convention; Japan counts 0.8; the others 0.789.
    densities = {code: drink.density_g_per_ml for code in GRAMS if (drink := held(code).standard_drink)}
    assert densities.pop("GB") == densities.pop("JP") == Decimal("0.8")
    assert set(densities.values()) == {Decimal("0.789")}


@pytest.mark.parametrize("code", MEMBERS)
def test_a_member_takes_the_rules_of_the_union(code: str) -> None:
    own, union = held(code), held("EU")
    assert own.allergens is union.allergens
    assert own.exemptions == union.exemptions
    assert own.held_by["allergens"] == "EU"
    assert own.rules_held


def test_a_country_without_food_rules_shows_the_unions_list_and_exempts_nothing() -> None:
    chile = held("CL")
    assert not chile.rules_held
    assert chile.allergens is held("EU").allergens
    assert chile.exemptions == ()
    assert chile.claims == ()


def test_a_floor_changes_on_its_day() -> None:
    # Scotland: 0.50 GBP a unit from 1 May 2018, 0.65 from 30 September 2024. Wales: 0.65 from 1 October 2026.
    for code, day, amount in [
        ("GB-SCT", date(2018, 4, 30), None),
        ("GB-SCT", date(2018, 5, 1), "0.50"),
        ("GB-SCT", date(2024, 9, 29), "0.50"),
        ("GB-SCT", date(2024, 9, 30), "0.65"),
        ("GB-WLS", date(2026, 9, 30), "0.50"),
        ("GB-WLS", date(2026, 10, 1), "0.65"),
        ("GB", TODAY, None),
        ("IE", date(2022, 1, 4), "0.10"),
    ]:
        floor = held(code, day).price_floor
        assert (floor and floor.amount) == (amount and Decimal(amount)), (code, day)


def test_an_adopted_rule_waits_for_its_day() -> None:
    # Ireland: labels deferred from 22 May 2026 to September 2028. Energy statement: 13 August 2028.
    def keys(code: str, day: date) -> set[str]:
        return {statement.key for statement in held(code, day).statements}

    assert "container_label" not in keys("IE", date(2026, 5, 22))
    assert "container_label" in keys("IE", date(2028, 9, 1))
    assert "energy_statement" not in keys("AU", date(2028, 8, 12))
    assert "energy_statement" in keys("NZ", date(2028, 8, 13))


def test_a_standing_is_that_of_the_part_that_was_checked_least() -> None:
    """What only a secondary text says is not confirmed because its law is."""

    def standing(code: str, key: str) -> str:
        return next(one.standing for one in held(code).statements if one.key == key)

    assert standing("US", "menu_calories") == "secondary"
    assert standing("EU", "allergens_on_request") == "secondary"
    assert standing("GB", "low_risk_guideline") == "secondary"
    low = next(one for one in held("CA").claims if one.key == "low_alcohol")
    assert (low.status, low.standing) == ("convention", "memory")


def test_a_full_list_of_ingredients_is_due_where_the_amendment_holds() -> None:
    # In England, Wales and Northern Ireland since 1 October 2021; nothing is held of Scotland.
    def due(code: str, day: date = TODAY) -> bool:
        return "full_ingredients" in {one.key for one in held(code, day).statements}

    assert [due(code) for code in ("GB-ENG", "GB-WLS", "GB-NIR")] == [True, True, True]
    assert [due(code) for code in ("GB-SCT", "GB")] == [False, False]
    assert not due("GB-ENG", date(2021, 9, 30))


def test_the_order_of_1988_has_one_standing_wherever_it_is_cited() -> None:
    order = "Weights and Measures (Intoxicating Liquor) Order 1988"
    cited = {unit.standing for unit in TABLE.units.values() if unit.source.startswith(order)}
    cited |= {one.standing for one in held("GB").pour_measures if one.source.startswith(order)}
    assert cited == {"secondary"}


def test_a_proposal_is_shown_and_never_applied() -> None:
    proposed = {entry.key for entry in jurisdiction("US").dated("statement") if entry.status == "proposal"}
    assert proposed == {"alcohol_facts", "allergens_on_label"}
    assert not proposed & {statement.key for statement in held("US", date(2099, 1, 1)).statements}
    # Japan drafted cashew as mandatory on 26 December 2025.
    assert "cashew" not in held("JP", date(2099, 1, 1)).allergens.listed


def test_sesame_in_the_united_states_since_2023() -> None:
    # FASTER Act: sesame is the ninth major allergen from 1 January 2023.
    assert "sesame" not in held("US", date(2022, 12, 31)).allergens.listed
    assert len(held("US", date(2023, 1, 1)).allergens.listed) == 9


def test_lists_of_allergens() -> None:
    # Regulation (EU) 1169/2011 Annex II: 14; FDA edition 5: 12 tree nuts, no coconut; Japan: 8 and 20.
    assert len(held("EU").allergens.listed) == len(held("GB").allergens.listed) == 14
    assert len(held("EU").allergens.members["nuts"]) == 8
    assert len(held("US").allergens.members["nuts"]) == 12
    assert held("US").allergens.separate_statement == ("sulphites",)
    assert "coconut" not in rules().allergens
    assert len(held("JP").allergens.listed) == 8
    assert len(held("JP").allergens.recommended) == 20
    assert {"celery", "mustard", "nuts"}.isdisjoint(held("AU").allergens.listed)
    assert {"mustard", "triticale", "gluten", "molluscs"} <= set(held("CA").allergens.listed)


def test_names_are_the_regimes_own() -> None:
    assert held("US").allergen_name("sulphites") == "sulfites"
    assert held("GB").allergen_name("sulphites") == "sulphites"
    assert held("NZ").allergen_name("eggs") == "egg"


def test_gs1_codes() -> None:
    # GS1 Web Vocabulary 1.16, AllergenTypeCode.
    base = {
        "gluten": "AW", "crustaceans": "AC", "eggs": "AE", "fish": "AF", "peanuts": "AP", "soybeans": "AY",
        "milk": "AM", "nuts": "AN", "celery": "BC", "mustard": "BM", "sesame": "AS", "sulphites": "AU",
        "lupin": "NL", "molluscs": "UM", "wheat": "UW", "barley": "GB", "khorasan": "GK", "pine_nut": "PN",
        "brazil": "SR", "buckwheat": "BWD", "gelatin": "GTD",
    }  # fmt: skip
    assert {key: rules().allergens[key].gs1 for key in base} == base


def test_members_know_their_group() -> None:
    words = rules().allergens
    assert words["shrimp"].group == "crustaceans"
    assert words["salmon_roe"].group == "fish"
    assert words["spelt"].counts_as == ("wheat",)
    assert {key for key, word in words.items() if word.group == "nuts" and word.core} == set(
        held("EU").allergens.members["nuts"]
    )


def test_energy_factors_of_each_regime() -> None:
    # Regulation (EU) 1169/2011 Annex XIV; Schedule 11 of the Food Standards Code; 21 CFR 101.9(c)(1)(i).
    union, code, states = held("EU").energy, held("AU").energy, held("US").energy
    assert (union.kj["ethanol"], union.kcal["ethanol"]) == (Decimal(29), Decimal(7))
    assert union.kcal["polyols"] == Decimal("2.4")
    assert union.polyols_kj["erythritol"] == 0
    assert (code.mode, code.polyols_kj["glycerol"]) == ("kj_over_4_18", Decimal(18))
    assert not code.kcal
    assert (states.mode, states.kcal["fibre"]) == ("kcal_only", Decimal(2))
    assert states.polyols_kcal["mannitol"] == Decimal("1.6")
    every = {"carbohydrate", "polyols", "protein", "fat", "ethanol", "organic_acids", "fibre"}
    for place in codes():
        energy = held(place).energy
        assert set(energy.kj or energy.kcal) == every
        assert set(energy.kcal) in (set(), every)


def test_words_of_the_data_are_those_of_the_contract() -> None:
    keys = set(typing.get_args(ingredient.AllergenKey))
    assert keys <= set(rules().allergens)
    for advisory in rules().advisories:
        assert set(advisory.trigger.methods) <= set(typing.get_args(drink.MethodKind))
        assert all(kind_of(step) == step for step in advisory.trigger.steps)


def test_advisories_go_down_to_regions_and_sharers() -> None:
    def keys(code: str) -> set[str]:
        return {advisory.key for advisory in advisories_on(code, TODAY)}

    assert "raw_egg_gb" in keys("GB-SCT")
    assert "guarana" in keys("NZ")
    assert "liquorice_amount" in keys("FR")
    assert {"tonka_us", "raw_egg_gb", "guarana"}.isdisjoint(keys("FR"))
    assert all(advisory.deferral and advisory.text for advisory in rules().advisories)


@pytest.mark.parametrize(("code", "nearest"), [("UK", "GB"), ("GB-LND", "GB"), ("eu", "EU"), ("SCT", "GB-SCT")])
def test_an_unknown_code_is_refused_with_the_nearest(code: str, nearest: str) -> None:
    with pytest.raises(InputFault) as fault:
        jurisdiction(code)
    assert fault.value.code == "jurisdiction_unknown"
    assert nearest in fault.value.detail
    assert code not in fault.value.detail.replace(nearest, "")


def test_a_day_before_the_rules_is_refused() -> None:
    with pytest.raises(InputFault) as fault:
        held("EU", date(1990, 1, 1))
    assert fault.value.code == "rules_not_held"


def test_every_rounding_table_is_closed() -> None:
    tables = {table.key: table for code in codes() if (table := held(code).nutrition)}
    assert set(tables) == {"eu_guidance_2012", "us_21cfr101_9", "fsanz"}
    rows = [row.bands for table in tables.values() for row in table.row]
    rows += [drink.bands for code in codes() if (drink := held(code).standard_drink)]
    for bands in rows:
        assert (bands[-1].lt, bands[-1].le) == (None, None)
        for band in bands:
            kinds = (band.step is not None, band.figures is not None, band.zero, band.less_than is not None)
            assert sum(kinds) == 1


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name in ("allergens", "advisories", "rounding"):
        shutil.copy(DATA / f"{name}.toml", tmp_path)
    shutil.copytree(DATA / "jurisdictions", tmp_path / "jurisdictions")
    return tmp_path


def test_the_version_follows_every_byte(folder: Path) -> None:
    assert rule_book(folder).version == rules().version
    with (folder / "jurisdictions" / "MT.toml").open("a") as file:
        file.write("# One more line.\n")
    assert rule_book(folder).version != rules().version


@pytest.mark.parametrize(
    ("name", "old", "new", "said"),
    [
        (
            "jurisdictions/EU",
            "mg_per_l = 10",
            "mg_per_l = 10\nmg_per_kg = 10",
            "sulphites 1: mg_per_kg: unknown key",
        ),
        ("jurisdictions/EU", "[[sulphites]]", "[[sulfites]]", "EU.toml: sulfites: unknown key"),
        ("jurisdictions/EU", 'comparator = ">"\nmg', 'comparator = "over"\nmg', "comparator: must be one of"),
        ("jurisdictions/EU", "mg_per_l = 10", 'mg_per_l = "10"', "mg_per_l: a value of another type"),
        ("jurisdictions/EU", "mg_per_l = 10", "mg_per_l = nan", "mg_per_l: a value of another type"),
        ("jurisdictions/EU", "mg_per_l = 10", "", "mg_per_l: missing"),
        (
            "jurisdictions/EU",
            'table = "eu_guidance_2012"',
            'table = "eu"',
            "table eu is not in rounding.toml",
        ),
        ("jurisdictions/EU", '"lupin"', '"lupins"', "lupins is not in allergens.toml"),
        ("jurisdictions/EU", "standing = ", "status = ", "needs title, standing, since and checked"),
        ("jurisdictions/EU", 'key = "low_alcohol"', 'key = "alcohol_free"', "two entries since"),
        ("jurisdictions/EU", 'code = "EU"', 'code = "EX"', "code: must be EU"),
        ("jurisdictions/EU", 'mode = "own_factors"', 'mode = "any"', "mode: must be one of"),
        ("jurisdictions/GB-SCT", 'extends = "GB"', 'extends = "GX"', "not held or is a circle"),
        ("jurisdictions/GB", 'name = "United Kingdom"', 'name = "X"\nextends = "GB-SCT"', "is a circle"),
        (
            "jurisdictions/GB-SCT",
            'source = "mup-2024"',
            'source = "mup"',
            "must name one of the file's sources",
        ),
        ("jurisdictions/GB-SCT", "per = 10", "per = true", "per: a value of another type"),
        ("allergens", 'group = "gluten"', 'group = "cereals"', "cereals is not in the vocabulary"),
        ("allergens", 'key = "rye"', 'key = "wheat"', "two entries since"),
        ("rounding", "le = 0.0125, less_than", "le = 0.0125, under", "under: unknown key"),
        ("advisories", 'kind = "egg"', 'sort = "egg"', "advisory raw_egg: trigger: sort: unknown key"),
        ("jurisdictions/EU", 'process = "distilled"', 'process = "distiled"', "process: must be one of"),
        ("jurisdictions/EU", 'kinds = ["beer", "wine"]', 'kinds = ["beer", "vine"]', "kinds: must be one of"),
        ("jurisdictions/EU", 'sold_as = ["poured"]', 'sold_as = ["served"]', "sold_as: must be one of"),
        ("advisories", 'level = "serious"', 'level = "grave"', "level: must be one of"),
        ("advisories", 'jurisdictions = ["GB"]', 'jurisdictions = ["UK"]', "UK is not held"),
        ("advisories", "[sources.", "[source.", "source: unknown key"),
    ],
)
def test_a_bad_file_stops_the_start(folder: Path, name: str, old: str, new: str, said: str) -> None:
    path = folder / f"{name}.toml"
    text = path.read_text()
    assert old in text
    path.write_text(text.replace(old, new, 1))
    with pytest.raises(DataFault, match=r"\.toml: ") as fault:
        rule_book(folder)
    assert said in str(fault.value)
