"""The words of a bar for what is done to a part, and what they leave known of its strength."""

import pytest

from service.stepwords import is_known, kind_of
from tests.asked import Body, answered, preparation, with_part
from tests.one_drink import thing

SUGARED = [{"item": "water", "amount": "1 l"}, {"item": "white-sugar", "amount": "80 g"}]
TEA = {"item": "leaf", "amount": "10 g", "strained_out": True}
LEAF = {"id": "leaf", "name": "Black tea", "kind": "spice"}


@pytest.mark.parametrize(
    ("words", "kind"),
    [
        ("vacuum distilling, vacuum distillation, cold distil, twice distilled, rotovap", "distilling"),
        ("re-distilling, redistillation, re distilled", "redistilling"),
        ("barrel fermentation, kombucha, fermented, lacto-ferment", "fermenting"),
        ("reduce, reduction, evaporation, boiled down, boil down, boiling down, concentrate", "reducing"),
        ("boiling, simmer, cooking, pasteurizing, heated", "heating"),
        ("freeze out, freezing out, freeze concentration, freeze-distilling, freeze distillation", "freezing_out"),
        ("dry, drying out, dehydration", "drying"),
        ("cold brew, brewing tea, coffee brewing", "infusing"),
        ("dry shaking", "dry_shaking"),
        ("milk washing", "milk_washing"),
    ],
)  # fmt: skip
def test_words_and_their_kinds(words: str, kind: str) -> None:
    assert {kind_of(word) for word in words.split(", ")} == {kind}


def strength(lines: list[Body], *kinds: str, **more: Body) -> Body:
    steps = [{"kind": kind, **more} for kind in kinds]
    return answered(with_part(preparation(lines, steps=steps), ingredients=[LEAF]))


@pytest.mark.parametrize("word", ["brew", "brewing", "home brewing", "kombucha"])
def test_what_is_brewed_with_sugar_may_have_fermented(word: str) -> None:
    assert strength([*SUGARED, TEA], word)["alcohol"]["abv_percent"] is None


@pytest.mark.parametrize("word", ["brew", "brewing", "cold brew"])
def test_brewing_tea_or_coffee_is_not_fermenting(word: str) -> None:
    found = strength([{"item": "water", "amount": "1 l"}, TEA], word)
    assert found["alcohol"]["abv_percent"] == 0
    assert "licence_fermenting" not in {row["code"] for row in found["advisories"]}


def test_brewing_what_is_not_coffee_or_tea_is_fermenting() -> None:
    malt = {"item": "malt", "amount": "200 g", "strained_out": True}
    part = preparation([{"item": "water", "amount": "1 l"}, malt], steps=[{"kind": "brewing"}])
    found = answered(with_part(part, ingredients=[{"id": "malt", "name": "Malt", "kind": "spice"}]))
    assert found["alcohol"]["abv_percent"] is None


def test_freezing_takes_water_where_less_is_measured() -> None:
    # 120 ml of ethanol in 600 ml are 20 % vol, arithmetic.
    lines = [{"item": "wine", "amount": "1000 ml"}]
    for measured, abv in (({"measured": {"volume_ml": 600}}, 20.0), ({}, 12.0)):
        part = preparation(lines, steps=[{"kind": "freezing", **measured}])
        found = answered(with_part(part, ingredients=[thing("wine", abv_percent=12)]))
        assert found["alcohol"]["abv_percent"] == pytest.approx(abv, abs=0.01)


def test_a_word_that_nobody_knows_is_named_where_something_was_measured() -> None:
    found = strength(SUGARED, "zapping", measured={"volume_ml": 500})
    assert [row["code"] for row in found["warnings"]] == ["step_unknown"]
    assert not strength(SUGARED, "zapping")["warnings"]
    assert not strength(SUGARED, "clarifying", measured={"volume_ml": 500})["warnings"]
    assert not strength(SUGARED, "reducing", measured={"volume_ml": 500})["warnings"]


def test_known_kinds() -> None:
    assert is_known("fat_washing") and is_known("freezing_out") and is_known("straining")
    assert not is_known("zapping")
