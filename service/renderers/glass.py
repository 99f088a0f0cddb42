"""The serve as one line-drawn glass: its outline, the wash line, foam, ice, and the water that came from ice hatched.

Figures are the answer's own; what is computed here are places on paper. The glass is a tapered round of our own, and
a share of its volume stands where that share of liquid would: V(h) grows with the cube of the radius. Where the wash
line is not known the glass is drawn empty and says so.
"""

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from markupsafe import Markup

from service.renderers.page import drawn, rendered
from service.renderers.panel import wrapped
from service.renderers.phrases import ENGLISH, Phrases
from service.renderers.reading import Answer, shown

WIDTH = 376.0
CENTRE = 92.0
"""Places in units of the drawing, which is narrow enough that its words stay legible on a small screen."""
LARGEST_ML = 450.0
"""A glass of this brim or more is drawn at full height; smaller ones by the cube root of their share."""
SMALLEST = 0.62
"""No glass is drawn smaller than this, so that its labels have room."""
BRIM, FOOT = 76.0, 53.0
"""Radius at the brim and at the foot of the full-size glass."""
TALL = 236.0
TOP = 22.0
LINE = 17.0
GAP = 7.0
LABEL_X = 208.0
SIZE = 15.0
"""Height of a line of words, room between two labels, where they begin and how large they are."""


class Label(NamedTuple):
    """Words beside the glass, with the height on the glass they point to and that of their first line."""

    lines: tuple[str, ...]
    at: float
    y: float

    @property
    def height(self) -> float:
        """Room that it takes with the gap below it."""
        return len(self.lines) * LINE + GAP


class Cup(NamedTuple):
    """The inside of the drawn glass."""

    brim: float
    foot: float
    top: float
    bottom: float

    def radius(self, share: float) -> float:
        """Half the width at the height to which ``share`` of the volume fills it."""
        return float((self.foot**3 + share * (self.brim**3 - self.foot**3)) ** (1 / 3))

    def y(self, share: float) -> float:
        """The height to which ``share`` of the volume fills it."""
        risen = (self.radius(share) - self.foot) / (self.brim - self.foot)
        return self.bottom - risen * (self.bottom - self.top)


def glass_of(
    answer: Answer, spec: Mapping[str, Any] | None = None, words: Phrases = ENGLISH, key: str = "glass"
) -> Markup:
    """The drawing as a part of a page; ``spec`` is the drink as it was asked, for the size of its glass.

    ``key`` begins the ids of its title and description, and has to be another for each drawing of a page.
    """
    return drawn("glass.svg", words, **_places(answer, spec, words), key=key, alone=False)


def glass_svg(answer: Answer, spec: Mapping[str, Any] | None = None, words: Phrases = ENGLISH) -> str:
    """The drawing as a document of its own."""
    return rendered("glass.svg", words, **_places(answer, spec, words), key="glass", alone=True)


def capacity_of(spec: Mapping[str, Any] | None) -> float | None:
    """The brim of the glass in ml, where the drink says it."""
    given = ((spec or {}).get("serve") or {}).get("glass_ml")
    return None if given is None else float(given)


def _places(answer: Answer, spec: Mapping[str, Any] | None, words: Phrases) -> dict[str, Any]:
    capacity = capacity_of(spec)
    scale = 1.0 if capacity is None else max(SMALLEST, min(1.0, (capacity / LARGEST_ML) ** (1 / 3)))
    bottom = TOP + TALL
    cup = Cup(BRIM * scale, FOOT * scale, bottom - (TALL - 12.0) * scale, bottom - 12.0 * scale)
    marks = _marks(answer["serve"])
    brim = (
        words["glass_capacity_unknown"]
        if capacity is None
        else words["glass_capacity"].format(ml=words.number(f"{capacity:g}"))
    )
    texts = [(brim, cup.top), *_texts(answer["serve"], marks, cup, words)]
    labels = _spread(texts, bottom)
    return {
        "cup": cup,
        "centre": CENTRE,
        "width": WIDTH,
        "height": bottom + 18.0,
        "base": bottom,
        "marks": marks,
        "edge": {name: cup.radius(share) for name, share in marks.items()},
        "at": {name: cup.y(share) for name, share in marks.items()},
        "ice": _ice(answer["serve"], marks, cup),
        "labels": labels,
        "label_x": LABEL_X,
        "line_height": LINE,
        "size": SIZE,
        "title": words["glass_title"],
        "description": words.listed(text for text, _ in texts) + words["stop"],
    }


