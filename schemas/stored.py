"""Answers about stored things: pages of entries and revisions, margins, menus, many drinks at once."""

from typing import Annotated, Any, Literal

from pydantic import Field

from schemas._base import Output
from schemas.answer_money import AtMenuPrice


class Entry(Output):
    """One entry of a list."""

    id: str
    """Its id."""
    state: Literal["live", "archived"]
    """Archived entries are kept for what uses them."""
    etag: str
    """What If-Match takes."""
    body: dict[str, Any]
    """As one is read alone."""


class EntryPage(Output):
    """One page of a list."""

    entries: tuple[Entry, ...]
    """In the order of their ids."""
    next_page_token: str | None
    """For the next page; null on the last."""


class Revision(Output):
    """One state of an entry."""

    revision: int
    """Counts from 1."""
    valid_from: str
    """The day from which it holds; 0001-01-01 is since ever."""
    recorded_at: str
    """When it was written (UTC)."""
    cost_version: int
    """The version that announced it."""
    state: Literal["live", "archived", "gone"]
    """Gone: deleted from that day on."""
    body: dict[str, Any]
    """As it was written."""


class RevisionPage(Output):
    """One page of a history."""

    revisions: tuple[Revision, ...]
    """The first one first."""
    next_after: int | None
    """For the next page; null on the last."""


class Margin(Output):
    """What one stored drink leaves."""

    drink: dict[str, Any]
    """Id, name and serves."""
    menu: str | None
    """The menu whose price is used; null where no menu sells it on that day."""
    currency: str | None
    """Of every sum."""
    pour_cost: str | None
    """Ingredients, garnish and allowances of one serve."""
    complete: bool
    """Whether every cost is known."""
    missing: tuple[dict[str, Any], ...]
    """What is not."""
    at_menu_price: AtMenuPrice | None
    """At the price on the menu; null where there is none or the cost is unknown."""
    suggested: str | None
    """The price that meets the target."""
    meta: dict[str, Any]
    """Versions and rounding."""


class BulkRow(Output):
    """One drink of a bulk answer; the sections asked for, or the problem with it."""

    drink: str
    """Its id."""
    with_: Annotated[tuple[str, ...], Field(alias="with")]
    """The modifiers it is sold with."""
    delta: dict[str, Any] | None = None
    """What its modifiers change."""
    serve: dict[str, Any] | None = None
    """As in the whole answer."""
    cost: dict[str, Any] | None = None
    """As in the whole answer."""
    price: dict[str, Any] | None = None
    """As in the whole answer."""
    alcohol: dict[str, Any] | None = None
    """As in the whole answer."""
    nutrition: dict[str, Any] | None = None
    """As in the whole answer."""
    allergens: dict[str, Any] | None = None
    """As in the whole answer."""
    advisories: tuple[dict[str, Any], ...] | None = None
    """As in the whole answer."""
    use_by: dict[str, Any] | None = None
    """As in the whole answer."""
    warnings: tuple[dict[str, Any], ...] | None = None
    """As in the whole answer."""
    problem: dict[str, Any] | None = None
    """Why this drink could not be answered."""


class BulkPage(Output):
    """One page of answers."""

    drinks: tuple[BulkRow, ...]
    """In the order of the menu, or of their ids."""
    next_page_token: str | None
    """For the next page; null on the last."""
    meta: dict[str, Any]
    """The day and the versions."""


class MenuOf(Output):
    """Which menu it is."""

    id: str
    """Its id."""
    name: str
    """As printed."""
    venue: str | None
    """The venue whose menu it is; null where it is the group's."""


class MenuLabelRow(BulkRow):
    """One line of a menu; the sections of a label, or the problem with it."""

    name: str | None = None
    """Of the drink; left out where there is a problem."""
    section: str | None
    """The heading it stands under."""
    duties: tuple[dict[str, Any], ...] | None = None
    """As in the whole answer."""
    pack: dict[str, Any] | None = None
    """As in the whole answer."""
    menu_price: str | None = None
    """As on the menu; only where the key sees prices or the menu says that they are public."""
    currency: str | None = None
    """Of that price; null where the venue has none."""


class MenuLabel(Output):
    """What guests may read of a menu on one day."""

    menu: MenuOf
    """Which menu it is."""
    drinks: tuple[MenuLabelRow, ...]
    """In the order of the menu."""
    meta: dict[str, Any]
    """The day and the data version."""
