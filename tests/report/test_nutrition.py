"""Energy and nutrients as they are written, per serve and per 100 ml; sums by hand with the factors of the law."""

from typing import Any

import pytest

from tests.one_drink import NOTHING, asked, poured, thing

CODES = ("EU", "US", "AU")
# 100 ml: 10 ml of ethanol (7.892 g), 20 g of sugar, 2 g of citric acid, 1 g of protein.
HOLDS = {"sugars_g": 20, "carbohydrate_g": 20, "acids_g": {"citric": 2}, "protein_g": 1, "salt_g": 0.5}
DRINK = thing("mix", abv_percent=10, per_100=HOLDS)


def nutrition(amount: str = "200 ml", *things: Any, **more: Any) -> Any:
    return asked([poured("mix", amount)], things or [DRINK], CODES, **more)["nutrition"]


def test_energy_by_the_factors_of_the_union() -> None:
    # Regulation (EU) 1169/2011, annex XIV: 7, 4, 3, 4 kcal and 29, 17, 13, 17 kJ a gram. In 100 ml:
    # 55.25 + 80 + 6 + 4 = 145.25 kcal; 228.9 + 340 + 26 + 17 = 611.9 kJ. Neither is the other converted.
    found = nutrition()
    assert found["factors"] == "EU"
    assert found["per_100_ml"]["energy_kcal"] == pytest.approx(145.25, abs=0.05)
    assert found["per_100_ml"]["energy_kj"] == pytest.approx(611.9, abs=0.1)
    assert found["per_serve"]["energy_kcal"] == pytest.approx(290.5, abs=0.1)
    assert found["per_serve"]["energy_kj"] / found["per_serve"]["energy_kcal"] != pytest.approx(4.184, rel=1e-3)


def test_nutrients_of_a_serve_and_of_100_ml() -> None:
    found = nutrition()
    expected = {"sugars_g": 20, "carbohydrate_g": 20, "protein_g": 1, "salt_g": 0.5, "acids_g": 2, "alcohol_g": 7.89}
    for name, amount in expected.items():
        assert found["per_100_ml"][name] == pytest.approx(amount, abs=0.005), name
        assert found["per_serve"][name] == pytest.approx(2 * amount, abs=0.011), name
    assert found["per_serve"]["fat_g"] == found["per_serve"]["polyols_g"] == 0.0
    assert (found["complete"], found["missing"], found["per_serve"]["at_least"]) == (True, [], {})


def test_each_regime_declares_by_its_own_table() -> None:
    rows = nutrition()["declared"]
    assert {row["jurisdiction"] for row in rows} == set(CODES)
    # The Union and Australia declare per 100 ml, the United States per serving (21 CFR 101.9, from memory).
    bases = {code: {row["basis"] for row in rows if row["jurisdiction"] == code} for code in CODES}
    assert "per_100_ml" in bases["EU"]
    assert bases["US"] == {"per_serve"}
    # 21 CFR 101.9(c)(1): 290.5 to the next 10 is 290 calories.
    [calories] = [row for row in rows if (row["jurisdiction"], row["nutrient"]) == ("US", "energy_kcal")]
    assert calories["value"] == 290
    # Guidance of 2012 on rounding: energy to 1 kcal.
    [energy] = [
        row for row in rows
        if (row["jurisdiction"], row["nutrient"], row["basis"]) == ("EU", "energy_kcal", "per_100_ml")
    ]  # fmt: skip
    assert energy["value"] == 145


def test_each_regime_has_its_energy_with_a_source() -> None:
    rows = {row["jurisdiction"]: row for row in nutrition()["by_jurisdiction"]}
    assert set(rows) == set(CODES)
    assert all(row["source"] and row["standing"] for row in rows.values())
    assert rows["EU"]["energy_kcal"] == pytest.approx(290.5, abs=0.1)
    # The Code counts a Calorie as 4.18 kJ (Standard 1.2.8, from memory).
    assert rows["AU"]["energy_kcal"] == pytest.approx(rows["AU"]["energy_kj"] / 4.18, abs=0.02)


def test_what_is_not_known_is_null_with_what_is_known_beside_it() -> None:
    lacking = {name: amount for name, amount in NOTHING.items() if name != "protein_g"}
    partly = {"id": "mix", "name": "Mix", "abv_percent": 10, "per_100": {"basis": "ml", **lacking, "sugars_g": 20, "carbohydrate_g": 20}}  # fmt: skip  # noqa: E501  # one thing in one line
    found = nutrition("100 ml", partly)
    assert found["complete"] is False
    assert found["missing"] == [{"item": "mix", "field": "protein_g"}]
    serve = found["per_serve"]
    assert serve["energy_kcal"] is serve["energy_kj"] is serve["protein_g"] is None
    assert serve["sugars_g"] == 20
    # 55.25 + 80.
    assert serve["at_least"]["energy_kcal"] == pytest.approx(135.25, abs=0.05)


def test_of_unknown_volume_nothing_is_told_per_100_ml() -> None:
    found = nutrition(drink={"method": {"kind": "swizzled"}})
    assert found["per_100_ml"] == {}
    assert found["per_serve"]["energy_kcal"] == pytest.approx(290.5, abs=0.1)
    assert found["missing"] == [{"item": "ice", "field": "method.water"}]
