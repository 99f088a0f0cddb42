"""A drawn panel as it grows from the top down: where each line of words stands, and where a text is cut into lines."""

import re
from collections.abc import Sequence
from typing import NamedTuple

from service.renderers.page import legible
from service.renderers.phrases import Foreign

WIDTH = 320.0
MARGIN = 14.0
"""In units of the drawing; a panel is as high as its words."""

MM_PER_UNIT = 0.25
"""In print: a panel is 80 mm wide."""


class Line(NamedTuple):
    """One line of words: where it starts, how large it is, and how many of its signs are heavy.

    ``more`` are words in other languages that go on behind it, each with its language.
    """

    text: str
    x: float
    y: float
    size: float
    heavy: int = 0
    end: bool = False
    lang: str | None = None
    more: tuple[tuple[str, str | None], ...] = ()

    @property
    def whole(self) -> str:
        """All words of the line."""
        return self.text + "".join(text for text, _ in self.more)


class Page:
    """Lines from the top down, each as wide as the panel lets it be."""

    def __init__(self) -> None:
        self.y = MARGIN
        self.lines: list[Line] = []
        self.rules: list[float] = []
        self.boxes: list[tuple[float, float]] = []

    def words(
        self, text: str, size: float, *, bold: bool = False, inset: float = 0.0, heavy: int = 0, close: bool = False
    ) -> None:
        """A text, wrapped; all of it heavy, or its first ``heavy`` signs as far as they stand on the first line.

        ``close``: what follows belongs to it and stands right under it.
        """
        room = WIDTH - 2 * (MARGIN + inset)
        for place, line in enumerate(wrapped(legible(text), room, size, bold=bold)):
            self.y += size * 1.28
            signs = len(line) if bold else min(heavy, len(line)) if place == 0 else 0
            self.lines.append(Line(line, MARGIN + inset, self.y, size, signs, lang=_lang(text)))
        self.y += 0.0 if close else size * 0.35

    def pair(self, names: Sequence[str], value: str, size: float) -> None:
        """A name, in one language or in several, and its value on one line where all fit, else below, wrapped."""
        whole = " / ".join(names)
        if width_of(whole, size) + width_of(value, size) + size > WIDTH - 2 * MARGIN:
            for name in names:
                self.words(name, size, close=True)
            self.words(value, size, inset=10.0)
            return
        self.y += size * 1.28
        more = tuple([(f" / {legible(name)}", _lang(name)) for name in names[1:]])
        self.lines.append(Line(legible(names[0]), MARGIN, self.y, size, lang=_lang(names[0]), more=more))
        self.lines.append(Line(legible(value), WIDTH - MARGIN, self.y, size, end=True, lang=_lang(value)))
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


_WORD = re.compile(r"[^ \t\r\n]+(?: [:;!?»%][^ \t\r\n]*)*")
"""What stands together: no sign that French sets apart and no percent sign begins a line."""


def wrapped(text: str, room: float, size: float, *, bold: bool = False) -> list[str]:
    """``text`` in lines no wider than ``room``; a word that is wider alone is cut."""
    lines: list[str] = []
    current = ""
    for word in _WORD.findall(text):
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
    """How many signs of a word fit, at least one; no more than up to where East Asian words may be parted, if any."""
    count = 1
    while count < len(word) and width_of(word[: count + 1], size, bold=bold) <= room:
        count += 1
    return next((cut for cut in range(count, 0, -1) if _may_part(word[cut - 1], word[cut])), count)


_NO_START = frozenset("、。，．；：！？）」』％%～ー々ぁぃぅぇぉっゃゅょゎァィゥェォッャュョヮ")
_NO_END = frozenset("（「『")
"""Signs that begin no line of Japanese, and that end none (JIS X 4051, from memory)."""


def _may_part(before: str, after: str) -> bool:
    """Whether a line may end between two signs: beside an East Asian one, as its signs allow."""
    if after in _NO_START or before in _NO_END or "\u00a0" in (before, after):
        return False
    return max(before, after) >= "\u2e80"
