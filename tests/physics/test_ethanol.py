import importlib
import math
from itertools import pairwise

import pytest

from service.errors import OutOfRange
from service.physics import ethanol

coolprop = importlib.import_module("CoolProp.CoolProp")


@pytest.mark.parametrize("t_c", [10.0, 20.0, 30.0])
@pytest.mark.parametrize("mass_percent", range(5, 61, 5))
def test_density_agrees_with_an_independent_correlation(mass_percent: int, t_c: float) -> None:
    """CoolProp's INCOMP::MEA follows Melinder (2010), secondary refrigerants: another fit to other data."""
    other = coolprop.PropsSI("D", "T", t_c + 273.15, "P", 101325.0, f"INCOMP::MEA[{mass_percent / 100.0}]")
    assert ethanol.density_kg_per_m3(mass_percent / 100.0, t_c) == pytest.approx(other, abs=0.35)


@pytest.mark.parametrize(
    ("t_c", "water_kg_per_m3"),
    # Density of air-free water: CRC Handbook of Chemistry and Physics, from memory.
    [(0.0, 999.84), (4.0, 999.97), (10.0, 999.70), (20.0, 998.20), (30.0, 995.65), (40.0, 992.2)],
)
def test_water_has_its_handbook_density(t_c: float, water_kg_per_m3: float) -> None:
    assert ethanol.density_kg_per_m3(0.0, t_c) == pytest.approx(water_kg_per_m3, abs=0.02)


def test_the_two_densities_are_one_at_20_c() -> None:
    for p in (0.0, 0.1, 0.333, 0.7, 1.0):
        near = ethanol.density_kg_per_m3(p, 20.0 + 1e-9)
        assert ethanol.density_20c_kg_per_m3(p) == ethanol.density_kg_per_m3(p, 20.0)
        assert near == pytest.approx(ethanol.density_20c_kg_per_m3(p), abs=1e-6)


def test_strength_and_mass_fraction_are_inverse() -> None:
    for tenth in range(1001):
        abv = tenth / 10.0
        there_and_back = ethanol.abv_percent_from_mass_fraction(ethanol.mass_fraction_from_abv_percent(abv))
        assert abs(there_and_back - abv) <= 1e-10
        p = tenth / 1000.0
        assert abs(ethanol.mass_fraction_from_abv_percent(ethanol.abv_percent_from_mass_fraction(p)) - p) <= 1e-12


def test_density_reading_is_inverse() -> None:
    for p in (0.0, 0.001, 0.2, 0.5, 0.999, 1.0):
        reading = ethanol.density_20c_kg_per_m3(p)
        assert ethanol.mass_fraction_from_density_20c(reading) == pytest.approx(p, abs=1e-10)


def test_proof_and_strength_are_inverse() -> None:
    for us_proof in range(201):
        abv = ethanol.abv_percent_from_us_proof(us_proof)
        assert ethanol.us_proof_from_abv_percent(abv) == pytest.approx(us_proof, abs=1e-9)


def test_proof_refers_to_60_f() -> None:
    """27 CFR 30.66, table 6, specific gravity of 100 proof at 60/60 F in vacuum: 0.93418 (from memory)."""
    p = ethanol.mass_fraction_from_us_proof(100.0)
    gravity = ethanol.density_kg_per_m3(p, ethanol.PROOF_T_C) / ethanol.density_kg_per_m3(0.0, ethanol.PROOF_T_C)
    assert gravity == pytest.approx(0.93418, abs=1e-4)


def test_ethanol_at_60_f_has_its_legal_specific_gravity() -> None:
    """27 CFR 19.1, proof gallon: ethyl alcohol has a specific gravity of 0.7939 at 60/60 F."""
    water = ethanol.density_kg_per_m3(0.0, ethanol.PROOF_T_C)
    assert ethanol.ETHANOL_DENSITY_60F_KG_PER_M3 / water == pytest.approx(0.7939, abs=1e-4)


def test_conversion_density_is_the_contracts() -> None:
    assert ethanol.ETHANOL_DENSITY_20C_KG_PER_M3 == 789.239
    assert ethanol.ETHANOL_DENSITY_20C_G_PER_ML == 0.789239


def test_strength_rises_with_mass_fraction() -> None:
    strengths = [ethanol.abv_percent_from_mass_fraction(i / 1000.0) for i in range(1001)]
    assert all(a < b for a, b in pairwise(strengths))
    assert strengths[-1] == ethanol.ABV_MAX_PERCENT


@pytest.mark.parametrize("bad", [-0.001, 1.001, math.nan, math.inf])
def test_mass_fraction_outside_its_range_is_refused(bad: float) -> None:
    with pytest.raises(OutOfRange, match=r"mass_fraction must lie between 0 and 1 \(OIML R 22\)"):
        ethanol.density_20c_kg_per_m3(bad)
    with pytest.raises(OutOfRange):
        ethanol.us_proof_from_mass_fraction(bad)


@pytest.mark.parametrize("bad", [-20.1, 40.1, math.nan])
def test_temperature_outside_its_range_is_refused(bad: float) -> None:
    with pytest.raises(OutOfRange, match=r"t_c must lie between -20 and 40 \(OIML R 22\)"):
        ethanol.density_kg_per_m3(0.4, bad)


def test_strength_and_proof_outside_their_range_are_refused() -> None:
    for bad in (-0.1, 100.1, math.nan):
        with pytest.raises(OutOfRange, match="abv_percent must lie between 0 and 100"):
            ethanol.mass_fraction_from_abv_percent(bad)
    for bad in (-0.1, 200.1, math.nan):
        with pytest.raises(OutOfRange, match="us_proof must lie between 0 and 200"):
            ethanol.abv_percent_from_us_proof(bad)
    for bad in (700.0, 999.0, math.nan):
        with pytest.raises(OutOfRange, match="density_kg_per_m3"):
            ethanol.mass_fraction_from_density_20c(bad)
