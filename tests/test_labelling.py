"""What the rules make of figures, against published tables and the boundaries of the law."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service import labelling, lawful, strengthwords
from service.item import AllergenEntry
from tests.campaign import DERANDOMIZED
from tests.campaign import EXAMPLES as TRIED
from tests.held import ETHANOL_G_PER_ML, TODAY, US_FLUID_OUNCE_ML, cases, held


@pytest.mark.parametrize("case", cases("standard_drinks"))
def test_published_standard_drinks(case: dict[str, Any]) -> None:
    volume_ml = float(case.get("volume_ml", 0)) or float(case["volume_us_fl_oz"]) * US_FLUID_OUNCE_ML
    ethanol_g = volume_ml * float(case["abv_percent"]) / 100 * ETHANOL_G_PER_ML
    drinks = labelling.standard_drink_count(held(case["jurisdiction"]), ethanol_g)
    assert drinks is not None
    assert drinks.count is not None
    if "shows" in case:
        assert drinks.text.startswith(case["shows"])
    else:
        assert abs(drinks.count - Decimal(case["count"])) <= case["tolerance"]


def test_each_case_is_sourced() -> None:
    for name in ("standard_drinks", "rounding", "energy"):
        for case in cases(name):
            assert case.values[0]["source"]
            assert case.values[0]["standing"] in ("arithmetic", "confirmed", "secondary", "memory")


def test_the_density_of_the_regime_decides_a_label() -> None:
    # 375 ml of 4.9 % is published as 1.4: 0.789 gives 1.4498, the density of physics would give 1.5.
    drinks = labelling.standard_drink_count(held("AU"), 375 * 0.049 * ETHANOL_G_PER_ML)
    assert drinks is not None
    assert drinks.count == Decimal("1.4497875")


def test_a_range_of_grams_has_no_count() -> None:
    # 20 ml of ethanol at 0.789 g/ml against 10 to 12 g.
    drinks = labelling.standard_drink_count(held("DE"), 20 * ETHANOL_G_PER_ML)
    assert drinks is not None
    assert drinks.count is None
    assert (drinks.count_low, drinks.count_high) == (Decimal("1.315"), Decimal("1.578"))
    assert drinks.text == "1.3 to 1.6 standard drinks"


def test_words_of_a_count() -> None:
    def text(code: str, ethanol_ml: float | None) -> str:
        ethanol_g = None if ethanol_ml is None else ethanol_ml * ETHANOL_G_PER_ML
        drinks = labelling.standard_drink_count(held(code), ethanol_g)
        assert drinks is not None
        return drinks.text

    assert text("GB", 10) == "1.0 unit"
    assert text("GB", 0.2) == "0.1 units at most"
    assert text("GB", 0) == "0 units"
    assert text("GB", None) == "not known"
    assert text("AU", 130) == "10 standard drinks"
    assert labelling.standard_drink_count(held("EU"), 20.0) is None
    assert labelling.standard_drink_count(held("GR"), 20.0) is None


FIGURES: dict[str, float | None] = {
    "energy_kj": 513.3, "energy_kcal": 122.87, "fat_g": 0.04, "saturates_g": 0.0, "carbohydrate_g": 9.96,
    "sugars_g": 9.7, "fibre_g": 0.6, "protein_g": 4.8, "salt_g": 0.5, "polyols_g": 0.0,
}  # fmt: skip


def declared(code: str, figures: dict[str, float | None]) -> dict[str, labelling.DeclaredRow]:
    rows = labelling.declared_nutrition(held(code), figures, "per_100_ml")
    return {row.nutrient: row for row in rows}


def test_each_regime_declares_in_its_own_order() -> None:
    # Annex XV of Regulation (EU) 1169/2011; 21 CFR 101.9(c); Standard 1.2.8 of the Code (memory).
    assert list(declared("EU", FIGURES)) == [
        "energy_kj", "energy_kcal", "fat_g", "saturates_g", "carbohydrate_g", "sugars_g", "fibre_g",
        "protein_g", "salt_g",
    ]  # fmt: skip
    assert list(declared("US", FIGURES)) == [
        "energy_kcal", "fat_g", "saturates_g", "sodium_mg", "total_carbohydrate_g", "fibre_g", "sugars_g",
        "protein_g",
    ]  # fmt: skip
    assert list(declared("NZ", FIGURES)) == [
        "energy_kj", "energy_kcal", "protein_g", "fat_g", "saturates_g", "carbohydrate_g", "sugars_g",
        "fibre_g", "sodium_mg",
    ]  # fmt: skip
    assert declared("CA", FIGURES) == {}


def test_total_carbohydrate_of_the_united_states_holds_the_fibre() -> None:
    row = declared("US", FIGURES)["total_carbohydrate_g"]
    assert row.unrounded == pytest.approx(10.56)
    assert (row.value, row.text, row.basis) == (Decimal(11), "11 g", "per_100_ml")
    without = declared("US", {**FIGURES, "fibre_g": None})["total_carbohydrate_g"]
    assert (without.unrounded, without.value, without.text) == (None, None, "not known")


def test_sodium_is_salt_by_two_and_a_half() -> None:
    # Annex I: salt = sodium x 2.5, so 0.5 g of salt holds 200 mg of sodium.
    assert declared("US", FIGURES)["sodium_mg"].text == "200 mg"


def test_unknown_is_never_declared_as_zero() -> None:
    for code in ("EU", "US", "AU"):
        for row in labelling.declared_nutrition(held(code), {}, "per_serve"):
            assert (row.unrounded, row.value, row.text) == (None, None, "not known")


@pytest.mark.parametrize(
    ("mg_per_l", "above", "from_it"),
    [
        (9.994, False, False),
        (9.995, False, True),
        (10, False, True),
        (10.0000000001, False, True),
        (10.004, False, True),
        (10.005, True, True),
        (11, True, True),
        (0, False, False),
        (None, None, None),
    ],
)
def test_sulphites_at_ten(mg_per_l: float | None, above: bool | None, from_it: bool | None) -> None:
    # EU and GB declare over 10; US, CA, AU and NZ from 10; judged at 0.01 mg/l.
    for code in ("EU", "GB", "IE", "FR", "GB-SCT"):
        assert labelling.sulphites_declarable(held(code), mg_per_l) is above
    for code in ("US", "CA", "AU", "NZ"):
        assert labelling.sulphites_declarable(held(code), mg_per_l) is from_it


def claim(code: str, word: str, abv: float | None, kind: str | None = None) -> strengthwords.ClaimRow:
    return next(row for row in strengthwords.claims(held(code), abv, kind) if row.word == word)


@pytest.mark.parametrize(
    ("code", "word", "abv", "allowed"),
    [
        ("US", "non-alcoholic", 0.49, True),
        ("US", "non-alcoholic", 0.5, False),
        ("US", "alcohol free", 0, True),
        ("US", "alcohol free", 0.0004, False),
        ("US", "low alcohol", 2.5, False),
        ("GB", "alcohol-free", 0.05, True),
        ("GB", "alcohol-free", 0.051, False),
        ("GB", "low alcohol", 1.2, True),
        ("GB", "low alcohol", 1.21, False),
        ("GB", "low alcohol", 1.2000000000001, True),
        ("EU", "alcohol-free", 0, True),
        ("EU", "alcohol-free", 0.01, False),
        ("AU", "low alcohol", 1.15, True),
        ("JP", "non-alcoholic", 1, False),
    ],
)
def test_words_of_strength(code: str, word: str, abv: float, allowed: bool) -> None:
    # 27 CFR 7.65, descriptors guidance of 2018, Standard 2.7.1, Liquor Tax Act: all from memory.
    row = claim(code, word, abv)
    assert row.allowed is allowed
    verdict = "allowed: " if allowed else "refused: "
    # Where no rule is held the text says so before anything else.
    assert row.text.startswith(f"No rule is held; by a convention {verdict}" if code == "EU" else verdict)
    assert row.figure == lawful.lawful_decimal(abv)


def test_a_refused_word_shows_the_figure_and_never_a_rounded_zero() -> None:
    assert "0.0004 % vol" in claim("US", "alcohol free", 0.0004).text
    assert "0.50001 % vol" in claim("GB", "de-alcoholised", 0.50001, "beer").text
    assert "17.2 % vol" in claim("GB", "low alcohol", 17.1712).text


def test_a_word_is_refused_where_the_strength_is_not_known() -> None:
    for code in ("EU", "GB", "US", "CA", "AU", "NZ", "JP"):
        for row in strengthwords.claims(held(code), None):
            assert not row.allowed
            assert "not known" in row.text


def test_dealcoholised_is_kept_for_wine() -> None:
    assert claim("GB", "de-alcoholised", 0.5, "beer").allowed
    assert not claim("GB", "de-alcoholised", 0.51, "beer").allowed
    assert not claim("GB", "de-alcoholised", 0.3).allowed
    assert not claim("EU", "dealcoholised", 0.3).allowed
    assert claim("EU", "dealcoholised", 0.3, "wine").allowed
    assert not claim("EU", "dealcoholised", 0.51, "wine").allowed


@pytest.mark.parametrize(
    ("abv", "uncertainty", "text"),
    [
        (17.17, 0.8, "about 17 % vol"),
        (17.5, 1.0, "about 18 % vol"),
        (17.17, None, "about 17.2 % vol"),
        (17.17, 1.7, "about 18 % vol"),
        (1.3, 0.8, "about 1.5 % vol"),
        (1.96, 0.8, "about 2 % vol"),
        (0.49, 0.8, "under 0.5 % vol"),
        (0.0001, None, "under 0.5 % vol"),
        (0.5, 0.8, "about 0.5 % vol"),
        (0, None, "0 % vol"),
        (40, None, "about 40.0 % vol"),
        (12.3, 0.4, "about 12.5 % vol"),
    ],
)
def test_menu_text_is_no_finer_than_its_uncertainty(abv: float, uncertainty: float | None, text: str) -> None:
    assert strengthwords.menu_text(held("EU"), abv, uncertainty).text == text


def test_menu_text_of_each_regime_and_of_a_range() -> None:
    assert strengthwords.menu_text(held("US"), 17.17, 0.8).text == "about 17 % alc/vol"
    assert strengthwords.menu_text(held("CA"), 17.17, 0.8).text == "about 17 % alc./vol."
    assert strengthwords.menu_text(held("GB"), 15.2, 0.8, 17.1).text == "about 15 to 17 % vol"
    assert strengthwords.menu_text(held("GB"), 0.0, 0.8, 3.2).text == "about 0 to 3 % vol"
    assert strengthwords.menu_text(held("GB"), 0.1, 0.8, 3.2).text == "about under 0.5 to 3 % vol"
    unknown = strengthwords.menu_text(held("EU"), None, 0.8)
    assert (unknown.text, unknown.reason) == (None, "The strength is not known.")


@pytest.mark.parametrize(
    ("code", "abv", "text"),
    [
        ("EU", 1.2, None),
        ("EU", 1.21, "1.2 % vol"),
        ("GB", 17.25, "17.3 % vol"),
        ("CA", 1.1, "1.1 % alc./vol."),
        ("CA", 1.09, None),
        ("AU", 1.16, "1.2 % alcohol by volume"),
        ("AU", 0.49, None),
        ("AU", 1.15, "CONTAINS NOT MORE THAN 1.15 % ALCOHOL BY VOLUME"),
        ("NZ", 0.51, "CONTAINS NOT MORE THAN 0.51 % ALCOHOL BY VOLUME"),
        ("US", 40, "40.0% alc/vol"),
        ("CL", 40, None),
    ],
)
def test_label_text(code: str, abv: float, text: str | None) -> None:
    # Article 28(2) and Annex XII; B.02.003; Standard 2.7.1; 27 CFR 5.65 (memory).
    shown = strengthwords.label_text(held(code), abv)
    assert shown.text == text
    assert (shown.reason is None) is (text is not None)


def test_label_text_of_an_unknown_strength() -> None:
    assert strengthwords.label_text(held("EU"), None).text is None


def test_the_health_warning_of_the_united_states() -> None:
    # 27 CFR 16.21, from 0.5 % alcohol by volume, on containers.
    def due(abv: float | None, sold_as: str) -> bool:
        return any(one.key == "health_warning" for one in labelling.statements(held("US"), abv, sold_as))

    assert due(0.5, "prepacked")
    assert not due(0.49, "prepacked")
    assert not due(17, "poured")
    assert due(None, "prepacked")


def test_calories_on_menus_leave_out_alcohol_in_england_alone() -> None:
    # SI 2021/909 exempts drinks over 1.2 % vol; 21 CFR 101.11 does not.
    def due(code: str, abv: float) -> bool:
        return any(one.key == "menu_calories" for one in labelling.statements(held(code), abv, "poured"))

    assert due("GB-ENG", 1.2)
    assert not due("GB-ENG", 1.3)
    assert not due("GB-SCT", 1.2)
    assert due("US", 17)


@pytest.mark.parametrize(
    ("code", "volume_ml", "abv", "day", "price"),
    [
        ("GB-SCT", 700, 37.5, TODAY, "17.07"),  # Scotland's published example.
        ("GB-SCT", 700, 40, date(2024, 9, 29), "14.00"),  # Published for 0.50 GBP a unit: 28 units.
        ("GB-WLS", 750, 12.5, date(2026, 9, 30), "4.69"),  # The Welsh Act's own illustration, section 1(3).
        ("GB-SCT", 100, 10, TODAY, "0.65"),
        ("GB-ENG", 700, 40, TODAY, None),
        ("IE", 700, 40, TODAY, None),
    ],
)
def test_price_floor(code: str, volume_ml: float, abv: float, day: date, price: str | None) -> None:
    floor = labelling.price_floor(held(code, day), volume_ml * abv / 100 * ETHANOL_G_PER_ML, "GBP")
    assert floor == (price and Decimal(price))


def test_price_floor_of_ireland_counts_grams() -> None:
    # 750 ml of 12.5 % holds 73.97 g at 0.789 g/ml: 7.40 EUR, as published when the floor began.
    assert labelling.price_floor(held("IE"), 93.75 * ETHANOL_G_PER_ML, "EUR") == Decimal("7.40")


@given(st.floats(min_value=0, max_value=5000))
@settings(max_examples=TRIED, derandomize=DERANDOMIZED, deadline=None)
def test_a_floor_is_never_below_the_law(ethanol_ml: float) -> None:
    floor = labelling.price_floor(held("GB-SCT"), ethanol_ml * ETHANOL_G_PER_ML, "GBP")
    exact = Decimal(ethanol_ml) / 10 * Decimal("0.65")
    assert floor is not None
    assert -Decimal("1e-6") <= floor - exact < Decimal("0.010001")


@pytest.mark.parametrize(
    ("code", "key", "own", "processes", "kind", "exempted"),
    [
        ("EU", "barley", "distilled", [], "spirit", True),
        ("EU", "gluten", None, ["distilled"], "spirit", True),
        ("EU", "gluten", None, ["distilled", "macerated"], "liqueur", False),
        ("EU", "gluten", None, ["fermented"], "beer", False),
        ("EU", "gluten", None, ["distilled", "fined_isinglass"], "spirit", False),
        ("EU", "gluten", None, [], "spirit", False),
        ("EU", "almond", "macerated", ["distilled"], "liqueur", False),
        ("EU", "almond", "distilled", ["distilled", "macerated"], "liqueur", True),
        ("EU", "milk", "whey_distillate", [], "spirit", True),
        ("EU", "milk", None, ["distilled"], "spirit", False),
        ("EU", "eggs", None, ["fined_egg"], "wine", False),
        ("EU", "fish", "fined_isinglass", [], "wine", True),
        ("GB", "fish", "fined_isinglass", [], "other", False),
        ("EU", "spelt", "maltodextrin", [], "other", True),
        ("EU", "rye", "maltodextrin", [], "other", False),
        ("EU", "sulphites", None, ["distilled"], "spirit", False),
        ("AU", "barley", None, ["fermented"], "beer", True),
        ("AU", "barley", None, ["fermented"], "wine", False),
        ("NZ", "wheat", None, [], "spirit", True),
        ("AU", "wheat", "distilled", [], "liqueur", True),
        ("AU", "barley", "distilled", [], "liqueur", False),
        ("AU", "barley", "macerated", [], "spirit", False),
        ("US", "wheat", None, ["distilled"], "spirit", True),
        ("US", "almond", "macerated", ["distilled"], "liqueur", False),
        ("US", "soybeans", "refined_oil", [], "other", True),
        ("CA", "sulphites", None, ["distilled"], "spirit", False),
        ("CA", "soybeans", "refined_oil", [], "other", False),
        ("JP", "wheat", None, ["distilled"], "spirit", False),
        ("CL", "barley", "distilled", [], "spirit", False),
    ],
)
def test_exemptions(code: str, key: str, own: str | None, processes: list[str], kind: str, exempted: bool) -> None:
    # Regulation (EU) 1169/2011 Annex II; Schedule 9 S9-3; 21 USC 321(qq).
    found = labelling.exempt(held(code), AllergenEntry("contains", own), processes, kind, key)
    assert (found is not None) is exempted


def test_the_united_states_declare_shares_of_a_day() -> None:
    """21 CFR 101.9(c)(9), secondary: fat 78 g, saturated fat 20 g, sodium 2,300 mg, carbohydrate 275 g, fiber 28 g; by
    (d)(7)(ii) to the nearest whole percent. By hand: 200/2300 = 8.7, 11/275 = 4.0, 0.6/28 = 2.1, 4.5/20 = 22.5 %."""
    rows = declared("US", {**FIGURES, "saturates_g": 4.5})
    shares = {name: row.daily_value_percent for name, row in rows.items()}
    assert shares == {
        "energy_kcal": None, "fat_g": 0, "saturates_g": 23, "sodium_mg": 9, "total_carbohydrate_g": 4, "fibre_g": 2,
        "sugars_g": None, "protein_g": None,
    }  # fmt: skip
    assert all(row.daily_value_percent is None for row in declared("US", {}).values())
    assert all(row.daily_value_percent is None for row in declared("EU", FIGURES).values())


def test_calories_are_printed_without_a_unit_that_their_name_says() -> None:
    """21 CFR 101.9(c)(1): the label says "Calories" and the number. 122.87 is over 50, so to the nearest 10."""
    row = declared("US", FIGURES)["energy_kcal"]
    assert (row.label, row.text, row.value, row.unit) == ("Calories", "120", Decimal(120), "kcal")
