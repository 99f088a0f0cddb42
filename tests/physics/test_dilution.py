import importlib
import math

import pytest

from service.errors import OutOfRange
from service.physics import dilution
from service.physics.freezing import freezing_point_of_mix_c
from service.physics.mixing import composition_from_abv


def melt_share(
    abv_percent: float, ice_c: float = 0.0, start_c: float = 22.0, sugars_g_per_100_ml: float = 8.0
) -> float:
    """Water from 120 g of ice, as a share of a sour of 90 ml: the size is common practice, no source."""
    liquid = composition_from_abv(abv_percent, sugars_g_per_100_ml)
    masses = (0.9 * liquid.ethanol_g, 0.9 * liquid.water_g, 0.9 * liquid.sugars_g)
    return dilution.energy_balance_water_g(*masses, 120.0, ice_c, start_c) / 90.0


def test_published_regressions() -> None:
    """Liquid Intelligence (2014), p. 123; the sum done by hand."""
    assert dilution.stirred_fraction(0.3) == pytest.approx(0.4099, abs=5e-5)
    assert dilution.shaken_fraction(0.25) == pytest.approx(0.5406, abs=5e-5)
    assert dilution.stirred_fraction(0.0) == 0.145
    assert dilution.shaken_fraction(0.0) == 0.203


def test_shaken_takes_the_minus_that_the_book_is_reported_to_lack() -> None:
    assert dilution.shaken_fraction(0.25) < 0.6 < 1.567 * 0.25**2 + 1.742 * 0.25 + 0.203


def test_shaking_adds_more_water_than_stirring_in_range() -> None:
    for percent in range(10, 46):
        a = percent / 100.0
        assert dilution.in_range(a)
        assert dilution.shaken_fraction(a) > dilution.stirred_fraction(a) > 0.0


def test_range_is_stated_and_the_figure_given_outside_it() -> None:
    assert dilution.IN_RANGE == (0.10, 0.45)
    assert not dilution.in_range(0.0999)
    assert not dilution.in_range(0.4501)
    assert dilution.stirred_fraction(0.9) > 0.0
    for bad in (-0.01, 1.01, math.nan):
        with pytest.raises(OutOfRange, match="abv_fraction must lie between 0 and 1"):
            dilution.shaken_fraction(bad)


def test_models_are_registered_with_their_source() -> None:
    assert dict(dilution.MODELS) == {"shaken": dilution.shaken_fraction, "stirred": dilution.stirred_fraction}
    assert dilution.SOURCES.keys() == dilution.MODELS.keys()


def test_energy_balance_is_near_a_separate_one() -> None:
    """A separate balance gave 0.458 at 25 % vol, about 0.32 with ice of -18 C or chilled ingredients."""
    assert melt_share(25.0) == pytest.approx(0.458, abs=0.03)
    assert melt_share(25.0, ice_c=-18.0) == pytest.approx(0.32, abs=0.02)
    assert melt_share(25.0, start_c=10.0) == pytest.approx(0.32, abs=0.02)


@pytest.mark.parametrize("abv_percent", [15.0, 20.0, 25.0, 30.0, 35.0])
def test_energy_balance_reads_below_the_shaken_regression(abv_percent: float) -> None:
    """Nothing is fitted; the gap is water clinging to the ice and what the docstring says is left out."""
    gap = dilution.shaken_fraction(abv_percent / 100.0) - melt_share(abv_percent)
    assert 0.03 < gap < 0.12


def test_heat_is_balanced() -> None:
    """What mix and melt give off down to the freezing point is what the melting takes up."""
    ethanol_g, water_g, melt_g = 20.0, 75.0, dilution.energy_balance_water_g(20.0, 75.0, 0.0, 120.0)
    end_c = freezing_point_of_mix_c(ethanol_g, water_g + melt_g)
    capacity = 95.0 * dilution.specific_heat_j_per_g_k(20.0 / 95.0) * (22.0 - end_c)
    assert capacity - (4.2 * melt_g + 2.09 * (120.0 - melt_g)) * end_c == pytest.approx(333.55 * melt_g, rel=1e-9)


def test_melt_is_limited_by_the_ice_and_never_below_zero() -> None:
    assert dilution.energy_balance_water_g(20.0, 75.0, 5.0, 10.0) == 10.0
    assert dilution.energy_balance_water_g(20.0, 75.0, 5.0, 0.0) == 0.0
    assert dilution.energy_balance_water_g(20.0, 75.0, 5.0, 500.0, -30.0, -5.0) == 0.0


def test_colder_ice_and_colder_ingredients_melt_less() -> None:
    assert melt_share(25.0, ice_c=-18.0) < melt_share(25.0, ice_c=-9.0) < melt_share(25.0)
    assert melt_share(25.0, start_c=4.0) < melt_share(25.0, start_c=14.0) < melt_share(25.0)


@pytest.mark.parametrize("mass_percent", range(0, 61, 5))
def test_specific_heat_is_the_handbooks(mass_percent: int) -> None:
    """CoolProp's INCOMP::MEA, after Melinder (2010), at 5 C."""
    coolprop = importlib.import_module("CoolProp.CoolProp")
    reference = coolprop.PropsSI("C", "T", 278.15, "P", 101325.0, f"INCOMP::MEA[{mass_percent / 100.0}]") / 1000.0
    assert dilution.specific_heat_j_per_g_k(mass_percent / 100.0) == pytest.approx(reference, abs=0.001)


def test_specific_heat_of_pure_ethanol() -> None:
    """2.35 J/(g K) near 5 C and 2.44 at 25 C (CRC Handbook, from memory)."""
    assert dilution.specific_heat_j_per_g_k(1.0) == 2.35
    with pytest.raises(OutOfRange):
        dilution.specific_heat_j_per_g_k(1.1)


def test_outside_the_range_is_refused() -> None:
    for ice_c in (0.1, -41.0, math.nan):
        with pytest.raises(OutOfRange, match="ice_c"):
            dilution.energy_balance_water_g(20.0, 75.0, 0.0, 100.0, ice_c)
    for ice_g in (-1.0, math.nan):
        with pytest.raises(OutOfRange, match="ice_g"):
            dilution.energy_balance_water_g(20.0, 75.0, 0.0, ice_g)
    with pytest.raises(OutOfRange, match="water_g"):
        dilution.energy_balance_water_g(0.0, 0.0, 0.0, 100.0)
    with pytest.raises(OutOfRange, match="ethanol_mass_fraction"):
        dilution.energy_balance_water_g(80.0, 20.0, 0.0, 100.0)
