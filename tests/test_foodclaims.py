"""Gluten-free and its like: by a measurement alone, at the limit of the law and over it."""

from typing import Any

import pytest

from tests.one_drink import answer_to, asked, poured, request_of, thing, varied
from tests.report.test_wording import CODES, answered

SPIRIT = thing("spirit", kind="spirit", abv_percent=40)


def claims(code: str, measured: float | None = None) -> dict[str, dict[str, object]]:
    drink = {} if measured is None else {"gluten_mg_per_kg": measured}
    rows = asked([poured("spirit", "50 ml")], [SPIRIT], (code,), drink=drink)["allergens"]["claims"]
    return {row["word"]: row for row in rows}


@pytest.mark.parametrize("code", ["EU", "NL", "GB", "CA"])
def test_that_nothing_is_declared_allows_no_word(code: str) -> None:
    """Regulation (EU) 828/2014 (from memory) and Health Canada (secondary): 20 mg/kg, which a declaration says not."""
    row = claims(code)["gluten-free"]
    assert row["allowed"] is False and row["figure"] is None and row["limit"] == 20
    assert "not measured" in str(row["text"]) and "20 mg/kg" in str(row["text"])


@pytest.mark.parametrize(("measured", "free"), [(0, True), (20, True), (20.01, False), (100, False)])
def test_the_limit_is_20_mg_in_a_kilogram(measured: float, free: bool) -> None:
    """Regulation (EU) 828/2014, Annex, from memory. Its other word, up to 100 mg/kg, is for food processed to hold less
    gluten alone, which no answer knows: it is not held, so that no figure allows it."""
    found = claims("EU", measured)
    assert {word: row["allowed"] for word, row in found.items()} == {"gluten-free": free}


@pytest.mark.parametrize("lang", [None, "fr"])
def test_a_figure_next_to_nothing_is_told_as_one(lang: str | None) -> None:
    """A double may have 300 places; nobody measures gluten to a billionth of a milligram (common sense, no source)."""
    body = request_of([poured("spirit", "50 ml")], [SPIRIT], ("EU",), drink={"gluten_mg_per_kg": 1e-300})
    [row] = answered(body, lang)["allergens"]["claims"] if lang else answer_to(body)["allergens"]["claims"]
    assert row["allowed"] is True and row["figure"] == 1e-300
    assert f"<0{',' if lang else '.'}000" in row["text"].replace("\u202f", "") and len(row["text"]) < 120


@pytest.mark.parametrize("code", ["US", "AU", "JP"])
def test_no_other_countrys_limit_stands_in(code: str) -> None:
    assert claims(code, 0) == {}


@pytest.mark.parametrize("lang", [code for code in CODES if code != "en"])
def test_it_is_refused_in_the_language(lang: str) -> None:
    [row] = answered(request_of([poured("spirit", "50 ml")], [SPIRIT], ("CA",)), lang)["allergens"]["claims"]
    assert (row["lang"], row["fallback"]) == (lang, False) and "20 mg/kg" in row["text"]


def test_a_measurement_says_nothing_of_a_drink_that_a_modifier_changed() -> None:
    """Gluten was measured of the drink as it is written; with wheat beer in place of the spirit it is another one."""
    beer = thing("beer", kind="beer", abv_percent=5, allergens={"wheat": "contains"})
    swap = {"id": "beer", "name": "Beer", "replace": [{"item": "spirit", "with": "beer"}]}
    drink = {"gluten_mg_per_kg": 3, "modifiers": [swap]}
    body = request_of([poured("spirit", "50 ml")], [SPIRIT, beer], drink=drink)
    assert all(
        row["allowed"] for row in asked([poured("spirit", "50 ml")], [SPIRIT], drink=drink)["allergens"]["claims"]
    )
    rows = varied({**body, "with": ["beer"]})["allergens"]["claims"]
    assert [(row["word"], row["allowed"], row["figure"]) for row in rows] == [("gluten-free", False, None)]


