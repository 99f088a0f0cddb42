"""Water from ice: what is stated wins, then the house, then a model; each with its source, sums by hand."""

import pytest
from msgspec.structs import replace

from service.icewater import Dilution, Method, Water, diluted
from service.mixture import EMPTY, Assumption, Mixture
from service.physics.dilution import energy_balance_water_g
from service.preparation import Warn
from tests.poured import ETHANOL_G_PER_ML, WATER_G_PER_ML, liquid, mixed

BASE = mixed((liquid(abv_percent=30.0), 100.0))
"""30 ml of ethanol in 100 ml."""


def dilution(
    kind: str, water: Water | None = None, base: Mixture = BASE, serves: int = 1, house: dict[str, float] | None = None
) -> tuple[Dilution, set[str], set[str]]:
    """The dilution with the codes of its warnings and of its assumptions."""
    warnings: list[Warn] = []
    assumptions: list[Assumption] = []
    found = diluted(base, Method(kind, water), serves, house or {}, warnings, assumptions)
    return found, {row.code for row in warnings}, {row.code for row in assumptions}


@pytest.mark.parametrize(
    ("kind", "fraction"),
    # -1.21 x 0.09 + 1.246 x 0.3 + 0.145 and -1.567 x 0.09 + 1.742 x 0.3 + 0.203: Liquid Intelligence (2014), p. 123,
    # coefficients from a secondary copy; the sums are arithmetic.
    [("stirred", 0.4099), ("shaken", 0.58457)],
)
def test_a_published_model(kind: str, fraction: float) -> None:
    found, warned, assumed = dilution(kind)
    assert found.fraction == pytest.approx(fraction)
    assert found.water_ml == pytest.approx(100 * fraction)
    assert found.water_g == pytest.approx(100 * fraction * WATER_G_PER_ML)
    assert (found.model, found.in_range, warned, assumed) == (f"{kind}_regression", True, set(), set())
    assert found.source


@pytest.mark.parametrize(("abv", "inside"), [(9.99, False), (10.01, True), (44.99, True), (45.01, False), (100, False)])
def test_outside_the_published_range_a_figure_comes_with_a_warning(abv: float, inside: bool) -> None:
    # The regression was published for 10 to 45 % vol (contract, Method).
    found, warned, _ = dilution("stirred", base=mixed((liquid(abv_percent=abv), 100.0)))
    assert found.fraction is not None
    assert found.in_range is inside
    assert ("dilution_out_of_range" in warned) is not inside


@pytest.mark.parametrize(
    ("water", "serves", "ml", "model"),
    [
        (Water(ml=90.0), 3, 30.0, "measured"),
        # A fraction is of the mixed volume and knows no serves.
        (Water(fraction=0.25), 3, 25.0, "stated_fraction"),
    ],
)
def test_what_is_stated_wins_over_house_and_model(water: Water, serves: int, ml: float, model: str) -> None:
    found, warned, assumed = dilution("shaken", water, serves=serves, house={"shaken": 0.9})
    assert found.water_ml == pytest.approx(ml)
    assert found.fraction == pytest.approx(ml / 100)
    assert (found.model, found.in_range, warned, assumed) == (model, None, set(), set())


def test_the_house_wins_over_the_model_and_is_shown_as_an_assumption() -> None:
    found, _, assumed = dilution("stirred", house={"stirred": 0.3})
    assert (found.model, assumed) == ("house_fraction", {"house_water_fraction"})
    assert found.water_ml == pytest.approx(30.0)


@pytest.mark.parametrize("kind", ["none", "carbonated", "dry_shaken", "prediluted"])
def test_methods_without_ice_take_none(kind: str) -> None:
    assert dilution(kind)[0].water_ml == 0.0


@pytest.mark.parametrize(
    "kind", ["whipped", "thrown", "swizzled", "built", "blended", "spindle", "frozen", "heated", "draught"]
)
def test_methods_without_a_model_leave_it_unknown(kind: str) -> None:
    found, _, _ = dilution(kind)
    assert (found.model, found.fraction, found.water_ml, found.water_g) == ("unknown", None, None, None)
    assert found.base_ml == pytest.approx(100.0)


def test_a_strength_nobody_knows_leaves_the_model_without_its_input() -> None:
    base = mixed((liquid(), 100.0))
    unknown = replace(base, unknown=base.unknown.with_pairs([("thing", "abv_percent")]))
    assert dilution("stirred", base=unknown)[0].water_ml is None


@pytest.mark.parametrize("kind", ["blended", "frozen"])
def test_blending_and_freezing_melt_all_their_ice(kind: str) -> None:
    # 200 g of ice for two serves: 100 g, which are 100.18 ml of water at 20 C.
    found, warned, _ = dilution(kind, Water(ice_g=200.0, ice_c=-18.0), serves=2)
    assert found.water_g == pytest.approx(100.0)
    assert (found.model, warned) == ("all_ice_melts", set())


def test_other_methods_melt_what_the_energy_balance_allows() -> None:
    found, warned, _ = dilution("shaken", Water(ice_g=200.0, ice_c=-5.0), serves=2)
    balance = energy_balance_water_g(30 * ETHANOL_G_PER_ML, BASE.content("water"), 0.0, 100.0, -5.0)
    assert found.water_g == pytest.approx(balance)
    assert 0 < balance < 100
    assert (found.model, warned) == ("energy_balance", {"energy_balance"})


def test_an_energy_balance_by_hand() -> None:
    # Water of 22 C, the model's own start, that ice of 0 C cools to 0 C: 99.82 x 4.18 x 22 / 333.55 melts. Heat of
    # water 4.18 J/(g K) and of melting 333.55 J/g: handbook figures, memory; a percent for water warmer or colder.
    found, _, _ = dilution("shaken", Water(ice_g=500.0, ice_c=0.0), base=mixed((liquid(), 100.0)))
    assert found.water_g == pytest.approx(99.82 * 4.18 * 22 / 333.55, rel=0.01)


@pytest.mark.parametrize("ice_c", [-41.0, -80.0])
def test_ice_colder_than_the_balance_supports_is_no_guess(ice_c: float) -> None:
    found, warned, _ = dilution("shaken", Water(ice_g=100.0, ice_c=ice_c))
    assert found.water_ml is None
    assert warned == {"energy_balance_out_of_range"}


def test_where_nothing_is_poured_nothing_is_diluted_but_blended_ice_stays() -> None:
    assert dilution("shaken", base=EMPTY)[0].water_ml == 0.0
    slush = dilution("frozen", Water(ice_g=50.0, ice_c=-18.0), base=EMPTY)[0]
    assert slush.water_g == pytest.approx(50.0)
    assert slush.fraction is None


def test_next_to_no_water_is_none() -> None:
    assert dilution("stirred", Water(ml=1e-31))[0].water_ml == 0.0
