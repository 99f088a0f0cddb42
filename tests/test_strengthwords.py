"""Words of strength on whole drinks: claims, the text of a menu, the text and the statements of a label."""

from typing import Any

import pytest

from tests.one_drink import asked, poured, thing
from tests.test_alcohol import only, strong

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
