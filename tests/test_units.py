"""The frozen factors against the definitions in pint, and against the laws that fix them."""

import subprocess
import sys
from datetime import date
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.errors import DataFault
from service.units import MEASURES, STANDINGS, TABLE, Unit, factor_by_definition, measure_table, registry

UNITS = list(TABLE.units.values())
UNIT_NAMES = st.sampled_from(sorted(TABLE.units))

INCH_CM = Fraction("2.54")
"""NIST Handbook 44, Appendix C: the international inch of 1959 is 2.54 cm exactly."""

US_GALLON_ML = 231 * INCH_CM**3
"""NIST Handbook 44, Appendix C: a gallon is 231 cubic inches."""

IMPERIAL_GALLON_ML = Fraction("4546.09")
"""Weights and Measures Act 1985 (United Kingdom), Schedule 1: a gallon is 4.54609 cubic decimetres."""

POUND_G = Fraction("453.59237")
"""NIST Handbook 44, Appendix C: the avoirdupois pound of 1959 is 0.45359237 kg exactly."""

BY_LAW = {
    # NIST Handbook 44, Appendix C, liquid and apothecaries volume: gallon = 4 quarts = 8 pints = 32 gills
    # = 128 fluid ounces; cup = 8 fluid ounces; ounce = 2 tablespoons = 6 teaspoons = 480 minims.
    "us_gallon": US_GALLON_ML,
    "us_quart": US_GALLON_ML / 4,
    "us_pint": US_GALLON_ML / 8,
    "us_cup": US_GALLON_ML / 16,
    "us_gill": US_GALLON_ML / 32,
    "us_fluid_ounce": US_GALLON_ML / 128,
    "us_tablespoon": US_GALLON_ML / 128 / 2,
    "us_teaspoon": US_GALLON_ML / 128 / 6,
    "us_minim": US_GALLON_ML / 128 / 480,
    "pound": POUND_G,
    "avoirdupois_ounce": POUND_G / 16,
    # Weights and Measures Act 1985, Schedule 1: gallon = 4 quarts = 8 pints = 32 gills = 160 fluid ounces.
    "imperial_gallon": IMPERIAL_GALLON_ML,
    "imperial_quart": IMPERIAL_GALLON_ML / 4,
    "imperial_pint": IMPERIAL_GALLON_ML / 8,
    "imperial_gill": IMPERIAL_GALLON_ML / 32,
    "imperial_fluid_ounce": IMPERIAL_GALLON_ML / 160,
    "imperial_minim": IMPERIAL_GALLON_ML / 160 / 480,
    "quarter_imperial_gill": IMPERIAL_GALLON_ML / 32 / 4,
    "fifth_imperial_gill": IMPERIAL_GALLON_ML / 32 / 5,
    "sixth_imperial_gill": IMPERIAL_GALLON_ML / 32 / 6,
    # 21 CFR 101.9(b)(5)(viii), on nutrition labels: teaspoon 5, tablespoon 15, cup 240, fluid ounce 30 ml.
    "labelling_fluid_ounce": Fraction(30),
    "labelling_cup": Fraction(240),
    "metric_teaspoon": Fraction(5),
    "metric_tablespoon": Fraction(15),
    # Weights and Measures (Intoxicating Liquor) Order 1988: 25 or 35, 125 or 175, 50 or 70 ml.
    "uk_spirit_measure": Fraction(25),
    "uk_large_spirit_measure": Fraction(35),
    "uk_wine_measure": Fraction(125),
    "uk_large_wine_measure": Fraction(175),
    "uk_fortified_measure": Fraction(50),
    "uk_large_fortified_measure": Fraction(70),
    # Common practice, no source: shares of the legal ounce and teaspoon above.
    "us_shot": US_GALLON_ML / 128 * Fraction(3, 2),
    "pony": US_GALLON_ML / 128,
    "ounce_dash": US_GALLON_ML / 128 / 32,
    "eighth_teaspoon_dash": US_GALLON_ML / 128 / 6 / 8,
    "sixth_teaspoon_dash": US_GALLON_ML / 128 / 6 / 6,
}


def ratio(unit: Unit) -> Fraction:
    return Fraction(unit.numerator, unit.denominator)


@pytest.mark.parametrize(("name", "expected"), BY_LAW.items(), ids=list(BY_LAW))
def test_factor_follows_from_the_law_that_fixes_it(name: str, expected: Fraction) -> None:
    assert ratio(TABLE.units[name]) == expected


