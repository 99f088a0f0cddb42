"""Sugars and acid of whole drinks, worked by hand."""

from typing import Any

import pytest

from tests.one_drink import asked, poured, thing


def balance_of(*lines: Any, things: Any = (), **more: Any) -> Any:
    return asked(list(lines), things, **more)["balance"]


SYRUP = thing("syrup", per_100={"sugars_g": 60, "carbohydrate_g": 60})
JUICE = thing("juice", per_100={"sugars_g": 2, "carbohydrate_g": 2, "acids_g": {"citric": 4, "malic": 2}})


def test_sugars_acid_and_their_ratio() -> None:
    # 30 ml of syrup hold 18 g of sugars; 30 ml of juice 0.6 g and 1.8 g of acids.
    found = asked([poured("syrup", "30 ml"), poured("juice", "30 ml")], [SYRUP, JUICE])
    volume = found["serve"]["liquid_ml"]
    shown = found["balance"]
    assert shown["complete"] is True and shown["missing"] == [] and shown["at_least"] is None
    assert shown["sugars_g_per_100_ml"] == pytest.approx(1860 / volume, abs=0.006)
    assert shown["acid_g_per_100_ml"] == pytest.approx(180 / volume, abs=0.006)
    assert shown["sugar_to_acid"] == pytest.approx(18.6 / 1.8, abs=0.051)
    assert shown["abv_percent"] == 0.0


def test_water_thins_both_and_leaves_the_ratio() -> None:
    lines = (poured("syrup", "30 ml"), poured("juice", "30 ml"))
    neat = balance_of(*lines, things=[SYRUP, JUICE])
    thin = balance_of(*lines, things=[SYRUP, JUICE], drink={"method": {"kind": "shaken", "water": {"ml": 60}}})
    assert thin["sugar_to_acid"] == neat["sugar_to_acid"]
    assert thin["sugars_g_per_100_ml"] < 0.55 * neat["sugars_g_per_100_ml"]


def test_no_acid_has_no_ratio() -> None:
    found = balance_of(poured("syrup", "30 ml"), things=[SYRUP])
    assert found["acid_g_per_100_ml"] == 0.0
    assert found["sugar_to_acid"] is None
    assert found["complete"] is True


@pytest.mark.parametrize("field", ["sugars_g", "acids_g"])
def test_an_unknown_figure_is_named(field: str) -> None:
    odd = thing("odd")
    del odd["per_100"][field]
    found = balance_of(
        poured("syrup", "30 ml"), poured("juice", "30 ml"), poured("odd", "30 ml"), things=[SYRUP, JUICE, odd]
    )
    shown = {"sugars_g": "sugars_g_per_100_ml", "acids_g": "acid_g_per_100_ml"}
    assert found["complete"] is False
    assert found["missing"] == [{"item": "odd", "field": field}]
    assert found[shown.pop(field)] is None
    assert found[next(iter(shown.values()))] is not None
    assert found["sugar_to_acid"] is None
    assert found["at_least"]["sugars_g_per_100_ml"] > 0 and found["at_least"]["acid_g_per_100_ml"] > 0


def test_an_unknown_strength_is_named() -> None:
    odd = thing("odd", kind="liqueur")
    del odd["abv_percent"]
    found = balance_of(poured("odd", "30 ml"), things=[odd])
    assert found["abv_percent"] is None
    assert found["missing"] == [{"item": "odd", "field": "abv_percent"}]
    assert found["complete"] is False


def test_unknown_water_leaves_nothing_known() -> None:
    found = balance_of(poured("syrup", "30 ml"), things=[SYRUP], drink={"method": {"kind": "swizzled"}})
    assert found["sugars_g_per_100_ml"] is found["acid_g_per_100_ml"] is found["abv_percent"] is None
    assert found["missing"] == [{"item": "ice", "field": "method.water"}]
    assert found["complete"] is False


def test_a_garnish_changes_nothing() -> None:
    lines = [poured("juice", "30 ml")]
    garnished = [*lines, poured("syrup", "30 ml", role="garnish")]
    assert balance_of(*lines, things=[SYRUP, JUICE]) == balance_of(*garnished, things=[SYRUP, JUICE])


def test_no_verdict_of_taste() -> None:
    found = balance_of(poured("syrup", "30 ml"), poured("juice", "30 ml"), things=[SYRUP, JUICE])
    assert set(found) == {
        "sugars_g_per_100_ml", "acid_g_per_100_ml", "sugar_to_acid", "abv_percent", "complete", "missing", "at_least",
    }  # fmt: skip
