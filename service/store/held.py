"""One revision of one entry as it is read, and the day from which a new one holds."""

from dataclasses import dataclass
from sys import intern
from typing import Any, Final

from sqlalchemy import Connection, Row, and_, select

from service.store.kinds import Body, is_id
from service.store.tables import ENTRIES, REVISIONS

EVER: Final = "0001-01-01"
"""The day from which a first revision holds unless another is named."""


@dataclass(frozen=True, slots=True)
class Held:
    """One revision of one entry; ``text`` is its body as JSON text."""

    kind: str
    id: str
    revision: int
    valid_from: str
    version: int
    state: str
    text: str
    recorded_at: str
    item: str | None = None


def held_of(row: Row[Any]) -> Held:
    """A row of ``revisions`` as it is used; texts that many rows have are kept once."""
    kind, entry_id, revision, day, version, at, state, item = tuple(row)[:8]
    return Held(
        intern(kind), entry_id, revision, intern(day), version, intern(state), row.body, intern(at),
        None if item is None else intern(item),
    )  # fmt: skip


def current(connection: Connection, kind: str, entry_id: str) -> Held | None:
    """The latest revision of an entry that exists; ``None`` too for what is no id."""
    if not is_id(entry_id):
        return None
    query = select(REVISIONS).join(
        ENTRIES,
        and_(
            ENTRIES.c.kind == REVISIONS.c.kind,
            ENTRIES.c.id == REVISIONS.c.id,
            ENTRIES.c.revision == REVISIONS.c.revision,
        ),
    )
    row = connection.execute(query.where(REVISIONS.c.kind == kind, REVISIONS.c.id == entry_id)).first()
    return None if row is None else held_of(row)


def day_of(body: Body, known: Held | None, today: str) -> str:
    """From when a new revision holds: since ever for a first one, else from today or the later day it states."""
    stated = body.get("valid_from") if "price" in body else None
    if known is None:
        return str(stated or EVER)
    return max(str(stated), today) if stated else today
