"""A reading freed of temperature and of what dissolved matter hides, against gauging tables and another library."""

import importlib

import pytest

from service.errors import OutOfRange
from service.physics.ethanol import (
    PROOF_T_C,
    density_kg_per_m3,
    mass_fraction_from_abv_percent,
    mass_fraction_from_us_proof,
    us_proof_from_abv_percent,
)
from service.physics.hydrometer import (
    abv_percent_from_density,
    density_at_kg_per_m3,
    density_of_reading_kg_per_m3,
)
from service.physics.mixing import Liquid, composition_from_abv
from service.physics.sugar import sucrose_density_kg_per_m3

coolprop = importlib.import_module("CoolProp.CoolProp")
DRY = Liquid(0.0, 0.0)


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8


@pytest.mark.parametrize(
    ("reading", "fahrenheit", "true_proof"),
    # 27 CFR 30.23, the worked example and the rows of table 1 that it uses; 27 CFR 30.61, the row that stands there.
    [(193.0, 72.0, 190.2), (192.82, 72.15, 190.0), (193.0, 75.0, 189.5)],
)
def test_a_reading_at_another_temperature_as_the_gauging_manual_corrects_it(
    reading: float, fahrenheit: float, true_proof: float
) -> None:
    t_c = celsius(fahrenheit)
    density = density_of_reading_kg_per_m3(mass_fraction_from_us_proof(reading), t_c, PROOF_T_C)
    proof = us_proof_from_abv_percent(abv_percent_from_density(density, t_c, DRY, 0.0))
    assert proof == pytest.approx(true_proof, abs=0.06)


def test_at_its_own_temperature_a_reading_is_the_strength() -> None:
    density = density_of_reading_kg_per_m3(mass_fraction_from_abv_percent(40.0), 20.0)
    assert abv_percent_from_density(density, 20.0, DRY, 0.0) == pytest.approx(40.0, abs=1e-6)


def test_solids_hide_alcohol_as_the_gauging_manual_says() -> None:
    # 27 CFR 30.32(b): 0.125 g of residue in 25 ml is 0.50 g in 100 ml and hides two degrees of proof between 80 and
    # 100. That is a round figure for all solids; sugar lies within 0.4 of it, high at 80 and low at 100.
    hidden = []
    for true in (40.0, 45.0, 50.0):
        density = 10.0 * composition_from_abv(true, 0.5).mass_g
        hidden.append(2.0 * (true - abv_percent_from_density(density, 20.0, DRY, 0.0)))
    assert all(proof == pytest.approx(2.0, abs=0.4) for proof in hidden)
    assert sum(hidden) / 3 == pytest.approx(2.0, abs=0.15)


@pytest.mark.parametrize("t_c", [5.0, 10.0, 15.0, 25.0, 30.0])
@pytest.mark.parametrize("percent", [10.0, 20.0, 40.0])
def test_density_over_temperature_against_an_independent_library(percent: float, t_c: float) -> None:
    # CoolProp, ethanol and water after Melinder (2010); its own fit is good to about 0.35 kg/m3.
    ours = density_at_kg_per_m3(Liquid(percent, 100.0 - percent), 0.0, t_c)
    theirs = coolprop.PropsSI("D", "T", 273.15 + t_c, "P", 101325.0, f"INCOMP::MEA[{percent / 100}]")
    assert ours == pytest.approx(theirs, abs=0.8)
    assert ours == pytest.approx(density_kg_per_m3(percent / 100.0, t_c), abs=1e-6)


@pytest.mark.parametrize("t_c", [5.0, 20.0, 35.0])
def test_a_syrup_expands_as_the_sugar_tables_say(t_c: float) -> None:
    # ICUMSA SPS-4; the water of both formulas differs by up to 0.01 kg/m3.
    ours = density_at_kg_per_m3(Liquid(0.0, 60.0, 40.0), 0.0, t_c)
    assert ours == pytest.approx(sucrose_density_kg_per_m3(0.4, t_c), abs=0.02)


@pytest.mark.parametrize("t_c", [2.0, 20.0, 30.0])
@pytest.mark.parametrize("sugars", [0.0, 5.0, 20.0])
@pytest.mark.parametrize("abv", [0.0, 12.0, 38.0])
def test_what_was_hidden_is_found_again(abv: float, sugars: float, t_c: float) -> None:
    # Arithmetic: the inverse of the formula gives back what went in.
    liquid = composition_from_abv(abv, sugars, {"citric": 0.5})
    density = density_at_kg_per_m3(liquid, 0.0, t_c)
    assert abv_percent_from_density(density - 1e-9, t_c, liquid, 0.0) == pytest.approx(abv, abs=1e-6)


def test_a_density_that_no_strength_has_is_refused() -> None:
    for density in (1010.0, 700.0):
        with pytest.raises(OutOfRange, match="density"):
            abv_percent_from_density(density, 20.0, DRY, 0.0)
    with pytest.raises(OutOfRange, match="volume"):
        density_at_kg_per_m3(Liquid(0.0, 0.0), 0.0, 20.0)
