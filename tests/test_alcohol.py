"""The strength of whole drinks: published serves, ranges of alternatives, what heat leaves."""

import tomllib
from pathlib import Path
from typing import Any

import pytest

from service.alcohol import Strength
from service.retention import retentions
from service.rules import codes, jurisdiction
from tests.one_drink import DAY, asked, poured, thing

CASES = tomllib.loads((Path(__file__).parent / "cases" / "standard_drinks_in_drinks.toml").read_text())["case"]
ETHANOL_G_PER_ML = 0.789239  # OIML R 22 at 20 C.


def strong(abv_percent: float, amount: str = "100 ml", codes: tuple[str, ...] = ("EU",), **more: Any) -> Any:
    return asked([poured(amount=amount)], [thing(abv_percent=abv_percent)], codes, **more)["alcohol"]


def only(rows: list[Any]) -> Any:
    assert len(rows) == 1
    return rows[0]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["id"])
def test_published_serve(case: dict[str, Any]) -> None:
    assert case["source"] and case["standing"] in ("arithmetic", "confirmed", "secondary", "memory")
    found = strong(case["abv_percent"], case["amount"], (case["jurisdiction"],))
    assert only(found["standard_drinks"])["text"].startswith(case["begins"])


@pytest.mark.parametrize("code", [code for code in codes() if jurisdiction(code).on(DAY).standard_drink])
def test_the_count_is_ethanol_times_the_regimes_density_over_its_grams(code: str) -> None:
    # Contract, arithmetic 5, worked apart from the service: 100 ml of 50 % hold 50 ml of ethanol.
    row = only(strong(50, codes=(code,))["standard_drinks"])
    drink = jurisdiction(code).on(DAY).standard_drink
    assert drink is not None
    pure_g = 50 * float(drink.density_g_per_ml)
    if drink.grams is not None:
        assert row["count"] == pytest.approx(pure_g / float(drink.grams), abs=6e-5)
        assert row["count_low"] is row["count_high"] is None
    else:
        assert row["count"] is None
        assert row["count_low"] == pytest.approx(pure_g / float(drink.grams_high or 0), abs=6e-5)
        assert row["count_high"] == pytest.approx(pure_g / float(drink.grams_low or 0), abs=6e-5)
    assert row["text"][0].isdigit()


@pytest.mark.parametrize("prefix", ["GB", "GB-SCT"])
def test_a_british_unit_is_ten_millilitres(prefix: str) -> None:
    assert only(strong(50, codes=(prefix,))["standard_drinks"])["count"] == 5.0


@pytest.mark.parametrize("code", ["EU", "CY", "GR", "LT", "RO", "SK"])
def test_the_union_alone_and_members_without_one_have_no_standard_drink(code: str) -> None:
    assert strong(40, codes=(code,))["standard_drinks"] == []


def test_figures_of_a_plain_pour() -> None:
    found = strong(40, "50 ml")
    assert found["abv_percent"] == found["abv_percent_undiluted"] == 40.0
    assert found["ethanol_ml"] == 20.0
    assert found["ethanol_g"] == pytest.approx(20 * ETHANOL_G_PER_ML, abs=0.005)
    assert found["us_proof"] == 80.0
    assert found["complete"] is True


def test_ethanol_is_shared_out_over_the_serves() -> None:
    found = asked([poured(amount="400 ml")], [thing(abv_percent=40)], drink={"serves": 8})["alcohol"]
    assert found["ethanol_ml"] == 20.0


def test_an_unknown_strength_is_named_and_what_is_known_stands_beside_it() -> None:
    odd = {"id": "odd", "name": "Odd", "kind": "liqueur"}
    found = asked([poured(amount="50 ml"), poured("odd", "10 ml")], [thing(abv_percent=40), odd], ["US", "DE"])[
        "alcohol"
    ]
    assert found["complete"] is False
    assert found["missing"] == [{"item": "odd", "field": "abv_percent"}]
    assert found["abv_percent"] is found["ethanol_g"] is found["us_proof"] is None
    assert found["at_least"]["ethanol_g"] == pytest.approx(15.78, abs=0.005)
    for row in found["standard_drinks"]:
        assert row["count"] is row["count_low"] is row["count_high"] is None
        assert row["text"] == "not known"
    assert [row["text"] for row in found["menu_text"]] == [None, None]
    assert not any(row["allowed"] for row in found["claims"])


