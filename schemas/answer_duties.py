"""Duties of menus and labels, as answered: what may apply to whom, since when, and what it lacks."""

from typing import Literal

from schemas._base import Output


class AddOnCalories(Output):
    """What a modifier that only adds would declare."""

    modifier: str
    """Its id."""
    name: str
    """As a guest reads it."""
    text: str
    """The calories that it adds, or that they are not known."""


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
    """`applies`, `from` with the day from which it will, `not known` where it rests on a content that is not known, or
    `proposal`, which is shown and never applied."""
    status: Literal["law", "guidance", "convention", "proposal"]
    """What stands behind it."""
    statement: str | None
    """The official text, word for word; null where none is held."""
    statement_lang: str | None
    """Language of the official text."""
    declaration: str | None
    """What it would declare of this drink, such as the calories of a chain's menu; null where nothing is computed.
    Modifiers that pour something else or another size are among the choices of it; those that only leave something
    out, and several at once, are custom orders and are not."""
    add_ons: tuple[AddOnCalories, ...]
    """Modifiers that only add, whose calories a menu tells apart; empty where no calories are declared."""
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
    lang: str | None = None
    """Language of title, asks, applies_to, declaration, refused, note and defer; absent where none was asked for."""
    fallback: bool | None = None
    """Whether the official text is in another language than that asked for; absent where none was asked for."""


class Term(Output):
    """One word that the answer uses in the language asked for."""

    key: str
    """Group and name of the word, such as `allergen.milk`."""
    text: str
    """The word or sentence, with its blanks in braces."""
    lang: str
    """Language of it."""
    fallback: bool
    """Whether it is not in the language asked for."""
    source: str
    """Where it comes from."""
    standing: str
    """How far that was checked: confirmed, secondary, memory, or own where the wording is our own."""


class Labels(Output):
    """The language of the answer's texts, with words for menus and sheets; figures are the same in every language."""

    asked: str
    """The language tag that was asked for."""
    lang: str
    """The language of the texts."""
    name: str
    """What the language calls itself."""
    fallback: bool
    """Whether the language asked for is not held, so that all is English."""
    headings: dict[str, str]
    """Headings of menus and sheets, by key."""
    units: dict[str, str]
    """Words of units, by key."""
    terms: tuple[Term, ...]
    """Every word used, with source and standing."""
    missing: tuple[str, ...]
    """Keys of the words that are not in the language asked for."""
