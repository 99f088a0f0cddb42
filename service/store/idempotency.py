"""Creations that are asked for once and answered as often as they are sent again, for a day.

The answer is written in the transaction of what it created, so that neither can be without the other.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Final

from sqlalchemy import Connection, delete, insert, select

from service.store.tables import IDEMPOTENCY

KEPT: Final = timedelta(hours=24)


@dataclass(frozen=True, slots=True)
class Answered:
    """An answer that was given."""

    request_sha256: str
    status: int
    headers: Mapping[str, str]
    body: str


def answered(connection: Connection, key_id: str, route: str, idempotency_key: str) -> Answered | None:
    """The answer that was given to this key of this caller on this route."""
    row = connection.execute(
        select(IDEMPOTENCY).where(
            IDEMPOTENCY.c.key_id == key_id,
            IDEMPOTENCY.c.route == route,
            IDEMPOTENCY.c.idempotency_key == idempotency_key,
        )
    ).first()
    return None if row is None else Answered(row.request_sha256, row.status, json.loads(row.headers), row.body)


def keep(connection: Connection, key_id: str, route: str, idempotency_key: str, given: Answered) -> None:
    """Keeps an answer; what is older than a day goes."""
    now = datetime.now(UTC)
    connection.execute(delete(IDEMPOTENCY).where(IDEMPOTENCY.c.recorded_at < (now - KEPT).isoformat()))
    connection.execute(
        insert(IDEMPOTENCY).values(
            key_id=key_id, route=route, idempotency_key=idempotency_key, request_sha256=given.request_sha256,
            status=given.status, headers=json.dumps(dict(given.headers)), body=given.body, recorded_at=now.isoformat(),
        )
    )  # fmt: skip
