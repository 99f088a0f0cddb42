"""Words of strength of a whole drink: judged on the upper end, never on a strength that was only taken as nothing."""

from typing import Any

import pytest

from tests.one_drink import asked, poured, thing


def claim(found: Any, word: str, code: str = "GB") -> Any:
    rows = [row for row in found["alcohol"]["claims"] if (row["jurisdiction"], row["word"]) == (code, word)]
    assert len(rows) == 1
    return rows[0]


def drink(*things: Any, **more: Any) -> Any:
    lines = [poured(one["id"], "100 ml", **more) for one in things]
    return asked(lines, things, ("GB", "EU"))


def test_a_stated_strength_of_nothing_may_be_called_so() -> None:
    # Descriptors guidance of 2018, from memory: alcohol-free to 0.05 % vol.
    row = claim(drink(thing("soda", kind="mixer")), "alcohol-free")
    assert (row["allowed"], row["figure_percent"], row["limit_percent"], row["comparator"]) == (True, 0.0, 0.05, "<=")
    assert row["source"] and row["standing"]


KINDS = ["mixer", "syrup", "juice", "dairy", "spice", "acid", "fruit", "additive", "egg", "nut"]


@pytest.mark.parametrize("kind", KINDS)
def test_a_strength_that_was_only_taken_as_nothing_is_no_claim(kind: str) -> None:
    facts = {"density_g_per_ml": 1.0} if kind not in ("mixer", "syrup", "juice", "dairy") else {}
    row = claim(drink(thing("brew", kind=kind, abv_percent=None, **facts)), "alcohol-free")
    assert not row["allowed"]
    assert "the strength of brew is taken as 0 % vol, not stated" in row["text"]


def test_water_needs_no_strength_to_be_without() -> None:
    assert claim(drink(thing("still", kind="water", abv_percent=None)), "alcohol-free")["allowed"]


def test_a_strength_within_reach_of_a_limit_is_refused_with_its_figure() -> None:
    # 100 ml of 1 % vol and 100 ml of nothing: 0.5 % vol.
    found = drink(thing("weak", abv_percent=1), thing("soda"))
    assert not claim(found, "alcohol-free")["allowed"]
    assert claim(found, "low alcohol")["allowed"]
    assert claim(found, "alcohol-free")["figure_percent"] == pytest.approx(0.5, abs=0.005)


def test_the_upper_end_of_the_alternatives_is_judged() -> None:
    plain = [poured("soda", "100 ml", alternatives=["beer"])]
    found = asked(plain, [thing("soda"), thing("beer", abv_percent=5)], ("GB",))
    row = claim(found, "alcohol-free")
    assert (row["allowed"], row["figure_percent"]) == (False, 5.0)


def test_alcohol_that_is_rinsed_or_eaten_is_no_claim() -> None:
    things = [thing("soda"), thing("spirit", abv_percent=40), thing("cherry", abv_percent=15, kind="fruit", per_100={})]
    rinsed = asked([poured("soda"), poured("spirit", "5 ml", role="rinse")], things, ("GB",))
    eaten = asked(
        [poured("soda"), poured("cherry", "5 g", role="garnish", eaten=True)],
        [*things[:2], thing("cherry", abv_percent=15, density_g_per_ml=1.0)],
        ("GB",),
    )
    for found, what in ((rinsed, "spirit"), (eaten, "cherry")):
        row = claim(found, "alcohol-free")
        assert not row["allowed"]
        assert f"{what} brings alcohol that the strength of the liquid does not count" in row["text"]


@pytest.mark.parametrize("line", [{"role": "rinse", "residue_ml": 1}, {"role": "garnish", "eaten": True}])
@pytest.mark.parametrize("kind", ["mixer", "fruit"])
def test_what_is_rinsed_or_eaten_of_unstated_strength_is_no_claim(kind: str, line: dict[str, Any]) -> None:
    # Cherries in brandy are fruit; a kombucha is a mixer.
    things = [thing("soda"), thing("kept", kind=kind, abv_percent=None, density_g_per_ml=1.0)]
    row = claim(asked([poured("soda"), poured("kept", "5 ml", **line)], things, ("GB",)), "alcohol-free")
    assert not row["allowed"]
    assert "the strength of kept is taken as 0 % vol, not stated" in row["text"]


def test_a_garnish_that_is_left_may_still_give_its_alcohol() -> None:
    things = [thing("soda"), thing("cherry", abv_percent=15, density_g_per_ml=1.0)]
    found = asked([poured("soda"), poured("cherry", "5 g", role="garnish")], things, ("GB", "EU"))
    assert not claim(found, "alcohol-free")["allowed"]


