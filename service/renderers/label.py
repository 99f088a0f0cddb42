"""The label panel of one drink in one jurisdiction, as an SVG drawing: black on white, words only.

A packed drink prints its net quantity, lot, days and name as well; whatever of them is missing, or not known, is named
and the panel says that it is not ready.
"""

import re

from service.renderers.packs import contents_of, lacking_of, pack_rows, readiness
from service.renderers.page import rendered
from service.renderers.panel import MARGIN, WIDTH, Page
from service.renderers.phrases import ENGLISH, Phrases
from service.renderers.reading import Answer, Row, declaration_of, legal_names_of, row_of, said

_FIGURE = re.compile(r"(<?)([0-9]+(?:\.[0-9]+)?)( ?[A-Za-z]{1,4})\Z", re.ASCII)
"""A declared figure with its unit."""


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
    page = Page()
    page.words(answer["drink"]["name"], 25.0, bold=True)
    if pack is not None and not ready:
        page.box([phrases["not_ready"], readiness(pack, code, phrases)])
    for name in legal_names_of(answer, code):
        page.words(name, 14.0)
    page.words(_strength(answer, code, phrases), 14.0)
    page.rule()
    declaration = declaration_of(answer, code)
    page.words(phrases["allergens"], 11.0, bold=True)
    page.words(_statement(declaration, phrases), 11.0)
    _nutrition(page, answer, code, phrases)
    _statements(page, answer, code, phrases)
    if pack is not None:
        _packed(page, pack, code, phrases)
    page.rule()
    page.words(phrases["deferral_label"] if pack is not None else phrases["not_legal_advice"], 9.0)
    title = phrases["caption_panel"].format(name=answer["drink"]["name"], jurisdiction=code or phrases["not_known"])
    return rendered(
        "label.svg", phrases, language=language, title=title, width=WIDTH, height=page.y + MARGIN, lines=page.lines,
        rules=page.rules, boxes=page.boxes, margin=MARGIN, ready=ready,
        description=" ".join(line.text for line in page.lines),
    )  # fmt: skip


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


def _statement(declaration: Row | None, words: Phrases) -> str:
    if declaration is None:
        return words["allergens_not_asked"]
    return words.foreign(declaration["statement"], declaration.get("lang"))


def _nutrition(page: Page, answer: Answer, code: str | None, words: Phrases) -> None:
    """The declared rows of the jurisdiction in its order, each basis under its name."""
    rows = [row for row in (answer.get("nutrition") or {"declared": ()})["declared"] if row["jurisdiction"] == code]
    for basis in dict.fromkeys(row["basis"] for row in rows):
        page.rule()
        page.words(f"{words['nutrition']}, {words[basis]}", 11.0, bold=True)
        for row in rows:
            if row["basis"] == basis:
                page.pair(*_declared(row, words), 11.0)


def _declared(row: Row, words: Phrases) -> tuple[str, str]:
    """Name and figure of a declared nutrient: in English as the jurisdiction has them, else in our words where held."""
    name = row["label"]
    if words.code != ENGLISH.code:
        name = words.get(f"nutrient_{row['nutrient'].rpartition('_')[0]}") or words.foreign(name)
    if row["unrounded"] is None:  # Without a figure its name has the unit, which tells energy in kJ from that in kcal.
        return f"{name} ({row['unit']})", words["not_known"]
    if words.code == ENGLISH.code:
        return name, row["text"]
    figure = _FIGURE.match(row["text"])
    if figure is None:  # Words of the rule itself, such as "less than 1 g".
        return name, words.foreign(row["text"])
    return name, f"{figure[1]}{words.number(figure[2])}{figure[3]}"


def _statements(page: Page, answer: Answer, code: str | None, words: Phrases) -> None:
    """Statements that are to be printed as they stand; duties to look at are for the sheet."""
    alcohol = answer.get("alcohol")
    rows = [] if alcohol is None else alcohol["statements"]
    texts = [
        words.foreign(row["text"], row.get("lang"))
        for row in rows
        if row["binding"] == "text" and row["jurisdiction"] == code
    ]
    if texts:
        page.rule()
    for text in dict.fromkeys(texts):
        page.words(text, 11.0, heavy=_head(text))


def _head(text: str) -> int:
    """How many signs are a head in capitals before a colon, which 27 CFR 16.22 wants heavy, and no more."""
    head, colon, _ = text.partition(":")
    return len(head) if colon and head.isupper() else 0


def _packed(page: Page, pack: Row, code: str | None, words: Phrases) -> None:
    """What the pack states, row by row, and what a law prints of the whole of it."""
    page.rule()
    for name, value in [*contents_of(pack, code, words), *pack_rows(pack, words)]:
        page.pair(name, value, 11.0)