def test_unknown_water_leaves_the_ethanol_known() -> None:
    found = strong(40, "50 ml", ("US",), drink={"method": {"kind": "swizzled"}})
    assert found["complete"] is False
    assert found["missing"] == [{"item": "ice", "field": "method.water"}]
    assert found["abv_percent"] is None
    assert found["abv_percent_undiluted"] == 40.0
    assert found["ethanol_ml"] == 20.0
    assert only(found["standard_drinks"])["count"] == pytest.approx(20 * 0.789 / 14, abs=6e-5)


def test_nothing_to_drink_has_no_strength() -> None:
    found = asked([poured("lime", "1 wheel", role="garnish")])["alcohol"]
    assert found["abv_percent"] is None
    assert found["complete"] is False


# Alternatives: strength is a range and every rule looks at its upper end.


def either(low: float, high: float, amount: str = "100 ml", codes: tuple[str, ...] = ("EU",), **more: Any) -> Any:
    things = [thing("low", abv_percent=low), thing("high", abv_percent=high)]
    return asked([poured("low", amount, alternatives=["high"])], things, codes, **more)["alcohol"]


def test_alternatives_make_a_range_and_leave_the_poured_item_in_front() -> None:
    found = either(10, 20, codes=("EU", "US", "DE"))
    assert found["abv_percent"] == 10.0
    assert found["range"]["abv_percent"] == [10.0, 20.0]
    assert found["range"]["ethanol_ml"] == [10.0, 20.0]
    assert found["menu_text"][0]["text"] == "about 10 to 20 % vol"
    us, de = found["standard_drinks"]
    assert us["range"] == [pytest.approx(7.89 / 14, abs=6e-5), pytest.approx(15.78 / 14, abs=6e-5)]
    assert de["range"] == [pytest.approx(7.89 / 12, abs=6e-5), pytest.approx(15.78 / 10, abs=6e-5)]


def test_standard_drinks_are_told_from_the_least_to_the_most_that_may_be_poured() -> None:
    """100 ml of 10 or of 20 % vol: 10 and 20 ml of ethanol are 1 and 2 units, 0.56 and 1.13 drinks of 14 g, and 8 and
    16 g by the density of 0.8 (arithmetic). A guest who is poured the stronger read the weaker one's count."""
    units, us, japan = either(10, 20, codes=("GB", "US", "JP"))["standard_drinks"]
    assert (units["text"], units["count"]) == ("1.0 to 2.0 units", 1.0)
    assert us["text"] == "0.6 to 1.1 standard drinks"
    assert japan["text"] == "0.8 to 1.6 drinks (8 to 16 g of pure alcohol)"
    assert either(10, 10, codes=("GB",))["standard_drinks"][0]["text"] == "1.0 unit"
    # 0.03 units are not 0.0, and of what nobody knows the strength of no count is told.
    assert either(0.3, 20, "10 ml", codes=("GB",))["standard_drinks"][0]["text"] == "0.1 to 0.2 units"
    # 10 ml of 0.3 and of 20 % vol: 0.024 g, which is not 0, and 1.6 g.
    [japan] = either(0.3, 20, "10 ml", codes=("JP",))["standard_drinks"]
    assert japan["text"].endswith("(<1 to 2 g of pure alcohol)")
    things = [thing("low", abv_percent=10), thing("odd", kind="liqueur", abv_percent=None)]
    found = asked([poured("low", alternatives=["odd"])], things, ("GB",))["alcohol"]
    assert found["standard_drinks"][0]["text"] == "not known"


def test_a_stronger_item_that_is_poured_stays_the_upper_end() -> None:
    found = either(20, 10)
    assert found["abv_percent"] == 20.0
    assert found["range"]["abv_percent"] == [10.0, 20.0]


