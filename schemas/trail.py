"""What happened: pages of the feeds of what moves, and of the audit trail."""

from typing import Any, Literal

from schemas._base import Output


class FeedRow(Output):
    """One drink that moves on a day. It stands in place of what earlier rows say of that day and later ones."""

    drink: str
    """Its id."""
    why: Literal["price", "spec", "rules"]
    """What moves it. A menu's price is a price; rates of exchange and declarations that run out are told as they are
    dated."""
    since: str
    """The day from which it holds, past or to come; 0001-01-01 is since ever. One in the future is told ahead, and
    on the day itself nothing more is announced: keep the row and apply it then."""
    recorded_at: str
    """When the change was written (UTC)."""
    state: Literal["live", "archived", "gone"]
    """What the drink is from that day on. One that is archived is out of the lists and takes no new users; it is still
    answered for what names it."""
    before: dict[str, Any] | None
    """What was answered of that day before the change, or, in the further rows of a change, until that day; null where
    the drink was not there or could not be answered."""
    after: dict[str, Any] | None
    """What is answered from that day on, until the `since` of the drink's next row; null where it is gone or cannot be
    answered."""


class Feed(Output):
    """Changes in the order in which they were announced."""

    changes: tuple[FeedRow, ...]
    """Only days on which a drink's answer is another one: from the first on that a change alters, all that are
    known. A drink that is archived, taken back into use or deleted has a row too."""
    next_cursor: str
    """Where to go on; the same as before where nothing is new."""
    more: bool
    """Whether there is more now."""


class AuditRow(Output):
    """One row of the audit trail."""

    sequence: int
    """Counts up."""
    recorded_at: str
    """When (UTC)."""
    key_id: str
    """By which key; `open` without one."""
    request_id: str
    """By which request."""
    action: str
    """create, replace, archive, reinstate, delete, revoke or commit."""
    kind: str
    """What kind of thing."""
    id: str
    """Which."""
    cost_version: int
    """The version that announced it."""
    before: dict[str, Any] | None
    """The body before."""
    after: dict[str, Any] | None
    """The body after."""


class AuditPage(Output):
    """A part of the audit trail."""

    rows: tuple[AuditRow, ...]
    """The oldest first."""
    next_after: int | None
    """For the next part; null on the last."""
