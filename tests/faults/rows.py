"""What stands in a database, read beside the service, and what always holds of it."""

import json
from decimal import Decimal

from sqlalchemy import Connection, func, select, text

from service.store.engine import engine_of, reading
from service.store.kinds import KINDS
from service.store.tables import (
    AUDIT,
    ENTRIES,
    EXTERNAL_IDS,
    IDEMPOTENCY,
    PRICE_LISTS,
    REVISIONS,
    STATE,
    USES,
    VERSIONS,
)


def suppliers_in(url: str) -> set[str]:
    """Ids of the suppliers that are stored."""
    with _read(url) as connection:
        query = select(ENTRIES.c.id).where(ENTRIES.c.kind == "suppliers")
        return set(connection.execute(query).scalars())


def prices_in(url: str) -> dict[str, int]:
    """The current price of each offer, by its latest revision."""
    with _read(url) as connection:
        query = select(REVISIONS.c.id, REVISIONS.c.body).where(REVISIONS.c.kind == "offers").order_by(
            REVISIONS.c.revision
        )  # fmt: skip
        return {row.id: int(Decimal(json.loads(row.body)["price"]["amount"])) for row in connection.execute(query)}


def check_whole(url: str) -> None:
    """Everything that one committed change writes is there or nothing of it; SQLite finds its file sound."""
    with _read(url) as connection:
        if connection.dialect.name == "sqlite":
            assert connection.execute(text("PRAGMA integrity_check")).scalar_one() == "ok"
        state = connection.execute(select(STATE)).one()
        versions = list(connection.execute(select(VERSIONS.c.version).order_by(VERSIONS.c.version)).scalars())
        assert versions == list(range(1, state.cost_version + 1))
        of_entries = AUDIT.c.kind.in_(list(KINDS))
        audited = _pairs(connection, select(AUDIT.c.kind, AUDIT.c.id, AUDIT.c.version).where(of_entries))
        revised = _pairs(connection, select(REVISIONS.c.kind, REVISIONS.c.id, REVISIONS.c.version))
        assert audited == revised
        newest = select(REVISIONS.c.kind, REVISIONS.c.id, func.max(REVISIONS.c.revision)).group_by(
            REVISIONS.c.kind, REVISIONS.c.id
        )
        held = set(_pairs(connection, select(ENTRIES.c.kind, ENTRIES.c.id, ENTRIES.c.revision)))
        assert held <= set(_pairs(connection, newest))
        for table in (USES, EXTERNAL_IDS):
            users = set(_pairs(connection, select(table.c.kind, table.c.id)))
            assert users <= {(kind, entry_id) for kind, entry_id, _ in held}
        taken_in = _pairs(connection, select(AUDIT.c.id).where(AUDIT.c.kind == "price_lists"))
        assert taken_in == _pairs(connection, select(PRICE_LISTS.c.id).where(PRICE_LISTS.c.state == "committed"))
        answered = {json.loads(body)["id"] for body in connection.execute(select(IDEMPOTENCY.c.body)).scalars()}
        assert answered <= {entry_id for _, entry_id, _ in held}


def _pairs(connection: Connection, query: object) -> list[tuple[object, ...]]:
    return sorted(tuple(row) for row in connection.execute(query))  # type: ignore[call-overload]  # any select


class _read:  # noqa: N801  # used as a function in a with statement
    def __init__(self, url: str) -> None:
        self._engine = engine_of(url)
        self._held = reading(self._engine)

    def __enter__(self) -> Connection:
        return self._held.__enter__()

    def __exit__(self, *fault: object) -> None:
        self._held.__exit__(*fault)  # type: ignore[arg-type]  # passed on as they come
        self._engine.dispose()