def test_alternatives_of_what_fills_the_glass() -> None:
    things = [thing("low"), thing("high", abv_percent=12)]
    lines = [poured("water", "50 ml"), poured("low", "fill", role="top", alternatives=["high"])]
    found = asked(lines, things, drink={"serve": {"glass_ml": 200}})["alcohol"]
    assert found["range"]["ethanol_ml"] == [0.0, pytest.approx(150 * 0.12, abs=0.02)]
    assert found["range"]["abv_percent"] == [0.0, pytest.approx(9.0, abs=0.05)]


def test_alternatives_of_a_rinse_count_by_what_stays() -> None:
    things = [thing("low"), thing("high", abv_percent=50)]
    lines = [poured("water", "99 ml"), poured("low", "5 ml", role="rinse", residue_ml=1, alternatives=["high"])]
    assert asked(lines, things)["alcohol"]["range"]["ethanol_ml"] == [0.0, 0.5]


SUGAR_ML = 20 / 1.61
"""What 20 g of sucrose take up in much water: the mean of the apparent densities of a thin solution, from memory."""


def sugared(lines: list[Any], **more: Any) -> Any:
    """What 150 ml of 1.33 % vol come to with 20 g of sugar, or of a liquid of 0.1 % vol that takes up more room."""
    things = [thing("ale", abv_percent=1.33), thing("thin", abv_percent=0.1, density_g_per_ml=1.0)]
    return asked(lines, things, ("GB",), **more)["alcohol"]


def check_sugared(found: Any, own: float) -> None:
    # 1.995 ml of ethanol in 150 ml and the sugar, or 2.015 ml in 170 ml: less ethanol is the stronger drink.
    assert found["abv_percent"] == pytest.approx(own, abs=0.01)
    assert found["range"]["abv_percent"] == pytest.approx([201.5 / 170, 199.5 / (150 + SUGAR_ML)], abs=0.01)
    assert found["range"]["ethanol_ml"] == pytest.approx([1.995, 2.015], abs=0.006)
    low = next(row for row in found["claims"] if row["word"] == "low alcohol")
    assert not low["allowed"]
    assert low["figure_percent"] == pytest.approx(199.5 / (150 + SUGAR_ML), abs=0.01)


def test_the_ends_are_those_of_strength_and_not_of_ethanol() -> None:
    check_sugared(
        sugared([poured("ale", "150 ml"), poured("white-sugar", "20 g", alternatives=["thin"])]),
        199.5 / (150 + SUGAR_ML),
    )
    check_sugared(sugared([poured("ale", "150 ml"), poured("thin", "20 g", alternatives=["white-sugar"])]), 201.5 / 170)


def test_the_ends_of_a_part_are_those_of_strength() -> None:
    lines = [poured("ale", "150 ml"), poured("thin", "20 g", alternatives=["white-sugar"])]
    part = {"id": "part", "name": "Part", "lines": lines}
    found = sugared([poured("part", "170 ml")], preparations=[part])
    assert found["range"]["abv_percent"] == pytest.approx([201.5 / 170, 199.5 / (150 + SUGAR_ML)], abs=0.01)


def test_where_a_part_is_reduced_to_a_volume_its_ethanol_decides() -> None:
    lines = [poured("ale", "150 ml"), poured("thin", "20 g", alternatives=["white-sugar"])]
    part = {"id": "part", "name": "Part", "lines": lines, "yield": {"amount": "100 ml", "reduced": True}}
    found = sugared([poured("part", "100 ml")], preparations=[part])
    assert found["range"]["abv_percent"] == pytest.approx([1.995, 2.015], abs=0.006)


def test_alternatives_beside_a_fill_leave_it_another_room() -> None:
    # 200 ml to the brim: 20 ml of water leave 180 ml of 12 %, 50 ml of it 150 ml.
    lines = [poured("little", "1 each", alternatives=["much"]), poured("wine", "fill", role="top")]
    things = [
        thing(name, pieces={"each_g": grams}, density_g_per_ml=1.0) for name, grams in (("little", 20), ("much", 50))
    ]
    found = asked(lines, [*things, thing("wine", abv_percent=12)], drink={"serve": {"glass_ml": 200}})["alcohol"]
    assert found["range"]["ethanol_ml"] == pytest.approx([18.0, 21.6], abs=0.05)
    assert found["range"]["abv_percent"] == pytest.approx([9.0, 10.8], abs=0.03)


