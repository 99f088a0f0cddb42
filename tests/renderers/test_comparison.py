"""The drawing of drinks side by side: lengths by arithmetic, words for the unknown, no cost where there is none."""

import re
from typing import Any
from xml.etree import ElementTree

from service.renderers.comparison import LONGEST, comparison_html, comparison_svg

SVG = "{http://www.w3.org/2000/svg}"


def _drink(name: str, **more: Any) -> dict[str, Any]:
    row: dict[str, Any] = dict.fromkeys(
        ("abv_percent", "ethanol_g", "liquid_ml", "water_added_ml", "sugars_g", "acid_g", "energy_kcal", "minutes",
         "use_by_days")
    )  # fmt: skip
    return {"id": name.lower(), "name": name, "allergens": [], **row, **more}


def _answer(*drinks: dict[str, Any]) -> dict[str, Any]:
    return {"drinks": list(drinks), "notes": ["A note."], "meta": {"as_of": "2026-11-25", "note": "A caution."}}


def _bars(text: str) -> list[float]:
    root = ElementTree.fromstring(text)  # our own drawing
    return [float(rect.get("width", "0")) for rect in root.iter(f"{SVG}rect") if rect.get("height") == "13.0"]


def _words(text: str) -> list[str]:
    root = ElementTree.fromstring(text)  # as above
    return ["".join(node.itertext()) for node in root.iter(f"{SVG}text")]


def test_bars_of_a_figure_are_as_their_values() -> None:
    """Arithmetic: 10 % beside 20 % is half as long, and the longest is as long as there is room."""
    drawing = comparison_svg(_answer(_drink("Low", abv_percent=10.0), _drink("High", abv_percent=20.0)))
    assert _bars(drawing) == [LONGEST / 2, LONGEST]


def test_the_unknown_has_words_and_no_bar_and_zero_has_a_bar_of_no_length() -> None:
    drawing = comparison_svg(_answer(_drink("One", sugars_g=0.0), _drink("Two", sugars_g=None)))
    assert _bars(drawing) == [0.0]
    assert "0.0\u00a0g" in _words(drawing)
    # Eight figures of two drinks and the ninth of one are not known.
    assert _words(drawing).count("not known") == 8 * 2 + 1


def test_sums_of_two_currencies_stand_on_no_common_scale_and_none_is_made_up() -> None:
    def money(currency: str) -> dict[str, Any]:
        return {"currency": currency, "complete": True, "pour_cost": "2.00", "suggested_price": None}

    same = comparison_svg(_answer(_drink("One", money=money("EUR")), _drink("Two", money=money("EUR"))))
    assert _words(same).count("2.00\u00a0EUR") == 2
    mixed = comparison_svg(_answer(_drink("One", money=money("EUR")), _drink("Two", money=money("GBP"))))
    assert "2.00" not in mixed
    assert not re.search("Cost|Price", comparison_html(_answer(_drink("One"), _drink("Two"))))


def test_what_is_lost_and_what_is_not_judged_stand_in_words() -> None:
    row = {"jurisdiction": "EU", "contains": ["eggs"], "may_contain": [], "unknown": [], "partly_unknown": ["nuts"],
           "gained": [], "lost": ["milk"]}  # fmt: skip
    page = comparison_html(_answer(_drink("One", allergens=[row]), _drink("Two")))
    cells = re.findall(r'<tr><th scope="row">(.*?)</th>(.*?)</tr>', page)
    told = {title: re.findall(r">([^<]+)</td>", rest) for title, rest in cells}
    assert told["Contains (EU)"] == ["eggs", "not known"]
    assert told["contains, and which others is not known (EU)"] == ["nuts", "not known"]
    assert told["Lost (EU)"] == ["milk", "not known"]


def test_a_hostile_name_stays_text() -> None:
    name = "</text><script>alert(1)</script>"
    answer = _answer(_drink(name), _drink("Two"))
    for made in (comparison_svg(answer), comparison_html(answer)):
        assert "<script" not in made
    assert any("</text><script>" in text for text in _words(comparison_svg(answer)))
