import math
from itertools import pairwise

import pytest

from service.errors import OutOfRange
from service.physics import freezing


def test_water_freezes_at_zero() -> None:
    assert freezing.freezing_point_c(0.0) == 0.0
    assert math.copysign(1.0, freezing.freezing_point_c(0.0)) == 1.0


def test_sucrose_and_water_meet_their_eutectic() -> None:
    """-13.95 C at 62.4 % sucrose by mass (phase diagram of sucrose and water, from memory)."""
    molality = freezing.sucrose_mol_per_kg(62.4, 37.6)
    assert freezing.freezing_point_c(0.0, molality) == pytest.approx(-13.95, abs=0.2)


@pytest.mark.parametrize(
    ("percent", "published_c"),
    # CRC Handbook, concentrative properties of aqueous solutions, sucrose, from memory.
    [(5.0, -0.29), (10.0, -0.63), (20.0, -1.46), (30.0, -2.64), (40.0, -4.45)],
)
def test_sucrose_in_water_freezes_as_published(percent: float, published_c: float) -> None:
    ours = freezing.freezing_point_of_mix_c(0.0, 100.0 - percent, percent)
    assert ours == pytest.approx(published_c, abs=0.15)


def test_more_ethanol_and_more_sugar_freeze_lower() -> None:
    by_strength = [freezing.freezing_point_c(i / 100.0) for i in range(61)]
    by_sugar = [freezing.freezing_point_of_strength_c(20.0, float(g)) for g in range(0, 41, 5)]
    for row in (by_strength, by_sugar):
        assert all(a > b for a, b in pairwise(row))


def test_safety_margin_covers_the_largest_error_against_published_values() -> None:
    """Lange's Handbook, table 5.13: ethanol % by mass and freezing point; the model is too cold there."""
    published = {13.78: -6.1, 17.5: -8.7, 18.8: -9.4, 24.2: -14.0, 33.8: -23.6, 46.3: -33.9, 56.1: -41.0}
    assert freezing.SAFETY_MARGIN_C == 1.5
    for percent, lange_c in published.items():
        assert freezing.storage_limit_c(freezing.freezing_point_c(percent / 100.0)) > lange_c


def test_outside_the_range_is_refused() -> None:
    for bad in (-0.01, 0.61, math.nan):
        with pytest.raises(OutOfRange, match=r"ethanol_mass_fraction must lie between 0 and 0\.6"):
            freezing.freezing_point_c(bad)
    for bad in (-0.1, 5.0, math.nan):
        with pytest.raises(OutOfRange, match=r"sucrose_mol_per_kg must lie between 0 and 4\.85"):
            freezing.freezing_point_c(0.2, bad)
    with pytest.raises(OutOfRange, match="sugar needs water"):
        freezing.sucrose_mol_per_kg(1.0, 0.0)
    with pytest.raises(OutOfRange, match="a freezing point needs water"):
        freezing.freezing_point_of_mix_c(0.0, 0.0)
    with pytest.raises(OutOfRange):
        freezing.freezing_point_of_strength_c(70.0)
