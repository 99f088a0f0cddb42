"""The strength of whole drinks: published serves, ranges of alternatives, menu and label words, claims."""

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


# Words. Limits from the sources named in the data; GB descriptors 2018 and 27 CFR 7.65 from memory.


@pytest.mark.parametrize(
    ("code", "word", "limit", "over"),
    [
        ("GB", "alcohol-free", 0.05, 0.0501),
        ("GB", "low alcohol", 1.2, 1.2001),
        ("EU", "alcohol-free", 0, 0.0001),
        ("US", "non-alcoholic", 0.4999, 0.5),
        ("US", "low alcohol", 2.4999, 2.5),
        ("US", "alcohol free", 0, 0.0001),
        ("AU", "low alcohol", 1.15, 1.1501),
        ("NZ", "non-alcoholic", 0.5, 0.5001),
        ("JP", "non-alcoholic", 0.9999, 1),
    ],
)
def test_a_word_of_strength_up_to_its_limit(code: str, word: str, limit: float, over: float) -> None:
    for abv, allowed in ((limit, True), (over, False)):
        row = next(row for row in strong(abv, codes=(code,))["claims"] if row["word"] == word)
        assert row["allowed"] is allowed
        if not allowed:
            # Refused with the figure, as it was judged.
            assert f"refused: {over:g} % vol" in row["text"]


@pytest.mark.parametrize("abv", [1e-9, 0.0001, 0.004, 0.04, 0.049])
def test_zero_is_never_printed_from_rounding(abv: float) -> None:
    found = strong(abv, codes=("EU", "GB", "US", "CA", "AU", "JP"))
    for row in found["menu_text"]:
        assert row["text"].startswith("under 0.5 %")
    for row in found["claims"]:
        assert "refused: 0 %" not in row["text"] and "refused: 0.0 %" not in row["text"]
    for row in found["standard_drinks"]:
        assert not row["text"].startswith(("0 ", "0.0 "))
    packed = strong(abv, codes=("EU", "GB", "US", "CA", "AU", "JP"), house={"sold_as": "prepacked"})
    assert all(row["text"] is None for row in packed["label"])


def test_no_alcohol_is_zero() -> None:
    found = strong(0)
    assert found["menu_text"][0]["text"] == "0 % vol"
    assert all(row["allowed"] for row in found["claims"] if "vol" in row["text"] and row["word"] != "dealcoholised")


EVERYWHERE = ("EU", "GB", "US", "CA", "AU", "NZ", "JP")


def words_of_none(rows: list[Any]) -> list[Any]:
    """Claims of 0.5 % vol or less that any drink may make."""
    return [
        row for row in rows if row["limit_percent"] <= 0.5 and row["word"] not in ("dealcoholised", "de-alcoholised")
    ]


@pytest.mark.parametrize("kind", ["mixer", "syrup", "juice", "dairy", "spice", "acid"])
def test_no_word_of_strength_rests_on_a_strength_that_nobody_stated(kind: str) -> None:
    unstated = thing("house-brew", kind=kind, abv_percent=None, density_g_per_ml=1)
    found = asked([poured("house-brew")], [unstated], EVERYWHERE)["alcohol"]
    assert found["abv_percent"] == 0
    assert words_of_none(found["claims"])
    for row in words_of_none(found["claims"]):
        assert row["allowed"] is False
        assert "refused: the strength of house-brew is taken as 0 % vol, not stated." in row["text"]
    assert any(row["allowed"] for row in found["claims"] if row["word"].startswith("low"))
    stated = asked([poured("house-brew")], [{**unstated, "abv_percent": 0}], EVERYWHERE)["alcohol"]
    assert all(row["allowed"] for row in words_of_none(stated["claims"]))


def test_an_unstated_strength_counts_inside_a_part_and_among_alternatives() -> None:
    unstated = thing("house-brew", kind="mixer", abv_percent=None)
    part = {"id": "part", "name": "Part", "lines": [poured("house-brew", "500 ml"), poured("water", "500 ml")]}
    inside = asked([poured("part", "50 ml")], [unstated], EVERYWHERE, preparations=[part])
    beside = asked([poured("water", alternatives=["house-brew"])], [unstated], EVERYWHERE)
    for found in (inside, beside):
        assert not any(row["allowed"] for row in words_of_none(found["alcohol"]["claims"]))


