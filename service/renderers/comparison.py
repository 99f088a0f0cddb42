"""Drinks side by side as bars: a row of the drawing for each figure, a bar for each drink, none drawn for the unknown.

Figures are the answer's own; what is computed here are places on paper. All bars of a figure stand on one scale that
begins at 0, so that their lengths compare. What is not known has no bar, its words stand where the bar would end.
"""

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from service.renderers.page import drawn, rendered
from service.renderers.phrases import ENGLISH, Foreign, Phrases
from service.renderers.reading import plain
from service.solve.compare import LOST_NOTE
from service.solve.compared_words import FIGURES, MONEY, STATES

Regimes = Mapping[str, Mapping[str, str]]
"""The words for allergens by jurisdiction."""

WIDTH, LEFT, LONGEST = 360.0, 12.0, 190.0
"""Width of the drawing, where a bar begins, and the longest bar, which leaves room for its words on a small screen."""
BAR, STEP, GAP, HEAD = 13.0, 21.0, 20.0, 20.0
"""Height of a bar, from one bar to the next, between two figures, and from a figure's heading to its first bar."""
NAME_SIGNS = 40


class Bar(NamedTuple):
    """One bar: its drink by number, its length, and the words at its end; ``None`` for what is not known."""

    number: int
    y: float
    length: float | None
    text: str


class Row(NamedTuple):
    """One figure with a bar for each drink."""

    title: str
    y: float
    bars: tuple[Bar, ...]


def comparison_svg(answer: Mapping[str, Any], words: Phrases = ENGLISH) -> str:
    """The drawing as a document of its own."""
    return rendered("comparison.svg", words, **_places(answer, words), alone=True)


def comparison_html(answer: Mapping[str, Any], words: Phrases = ENGLISH, regimes: Regimes | None = None) -> str:
    """The drawing and the same in a table, as a page."""
    return rendered(
        "comparison.html",
        words,
        language=words.code,
        title=words["compare_title"],
        picture=drawn("comparison.svg", words, **_places(answer, words), alone=False),
        names=_names(answer),
        rows=_table(answer, words, regimes or {}),
        notes=[words["compare_lost_note"] if note == LOST_NOTE else words.foreign(note) for note in answer["notes"]],
        meta=answer["meta"],
    )


def _names(answer: Mapping[str, Any]) -> list[str]:
    return [f"{number}. {drink['name']}" for number, drink in enumerate(answer["drinks"], 1)]


def _figures(answer: Mapping[str, Any], words: Phrases) -> list[tuple[str, list[tuple[float | None, str]]]]:
    """Each figure's words with its value and text for every drink; money where the answer holds it in one currency."""
    drinks = answer["drinks"]
    rows = []
    for name, (title, unit) in FIGURES.items():
        values = [drink[name] for drink in drinks]
        rows.append((words.of(title), [(value, _text(value, words.of(unit), words)) for value in values]))
    if all("money" in drink for drink in drinks):
        for name, title in MONEY.items():
            sums = [(drink["money"][name], drink["money"]["currency"]) for drink in drinks]
            if len({currency for value, currency in sums if value is not None}) > 1:
                continue  # sums of two currencies stand on no common scale
            texts = [_text(value, currency, words) for value, currency in sums]
            lengths = [None if value is None else float(value) for value, _ in sums]
            rows.append((words.of(title), list(zip(lengths, texts, strict=True))))
    return rows


def _text(value: object, unit: str | None, words: Phrases) -> str:
    return words["not_known"] if value is None else f"{words.number(value)}\u00a0{unit}"


def _places(answer: Mapping[str, Any], words: Phrases) -> dict[str, Any]:
    """Where everything stands, from the top down: the names, then the figures."""
    names = [name if len(name) <= NAME_SIGNS else f"{name[: NAME_SIGNS - 1]}…" for name in _names(answer)]
    y = 22.0 + len(names) * STEP + GAP
    rows = []
    for title, values in _figures(answer, words):
        largest = max((value for value, _ in values if value is not None), default=0.0) or 1.0
        bars = tuple(
            Bar(number, y + HEAD + number * STEP, None if value is None else value / largest * LONGEST, text)
            for number, (value, text) in enumerate(values)
        )
        rows.append(Row(title, y, bars))
        y += HEAD + len(values) * STEP + GAP
    told = [f"{row.title}: " + ", ".join(f"{bar.number + 1} {bar.text}" for bar in row.bars) for row in rows]
    return {
        "title": words["compare_title"], "description": "; ".join(names) + ". " + "; ".join(told) + ".",
        "names": names, "rows": rows, "width": WIDTH, "height": y, "left": LEFT, "bar_height": BAR, "step": STEP,
    }  # fmt: skip


def _table(answer: Mapping[str, Any], words: Phrases, regimes: Regimes) -> list[tuple[str, Sequence[str]]]:
    """The same figures and the allergens as rows of words."""
    rows: list[tuple[str, Sequence[str]]] = [
        (title, [text for _, text in values]) for title, values in _figures(answer, words)
    ]
    drinks = answer["drinks"]
    places = dict.fromkeys(row["jurisdiction"] for drink in drinks for row in drink["allergens"])
    for place in places:
        own = [next((row for row in drink["allergens"] if row["jurisdiction"] == place), None) for drink in drinks]
        names = regimes.get(place, {})
        for state, title in STATES.items():
            held = [None if row is None else row[state] for row in own]
            cells = [words["not_known"] if keys is None else _listed(keys, names) for keys in held]
            if any(held):
                rows.append((_at_place(words.of(title), place), cells))
    return rows


def _at_place(title: str, place: str) -> str:
    """A heading with the jurisdiction it speaks of, in the language of the heading."""
    told = f"{title} ({place})"
    return Foreign(told, title.lang) if isinstance(title, Foreign) else told


def _listed(keys: Sequence[str], names: Mapping[str, str]) -> str:
    return ", ".join(names.get(key) or plain(key) for key in keys) or "–"
