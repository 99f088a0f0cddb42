"""The table of an answer: figures as they stand, what is unknown in words, nothing twice and nothing too wide."""

import json
import re
from collections.abc import Iterator
from typing import Any

import pytest

from service.api.app import demo_catalogue
from service.api.evaluations import evaluated
from service.demo import demo
from service.reference import reference
from service.renderers.table import table_of
from service.renderers.textrows import WIDTH
from tests.asked import DAY
from tests.examples import FOLDER
from tests.renderers.answers import answer_to, body_of

WHOLE: dict[str, Any] = json.loads((FOLDER / "evaluate_drink" / "whole-answer.json").read_text(encoding="utf-8"))
ANSWER: dict[str, Any] = WHOLE["response"]["body"]


def _table(**changes: Any) -> str:
    return table_of(json.dumps(ANSWER | changes).encode())


def _flat(text: str) -> str:
    return " ".join(text.split())


def _numbers(value: object) -> Iterator[str]:
    if isinstance(value, dict):
        for inner in value.values():
            yield from _numbers(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _numbers(inner)
    elif isinstance(value, (int, float, str)) and not isinstance(value, bool):
        yield from re.findall(r"\d+(?:\.\d+)?", str(value))


def test_it_computes_and_rounds_nothing() -> None:
    """Every number of the table is one of the answer's, digit for digit."""
    own = {"1", "100"}  # "one serve", "in 100 ml"
    assert set(re.findall(r"\d+(?:\.\d+)?", _table())) <= set(_numbers(ANSWER)) | own


def test_no_line_is_wider_than_the_terminal_however_long_the_words() -> None:
    long = "Hand-cracked " * 15
    warning = {"code": "x", "detail": long * 2, "item": "a" * 64}
    text = _table(drink=ANSWER["drink"] | {"name": long}, warnings=[warning])
    text += "\n" + _table(lines=[ANSWER["lines"][0] | {"name": long, "read_as": long}])
    assert max(map(len, text.splitlines())) <= WIDTH
    assert _flat(long * 2) in _flat(text)


def test_no_note_stands_twice() -> None:
    advisory = ANSWER["advisories"][0]
    other = advisory | {"code": "other", "text": "Hot glass."}
    warning = {"code": "w", "detail": "Look at this.", "item": None}
    text = _flat(_table(advisories=[advisory, advisory, other], warnings=[warning, warning]))
    for once in (advisory["text"], advisory["deferral"], "Hot glass.", "Look at this."):
        assert text.count(once) == 1


def test_one_wording_of_several_cautions_names_all_that_call_for_it() -> None:
    row = ANSWER["advisories"][1]
    text = _flat(_table(advisories=[row | {"items": ["lime-juice"]}, row | {"items": ["egg-white"]}]))
    assert f"{row['text']} (Lime juice, fresh; egg-white)" in text


def test_notes_name_things_by_name() -> None:
    assumed = {"code": "a", "detail": "Taken for granted.", "items": ["lime-juice", "smoked-tea-syrup", "smoked-tea"]}
    warned = {"code": "w", "detail": "Look.", "item": "lime-juice"}
    text = _flat(_table(assumptions=[assumed], warnings=[warned]))
    assert "Taken for granted. (Lime juice, fresh; Smoked tea syrup; smoked-tea)" in text
    assert "Look. (Lime juice, fresh)" in text


def test_two_lines_alike_are_both_shown() -> None:
    line = ANSWER["lines"][0]
    assert _table(lines=[line, line]).count(line["name"]) >= 2


@pytest.mark.parametrize(("days", "words"), [(0, "0 days"), (1, "1 day:"), (2, "2 days")])
def test_days_are_counted_in_words(days: int, words: str) -> None:
    text = _table(use_by={"days": days, "path": ["quay-sour", "lime-juice"], "reason": "once opened"})
    assert f"use within {words}" in text
    assert "Lime juice, fresh (once opened)" in text


def test_a_legal_floor_is_shown() -> None:
    assert "legal floor" not in _table()
    floor = {"jurisdiction": "GB-SCT", "amount": "1.57", "currency": "GBP"}
    text = _flat(_table(price=ANSWER["price"] | {"floor": floor}))
    assert "legal floor 1.57 GBP, the minimum price of GB-SCT, sets it" in text


def test_a_range_and_a_heated_drink_are_shown() -> None:
    spread = {"abv_percent": [12.5, 14.25], "ethanol_g": [16.1, 18.2], "ethanol_ml": [20.4, 23.1]}
    heated = {
        "treatment": "flamed",
        "retained_percent": 75.0,
        "ethanol_g": 12.44,
        "abv_percent": None,
        "source": "",
        "standing": "confirmed",
    }
    drinks = [row | {"range": [1.6, 1.9]} for row in ANSWER["alcohol"]["standard_drinks"]]
    changed = ANSWER["alcohol"] | {"range": spread, "heated": [heated], "standard_drinks": drinks}
    text = _flat(_table(alcohol=changed, nutrition=ANSWER["nutrition"] | {"heated_energy_kcal": [90.5, 120.25]}))
    assert "from 12.5 to 14.25 % vol" in text
    assert "from 16.1 to 18.2 g" in text
    assert "(from 1.6 to 1.9)" in text
    assert "flamed: 75.0 % of the alcohol stays, 12.44 g, not known" in text
    assert "from 90.5 to 120.25 kcal" in text


def test_a_range_with_an_unknown_end_is_no_figure_alone() -> None:
    spread = {"abv_percent": [12.5, None], "ethanol_g": [None, None], "ethanol_ml": [None, None]}
    text = _flat(_table(alcohol=ANSWER["alcohol"] | {"range": spread}))
    assert "from 12.5 to not known % vol" in text
    assert "range of ethanol not known" in text


def _emptied(section: dict[str, Any]) -> dict[str, Any]:
    return {key: value if isinstance(value, (list, dict, bool)) else None for key, value in section.items()}


def test_what_is_unknown_says_so_and_is_never_blank_or_none() -> None:
    unknown: dict[str, Any] = {
        "cost": _emptied(ANSWER["cost"]),
        "price": _emptied(ANSWER["price"]) | {"currency": "EUR", "at_menu_price": None},
        "alcohol": _emptied(ANSWER["alcohol"]),
        "nutrition": ANSWER["nutrition"] | {"per_serve": _emptied(ANSWER["nutrition"]["per_serve"])},
        "balance": _emptied(ANSWER["balance"]),
        "serve": _emptied(ANSWER["serve"]),
        "lines": [line | {"volume_ml": None, "mass_g": None, "cost": None} for line in ANSWER["lines"]],
    }
    text = _table(**unknown)
    assert "None" not in text
    for label in ("pour cost", "suggested", "ethanol", "energy", "sugar to acid", "in the glass"):
        assert re.search(rf"  {label} +not known", text), label
    assert len(re.findall(r"not known +not known$", text, re.MULTILINE)) == len(ANSWER["lines"])


def test_an_unknown_diet_is_not_known() -> None:
    diet = ANSWER["allergens"]["diet"] | {"vegan": "unknown"}
    assert re.search(r"vegan +not known", _table(allergens=ANSWER["allergens"] | {"diet": diet}))


def test_no_acid_is_not_the_same_as_an_unknown_ratio() -> None:
    none = ANSWER["balance"] | {"acid_g_per_100_ml": 0.0, "sugar_to_acid": None}
    assert re.search(r"sugar to acid +no acid in it", _table(balance=none))
    unknown = none | {"acid_g_per_100_ml": None}
    assert re.search(r"sugar to acid +not known", _table(balance=unknown))


def test_what_is_missing_stands_in_one_row_for_the_same_fields() -> None:
    rows = [{"item": item, "field": field} for item in ("lime-juice", "rinse") for field in ("offer", "size", "offer")]
    text = _flat(_table(cost=ANSWER["cost"] | {"missing": rows}))
    assert "missing offer, size of Lime juice, fresh; rinse" in text


def test_a_statement_that_jurisdictions_share_stands_once() -> None:
    row = ANSWER["allergens"]["declarations"][0]
    text = _flat(_table(allergens=ANSWER["allergens"] | {"declarations": [row, row | {"jurisdiction": "IE"}]}))
    assert f"{row['jurisdiction']}, IE: {row['statement']}" in text
    assert text.count(row["statement"]) == 1


@pytest.mark.parametrize("drink_id", sorted(demo().drinks))
def test_every_demo_drink_fits_the_terminal_and_repeats_no_note(drink_id: str) -> None:
    content = evaluated(json.dumps(demo().drinks[drink_id]).encode(), DAY, ("EU",), reference(), demo_catalogue())
    lines = table_of(content).splitlines()
    assert max(map(len, lines)) <= WIDTH
    assert all(line == line.rstrip() for line in lines)
    notes = lines[lines.index("Notes") :]
    heads = [line for line in notes if re.match(r"  \S", line)]
    assert len(heads) == len(set(heads))
    assert "None" not in " ".join(lines)


def test_what_modifiers_change_stands_in_the_table_digit_for_digit() -> None:
    example = json.loads((FOLDER / "evaluate_drink" / "double-no-egg.json").read_text(encoding="utf-8"))
    answer = example["response"]["body"]
    text = table_of(json.dumps(answer).encode())
    assert "Changed by double, no-egg" in text
    delta = answer["delta"]
    for section, figure in (("cost", "pour_cost"), ("price", "menu_price"), ("alcohol", "abv_percent")):
        change = delta[section][figure]
        assert re.search(rf"{re.escape(str(change['change']))}\S*( % vol)?, from {change['base']}", text), figure
    assert delta["allergens"][0]["note"] in _flat(text)
    assert set(re.findall(r"\d+(?:\.\d+)?", text)) <= set(_numbers(answer)) | {"1", "100"}
    assert "Changed by" not in _table()
    unknown = delta | {"cost": delta["cost"] | {"pour_cost": {"base": "2.00", "change": None}}}
    assert "not known, from 2.00" in table_of(json.dumps(answer | {"delta": unknown}).encode())


def test_the_table_shows_bands_measurements_and_duties() -> None:
    body = body_of("fog-signal", jurisdictions=["US"], bands=True)
    body["house"] = body.get("house", {}) | {"sold_as": "prepacked"}
    body["drink"] = body["drink"] | {"measured": {"volume_ml": 140}}
    answer = answer_to(body)
    text = " ".join(table_of(json.dumps(answer).encode()).split())
    for band, unit in ((answer["alcohol"]["band"]["abv_percent"], " % vol"), (answer["cost"]["band"]["pour_cost"], "")):
        assert f"band from {band['low']} to {band['high']}{unit}" in text
    assert "Measured, beside the model, which every figure rests on" in text and "140" in text
    assert "US, may apply: Government warning." in text and "(27 CFR 16.21, confirmed)" in text
    assert "US, proposal, not applied: Alcohol Facts (proposed)." in text
    assert all(row["text"] in text for row in answer["alcohol"]["label_check"])
    assert "is for the Food and Drug Administration" in text and "not legal advice" in text