def test_an_embedded_item_whose_nature_is_0_bars_no_word() -> None:
    found = asked([poured("lime-juice", "20 ml"), poured("ginger-beer-soft")], codes=EVERYWHERE)["alcohol"]
    assert words_of_none(found["claims"]) and all(row["allowed"] for row in words_of_none(found["claims"]))


@pytest.mark.parametrize("item", ["kombucha", "ginger-beer", "kefir", "rose-water", "orange-flower-water"])
def test_what_may_hold_alcohol_is_never_called_free_of_it(item: str) -> None:
    found = asked([poured(item)], codes=EVERYWHERE)["alcohol"]
    assert not any(row["allowed"] for row in found["claims"] if row["word"] in ("alcohol-free", "alcohol free"))
    assert all(row["text"] is None or not row["text"].startswith("0 %") for row in found["menu_text"])
    if item.endswith("water"):
        assert found["abv_percent"] is None
        assert found["missing"] == [{"item": item, "field": "abv_percent"}]


@pytest.mark.parametrize(("code", "word"), [("EU", "alcohol-free"), ("EU", "low alcohol"), ("CA", "low alcohol")])
def test_a_word_without_a_rule_says_so_first(code: str, word: str) -> None:
    for abv in (0, 1, 20):
        row = next(row for row in strong(abv, codes=(code,))["claims"] if row["word"] == word)
        assert row["text"].startswith("No rule is held; by a convention ")
        assert row["standing"] == "memory"
    assert (
        "No rule is held"
        not in only([row for row in strong(0, codes=("GB",))["claims"] if row["word"] == "low alcohol"])["text"]
    )


def test_a_word_kept_for_wine_needs_a_drink_that_is_wine() -> None:
    wine = thing(kind="wine", abv_percent=0.4)
    alone = {row["word"]: row for row in asked([poured()], [wine])["alcohol"]["claims"]}
    mixed = {row["word"]: row for row in asked([poured(), poured("water")], [wine])["alcohol"]["claims"]}
    assert alone["dealcoholised"]["allowed"] is True
    assert mixed["dealcoholised"]["allowed"] is False


# Menu and label.


def test_menu_text_of_a_modelled_drink_is_whole_percent() -> None:
    found = asked(
        [poured("gin-london-dry-40", "60 ml"), poured("vermouth-dry", "10 ml")], drink={"method": {"kind": "stirred"}}
    )["alcohol"]
    text = found["menu_text"][0]["text"]
    assert text == f"about {found['abv_percent']:.0f} % vol"


@pytest.mark.parametrize(("abv", "text"), [(17.2, "about 17 % vol"), (17.3, "about 17.5 % vol"),
(1.3, "about 1.5 % vol"),
                                           (0.5, "about 0.5 % vol"), (0.49, "under 0.5 % vol")])  # fmt: skip
def test_menu_text_is_no_finer_than_half_a_percent(abv: float, text: str) -> None:
    assert strong(abv)["menu_text"][0]["text"] == text


STIRRED: dict[str, Any] = {"method": {"kind": "stirred", "water": {"fraction": 0.5}}}


@pytest.mark.parametrize(
    ("water_percent", "uncertainty", "text"),
    [
        # 60 ml of 40 % vol and half as much water: about 27 % vol. Water of x % of its third part, rectangular, moves
        # the strength by 27 / 3 * x / 100 / sqrt(3) % vol: 0.52 at 10 %, 1.6 at 30 %; by hand, contraction left out.
        (10, 0.52, "about 27 % vol"),
        (30, 1.56, "about 26 % vol"),
    ],
)
def test_menu_text_follows_the_drinks_own_band(water_percent: float, uncertainty: float, text: str) -> None:
    certain = {"pour_percent": {"jigger": 0}, "strength_percent_vol": {"gin": 0}, "water_percent": water_percent}
    gin = thing("gin", kind="spirit", abv_percent=40)
    found = asked(
        [poured("gin", "60 ml")], [gin], drink=STIRRED, bands=True, measures={"tolerances": certain}
    )["alcohol"]["menu_text"][0]  # fmt: skip
    assert found["uncertainty_percent"] == pytest.approx(uncertainty, rel=0.06)
    assert (found["uncertainty_from"], found["text"]) == ("band", text)


