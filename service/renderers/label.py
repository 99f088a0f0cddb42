"""The label panel of one drink in one jurisdiction, as an SVG drawing: black on white, words only.

A packed drink prints its net quantity, lot, days and name as well; whatever of them is missing, or not known, is named
and the panel says that it is not ready.
"""

import re
from collections.abc import Sequence
from typing import NamedTuple

from service.language import language as spoken
from service.renderers.packs import contents_of, lacking_of, pack_rows, readiness
from service.renderers.page import rendered
from service.renderers.panel import MARGIN, MM_PER_UNIT, WIDTH, Page
from service.renderers.phrases import ENGLISH, Foreign, Phrases
from service.renderers.reading import Answer, Row, declaration_of, legal_names_of, row_of, said

OF_WHICH = "of which "
"""Begins the name of a nutrient that is part of the one before it."""

_FIGURE = re.compile(r"(<?)([0-9]+(?:\.[0-9]+)?)( ?[A-Za-z]{1,4}|)\Z", re.ASCII)
"""A declared figure with its unit."""

TEXT, SMALL = 12.0, 10.5
"""Sizes of the words in units of the drawing: 3 and 2.6 mm as printed. An x is over 1.2 mm high, which Regulation (EU)
1169/2011, Article 13(2), asks for, a capital over 2 mm, which 27 CFR 16.22(b) asks for up to 3 litres (from memory)."""


def label_of(
    answer: Answer,
    *,
    jurisdiction: str | None = None,
    phrases: Phrases = ENGLISH,
    language: str = "en",
) -> str:
    """The panel of one jurisdiction, which is the first of the answer unless given.

    A drink is packed where the answer says what its pack states.
    """
    code = jurisdiction or _first_code(answer)
    pack: Row | None = answer.get("pack")
    ready = pack is None or not lacking_of(pack, code, phrases)
    sides = _sides(answer, code, phrases)
    page = Page()
    page.words(answer["drink"]["name"], 22.0, bold=True)
    if pack is not None and not ready:
        page.box([phrases["not_ready"], readiness(pack, code, phrases)])
    for name in legal_names_of(answer, code):
        page.words(name, 15.0)
    for text in dict.fromkeys(side.strength for side in sides):
        page.words(text, 15.0)
    page.rule()
    for side in sides:
        page.words(side.said("allergens"), TEXT, bold=True)
        page.words(side.allergens, TEXT)
    _nutrition(page, answer, code, sides)
    _statements(page, sides)
    if pack is not None:
        _packed(page, pack, code, sides)
    page.rule()
    page.words(phrases["deferral_label"] if pack is not None else phrases["not_legal_advice"], SMALL)
    title = phrases["caption_panel"].format(name=answer["drink"]["name"], jurisdiction=code or phrases["not_known"])
    return rendered(
        "label.svg", phrases, language=language, title=title, width=WIDTH, height=page.y + MARGIN, lines=page.lines,
        rules=page.rules, boxes=page.boxes, margin=MARGIN, ready=ready, mm=MM_PER_UNIT,
        description=" ".join(line.whole for line in page.lines),
    )  # fmt: skip


class _Side(NamedTuple):
    """The texts of a label in one language; ``page`` are the words of the page, which say what is foreign to it."""

    words: Phrases
    page: Phrases
    strength: str
    allergens: str
    statements: tuple[str, ...]

    def said(self, key: str) -> str:
        """A fixed word of this language."""
        return self.of(self.words[key])

    def of(self, text: str) -> str:
        """A text of this language as it stands on the page."""
        return self.page.foreign(text, text.lang if isinstance(text, Foreign) else self.words.code)


def _sides(answer: Answer, code: str | None, page: Phrases) -> list[_Side]:
    """The label in the language of the page, or in each of those that the jurisdiction asks for."""
    rows = [row for row in (answer.get("pack") or {}).get("languages", ()) if row["jurisdiction"] == code]
    if not rows:
        statements = _statements_of(answer, code, page)
        return [_Side(page, page, _strength(answer, code, page), _statement(answer, code, page), statements)]
    sides = []
    for row in rows:
        words = Phrases(spoken(row["lang"]))
        texts: dict[str, list[str]] = {}
        for one in row["texts"]:
            text = words["not_known"] if one["text"] is None else page.foreign(one["text"], one["lang"])
            texts.setdefault(one["what"], []).append(text)
        strength = texts.get("strength", [words["strength_unknown"]])[0]
        allergens = texts.get("allergens", [words["allergens_not_asked"]])[0]
        sides.append(_Side(words, page, strength, allergens, tuple(texts.get("statement", ()))))
    return sides


