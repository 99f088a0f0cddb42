import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.errors import OutOfRange
from service.physics import mixing, sugar
from service.physics.ethanol import abv_percent_from_mass_fraction, density_20c_kg_per_m3

masses = st.floats(min_value=0.01, max_value=1000.0)
WATER_KG_PER_M3 = 998.20123


def tabarie_density_kg_per_m3(abv_percent: float, sugars_g_per_l: float) -> float:
    """Density by Tabarie's rule, OIV-MA-AS2-03B: without its sugar, plus without its ethanol, less water."""
    alcohol = 10.0 * mixing.composition_from_abv(abv_percent).mass_g
    extract = 10.0 * sugars_g_per_l / sugar.brix_from_sugars_g_per_l(sugars_g_per_l) * 10.0
    return alcohol + extract - WATER_KG_PER_M3


def model_density_kg_per_m3(abv_percent: float, sugars_g_per_l: float) -> float:
    return 1000.0 * mixing.density_g_per_ml(mixing.composition_from_abv(abv_percent, sugars_g_per_l / 10.0))


@pytest.mark.parametrize("abv_percent", [5.0, 10.0, 15.0, 20.0])
@pytest.mark.parametrize("sugars_g_per_l", [5.0, 50.0, 100.0, 150.0])
def test_wines_and_aperitifs_agree_with_tabarie(abv_percent: float, sugars_g_per_l: float) -> None:
    ours = model_density_kg_per_m3(abv_percent, sugars_g_per_l)
    assert ours == pytest.approx(tabarie_density_kg_per_m3(abv_percent, sugars_g_per_l), abs=0.4)


def test_strong_sweet_liqueurs_do_not_agree_with_tabarie() -> None:
    """Published rules disagree: 7.5 kg/m3 at 40 % vol and 400 g/L, to the side of J. ASBC 67:146 (2009)."""
    gap = tabarie_density_kg_per_m3(40.0, 400.0) - model_density_kg_per_m3(40.0, 400.0)
    assert abs(gap) == pytest.approx(7.5, abs=0.5)


def test_syrup_has_the_density_of_sucrose_in_water() -> None:
    for brix in (1.0, 20.0, 50.0, 66.67, 85.0):
        syrup = mixing.Liquid(0.0, 100.0 - brix, brix)
        reference = sugar.sucrose_density_kg_per_m3(brix / 100.0) / 1000.0
        # The two published water densities differ by 0.002 kg/m3.
        assert mixing.density_g_per_ml(syrup) == pytest.approx(reference, abs=2.5e-6)


def test_spirit_has_the_density_of_ethanol_and_water() -> None:
    for p in (0.0, 0.2, 0.5, 1.0):
        spirit = mixing.Liquid(100.0 * p, 100.0 * (1.0 - p))
        assert mixing.density_g_per_ml(spirit) == pytest.approx(density_20c_kg_per_m3(p) / 1000.0, rel=1e-14)
        strength = mixing.abv_percent(spirit.ethanol_g, mixing.volume_ml(*spirit))
        assert strength == pytest.approx(abv_percent_from_mass_fraction(p), rel=1e-13)


def test_no_mass_has_no_volume() -> None:
    assert mixing.volume_ml(0.0, 0.0) == 0.0


def test_dry_solids_have_a_volume() -> None:
    """Crystalline sucrose 1.587 g/ml, salt 2.165 g/ml (CRC Handbook, from memory); salt as in brine."""
    assert mixing.volume_ml(0.0, 0.0, 158.7) == pytest.approx(100.0, rel=0.02)
    assert 0.3 < mixing.volume_ml(0.0, 0.0, salt_g=1.0) < 1.0 / 2.165


def test_every_constituent_takes_room() -> None:
    base = mixing.volume_ml(20.0, 70.0)
    for more in (
        mixing.volume_ml(21.0, 70.0),
        mixing.volume_ml(20.0, 71.0),
        mixing.volume_ml(20.0, 70.0, 1.0),
        mixing.volume_ml(20.0, 70.0, acids_g={"malic": 1.0}),
        mixing.volume_ml(20.0, 70.0, salt_g=1.0),
        mixing.volume_ml(20.0, 70.0, other={"protein": 1.0}),
        mixing.volume_ml(20.0, 70.0, other={"fat": 1.0}),
        mixing.volume_ml(20.0, 70.0, other={"glycerol": 1.0}),
    ):
        assert base < more < base + 1.5


