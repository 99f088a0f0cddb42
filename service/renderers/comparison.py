"""Drinks side by side as bars: a row of the drawing for each figure, a bar for each drink, none drawn for the unknown.

Figures are the answer's own; what is computed here are places on paper. All bars of a figure stand on one scale that
begins at 0, so that their lengths compare. What is not known has no bar, its words stand where the bar would end.
"""

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from service.renderers.page import drawn, rendered
from service.renderers.phrases import ENGLISH, Phrases

WIDTH, LEFT, LONGEST = 360.0, 12.0, 190.0
"""Width of the drawing, where a bar begins, and the longest bar, which leaves room for its words on a small screen."""
BAR, STEP, GAP, HEAD = 13.0, 21.0, 20.0, 20.0
"""Height of a bar, from one bar to the next, between two figures, and from a figure's heading to its first bar."""
NAME_SIGNS = 40

FIGURES = (
    ("abv_percent", "Strength as handed over", "% vol"), ("ethanol_g", "Ethanol", "g"),
    ("liquid_ml", "In the glass", "ml"), ("water_added_ml", "Water from ice", "ml"), ("sugars_g", "Sugars", "g"),
    ("acid_g", "Acids", "g"), ("energy_kcal", "Energy", "kcal"), ("minutes", "Work", "min"),
    ("use_by_days", "Keeps", "d"),
)  # fmt: skip
"""Name in the answer, words, unit. The desk speaks to who writes the drink, in English, as its notes do."""

STATES = {
    "contains": "Contains", "may_contain": "May contain", "unknown": "Not known", "gained": "Gained", "lost": "Lost",
}  # fmt: skip

TITLE = "Drinks side by side"


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


def comparison_html(answer: Mapping[str, Any], words: Phrases = ENGLISH) -> str:
    """The drawing and the same in a table, as a page."""
    return rendered(
        "comparison.html",
        words,
        language=words.code,
        title=TITLE,
        picture=drawn("comparison.svg", words, **_places(answer, words), alone=False),
        names=_names(answer),
        rows=_table(answer, words),
        notes=answer["notes"],
        meta=answer["meta"],
    )


def _names(answer: Mapping[str, Any]) -> list[str]:
    return [f"{number}. {drink['name']}" for number, drink in enumerate(answer["drinks"], 1)]


def _figures(answer: Mapping[str, Any], words: Phrases) -> list[tuple[str, list[tuple[float | None, str]]]]:
    """Each figure's words with its value and text for every drink; money where the answer holds it in one currency."""
    drinks = answer["drinks"]
    rows = []
    for name, title, unit in FIGURES:
        values = [drink[name] for drink in drinks]
        rows.append((title, [(value, _text(value, unit, words)) for value in values]))
    if all("money" in drink for drink in drinks):
        for name, title in (("pour_cost", "Cost"), ("suggested_price", "Price to ask")):
            sums = [(drink["money"][name], drink["money"]["currency"]) for drink in drinks]
            if len({currency for value, currency in sums if value is not None}) > 1:
                continue  # sums of two currencies stand on no common scale
            texts = [_text(value, currency, words) for value, currency in sums]
            lengths = [None if value is None else float(value) for value, _ in sums]
            rows.append((title, list(zip(lengths, texts, strict=True))))
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
        "title": TITLE, "description": "; ".join(names) + ". " + "; ".join(told) + ".",
        "names": names, "rows": rows, "width": WIDTH, "height": y, "left": LEFT, "bar_height": BAR, "step": STEP,
    }  # fmt: skip


def _table(answer: Mapping[str, Any], words: Phrases) -> list[tuple[str, Sequence[str]]]:
    """The same figures and the allergens as rows of words."""
    rows: list[tuple[str, Sequence[str]]] = [
        (title, [text for _, text in values]) for title, values in _figures(answer, words)
    ]
    drinks = answer["drinks"]
    places = dict.fromkeys(row["jurisdiction"] for drink in drinks for row in drink["allergens"])
    for place in places:
        own = [next((row for row in drink["allergens"] if row["jurisdiction"] == place), None) for drink in drinks]
        for state, title in STATES.items():
            cells = [words["not_known"] if row is None or row[state] is None else _listed(row[state]) for row in own]
            if any(row is not None and row[state] for row in own):
                rows.append((f"{title} ({place})", cells))
    return rows


def _listed(keys: Sequence[str]) -> str:
    return ", ".join(key.replace("_", " ").replace("-", " ") for key in keys) or "–"