def _first_code(answer: Answer) -> str | None:
    rows = [*(answer.get("allergens") or {"declarations": ()})["declarations"]]
    alcohol = answer.get("alcohol")
    rows += [] if alcohol is None else [*alcohol["label"], *alcohol["menu_text"]]
    rows += (answer.get("nutrition") or {"declared_by": ()})["declared_by"]
    return None if not rows else str(rows[0]["jurisdiction"])


def _strength(answer: Answer, code: str | None, words: Phrases) -> str:
    """The strength in the words of the jurisdiction; the reason where it has none."""
    alcohol = answer.get("alcohol")
    row = None if alcohol is None else row_of(alcohol["label"], code) or row_of(alcohol["menu_text"], code)
    if row is None:
        return words["strength_unknown"]
    if not row["text"] and not row["reason"]:
        return words["strength_unknown"]
    return said(row, words)


def _statement(answer: Answer, code: str | None, words: Phrases) -> str:
    declaration = declaration_of(answer, code)
    if declaration is None:
        return words["allergens_not_asked"]
    return words.foreign(declaration["statement"], declaration.get("lang"))


def _nutrition(page: Page, answer: Answer, code: str | None, sides: Sequence[_Side]) -> None:
    """The declared rows of the jurisdiction in its order, each basis under its name."""
    rows = [row for row in (answer.get("nutrition") or {"declared": ()})["declared"] if row["jurisdiction"] == code]
    for basis in dict.fromkeys(row["basis"] for row in rows):
        for side in sides:
            page.rule()
            named = side.words.of("phrase.separator").join((side.words["nutrition"], side.words[basis]))
            page.words(side.of(named), TEXT, bold=True)
            for row in rows:
                if row["basis"] == basis:
                    name, figure = _declared(row, side.words)
                    page.pair([side.of(name)], side.of(figure), TEXT)


def _declared(row: Row, words: Phrases) -> tuple[str, str]:
    """Name and figure of a declared nutrient: in English as the jurisdiction has them, else in our words where held.

    What is part of the row before it says so in every language (Regulation (EU) 1169/2011, Annex XV).
    """
    name = row["label"]
    if words.code != ENGLISH.code:
        nutrient = row["nutrient"].rpartition("_")[0]
        part = words.get(f"nutrient_of_{nutrient}") if name.startswith(OF_WHICH) else None
        name = part or words.get(f"nutrient_{nutrient}") or words.foreign(name)
    if row["unrounded"] is None:  # Without a figure its name has the unit, which tells energy in kJ from that in kcal.
        return f"{name} ({row['unit']})", words["not_known"]
    if words.code == ENGLISH.code:
        return name, row["text"] + _share(row, words)
    figure = _FIGURE.match(row["text"])
    if figure is None:  # Words of the rule itself, such as "less than 1 g".
        return name, words.foreign(row["text"])
    unit = figure[3] or f"\u00a0{row['unit']}"  # "Calories" names its unit itself, which our word for energy does not.
    return name, f"{figure[1]}{words.number(figure[2])}{unit}" + _share(row, words)


def _share(row: Row, words: Phrases) -> str:
    """The share of a day behind an amount, where the jurisdiction declares one."""
    share = row["daily_value_percent"]
    return "" if share is None else words.of("phrase.separator") + words["daily_value"].format(n=share)


def _statements_of(answer: Answer, code: str | None, words: Phrases) -> tuple[str, ...]:
    """Official texts that are due, as they stand: by the sale, by the strength and by what is in the drink; duties to
    look at, and those that rest on a content that is not known, are for the sheet."""
    return tuple(
        words.foreign(row["statement"], row["statement_lang"])
        for row in answer.get("duties") or ()
        if row["statement"] and row["jurisdiction"] == code and row["applies"] == "applies"
    )


def _statements(page: Page, sides: Sequence[_Side]) -> None:
    texts = dict.fromkeys(text for side in sides for text in side.statements)
    if texts:
        page.rule()
    for text in texts:
        page.words(text, TEXT, heavy=_head(text))


def _head(text: str) -> int:
    """How many signs are a head in capitals before a colon, which 27 CFR 16.22 wants heavy, and no more."""
    head, colon, _ = text.partition(":")
    return len(head) if colon and head.isupper() else 0


def _packed(page: Page, pack: Row, code: str | None, sides: Sequence[_Side]) -> None:
    """What a law prints of the whole pack, and what the pack states, row by row; names in each language."""
    page.rule()
    for name, value in contents_of(pack, code, sides[0].page):
        page.pair([name], value, TEXT)
    rows = [pack_rows(pack, side.words) for side in sides]
    for names in zip(*rows, strict=True):
        said: dict[str, dict[str, str]] = {}
        for side, (name, value) in zip(sides, names, strict=True):
            said.setdefault(value, {})[name] = side.of(name)
        for value, named in said.items():  # One row where both languages write it alike, as they do not write days.
            page.pair([*named.values()], value, TEXT)