@given(ethanol_g=masses, water_g=masses, sugars_g=masses, factor=st.floats(min_value=0.1, max_value=10.0))
def test_volume_scales_with_mass(ethanol_g: float, water_g: float, sugars_g: float, factor: float) -> None:
    one = mixing.volume_ml(ethanol_g, water_g, sugars_g, {"citric": 1.0}, 0.5)
    many = mixing.volume_ml(factor * ethanol_g, factor * water_g, factor * sugars_g, {"citric": factor}, factor * 0.5)
    assert many == pytest.approx(factor * one, rel=1e-12)


@given(ethanol_g=masses, water_g=masses, sugars_g=masses, more_g=masses)
def test_more_water_never_raises_the_strength(ethanol_g: float, water_g: float, sugars_g: float, more_g: float) -> None:
    before = mixing.abv_percent(ethanol_g, mixing.volume_ml(ethanol_g, water_g, sugars_g))
    after = mixing.abv_percent(ethanol_g, mixing.volume_ml(ethanol_g, water_g + more_g, sugars_g))
    assert after < before


@given(ethanol_g=masses, water_g=masses, sugars_g=masses, salt_g=st.floats(0.0, 30.0), fat_g=st.floats(0.0, 50.0))
def test_water_for_a_volume_is_inverse(
    ethanol_g: float, water_g: float, sugars_g: float, salt_g: float, fat_g: float
) -> None:
    dissolved = (sugars_g, {"citric": 0.1 * sugars_g}, salt_g, {"fat": fat_g})
    volume_ml = mixing.volume_ml(ethanol_g, water_g, *dissolved)
    found = mixing.water_g_for_volume(volume_ml, ethanol_g, *dissolved)
    assert mixing.volume_ml(ethanol_g, found, *dissolved) == pytest.approx(volume_ml, rel=1e-12)
    assert found == pytest.approx(water_g, abs=1e-9 * volume_ml)


@pytest.mark.parametrize(("abv", "sugars"), [(0.0, 0.0), (16.0, 15.0), (24.0, 24.0), (40.0, 40.0), (96.0, 0.5)])
def test_composition_fills_100_ml(abv: float, sugars: float) -> None:
    liquid = mixing.composition_from_abv(abv, sugars, {"citric": 0.6}, 0.1, {"protein": 0.2})
    volume_ml = mixing.volume_ml(*liquid)
    assert volume_ml == pytest.approx(100.0, rel=1e-12)
    assert mixing.abv_percent(liquid.ethanol_g, volume_ml) == pytest.approx(abv, rel=1e-12)
    assert liquid.mass_g == pytest.approx(liquid.ethanol_g + liquid.water_g + sugars + 0.6 + 0.1 + 0.2, rel=1e-14)


def test_pure_ethanol_needs_no_water() -> None:
    # The formula's own ethanol, 789.23912 kg/m3, is a trace heavier than the legal 789.239.
    assert mixing.composition_from_abv(100.0).water_g == pytest.approx(0.0, abs=1e-4)


def test_solutes_that_overfill_the_volume_are_refused() -> None:
    with pytest.raises(OutOfRange, match=r"volume_ml must lie between 102\.\d+ and inf \(ethanol and solutes alone"):
        mixing.composition_from_abv(64.0, 60.0)
    with pytest.raises(OutOfRange):
        mixing.water_g_for_volume(10.0, 20.0)


@pytest.mark.parametrize("bad", [-1.0, math.nan])
def test_masses_below_zero_are_refused(bad: float) -> None:
    for arguments in ((bad, 1.0), (1.0, bad), (1.0, 1.0, bad), (1.0, 1.0, 0.0, {"citric": bad})):
        with pytest.raises(OutOfRange):
            mixing.volume_ml(*arguments)
    with pytest.raises(OutOfRange):
        mixing.volume_ml(1.0, 1.0, salt_g=bad)
    with pytest.raises(OutOfRange):
        mixing.composition_from_abv(bad)
    with pytest.raises(OutOfRange):
        mixing.water_g_for_volume(bad, 0.0)


def test_strength_and_density_need_a_volume() -> None:
    with pytest.raises(OutOfRange, match="a strength needs a volume"):
        mixing.abv_percent(1.0, 0.0)
    with pytest.raises(OutOfRange, match="a density needs a volume"):
        mixing.density_g_per_ml(mixing.Liquid(0.0, 0.0))
