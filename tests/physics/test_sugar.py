import math

import pytest

from service.errors import OutOfRange
from service.physics import sugar


def compact_cubic_kg_per_m3(w: float) -> float:
    """An independent cubic for sucrose in water at 20 C, good to 0.12 kg/m3 from 0 to 75 Brix (secondary)."""
    return 998.20 + 384.3521 * w + 140.6378 * w**2 + 32.9806 * w**3


@pytest.mark.parametrize("brix", range(0, 76, 5))
def test_density_agrees_with_the_compact_cubic(brix: int) -> None:
    w = brix / 100.0
    assert sugar.sucrose_density_kg_per_m3(w, 20.0) == pytest.approx(compact_cubic_kg_per_m3(w), abs=0.12)


@pytest.mark.parametrize(
    ("t_c", "water_kg_per_m3"),
    # Density of air-free water: CRC Handbook of Chemistry and Physics, from memory.
    [(0.0, 999.84), (20.0, 998.20), (40.0, 992.2), (60.0, 983.2), (80.0, 971.8)],
)
def test_water_has_its_handbook_density(t_c: float, water_kg_per_m3: float) -> None:
    assert sugar.sucrose_density_kg_per_m3(0.0, t_c) == pytest.approx(water_kg_per_m3, abs=0.05)


@pytest.mark.parametrize(
    ("percent", "at_15_c", "at_20_c"),
    # Sucrose in water, kg/m3: handbook table as printed for a university's physics laboratory (secondary).
    [
        (5, 1018.84, 1017.84),
        (10, 1039.25, 1038.13),
        (15, 1060.41, 1059.16),
        (20, 1082.33, 1080.94),
        (25, 1105.07, 1103.54),
        (30, 1128.63, 1126.98),
        (35, 1153.06, 1151.27),
    ],
)
def test_density_agrees_with_a_handbook_table(percent: int, at_15_c: float, at_20_c: float) -> None:
    cool = sugar.sucrose_density_kg_per_m3(percent / 100.0, 15.0)
    warm = sugar.sucrose_density_kg_per_m3(percent / 100.0, 20.0)
    assert warm == pytest.approx(at_20_c, abs=0.1)
    assert cool == pytest.approx(at_15_c, abs=0.1)
    # The common offset of the table falls out of the difference, which shows the effect of temperature alone.
    assert cool - warm == pytest.approx(at_15_c - at_20_c, abs=0.03)


def test_warm_syrup_is_lighter() -> None:
    densities = [sugar.sucrose_density_kg_per_m3(0.5, float(t)) for t in range(0, 81, 10)]
    assert densities == sorted(densities, reverse=True)


@pytest.mark.parametrize("w", [1e-9, 0.01, 0.25, 0.5, 0.65, 0.85])
def test_specific_volume_reproduces_the_density(w: float) -> None:
    water_ml = 1000.0 * (1.0 - w) / sugar.WATER_DENSITY_20C_KG_PER_M3
    volume_ml = water_ml + w * sugar.sucrose_specific_volume_ml_per_g(w)
    assert 1000.0 / volume_ml == pytest.approx(sugar.sucrose_density_kg_per_m3(w), rel=1e-13)


def test_specific_volume_has_a_finite_limit_in_pure_water() -> None:
    """Apparent molar volume of sucrose at infinite dilution: 211.5 cm3/mol near 25 C (from memory)."""
    limit = sugar.sucrose_specific_volume_ml_per_g(0.0)
    assert limit == pytest.approx(211.5 / 342.3, abs=0.004)
    assert sugar.sucrose_specific_volume_ml_per_g(1e-12) == pytest.approx(limit, abs=1e-9)


def test_dry_sugar_keeps_the_figure_of_the_heaviest_syrup() -> None:
    """Crystalline sucrose has 1.587 g/ml (CRC Handbook, from memory)."""
    dry = sugar.sucrose_specific_volume_ml_per_g(1.0)
    assert dry == sugar.sucrose_specific_volume_ml_per_g(0.85)
    assert dry == pytest.approx(1.0 / 1.587, rel=0.02)


@pytest.mark.parametrize("brix", [0.0, 0.5, 10.0, 33.3, 50.0, 66.67, 85.0])
def test_brix_readings_are_inverse(brix: float) -> None:
    density = sugar.sucrose_density_kg_per_m3(brix / 100.0)
    assert sugar.brix_from_density(density) == pytest.approx(brix, abs=1e-9)
    assert sugar.brix_from_sugars_g_per_l(sugar.sugars_g_per_l_from_brix(brix)) == pytest.approx(brix, abs=1e-9)


def test_water_reads_zero_brix() -> None:
    assert sugar.brix_from_density(998.2) == 0.0


def test_outside_the_range_is_refused() -> None:
    for bad in (-0.01, 0.86, math.nan):
        with pytest.raises(OutOfRange, match=r"sucrose_mass_fraction must lie between 0 and 0.85 \(ICUMSA\)"):
            sugar.sucrose_density_kg_per_m3(bad)
    for bad in (-1.0, 81.0, math.nan):
        with pytest.raises(OutOfRange, match=r"t_c must lie between 0 and 80 \(ICUMSA\)"):
            sugar.sucrose_density_kg_per_m3(0.5, bad)
    for bad in (-0.1, 1.1, math.nan):
        with pytest.raises(OutOfRange):
            sugar.sucrose_specific_volume_ml_per_g(bad)
    for bad in (998.0, 1500.0, math.nan):
        with pytest.raises(OutOfRange, match="density_kg_per_m3"):
            sugar.brix_from_density(bad)
    for bad in (-1.0, 1300.0, math.nan):
        with pytest.raises(OutOfRange, match="sugars_g_per_l"):
            sugar.brix_from_sugars_g_per_l(bad)
    for sugars_g, water_g in ((0.0, 0.0), (-1.0, 2.0), (2.0, -1.0)):
        with pytest.raises(OutOfRange):
            sugar.brix(sugars_g, water_g)