def test_an_alternative_that_leaves_a_fill_no_room_has_none_of_it() -> None:
    lines = [poured("little", "1 each", alternatives=["much"]), poured("wine", "fill", role="top")]
    things = [
        thing(name, pieces={"each_g": grams}, density_g_per_ml=1.0) for name, grams in (("little", 20), ("much", 250))
    ]
    found = asked(lines, [*things, thing("wine", abv_percent=12)], drink={"serve": {"glass_ml": 200}})["alcohol"]
    assert found["range"]["ethanol_ml"] == pytest.approx([0.0, 21.6], abs=0.05)


def test_neither_end_is_shown_where_what_is_poured_is_not_known() -> None:
    # 70 % vol lies beyond the energy balance, 20 % vol within: a bound beside an unknown strength would be none.
    things = [thing("high", abv_percent=70), thing("low", abv_percent=20)]
    method = {"kind": "shaken", "water": {"ice_g": 100, "ice_c": -1}}
    for own, other in (("high", "low"), ("low", "high")):
        found = asked([poured(own, "50 ml", alternatives=[other])], things, drink={"method": method})["alcohol"]
        assert found["range"]["abv_percent"] == [None, None]
        assert found["range"]["ethanol_ml"] == pytest.approx([10.0, 35.0])
        assert found["menu_text"][0]["text"] is None


def test_claims_are_judged_on_the_strongest_alternative() -> None:
    words = {row["word"]: row for row in either(0, 1.3, codes=("GB",))["claims"]}
    low = words["low alcohol"]
    assert low["allowed"] is False
    assert low["figure_percent"] == 1.3
    assert low["text"].startswith("refused: 1.3 % vol; it has to be at most 1.2 % vol")
    assert {row["word"]: row["allowed"] for row in either(0, 1.2, codes=("GB",))["claims"]}["low alcohol"] is True


def test_an_alternative_of_unknown_strength_leaves_nothing_allowed() -> None:
    things = [thing("none"), {"id": "odd", "name": "Odd", "kind": "liqueur"}]
    found = asked([poured("none", alternatives=["odd"])], things, ["EU", "GB", "US", "AU", "CA", "JP"])["alcohol"]
    assert found["claims"] and not any(row["allowed"] for row in found["claims"])
    assert found["range"]["abv_percent"] == [None, None]
    assert all(row["text"] is None for row in found["menu_text"])


# Heated drinks: USDA retention factors, release 6, from memory; 85 % stirred into hot liquid, 75 % flamed, 40 %
# simmered.


def test_a_heated_drink_shows_what_may_be_left() -> None:
    found = strong(40, "50 ml", drink={"method": {"kind": "heated", "water": {"ml": 50}}})
    assert [row["retained_percent"] for row in found["heated"]] == [85.0, 75.0, 40.0]
    assert [row["ethanol_g"] for row in found["heated"]] == [
        pytest.approx(found["ethanol_g"] * share, abs=0.011) for share in (0.85, 0.75, 0.4)
    ]
    # The figure in front counts all of it: what claims and drinks are judged on is the upper end.
    assert found["ethanol_ml"] == 20.0


def test_other_drinks_show_no_heat() -> None:
    assert strong(40)["heated"] == []
    assert strong(0, drink={"method": {"kind": "heated", "water": {"ml": 0}}})["heated"] == []


def test_retention_factors_have_their_source() -> None:
    for row in retentions():
        assert row.source and row.standing == "memory"
        assert 0 < row.retained_percent <= 100


def test_strength_reads_millilitres_by_the_density_of_ethanol() -> None:
    made = Strength(ETHANOL_G_PER_ML, ETHANOL_G_PER_ML, 40.0, 40.0, ())
    assert made.ethanol_ml == pytest.approx(1.0)
    assert made.us_proof == 80.0
