"""Parts together: masses are conserved, volumes come from the density model, the unknown stays unknown."""

import itertools

import pytest

from service.errors import OutOfRange
from service.item import Composition, Item
from service.mixture import (
    EMPTY,
    Part,
    changed,
    grams,
    mixture,
    modelled_volume_ml,
    scaled,
    together,
    water_for_volume,
    with_water,
)
from service.substance import substance

ETHANOL = 0.789239
GIN = substance(Item("gin", "Gin", "spirit", abv_percent=40))
PURE = substance(Item("pure", "Pure spirit", "spirit", abv_percent=100))
WATER = substance(Item("water", "Water", "water"))
SYRUP = substance(
    Item("syrup", "Syrup", "syrup", per_100=(Composition("g", {"sugars_g": 50.0, "carbohydrate_g": 50.0}),))
)
ODD = substance(Item("odd", "Odd", "other"))
SUGAR = substance(Item("sugar", "Sugar", "additive", per_100=(Composition("g", {"sugars_g": 100.0}),)))


def test_equal_volumes_of_ethanol_and_water_contract() -> None:
    # 50 ml and 50 ml are 96.46 ml and 51.83 % vol: OIML R 22, secondary
    mix = mixture([Part(PURE, 50.0), Part(WATER, 50.0)])
    assert mix.volume_ml == pytest.approx(96.46, abs=0.01)
    assert mix.abv_percent == pytest.approx(51.83, abs=0.01)


def test_masses_add_where_volumes_do_not() -> None:
    mix = mixture([Part(GIN, 60.0), Part(SYRUP, 20.0), Part(SUGAR, 3.0)])
    assert mix.ethanol_g == pytest.approx(24 * ETHANOL)
    assert mix.content("sugars") == pytest.approx(20 * 0.6148 + 3, abs=1e-3)
    assert mix.mass_g == pytest.approx(grams(mix.contents))
    assert mix.mass_g == pytest.approx(60 * 0.94805 + 20 * 1.22965 + 3, abs=2e-3)


def test_a_part_alone_keeps_its_volume() -> None:
    for made in (GIN, PURE, SYRUP, ODD):
        assert mixture([Part(made, 37.0)]).volume_ml == pytest.approx(37.0)


def test_the_order_of_parts_changes_no_bit() -> None:
    parts = [Part(GIN, 45.1), Part(SYRUP, 17.3), Part(WATER, 0.7), Part(ODD, 3.9)]
    first = mixture(parts)
    assert all(mixture(order) == first for order in itertools.permutations(parts))


def test_what_one_part_does_not_know_the_mixture_does_not_know() -> None:
    mix = mixture([Part(GIN, 50.0), Part(ODD, 0.001)])
    assert mix.abv_percent is None
    assert mix.mass_g is None
    assert mix.missing("abv_percent", "density_g_per_ml") == (("odd", "abv_percent"), ("odd", "density_g_per_ml"))
    assert not mix.knows("sugars_g")


def test_nothing_at_all_has_no_strength() -> None:
    assert EMPTY.abv_percent is None
    assert mixture([]).volume_ml == 0.0


def test_water_is_added_by_mass() -> None:
    base = mixture([Part(GIN, 100.0)])
    mix = with_water(base, 50.0)
    assert mix.mass_g == pytest.approx((base.mass_g or 0) + 50)
    assert mix.ethanol_g == base.ethanol_g
    assert mix == together(base, with_water(EMPTY, 50.0))


def test_a_share_has_the_same_strength() -> None:
    base = mixture([Part(GIN, 100.0), Part(SYRUP, 50.0)])
    half = scaled(base, 0.5)
    assert half.volume_ml == pytest.approx(base.volume_ml / 2)
    assert half.abv_percent == pytest.approx(base.abv_percent)
    assert modelled_volume_ml(half.contents) + half.excess_ml == pytest.approx(half.volume_ml)


def test_water_fills_to_a_volume_or_does_not_fit() -> None:
    base = mixture([Part(GIN, 100.0), Part(SYRUP, 50.0)])
    assert water_for_volume(base, 200.0).volume_ml == pytest.approx(200.0)
    assert water_for_volume(base, 200.0).ethanol_g == base.ethanol_g
    with pytest.raises(OutOfRange):
        water_for_volume(base, 20.0)


def test_a_change_of_grams_changes_the_mass() -> None:
    base = mixture([Part(GIN, 100.0)])
    assert changed(base, sugars=10.0, carbohydrate=10.0).mass_g == pytest.approx((base.mass_g or 0) + 10)


def test_milligrams_are_no_grams() -> None:
    assert grams({"water": 1.0, "caffeine_mg": 400.0, "saturates": 1.0, "fat": 2.0}) == 3.0
