"""The spec sheet: every demo drink, the answer's own figures, what is unknown, cost only where the answer has it."""

import json
import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from typing import Any

import pytest

from service.renderers.bands import Band
from service.renderers.batches import Batch, BatchRow
from service.renderers.sheet import sheet_of
from tests.renderers.answers import DRINKS, GUEST_SECTIONS, answer_to, body_of, demo_answer, emptied, spec_of

H = "{http://www.w3.org/1999/xhtml}"

NUMBER = re.compile(r"\d+(?:\.\d+)?")


def flat(page: str) -> str:
    """The words of a page, one blank between two."""
    body = ET.fromstring(page).find("{http://www.w3.org/1999/xhtml}body")
    assert body is not None
    return " ".join(" ".join(body.itertext()).replace("\u00a0", " ").split())


def numbers(value: object) -> Iterator[str]:
    """Every number that stands in a document, as it is written there."""
    yield from NUMBER.findall(json.dumps(value, ensure_ascii=False))


@pytest.mark.parametrize("drink_id", DRINKS)
def test_every_demo_drink_has_a_well_formed_sheet_with_the_answers_own_figures(drink_id: str) -> None:
    answer, spec = demo_answer(drink_id), spec_of(drink_id)
    page = sheet_of(answer, spec)
    text = flat(page)
    assert answer["drink"]["name"] in text
    assert set(NUMBER.findall(text)) <= {*numbers(answer), *numbers(spec), "100"}
    assert "None" not in text
    for line in answer["lines"]:
        assert line["name"] in text and line["read_as"] in text
    for row in answer["allergens"]["declarations"]:
        assert row["statement"] in text
    for advisory in answer["advisories"]:
        assert advisory["text"] in text and advisory["deferral"] in text
    assert answer["cost"]["serve_cost"] in text
    assert answer["meta"]["note"] in text


@pytest.mark.parametrize("drink_id", DRINKS)
def test_without_costs_there_is_none_on_it(drink_id: str) -> None:
    answer = answer_to(body_of(drink_id, include=GUEST_SECTIONS))
    text = flat(sheet_of(answer, spec_of(drink_id)))
    assert not re.search(r"\b(EUR|Cost|Pour cost|Margin|Suggested|Share)\b", text)


def test_the_band_and_the_batch_are_shown_as_given() -> None:
    answer = demo_answer("wickwarden-sour")
    batch = Batch(8, (BatchRow("Lemon juice, fresh", "180 ml"),))
    text = flat(sheet_of(answer, band=Band(12.6, None, "% vol", "water from ice"), batch=batch))
    assert "between 12.6 and not known % vol, widest by water from ice" in text
    assert "Batch for 8 serves" in text and "Lemon juice, fresh 180 ml" in text
    bare = flat(sheet_of(answer))
    assert "The band was not asked for." in bare and "No batch was asked for." in bare
    answer["alcohol"]["band"] = {"abv_percent": None}
    assert "The band of this strength is not known." in flat(sheet_of(answer))


def test_what_is_unknown_is_said_and_never_a_zero() -> None:
    answer = demo_answer("wickwarden-sour")
    figures = {key: emptied(answer[key]) for key in ("serve", "alcohol", "nutrition", "preparations", "lines")}
    figures["alcohol"]["standard_drinks"] = []
    figures["preparations"] = [row | {"use_by": None} for row in figures["preparations"]]
    text = flat(sheet_of(answer | figures))
    assert "None" not in text
    assert "Strength as handed over not known" in text
    for label in ("Before ice", "Ethanol", "Energy", "Fat", "Salt"):
        assert re.search(rf"{label} not known", text), label
    assert not re.search(r"(?<![\d.])0(?:\.0+)? (?:ml|g|kJ|kcal|%)", text.partition("Cost of one serve")[0])


def test_allergens_that_were_not_asked_for_are_not_passed_over() -> None:
    answer = demo_answer("wickwarden-sour")
    del answer["allergens"]
    assert "Nothing here says that the drink is free of any." in flat(sheet_of(answer))


def test_a_drink_without_a_declared_allergen_promises_nothing() -> None:
    """The toddy of the demo: no allergen in any part, and the house assessed its tools."""
    text = flat(sheet_of(demo_answer("night-watch-toddy")))
    assert "this is no promise that it is free of any" in text


def test_an_allergen_is_told_with_its_way_in_words() -> None:
    text = flat(sheet_of(demo_answer("still-water-punch")))
    assert re.search(r"milk contains from .+ › .+ \(contains\)", text)
    shared = flat(sheet_of(demo_answer("fog-signal")))
    assert "eggs may contain by shaking tins and strainers shared by all shaken drinks (may contain)" in shared


def test_a_batch_of_sections_that_were_not_asked_for_leaves_a_page() -> None:
    answer = answer_to(body_of("fog-signal", include=["balance"]))
    text = flat(sheet_of(answer))
    assert "Fog Signal" in text and "Nutrition" not in text


@pytest.mark.parametrize("at_least", [{"ethanol_g": 3.2}, None])
def test_what_is_known_at_the_least_stands_beside_unknown(at_least: Any) -> None:
    answer = demo_answer("wickwarden-sour")
    answer["alcohol"] |= {"ethanol_g": None, "at_least": at_least}
    text = flat(sheet_of(answer))
    assert ("not known, at least 3.2 g" in text) == (at_least is not None)


def test_a_legal_floor_names_its_jurisdiction() -> None:
    answer = demo_answer("wickwarden-sour")
    answer["price"]["floor"] = {"jurisdiction": "GB-SCT", "amount": "1.57", "currency": "GBP"}
    assert "The minimum price of GB-SCT, 1.57 GBP, sets it." in flat(sheet_of(answer))


def test_the_sheet_says_which_duties_may_apply_to_whom_and_who_decides() -> None:
    body = body_of("bollard-serve", jurisdictions=["US", "IE", "JP"])
    answer = answer_to(body | {"house": body["house"] | {"sold_as": "prepacked"}})
    text = flat(sheet_of(answer))
    assert "Nothing here is decided: whether a duty applies to this business is for the authority to say." in text
    for row in answer["duties"]:
        for key in ("title", "applies_to", "article", "defer"):
            assert row[key] in text, (row["code"], key)
        assert (row["statement"] if row["asks"] is None else row["asks"]) in text
    # 27 CFR 16.21 is law; TTB Notice 237 a proposal; SI 249/2023 adopted for September 2028.
    assert "Government warning May apply now" in text
    assert "Alcohol Facts (proposed) Proposal, not law; not applied" in text
    assert "Warning on liver disease Adopted; may apply from 1 September 2028" in text
    assert "Not known, so nothing is declared in its place: net quantity ml." in text
    assert "27 CFR 16.21, checked against the source." in text
    marked = [one for one in ET.fromstring(sheet_of(answer)).iter(f"{H}li") if "proposal" in (one.get("class") or "")]
    assert len(marked) == sum(row["applies"] == "proposal" for row in answer["duties"]) > 0
