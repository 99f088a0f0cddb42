"""Rows of a table for a terminal: a label with its value, a paragraph, and what is not known in words."""

import textwrap
from collections.abc import Iterable, Mapping, Sequence

WIDTH = 78
"""Signs on a line."""

LABEL = 30
"""Of which a label takes so many."""

Names = Mapping[str, str]
"""Names by id, as far as the answer has them."""


def shown(value: object, unit: str = "") -> str:
    """A figure with its unit, or that it is not known."""
    return "not known" if value is None else f"{value}{unit}"


def span(ends: Sequence[object], unit: str = "") -> str:
    """A range, of which each end may be unknown."""
    low, high = ends
    if low is None and high is None:
        return "not known"
    return f"from {shown(low)} to {shown(high)}{unit}"


def known(value: object, least: object, unit: str = "") -> str:
    """A figure, or what of it is known at the least."""
    return shown(value, unit) if value is not None or least is None else f"not known, at least {least}{unit}"


def titled(label: str, value: str) -> str:
    """A label and its value, which goes on under itself."""
    return wrapped(f"  {label:{LABEL}} ", value, " " * (LABEL + 3))


def paragraph(text: str) -> str:
    """A text of its own, later lines set in."""
    return wrapped("  ", text, "    ")


def wrapped(first: str, text: str, later: str) -> str:
    """A text in lines of :data:`WIDTH`, with what stands before the first and before the later ones."""
    return textwrap.fill(text, WIDTH, initial_indent=first, subsequent_indent=later, break_on_hyphens=False)


def names_of(items: Iterable[str], names: Names) -> str:
    """The things a note is about, by name where the answer has one; a bought thing in a part has its id alone."""
    return "; ".join(dict.fromkeys(names.get(item, item) for item in items))
