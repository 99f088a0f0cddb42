"""The tolerances of the table, held against what their sources say."""

from datetime import date
from pathlib import Path

import pytest

from service.errors import DataFault
from service.item import Item
from service.tolerances import (
    acid_tolerance,
    packed_tolerance,
    pour_tolerance,
    strength_tolerance,
    tolerances,
    water_tolerance,
)

TODAY = date(2026, 11, 25)


def label(kind: str, abv: float, codes: tuple[str, ...] = ("EU",), name: str = "x", **more: object) -> float | None:
    found = strength_tolerance(Item("x", name, kind, abv, **more), abv, codes, TODAY)  # type: ignore[arg-type]  # facts by name
    return None if found is None else found.half_width


@pytest.mark.parametrize(
    ("kind", "abv", "more", "expected"),
    [
        # Regulation (EU) 1169/2011, Annex XII.
        ("beer", 5.5, {}, 0.5),
        ("beer", 5.6, {}, 1.0),
        ("beer", 4.5, {"name": "Dry cider"}, 1.0),
        ("wine", 13.0, {"name": "Mead"}, 1.0),
        ("liqueur", 24.0, {"process": ("macerated",)}, 1.5),
        ("spirit", 40.0, {}, 0.3),
        ("liqueur", 24.0, {}, 0.3),
        # Delegated Regulation (EU) 2019/33, Article 44.
        ("wine", 12.0, {}, 0.5),
        ("wine", 12.0, {"name": "Sparkling wine, brut"}, 0.8),
        ("fortified", 18.0, {}, 0.8),
    ],
)
def test_a_label_of_the_union(kind: str, abv: float, more: dict[str, object], expected: float) -> None:
    assert label(kind, abv, **more) == expected  # type: ignore[arg-type]  # facts by name


@pytest.mark.parametrize(
    ("kind", "abv", "expected"),
    # 27 CFR 5.65(c), 7.65, 4.36(b) and 24.257(a)(3).
    [("spirit", 40.0, 0.3), ("beer", 5.0, 0.3), ("wine", 13.0, 1.5), ("wine", 14.5, 1.0), ("wine", 6.5, 0.75)],
)
def test_a_label_of_the_united_states(kind: str, abv: float, expected: float) -> None:
    assert label(kind, abv, ("US",)) == expected


def test_the_first_jurisdiction_with_a_tolerance_decides_and_a_member_has_that_of_the_union() -> None:
    assert label("wine", 13.0, ("CA", "US", "EU")) == 1.5
    assert label("wine", 13.0, ("NL", "US")) == 0.5
    assert label("wine", 13.0, ("GB-SCT",)) == 0.5
    assert label("wine", 13.0, ("CA",)) == 0.5


def test_no_tolerance_is_made_up_for_a_day_before_the_law() -> None:
    assert strength_tolerance(Item("x", "x", "spirit", 40.0), 40.0, ("EU",), date(2014, 12, 12)) is None
    assert pour_tolerance("stamped_measure", 25.0, date(2016, 4, 19)) is None


def test_a_packed_drink_is_held_against_its_own_jurisdiction_alone() -> None:
    assert packed_tolerance("CA", None, 17.0, TODAY) is None
    mixed = {code: packed_tolerance(code, None, 17.0, TODAY) for code in ("EU", "DE", "GB", "US", "NZ")}
    assert {code: float(found.percent_vol) for code, found in mixed.items() if found} == {
        "EU": 0.3, "DE": 0.3, "GB": 0.3, "US": 0.3, "NZ": 0.5,
    }  # fmt: skip
    beer = packed_tolerance("EU", Item("x", "x", "beer", 5.0), 5.0, TODAY)
    assert beer is not None
    assert float(beer.percent_vol) == 0.5


def test_a_stamped_measure_may_be_off_by_millilitres_or_by_a_share() -> None:
    # Directive 2014/32/EU, MI-008, transfer measures to a line: 2 ml under 100 ml, else 3 %; 2 / 25 = 8 %, arithmetic.
    small, large = pour_tolerance("stamped_measure", 25.0, TODAY), pour_tolerance("stamped_measure", 100.0, TODAY)
    assert small is not None and large is not None
    assert small.half_width == pytest.approx(8.0)
    assert large.half_width == 3.0


def test_the_acids_of_a_juice_are_a_standard_deviation_by_assay() -> None:
    # Penniston 2008: lemon 48.0 (3.82), lime 45.86 (6.86), orange 9.1 (1.98) g/l.
    for juice, mean, deviation in (
        ("lemon-juice", 48.0, 3.82),
        ("lime-juice", 45.86, 6.86),
        ("orange-juice", 9.1, 1.98),
    ):
        found = acid_tolerance(juice, TODAY)
        assert found is not None
        assert found.distribution == "normal"
        assert found.half_width == pytest.approx(100 * deviation / mean, abs=0.005)
    other = acid_tolerance("yuzu-juice", TODAY)
    assert other is not None
    assert other.distribution == "rectangular"


def test_every_model_that_adds_water_has_a_tolerance() -> None:
    for model in (
        "stirred_regression", "shaken_regression", "house_fraction", "stated_fraction", "measured", "all_ice_melts",
        "energy_balance",
    ):  # fmt: skip
        assert water_tolerance(model, TODAY) is not None, model
    assert water_tolerance("unknown", TODAY) is None


def test_every_entry_says_where_it_comes_from() -> None:
    found = tolerances()
    for entry in (*found.pour, *found.water, *found.acid, *found.strength):
        assert entry.source
        assert entry.standing in ("confirmed", "secondary", "memory")
        assert entry.since <= entry.checked


SOURCE = """
[sources.trade]
title = "t"
standing = "memory"
since = 2000-01-01
checked = 2026-01-01
"""


@pytest.mark.parametrize(
    ("entry", "says"),
    [
        ('[[pour]]\nkey = "jigger"\nsource = "trade"\n', "exactly one of percent and ml"),
        ('[[pour]]\nkey = "jigger"\nsource = "trade"\npercent = 1\nml = 1\n', "exactly one of percent and ml"),
        ('[[acid]]\nkey = "j"\nsource = "trade"\npercent = 1\ndistribution = "bell"\n', "must be one of rectangular"),
        ('[[water]]\nkey = "j"\nsource = "trade"\npercent = 1\nwidth = 2\n', "unknown key"),
    ],
)
def test_a_malformed_table_stops_the_start(tmp_path: Path, entry: str, says: str) -> None:
    path = tmp_path / "tolerances.toml"
    path.write_text(SOURCE + entry, encoding="utf-8")
    with pytest.raises(DataFault, match=says):
        tolerances(path)
