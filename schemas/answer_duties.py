"""Duties of menus and labels, as answered: what may apply to whom, since when, and what it lacks."""

from typing import Literal

from schemas._base import Output


class DutyRow(Output):
    """One duty that a drink so sold may meet; whom it binds is for the authority to say."""

    jurisdiction: str
    """Code."""
    code: str
    """Stable word for the duty within its jurisdiction."""
    title: str
    """In a few words."""
    asks: str | None
    """What it asks, in words of our own; null where the statement is all it asks."""
    applies_to: str
    """Whom it may concern."""
    applies: str
    """`applies`, `from` with the day from which it will, or `proposal`, which is shown and never applied."""
    status: Literal["law", "guidance", "convention", "proposal"]
    """What stands behind it."""
    statement: str | None
    """The official text, word for word; null where none is held."""
    statement_lang: str | None
    """Language of the official text."""
    declaration: str | None
    """What it would declare of this drink, such as the calories of a chain's menu; null where nothing is computed."""
    missing: tuple[str, ...]
    """Figures that it needs and that are not known."""
    refused: str | None
    """Why nothing is declared; null where nothing is missing."""
    article: str
    """The law and its article, or the guidance."""
    standing: str
    """How far it was checked: confirmed, secondary or memory."""
    note: str
    """What to know about the source; empty where there is nothing."""
    defer: str
    """Who decides."""
