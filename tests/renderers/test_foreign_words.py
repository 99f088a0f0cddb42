"""Words in another language than their page say which, so that they are read out in it (WCAG 2.2, 3.1.2 Language of
Parts)."""

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from typing import Any

import pytest

from service.language import language
from service.renderers.menu import menu_of
from service.renderers.phrases import Phrases
from service.renderers.sheet import sheet_of
from tests.renderers.answers import DRINKS, body_of
from tests.report.test_wording import answered

DUTY = ("title", "asks", "applies_to", "article", "note", "defer")


def spoken(page: str, lang: str) -> Iterator[tuple[str, str]]:
    """Every text of a page with the language that it is in."""

    def texts(node: ET.Element, inherited: str) -> Iterator[tuple[str, str]]:
        own = node.get("lang", inherited)
        if not node.tag.endswith("style"):
            yield own, node.text or ""
            for inner in node:
                yield from texts(inner, own)
                yield own, inner.tail or ""

    root = ET.fromstring(page.removeprefix("<!DOCTYPE html>"))
    return ((code, " ".join(text.split())) for code, text in texts(root, lang))


def english_of(answer: dict[str, Any], *, staff: bool) -> set[str]:
    """What the answer says in English alone, of four words or more: names and codes are read as they are anywhere."""
    found = {row[key] for row in answer["duties"] for key in DUTY if row[key]}
    if staff:
        found |= {row["detail"] for row in answer["assumptions"]}
        found |= {row["use_by"]["reason"] for row in answer["preparations"] if row["use_by"] is not None}
        claims = [*answer["alcohol"]["claims"], *answer["allergens"]["claims"]]
        found |= {
            row["condition"] for row in claims if row.get("condition_lang") == "en" and row.get("figure_percent") == 0
        }
    return {text for text in found if len(re.findall(r"[A-Za-z]+", text)) >= 4}


@pytest.mark.parametrize("sold_as", ["poured", "prepacked"])
@pytest.mark.parametrize("lang", ["ja", "fr"])
def test_what_is_english_on_a_page_of_another_language_says_so(lang: str, sold_as: str) -> None:
    for drink_id in DRINKS:
        body = body_of(drink_id, jurisdictions=["FR", "GB", "IE", "US", "CA", "AU", "JP"])
        body["house"] = {**body.get("house", {}), "sold_as": sold_as, "chain_menu": True}
        answer, words = answered(body, lang), Phrases(language(lang))
        sheet = list(spoken(sheet_of(answer, body["drink"], phrases=words, language=lang), lang))
        menu = list(spoken(menu_of([answer], phrases=words, language=lang), lang))
        for texts, staff in ((sheet, True), (menu, False)):
            english = [text for code, text in texts if code == "en"]
            own = [text for code, text in texts if code == lang]
            for sentence in english_of(answer, staff=staff):
                flat = " ".join(sentence.split())
                assert not [text for text in own if flat in text], sentence
                if staff:
                    assert [text for text in english if flat in text], sentence


def test_each_duty_says_which_language_it_is_in() -> None:
    found = answered(body_of("fog-signal"), "de")["duties"]
    assert found and {row["lang"] for row in found} == {"en"}
    assert not any("lang" in row for row in answered(body_of("fog-signal"), None)["duties"])
