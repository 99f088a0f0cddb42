"""The label panel of one drink in one jurisdiction, as an SVG drawing: black on white, words only.

A packed drink prints its net quantity, lot, days and name as well; whatever of them is missing, or not known, is named
and the panel says that it is not ready. What is worked out here is where a line of text ends, and the day to which the
days of the answer come.
"""

import re
from collections.abc import Sequence
from datetime import date, timedelta
from typing import NamedTuple

from service.renderers.page import legible, rendered
from service.renderers.phrases import ENGLISH, Foreign, Phrases
from service.renderers.reading import Answer, Row, declaration_of, row_of, said

WIDTH = 380.0
MARGIN = 18.0
"""In units of the drawing; a panel is as high as its words."""


_FIGURE = re.compile(r"(<?)([0-9]+(?:\.[0-9]+)?)( ?[A-Za-z]{1,4})\Z", re.ASCII)
"""A declared figure with its unit."""


class Pack(NamedTuple):
    """What a packed drink states beyond its answer; None is missing."""

    net_ml: str | None = None
    lot: str | None = None
    made_on: str | None = None
    storage: str | None = None
    responsible: str | None = None


class Line(NamedTuple):
    """One line of words: where it starts, how large it is, and how many of its signs are heavy."""

    text: str
    x: float
    y: float
    size: float
    heavy: int = 0
    end: bool = False
    lang: str | None = None


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
    page = _Page()
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


def _nutrition(page: "_Page", answer: Answer, code: str | None, words: Phrases) -> None:
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
    if words.code == ENGLISH.code:
        return row["label"], row["text"]
    name = words.get(f"nutrient_{row['nutrient'].rpartition('_')[0]}") or words.foreign(row["label"])
    if row["unrounded"] is None:
        return name, words["not_known"]
    figure = _FIGURE.match(row["text"])
    if figure is None:  # Words of the rule itself, such as "less than 1 g".
        return name, words.foreign(row["text"])
    return name, f"{figure[1]}{words.number(figure[2])}{figure[3]}"


def _statements(page: "_Page", answer: Answer, code: str | None, words: Phrases) -> None:
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


def _packed(page: "_Page", answer: Answer, pack: Pack, words: Phrases) -> None:
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


class _Page:
    """Lines from the top down, each as wide as the panel lets it be."""

    def __init__(self) -> None:
        self.y = MARGIN
        self.lines: list[Line] = []
        self.rules: list[float] = []
        self.boxes: list[tuple[float, float]] = []

    def words(self, text: str, size: float, *, bold: bool = False, inset: float = 0.0, heavy: int = 0) -> None:
        """A text, wrapped; all of it heavy, or its first ``heavy`` signs as far as they stand on the first line."""
        room = WIDTH - 2 * (MARGIN + inset)
        for place, line in enumerate(wrapped(legible(text), room, size, bold=bold)):
            self.y += size * 1.28
            signs = len(line) if bold else min(heavy, len(line)) if place == 0 else 0
            self.lines.append(Line(line, MARGIN + inset, self.y, size, signs, lang=_lang(text)))
        self.y += size * 0.35

    def pair(self, name: str, value: str, size: float) -> None:
        """A name and its value on one line where both fit, else the value below, wrapped."""
        langs = _lang(name), _lang(value)
        if width_of(name, size) + width_of(value, size) + size > WIDTH - 2 * MARGIN:
            self.words(name, size)
            self.words(value, size, inset=10.0)
            return
        self.y += size * 1.28
        self.lines.append(Line(legible(name), MARGIN, self.y, size, lang=langs[0]))
        self.lines.append(Line(legible(value), WIDTH - MARGIN, self.y, size, end=True, lang=langs[1]))
        self.y += size * 0.2

    def rule(self) -> None:
        """A line across the panel."""
        self.y += 6.0
        self.rules.append(self.y)
        self.y += 3.0

    def box(self, texts: Sequence[str]) -> None:
        """Words in a frame, the first of them heavy."""
        top = self.y + 5.0
        self.y = top + 2.0
        for place, text in enumerate(texts):
            self.words(text, 14.0 if place == 0 else 11.0, bold=place == 0, inset=10.0)
        self.y += 5.0
        self.boxes.append((top, self.y - top))
        self.y += 2.0


def _lang(text: str) -> str | None:
    """The language of words that are not in that of the panel."""
    return text.lang if isinstance(text, Foreign) else None


_NARROW = frozenset("ijl.,:;'|!I()[]` ")
_MIDDLE = frozenset('frt-/"*')
_WIDE = frozenset("mwMW%@–—")


def width_of(text: str, size: float, *, bold: bool = False) -> float:
    """A width that no common sans serif passes, in the unit of ``size``: its signs in four classes, capitals apart.

    The classes are those of a wide humanist sans; East Asian and other signs count as a full square.
    """
    ems = sum(_sign(sign) for sign in text)
    return ems * size * (1.1 if bold else 1.0)


def _sign(sign: str) -> float:
    if sign in _NARROW:
        return 0.36
    if sign in _MIDDLE:
        return 0.46
    if sign in _WIDE:
        return 1.0
    if sign.isascii():
        return 0.74 if sign.isupper() else 0.63
    return 0.8 if sign < "\u0500" else 1.05


def wrapped(text: str, room: float, size: float, *, bold: bool = False) -> list[str]:
    """``text`` in lines no wider than ``room``; a word that is wider alone is cut."""
    lines: list[str] = []
    current = ""
    for word in text.split():
        rest = word
        longer = f"{current} {rest}".strip()
        if current and width_of(longer, size, bold=bold) > room:
            lines.append(current)
            longer = rest
        while width_of(longer, size, bold=bold) > room and len(longer) > 1:
            cut = _fitting(longer, room, size, bold=bold)
            lines.append(longer[:cut])
            longer = longer[cut:]
        current = longer
    return [*lines, current] if current else lines


def _fitting(word: str, room: float, size: float, *, bold: bool) -> int:
    """How many signs of a word fit, at least one."""
    count = 1
    while count < len(word) and width_of(word[: count + 1], size, bold=bold) <= room:
        count += 1
    return count