@pytest.mark.parametrize("strained", [{"item": "spirit"}, {"item": "cold", "alternatives": ["spirit"]}])
def test_alcohol_that_is_strained_out_is_no_claim(strained: dict[str, Any]) -> None:
    things = [thing("cold"), thing("spirit", abv_percent=40)]
    rows = [poured("cold", "100 ml"), {"amount": "20 ml", "strained_out": True, **strained}]
    part = {"id": "part", "name": "Part", "lines": rows}
    outer = {"id": "outer", "name": "Outer", "lines": [poured("part", "50 ml")]}
    for name, preparations in (("part", [part]), ("outer", [part, outer])):
        found = asked([poured(name, "50 ml")], things, ("EU",), preparations=preparations)
        bounded = [row for row in found["alcohol"]["claims"] if row["limit_percent"] <= 0.5]
        assert bounded and not any(row["allowed"] for row in bounded)
        assert "spirit brings alcohol" in bounded[0]["text"]


def test_a_joint_product_of_unstated_strength_is_no_claim() -> None:
    # The entry of a juice says nothing of strength, and what it was pressed from held wine.
    things = [thing("wine", abv_percent=12), thing("press", kind="juice", abv_percent=None)]
    part = {"id": "part", "name": "Part", "lines": [poured("wine", "100 ml")], "outputs": [
        {"id": "press", "amount": "50 ml", "cost_share_percent": "60"},
        {"id": "marc", "amount": "20 ml", "cost_share_percent": "40"},
    ]}  # fmt: skip
    row = claim(asked([poured("press")], things, ("GB",), preparations=[part]), "alcohol-free")
    assert not row["allowed"]


def test_a_word_kept_for_wine_needs_the_drink_to_be_one() -> None:
    wine = thing("light-wine", kind="wine", abv_percent=0.3)
    assert claim(drink(wine), "dealcoholised", "EU")["allowed"]
    assert not claim(drink(wine, thing("soda")), "dealcoholised", "EU")["allowed"]


def test_an_unknown_strength_allows_nothing() -> None:
    found = drink({"id": "odd", "name": "Odd", "kind": "liqueur"})
    for row in found["alcohol"]["claims"]:
        assert (row["allowed"], row["figure_percent"]) == (False, None)
        assert "not known" in row["text"]


def test_the_upper_end_of_the_band_is_judged_where_it_was_asked_for() -> None:
    """Contract, arithmetic 9. 1.22 ml of 40 % in 99.97 ml: 0.488 % vol. By JCGM 100 with both pours within 5 %
    (rectangular, a standard deviation of 5 %/sqrt(3)), twice the root of their squares: 8.2 % of it, 0.528 at the top;
    27 CFR 7.65 and Standard 2.7.1 (from memory) stop at 0.5."""
    things = [thing("spirit", kind="spirit", abv_percent=40), thing("soda")]
    lines = [poured("spirit", "1.22 ml"), poured("soda", "98.75 ml")]
    for word, code in (("non-alcoholic", "US"), ("non-intoxicating", "AU")):
        plain = claim(asked(lines, things, ("US", "AU")), word, code)
        assert (plain["allowed"], plain["figure_percent"]) == (True, pytest.approx(0.488, abs=0.001))
        banded = claim(asked(lines, things, ("US", "AU"), bands=True), word, code)
        assert (banded["allowed"], banded["figure_percent"]) == (False, pytest.approx(0.528, abs=0.002))


def test_under_is_said_of_no_drink_whose_band_goes_over() -> None:
    """The same drink: a band from 0.449 to 0.528 % vol is about 0.5 % vol, and not under it; one of half of it is."""
    things = [thing("spirit", kind="spirit", abv_percent=40), thing("soda")]
    for spirit, text in (("1.22 ml", "about 0.5 % vol"), ("0.61 ml", "under 0.5 % vol")):
        found = asked([poured("spirit", spirit), poured("soda", "98.75 ml")], things, ("EU",), bands=True)
        assert found["alcohol"]["menu_text"][0]["text"] == text


def test_nothing_is_dealcoholised_by_mixing() -> None:
    """Low alcohol descriptors guidance of 2018, from memory: a drink from which the alcohol was taken. Two drops of
    bitters in soda are under 0.5 % vol, and nothing was taken from them."""
    bitters, soda = thing("bitters", kind="bitters", abv_percent=40), thing("soda")
    mixed = asked([poured("bitters", "0.1 ml"), poured("soda", "300 ml")], [bitters, soda], ("GB",))
    row = claim(mixed, "de-alcoholised")
    assert not row["allowed"] and "kept for a product that is not mixed" in row["text"]
    assert claim(drink(thing("beer", kind="beer", abv_percent=0.4)), "de-alcoholised")["allowed"]
