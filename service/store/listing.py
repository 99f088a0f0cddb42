"""Lists of entries and of the audit trail, page by page in the order of their ids, so that inserts move nothing."""

from typing import Any, NamedTuple

from sqlalchemy import JSON, ColumnElement, Connection, and_, cast, func, or_, select

from service.store.held import Held, held_of
from service.store.kinds import name_key
from service.store.tables import AUDIT, ENTRIES, EXTERNAL_IDS, REVISIONS, USES


class Filters(NamedTuple):
    """Which entries are wanted."""

    text: str | None = None
    kind: str | None = None
    item: str | None = None
    supplier: str | None = None
    external_id: str | None = None
    archived: str = "exclude"
    items: tuple[str, ...] = ()
    """Embedded items whose name holds the text."""


def entries_after(connection: Connection, kind: str, after: str, limit: int, filters: Filters) -> list[Held]:
    """The next ``limit`` entries of a kind, with ids after ``after``."""
    query = (
        select(REVISIONS)
        .join(
            ENTRIES,
            and_(
                ENTRIES.c.kind == REVISIONS.c.kind,
                ENTRIES.c.id == REVISIONS.c.id,
                ENTRIES.c.revision == REVISIONS.c.revision,
            ),
        )
        .where(ENTRIES.c.kind == kind, ENTRIES.c.id > after)
        .order_by(ENTRIES.c.id)
        .limit(limit)
    )
    if filters.archived != "include":
        query = query.where(ENTRIES.c.state == ("archived" if filters.archived == "only" else "live"))
    if filters.text is not None:
        wanted = f"%{_like(name_key(filters.text))}%"
        in_name = func.coalesce(ENTRIES.c.name_key, ENTRIES.c.id).like(wanted, escape="\\")
        found: list[ColumnElement[bool]] = [ENTRIES.c.id.like(wanted, escape="\\"), in_name]
        if kind == "offers":
            found += _of_an_offer(connection, wanted, filters.items)
        query = query.where(or_(*found))
    if filters.kind is not None:
        query = query.where(REVISIONS.c.body.like(f'%"kind":"{filters.kind}"%'))
    if filters.supplier is not None:
        query = query.where(REVISIONS.c.supplier == filters.supplier)
    if filters.item is not None:
        named = select(USES.c.id).where(USES.c.kind == kind, USES.c.used_kind == "item", USES.c.used_id == filters.item)
        query = query.where(ENTRIES.c.id.in_(named))
    if filters.external_id is not None:
        named = select(EXTERNAL_IDS.c.id).where(
            EXTERNAL_IDS.c.kind == kind, EXTERNAL_IDS.c.value == filters.external_id
        )
        query = query.where(ENTRIES.c.id.in_(named))
    return [held_of(row) for row in connection.execute(query)]


def _of_an_offer(connection: Connection, wanted: str, items: tuple[str, ...]) -> list[ColumnElement[bool]]:
    """What else an offer is found by: its item and its supplier, each by id or name, its code and its GTIN."""
    named = ENTRIES.alias("named")
    key = func.coalesce(named.c.name_key, named.c.id)
    like = or_(named.c.id.like(wanted, escape="\\"), key.like(wanted, escape="\\"))
    of_kind = named.c.kind.in_(("ingredients", "preparations"))
    found: list[ColumnElement[bool]] = [
        REVISIONS.c.item.like(wanted, escape="\\"),
        REVISIONS.c.item.in_(select(named.c.id).where(of_kind, like)),
        REVISIONS.c.supplier.in_(select(named.c.id).where(named.c.kind == "suppliers", like)),
    ]
    if items:
        found.append(REVISIONS.c.item.in_(items))
    for field in ("code", "gtin"):
        if connection.dialect.name == "sqlite":
            text: ColumnElement[Any] = func.json_extract(REVISIONS.c.body, f"$.{field}")
        else:
            text = cast(REVISIONS.c.body, JSON)[field].as_string()
        found.append(func.lower(text).like(wanted, escape="\\"))
    return found


def history_of(connection: Connection, kind: str, entry_id: str, after: int, limit: int) -> list[Held]:
    """The revisions of an entry, the first one first."""
    query = (
        select(REVISIONS)
        .where(REVISIONS.c.kind == kind, REVISIONS.c.id == entry_id, REVISIONS.c.revision > after)
        .order_by(REVISIONS.c.revision)
        .limit(limit)
    )
    return [held_of(row) for row in connection.execute(query)]


class Audited(NamedTuple):
    """One row of the audit trail."""

    sequence: int
    recorded_at: str
    key_id: str
    request_id: str
    action: str
    kind: str
    id: str
    version: int
    before: str | None
    after: str | None


def audit_after(
    connection: Connection, sequence: int, limit: int, kind: str | None, entry_id: str | None
) -> list[Audited]:
    """The next rows of the audit trail, the oldest first."""
    query = select(AUDIT).where(AUDIT.c.sequence > sequence).order_by(AUDIT.c.sequence).limit(limit)
    if kind is not None:
        query = query.where(AUDIT.c.kind == kind)
    if entry_id is not None:
        query = query.where(AUDIT.c.id == entry_id)
    return [
        Audited(
            row.sequence, row.recorded_at, row.key_id, row.request_id, row.action, row.kind, row.id, row.version,
            row.before, row.after,
        )
        for row in connection.execute(query)
    ]  # fmt: skip


def _like(text: str) -> str:
    return text.replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_")