def _marks(serve: Mapping[str, Any]) -> dict[str, float]:
    """Shares of the glass at which something is drawn: wash line, top of the liquid, foot of the hatching."""
    if serve["washline_percent"] is None:
        return {}
    line = min(1.0, serve["washline_percent"] / 100.0)
    parts = {name: serve[name] or 0.0 for name in ("liquid_ml", "foam_ml", "ice_displaced_ml")}
    whole = sum(parts.values())
    marks = {"line": line}
    if not whole:
        return marks
    if parts["foam_ml"]:
        marks["liquid"] = line * (1.0 - parts["foam_ml"] / whole)
    surface = marks.get("liquid", line)
    if serve["water_added_ml"]:
        marks["water"] = surface - min(surface, line * serve["water_added_ml"] / whole)
    return marks


def _ice(serve: Mapping[str, Any], marks: Mapping[str, float], cup: Cup) -> list[tuple[float, float, float]]:
    """Pieces of ice as outlines at the surface: centre, centre, turn. They say that there is ice, not how much."""
    if not serve["ice_displaced_ml"] or "line" not in marks:
        return []
    surface, reach = cup.y(marks.get("liquid", marks["line"])), cup.radius(marks["line"])
    return [
        (CENTRE - reach * 0.45, surface + 13.0, -14.0),
        (CENTRE + reach * 0.12, surface + 17.0, 9.0),
        (CENTRE + reach * 0.55, surface + 12.0, -6.0),
    ]


def _texts(serve: Mapping[str, Any], marks: Mapping[str, float], cup: Cup, words: Phrases) -> list[tuple[str, float]]:
    """What is written beside the glass, with the height it points to."""
    foot = (cup.top + cup.bottom) / 2
    line = cup.y(marks["line"]) if "line" in marks else foot - 30.0
    surface = cup.y(marks["liquid"]) if "liquid" in marks else line
    texts = [
        (words["no_level"], line)
        if "line" not in marks
        else (words["washline_at"].format(percent=words.number(serve["washline_percent"])), line)
    ]
    if serve["foam_ml"] is None or serve["foam_ml"]:
        texts.append((words["foam_level"].format(ml=shown(serve["foam_ml"], words)), (line + surface) / 2))
    if serve["ice_displaced_ml"]:
        texts.append((words["ice_displaced"].format(ml=words.number(serve["ice_displaced_ml"])), surface + 10.0))
    if serve["water_added_ml"] is None:
        texts.append((words["water_from_ice_unknown"], foot))
    elif serve["water_added_ml"]:
        middle = (surface + cup.y(marks["water"])) / 2 if "water" in marks else foot
        texts.append((words["water_from_ice"].format(ml=words.number(serve["water_added_ml"])), middle))
    else:
        texts.append((words["water_from_ice_none"], foot))
    texts.append((words["liquid"].format(ml=shown(serve["liquid_ml"], words)), cup.bottom - 16.0))
    return texts


def _spread(texts: Sequence[tuple[str, float]], bottom: float) -> list[Label]:
    """The labels from the top down, each below the one above it, and all of them above ``bottom``."""
    labels: list[Label] = []
    for text, at in texts:
        above = labels[-1].y + labels[-1].height if labels else 0.0
        labels.append(Label(tuple(wrapped(text, WIDTH - LABEL_X - 2.0, SIZE)), at, max(at, above)))
    limit = bottom + GAP
    for place in range(len(labels) - 1, -1, -1):
        limit = min(limit - labels[place].height, labels[place].y)
        labels[place] = labels[place]._replace(y=limit)
    return labels