def test_menu_text_assumes_an_uncertainty_where_no_band_is_known() -> None:
    [row] = strong(17.3)["menu_text"]
    assert (row["uncertainty_percent"], row["uncertainty_from"]) == (0.5, "assumed")
    # Even where nothing is uncertain a poured drink is not said to a tenth.
    certain = {"pour_percent": {"jigger": 0}, "strength_percent_vol": {"gin": 0}}
    [row] = asked(
        [poured("gin", "60 ml")], [thing("gin", kind="spirit", abv_percent=17.3)],
        bands=True, measures={"tolerances": certain},
    )["alcohol"]["menu_text"]  # fmt: skip
    assert (row["uncertainty_percent"], row["uncertainty_from"], row["text"]) == (0.5, "band", "about 17.5 % vol")


def test_menu_text_of_a_weak_modelled_drink() -> None:
    weak = strong(1.6, drink={"method": {"kind": "stirred", "water": {"fraction": 0.0}}})
    assert weak["menu_text"][0]["text"] == "about 1.5 % vol"


@pytest.mark.parametrize(
    ("code", "abv", "text"),
    [
        # Reg. (EU) 1169/2011 Art. 28(2), Annex XII: over 1.2 % vol, one decimal at most.
        ("EU", 1.2, None), ("EU", 1.21, "1.2 % vol"), ("EU", 17.15, "17.2 % vol"), ("GB", 1.21, "1.2 % vol"),
        # Food and Drug Regulations B.02.003: from 1.1 %.
        ("CA", 1.09, None), ("CA", 1.1, "1.1 % alc./vol."),
        # Standard 2.7.1: over 1.15 % stated; 0.5 to 1.15 % not more than.
        ("AU", 1.16, "1.2 % alcohol by volume"), ("AU", 1.15, "CONTAINS NOT MORE THAN 1.15 % ALCOHOL BY VOLUME"),
        ("AU", 0.51, "CONTAINS NOT MORE THAN 0.51 % ALCOHOL BY VOLUME"), ("NZ", 0.49, None),
        ("US", 0.49, None), ("US", 12.55, "12.6% alc/vol"),
    ],
)  # fmt: skip
def test_label_text_of_a_packed_drink(code: str, abv: float, text: str | None) -> None:
    for sold_as in ("prepacked", "packed_for_direct_sale"):
        found = strong(abv, codes=(code,), house={"sold_as": sold_as})
        assert only(found["label"])["text"] == text
        assert found["menu_text"] == []


def test_a_poured_drink_has_no_label() -> None:
    assert strong(20, codes=("EU", "US"))["label"] == []
    assert strong(20, house={"sold_as": "poured"})["label"] == []


def test_the_warning_of_the_united_states_stands_on_packages_from_half_a_percent() -> None:
    # 27 CFR 16.21.
    def warned(abv: float, sold_as: str) -> bool:
        found = strong(abv, codes=("US",), house={"sold_as": sold_as})
        return any(row["text"].startswith("GOVERNMENT WARNING: (1)") for row in found["statements"])

    assert warned(0.5, "prepacked")
    assert not warned(0.49, "prepacked")
    assert not warned(40, "poured")


def test_labels_of_ireland_wait_for_their_day() -> None:
    # Commencement deferred from 22 May 2026 to September 2028.
    def told(day: str) -> set[str]:
        found = strong(10, codes=("IE",), house={"sold_as": "prepacked"}, as_of=day)
        return {row["code"] for row in found["statements"]}

    assert "warning_liver" not in told("2026-11-25")
    assert "warning_liver" in told("2028-10-01")


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


@pytest.mark.parametrize("more", [{"role": "garnish", "eaten": True}, {"role": "rinse"}])
def test_alcohol_that_is_eaten_or_rinsed_refuses_the_words_of_none(more: dict[str, Any]) -> None:
    lines = [poured("soft"), {"item": "gin-47", "amount": "5 ml", **more}]
    found = asked(lines, [thing("soft")], ["GB"])["alcohol"]["claims"]
    soft = words_of_none(found)
    assert soft
    assert not any(row["allowed"] for row in soft)
    assert all("gin-47" in row["text"] for row in soft)


@pytest.mark.parametrize(("sold_as", "labelled"), [("poured", False), ("distance", False), ("prepacked", True)])
def test_a_label_is_for_what_is_packed(sold_as: str, labelled: bool) -> None:
    # Contract, arithmetic 9: label text only where sold_as is packed.
    found = asked([{"item": "gin-47", "amount": "50 ml"}], house={"sold_as": sold_as})["alcohol"]
    assert bool(found["label"]) is labelled
    assert bool(found["menu_text"]) is not labelled