@pytest.mark.parametrize("unit", UNITS, ids=lambda unit: unit.unit)
def test_pint_yields_the_frozen_factor(unit: Unit) -> None:
    by_pint = factor_by_definition(unit)
    assert isinstance(by_pint, Decimal)
    assert by_pint == unit.factor


def test_every_defined_unit_is_a_measure_and_every_measure_is_defined() -> None:
    # ``each`` counts pieces and has no factor in ml or g.
    assert set(registry()._units) - {"each"} == set(TABLE.units)


def test_registry_is_decimal_built_once_and_not_the_default_one() -> None:
    assert registry() is registry()
    assert registry().non_int_type is Decimal
    assert not set(registry()._units) & {"meter", "second", "ounce", "shot", "pin", "bag"}


@given(UNIT_NAMES, UNIT_NAMES, st.fractions(min_value=Fraction(1, 1000), max_value=1000))
def test_there_and_back_is_exact(first: str, second: str, figure: Fraction) -> None:
    one, other = TABLE.units[first], TABLE.units[second]
    there = figure * ratio(one) / ratio(other)
    assert there * ratio(other) / ratio(one) == figure


@given(UNIT_NAMES)
def test_decimal_factor_is_the_ratio_to_28_digits(name: str) -> None:
    unit = TABLE.units[name]
    error = abs(Fraction(unit.factor) / ratio(unit) - 1)
    assert error <= Fraction(1, 10**27)
    # Only sixths of an imperial gill, of a teaspoon and the imperial minim have no end as a decimal.
    endless = {"sixth_imperial_gill", "sixth_teaspoon_dash", "imperial_minim"}
    assert (error == 0) == (name not in endless)


def test_one_thirty_second_of_an_ounce_is_exact() -> None:
    # 29.5735295625 / 32, worked by hand.
    assert TABLE.units["ounce_dash"].factor == Decimal("0.924172798828125")


@pytest.mark.parametrize("unit", UNITS, ids=lambda unit: unit.unit)
def test_every_measure_says_where_it_comes_from(unit: Unit) -> None:
    assert unit.standing in STANDINGS
    assert unit.source and unit.status and unit.system and unit.words
    assert isinstance(unit.since, date) and isinstance(unit.checked, date)
    assert unit.since <= unit.checked
    if "no source" in unit.source or "from memory" in unit.source:
        assert unit.standing == "memory"


def test_every_proposed_word_is_itself_readable() -> None:
    for bare in TABLE.bare.values():
        assert set(bare.allowed) <= TABLE.explicit.keys()
    for unit in UNITS:
        assert TABLE.explicit[unit.name] is unit


@pytest.mark.parametrize(
    ("old", "new", "named"),
    [
        ('ml = "30"', 'ml = "30"\ng = "28"', "exactly one of ml and g"),
        ('ml = "30"', 'ml = "-30"', "not over 0"),
        ('name = "us tsp"', 'name = "us tsp"\ncolour = "red"', "colour"),
        ('source = "hb44"', 'source = "nobody"', "a source that"),
        ('standing = "secondary"', 'standing = "certain"', "standing"),
        ('words = ["us cup", "us cups"]', 'words = ["us cup", "us cup"]', "stands twice"),
        ('words = ["us cup", "us cups"]', 'words = ["us cup", "US cups"]', "lower case"),
        ('words = ["us cup", "us cups"]', 'words = ["us cup", "dash"]', "two ways"),
        ('unit = "us_cup"', 'unit = "us_gill"', "stands twice"),
        ('allowed = ["ml", "us jigger", "oz"]', 'allowed = ["ml", "egg cup"]', "nothing reads"),
        ('name = "barspoon"', 'name = "ladle"', "ladle"),
    ],
)
def test_a_malformed_table_stops_the_start(old: str, new: str, named: str, tmp_path: Path) -> None:
    text = MEASURES.read_text(encoding="utf-8")
    assert old in text
    broken = tmp_path / "measures.toml"
    broken.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(DataFault, match=named):
        measure_table(broken)


@pytest.mark.parametrize("module", ["service.units", "service.figures", "service.amounts"])
def test_importing_the_module_does_not_load_pint(module: str) -> None:
    code = f"import sys, {module}; sys.exit('pint' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], cwd=Path(__file__).parent.parent, check=False)
    assert done.returncode == 0
