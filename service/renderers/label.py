"""The label panel of one drink in one jurisdiction, as an SVG drawing: black on white, words only.

A packed drink prints its net quantity, lot, days and name as well; whatever of them is missing, or not known, is named
and the panel says that it is not ready. What is worked out here is the day to which the days of the answer come.
"""

import re
from datetime import date, timedelta
from typing import NamedTuple

from service.renderers.page import rendered
from service.renderers.panel import MARGIN, WIDTH, Page
from service.renderers.phrases import ENGLISH, Phrases
from service.renderers.reading import Answer, Row, declaration_of, row_of, said

_FIGURE = re.compile(r"(<?)([0-9]+(?:\.[0-9]+)?)( ?[A-Za-z]{1,4})\Z", re.ASCII)
"""A declared figure with its unit."""


class Pack(NamedTuple):
    """What a packed drink states beyond its answer; None is missing."""

    net_ml: str | None = None
    lot: str | None = None
    made_on: str | None = None
    storage: str | None = None
    responsible: str | None = None


def label_of(
    answer: Answer,
    *,
    jurisdiction: str | None = None,
    pack: Pack | None = None,
    phrases: Phrases = ENGLISH,
    language: str = "en",
) -> str:
    """The panel of one jurisdiction, which is the first of the answer unless given.

    A drink is packed where ``pack`` is given or the answer has label text.
    """
    alcohol = answer.get("alcohol")
    packed = pack is not None or bool(alcohol and alcohol["label"])
    code = jurisdiction or _first_code(answer)
    missing = _missing(answer, code, pack or Pack(), phrases) if packed else []
    page = Page()
    page.words(answer["drink"]["name"], 25.0, bold=True)
    if missing:
        page.box([phrases["not_ready"], phrases["not_ready_missing"].format(what=", ".join(missing))])
    page.words(_strength(answer, code, phrases), 14.0)
    page.rule()
    declaration = declaration_of(answer, code)
    page.words(phrases["allergens"], 11.0, bold=True)
    page.words(_statement(declaration, phrases), 11.0)
    _nutrition(page, answer, code, phrases)
    _statements(page, answer, code, phrases)
    if packed:
        _packed(page, answer, pack or Pack(), phrases)
    page.rule()
    page.words(phrases["deferral_label"] if packed else phrases.foreign(answer["meta"]["note"]), 9.0)
    title = phrases["caption_panel"].format(name=answer["drink"]["name"], jurisdiction=code or phrases["not_known"])
    return rendered(
        "label.svg", phrases, language=language, title=title, width=WIDTH, height=page.y + MARGIN, lines=page.lines,
        rules=page.rules, boxes=page.boxes, margin=MARGIN, ready=not missing,
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


def _pack_rows(answer: Answer, pack: Pack, words: Phrases) -> list[tuple[str, str, str | None]]:
    """Name as it is missed, name as it is printed, and what is printed."""
    net = None if pack.net_ml is None else f"{words.number(pack.net_ml)} ml"
    return [
        (words["net_quantity"], words["net_quantity"], net),
        (words["lot"], words["lot"], pack.lot),
        (words["made_on"], words["made_on"], pack.made_on),
        (words["use_by_date"], words["date_use_by"], _use_by(answer, pack)),
        (words["storage"], words["storage"], pack.storage),
        (words["responsible"], words["responsible"], pack.responsible),
    ]


def _use_by(answer: Answer, pack: Pack) -> str | None:
    """The calendar day to which the days of the answer come, counted from its day.

    They are the life of what was made on that day: of a pack of another day they would promise too much or too little.
    """
    life: Row | None = answer["use_by"]
    if life is None or pack.made_on not in (None, answer["meta"]["as_of"]):
        return None
    try:
        return (date.fromisoformat(answer["meta"]["as_of"]) + timedelta(days=life["days"])).isoformat()
    except OverflowError:
        return None


def _packed(page: Page, answer: Answer, pack: Pack, words: Phrases) -> None:
    page.rule()
    for _, name, value in _pack_rows(answer, pack, words):
        page.pair(name, words["not_known"] if value is None else value, 11.0)


def _missing(answer: Answer, code: str | None, pack: Pack, words: Phrases) -> list[str]:
    """What a packed drink needs and does not have, in words."""
    found = [name for name, _, value in _pack_rows(answer, pack, words) if value is None]
    alcohol = answer.get("alcohol")
    if alcohol is None or not alcohol["complete"] or row_of(alcohol["label"], code) is None:
        found.append(words["missing_strength"])
    declaration = declaration_of(answer, code)
    if declaration is None or declaration["unknown"] or declaration["partly_unknown"]:
        found.append(words["missing_allergens"])
    nutrition = answer.get("nutrition")
    rows = [] if nutrition is None else [row for row in nutrition["declared"] if row["jurisdiction"] == code]
    # A row without a figure may have words of its own, such as "<0.5 g"; one that was not computed has none.
    if any(row["unrounded"] is None for row in rows) or nutrition is None:
        found.append(words["missing_nutrition"])
    return found
