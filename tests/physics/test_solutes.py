import math

import pytest

from service.errors import DataFault, OutOfRange
from service.physics import solutes
from service.physics.tables import SOLUTES

WATER_G_PER_ML = 0.99820123

# Density in g/ml by mass percent at 20 C: handbook table of concentrative properties of aqueous solutions, as
# transcribed; sodium chloride at 26 % from a chemist's handbook of 1974. Standing secondary.
HANDBOOK = {
    "citric": {1: 1.0022, 5: 1.0189, 10: 1.0402, 20: 1.0858, 30: 1.1346},
    "lactic": {1: 1.0002, 5: 1.0086, 10: 1.0199, 20: 1.0439, 40: 1.0915, 60: 1.1392, 70: 1.1586, 80: 1.1848},
    "phosphoric": {1: 1.0038, 5: 1.0254, 10: 1.0531, 20: 1.1135, 30: 1.1804, 40: 1.2536},
    "sodium_chloride": {1: 1.0053, 5: 1.034, 10: 1.0707, 20: 1.1478, 26: 1.1972},
    "acetic": {1: 0.9996, 5: 1.0052, 10: 1.0121, 20: 1.025, 30: 1.0369, 40: 1.0474, 50: 1.0562},
}
ERROR_G_PER_ML = {
    "citric": 1.5e-4,
    "lactic": 4e-3,
    "phosphoric": 5e-4,
    "sodium_chloride": 5e-4,
    "acetic": 4.5e-4,
}

POINTS = [(name, percent, density) for name, row in HANDBOOK.items() for percent, density in row.items()]


@pytest.mark.parametrize(("name", "percent", "handbook"), POINTS)
def test_solution_has_its_handbook_density(name: str, percent: int, handbook: float) -> None:
    water_g = 100.0 - percent
    volume_ml = water_g / WATER_G_PER_ML + solutes.volume_ml(name, float(percent), water_g)
    assert 100.0 / volume_ml == pytest.approx(handbook, abs=ERROR_G_PER_ML[name])


def test_range_of_a_fit_ends_with_its_last_point() -> None:
    for name, row in HANDBOOK.items():
        assert solutes.TERMS[name][2] == pytest.approx(max(row) / 100.0)


def test_beyond_its_range_a_figure_is_held() -> None:
    held = solutes.specific_volume_ml_per_g("sodium_chloride", 0.26)
    assert solutes.specific_volume_ml_per_g("sodium_chloride", 1.0) == held
    assert solutes.volume_ml("sodium_chloride", 2.0, 0.0) == 2.0 * held


def test_every_acid_and_constituent_of_the_contract_is_held() -> None:
    assert {
        "acetic", "citric", "lactic", "malic", "phosphoric", "tartaric", "titratable_as_citric",
    } == solutes.ACIDS  # fmt: skip
    assert {
        "protein",
        "fat",
        "starch",
        "fibre",
        "polyols",
        "glycerol",
        "erythritol",
        "unspecified",
    } <= solutes.OTHERS
    assert solutes.SALT in SOLUTES


def test_estimates_are_marked() -> None:
    assert {"malic", "tartaric", "protein", "fat"} <= solutes.ESTIMATES
    assert "citric" not in solutes.ESTIMATES
    assert solutes.source("malic").endswith("(memory)")


def test_titratable_acidity_takes_the_room_of_citric_acid() -> None:
    assert solutes.TERMS["titratable_as_citric"] == solutes.TERMS["citric"]


def test_unknown_solute_is_refused_by_name() -> None:
    with pytest.raises(DataFault, match=r"'oxalic'; known: acetic, citric"):
        solutes.specific_volume_ml_per_g("oxalic", 0.1)


def test_outside_the_range_is_refused() -> None:
    for bad in (-0.1, 1.1, math.nan):
        with pytest.raises(OutOfRange, match="solute_mass_fraction"):
            solutes.specific_volume_ml_per_g("citric", bad)
    for bad in (-0.1, math.nan):
        with pytest.raises(OutOfRange, match="citric_g"):
            solutes.volume_ml("citric", bad, 10.0)