def test_a_measurement_says_nothing_of_what_may_be_poured_instead() -> None:
    """The gluten of the spirit was measured; a guest may be poured the beer, on a line of the drink or of its part."""
    beer = thing("beer", kind="beer", abv_percent=5, allergens={"barley": "contains"})
    either = poured("spirit", "50 ml", alternatives=["beer"])
    part = {"id": "part", "name": "Part", "lines": [either]}
    for line in (either, poured("part", "50 ml")):
        found = asked([line], [SPIRIT, beer], drink={"gluten_mg_per_kg": 3}, preparations=[part])["allergens"]
        assert found["declarations"][0]["contains"] == ["gluten", "barley"]
        assert [(row["allowed"], row["figure"]) for row in found["claims"]] == [(False, None)]


@pytest.mark.parametrize("code", ["EU", "CA"])
def test_a_measurement_says_nothing_of_traces_that_may_come_into_the_next_serve(code: str) -> None:
    """Regulation (EU) 828/2014 (from memory) holds of the food as sold, each serve; a tool that meets barley may bring
    more into one than into that which was measured. Common practice, no source: never both on one menu."""
    tools = {"allergens": ["barley"], "equipment": "shaker", "control": "rinsed"}
    said = thing("said", kind="spirit", abv_percent=40, allergens={"wheat": "may_contain"})
    lines, drink = [poured("spirit", "50 ml")], {"gluten_mg_per_kg": 3}
    by_tool = asked(lines, [SPIRIT], (code,), drink=drink, house={"cross_contact": [tools]})
    by_part = asked([poured("said", "50 ml")], [said], (code,), drink=drink)
    for answer in (by_tool, by_part):
        assert answer["allergens"]["declarations"][0]["may_contain"]
        [row] = answer["allergens"]["claims"]
        assert (row["allowed"], row["figure"]) == (False, 3.0) and "may contain it" in row["text"]
    clean = asked(lines, [SPIRIT], (code,), drink=drink, house={"cross_contact": [{**tools, "control": "dedicated"}]})
    assert clean["allergens"]["claims"][0]["allowed"] is True


@pytest.mark.parametrize("code", ["EU", "GB", "CA"])
def test_what_nobody_knows_allows_no_more_than_what_may_be(code: str) -> None:
    """Contract, arithmetic 7: unknown is never shown as absent; of a part that nobody knows it may come in too."""
    for facts in ({"allergens": {"wheat": "unknown"}}, {"allergens_declared": "partial"}):
        vague = thing("vague", kind="spirit", abv_percent=40, **facts)
        found = asked([poured("vague", "50 ml")], [vague], (code,), drink={"gluten_mg_per_kg": 3})["allergens"]
        assert found["declarations"][0]["unknown"]
        assert [row["allowed"] for row in found["claims"]] == [False]


def test_traces_count_beside_a_part_that_contains_gluten() -> None:
    """A beer of barley that was brought under 20 mg/kg may be called so (Regulation (EU) 828/2014, from memory); what
    a syrup or a tool may bring of it stands behind the barley in no declaration, and counts all the same."""
    beer = thing("beer", kind="beer", abv_percent=5, allergens={"barley": "contains"})
    syrup = thing("syrup", kind="syrup", allergens={"barley": "may_contain"})
    tool = {"cross_contact": [{"allergens": ["gluten"], "equipment": "jug", "control": "rinsed"}]}
    lines, drink = [poured("beer", "200 ml"), poured("syrup", "10 ml")], {"gluten_mg_per_kg": 3}

    def allowed(*lines: Any, **more: Any) -> list[bool]:
        found = asked(lines, [beer, syrup], drink=drink, **more)
        return [row["allowed"] for row in found["allergens"]["claims"]]

    assert allowed(lines[0]) == [True]
    assert allowed(*lines) == [False]
    assert allowed(lines[0], house=tool) == [False]
