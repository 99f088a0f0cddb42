"""The label panel: one jurisdiction's rows and words, and a packed drink that names what it lacks."""

import re
import xml.etree.ElementTree as ET
from typing import Any

import pytest

from service.renderers.label import Pack, label_of
from service.renderers.panel import WIDTH, width_of, wrapped
from tests.renderers.answers import DRINKS, GUEST_SECTIONS, answer_to, body_of, demo_answer, emptied, packed_answer

SVG = "{http://www.w3.org/2000/svg}"
WHOLE = Pack("100", "L26-11", "2026-11-25", "Keep chilled", "The Slack Tide, Skerrowmouth")


def words(panel: str) -> str:
    """All words of a panel, without its title and description."""
    lines = ["".join(one.itertext()) for one in ET.fromstring(panel.encode()).iter(f"{SVG}text")]
    return " ".join(" ".join(lines).split())


def _ready() -> dict[str, Any]:
    """A packed drink of which everything is known."""
    answer = packed_answer()
    for row in answer["allergens"]["declarations"]:
        row |= {"unknown": [], "partly_unknown": [], "statement": "Contains sulphites."}
    return answer


@pytest.mark.parametrize("code", ["NL", "GB", "US"])
@pytest.mark.parametrize("drink_id", DRINKS)
def test_every_demo_drink_has_a_well_formed_panel_in_its_own_words(drink_id: str, code: str) -> None:
    answer = demo_answer(drink_id)
    panel = label_of(answer, jurisdiction=code)
    root = ET.fromstring(panel.encode())
    assert root.find(f"{SVG}title") is not None and root.find(f"{SVG}desc") is not None
    text = words(panel)
    declaration = next(row for row in answer["allergens"]["declarations"] if row["jurisdiction"] == code)
    assert " ".join(declaration["statement"].split()) in text
    for row in answer["nutrition"]["declared"]:
        if row["jurisdiction"] == code:
            name = row["label"] if row["unrounded"] is not None else f"{row['label']} ({row['unit']})"
            assert f"{name} {row['text']}" in text
    assert "NOT READY" not in text
    assert "None" not in text


@pytest.mark.parametrize("drink_id", DRINKS)
def test_no_panel_holds_a_cost(drink_id: str) -> None:
    assert label_of(demo_answer(drink_id)) == label_of(answer_to(body_of(drink_id, include=GUEST_SECTIONS)))


def test_a_packed_drink_with_everything_is_ready() -> None:
    panel = label_of(_ready(), pack=WHOLE)
    text = words(panel)
    assert "NOT READY" not in text and "stroke-dasharray" not in panel
    for said in ("Net quantity 100 ml", "Lot L26-11", "Made on 2026-11-25", "Storage Keep chilled", "24.2 % vol"):
        assert said in text
    # Bottled on 25 November, good for 14 days by its lemon: 9 December by the calendar.
    assert "Use by 2026-12-09" in text
    assert "Check local codes" in text


@pytest.mark.parametrize(
    ("pack", "named"),
    [
        (WHOLE._replace(net_ml=None), "Net quantity"),
        (WHOLE._replace(lot=None), "Lot"),
        (WHOLE._replace(made_on=None), "Made on"),
        (WHOLE._replace(storage=None), "Storage"),
        (WHOLE._replace(responsible=None), "Responsible"),
    ],
)
def test_what_a_packed_drink_lacks_is_named_and_it_is_not_ready(pack: Pack, named: str) -> None:
    text = words(label_of(_ready(), pack=pack))
    assert "NOT READY" in text and f"Missing: {named}." in text
    assert f"{named} not known" in text


def test_without_a_pack_all_of_it_is_missing() -> None:
    text = words(label_of(_ready()))
    assert "Missing: Net quantity, Lot, Made on, Storage, Responsible." in text


def test_an_unknown_life_strength_allergen_or_figure_keeps_it_from_being_ready() -> None:
    answer = _ready() | {"use_by": None}
    assert "Missing: use-by date." in words(label_of(answer, pack=WHOLE))
    answer = _ready()
    answer["alcohol"] |= {"complete": False, "label": [row | {"text": None} for row in answer["alcohol"]["label"]]}
    assert "Missing: strength as a package states it." in words(label_of(answer, pack=WHOLE))
    answer = _ready()
    answer["allergens"]["declarations"][0]["unknown"] = ["milk"]
    assert "Missing: every allergen known." in words(label_of(answer, pack=WHOLE))
    answer = _ready()
    answer["nutrition"]["declared"][0] |= {"unrounded": None, "value": None, "text": "not known"}
    assert "Missing: every declared nutrition figure." in words(label_of(answer, pack=WHOLE))


def test_a_pack_of_another_day_takes_no_life_from_this_answer() -> None:
    """Made five days before the day of the answer, it would be given five days too many."""
    text = words(label_of(_ready(), pack=WHOLE._replace(made_on="2026-11-20")))
    assert "Missing: use-by date." in text and "Use by not known" in text


def test_another_jurisdictions_gaps_are_not_this_ones() -> None:
    answer = _ready()
    answer["allergens"]["declarations"][2]["unknown"] = ["milk"]
    assert "NOT READY" not in words(label_of(answer, jurisdiction="NL", pack=WHOLE))
    assert "NOT READY" in words(label_of(answer, jurisdiction="US", pack=WHOLE))


def test_a_jurisdiction_that_was_not_asked_for_is_not_known() -> None:
    text = words(label_of(_ready(), jurisdiction="JP", pack=WHOLE))
    assert "Strength not known" in text and "Nothing here says that the drink is free of any." in text
    assert "NOT READY" in text


def test_the_head_of_the_us_warning_is_heavy_and_the_rest_is_not() -> None:
    """27 CFR 16.22(a)(2), from memory: the two words in capitals and heavy, the remainder not."""
    root = ET.fromstring(label_of(_ready(), jurisdiction="US", pack=WHOLE).encode())
    heavy = [one.text for one in root.iter(f"{SVG}tspan")]
    assert "GOVERNMENT WARNING" in heavy
    assert not any("Surgeon" in str(one) for one in heavy)


def test_an_answer_of_nothing_but_its_serve_is_no_blank_panel() -> None:
    answer = answer_to(body_of("fog-signal", include=["balance"]))
    text = words(label_of(answer))
    assert "Strength not known" in text and "Allergens were not asked for." in text


def test_unknown_figures_are_words() -> None:
    answer = demo_answer("wickwarden-sour")
    answer["alcohol"]["menu_text"] = []
    answer["nutrition"]["declared"] = [row | {"text": "not known"} for row in emptied(answer["nutrition"]["declared"])]
    text = words(label_of(answer))
    assert "Strength not known" in text and not re.search(r"(?<![\d.])0 (g|kJ|kcal)", text)


@pytest.mark.parametrize("text", ["a" * 500, "word " * 100, "漢字" * 80, "W" * 200, "x", "‑" * 90])
def test_no_line_is_wider_than_its_room_and_nothing_is_lost(text: str) -> None:
    lines = wrapped(text, 100.0, 11.0)
    assert all(width_of(line, 11.0) <= 100.0 or len(line) == 1 for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")


def test_a_long_name_makes_a_higher_panel_and_no_wider_one() -> None:
    answer = demo_answer("fog-signal")
    plain = ET.fromstring(label_of(answer).encode())
    answer["drink"]["name"] = "Interminable " * 15
    long = ET.fromstring(label_of(answer).encode())
    assert float(str(long.get("height"))) > float(str(plain.get("height")))
    assert float(str(long.get("width"))) == WIDTH
