"""What is to be done about the allergens of a menu: declarations that do not stand, and questions to suppliers."""

from typing import Any, Literal

from schemas._base import Output


class DeclarationWork(Output):
    """A declaration that has to be renewed or backed by evidence."""

    item: str
    """The item's id."""
    name: str
    """Its name."""
    state: Literal["stale", "declared_unverified"]
    """Why it is listed."""
    why: str | None
    """What is past, changed or lacking."""
    review_by: str | None
    """The day by which it was to be looked at again."""
    drinks: tuple[str, ...]
    """The drinks that rest on it, with their modifiers after a plus sign."""


class Cleared(Output):
    """One unknown that one answer clears."""

    drink: str
    """The drink's id, with its modifiers after a plus sign."""
    allergen: str
    """What is then known of it."""


class AllergenQuestion(Output):
    """What to ask about one item, once for all drinks."""

    item: str
    """The item's id."""
    allergens: tuple[str, ...]
    """What nobody has declared of it."""
    drinks: tuple[str, ...]
    """Drinks in which that leaves something unknown."""
    clears: tuple[Cleared, ...]
    """What the answer settles alone, since nothing else leaves it unknown."""
    settled: tuple[str, ...]
    """Drinks that then have no unknown left."""


class AllergenWork(Output):
    """What has to be asked before a menu's allergens can be relied on."""

    declarations: tuple[DeclarationWork, ...]
    """By item: stale ones, and complete ones without evidence."""
    questions: tuple[AllergenQuestion, ...]
    """What clears most first."""
    problems: tuple[dict[str, Any], ...]
    """Drinks that could not be looked at, each with its problem: nothing of them is in the lists above."""
    meta: dict[str, Any]
    """The day and the data version."""
