"""What is known throughout one write: on which connection, by whom, when, as which version; and the embedded items."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, insert

from service.store.tables import AUDIT


@dataclass(frozen=True, slots=True)
class Actor:
    """Who writes, and by which request."""

    key_id: str
    request_id: str


@dataclass(frozen=True, slots=True)
class Embedded:
    """What the ledger has to know of the embedded reference: its ids, and which items are priced from which fruit."""

    has: Callable[[str], bool]
    nearest: Callable[[str, Iterable[str]], Sequence[str]]
    priced_from: Mapping[str, Sequence[str]]


@dataclass(frozen=True, slots=True)
class Transaction:
    """One write: ``at`` is its moment, ``today`` its day in UTC, ``version`` the cost version that it will announce."""

    connection: Connection
    actor: Actor
    at: str
    today: str
    version: int

    def audited(
        self, action: str, kind: str, entry_id: str, before: str | None, after: str | None
    ) -> tuple[object, ...]:
        """A row of the audit trail in the order of :data:`AUDITED`."""
        return (
            self.at, self.actor.key_id, self.actor.request_id, action, kind, entry_id, self.version, before, after
        )  # fmt: skip

    def audit(self, action: str, kind: str, entry_id: str, before: str | None, after: str | None) -> None:
        """Adds one row to the audit trail."""
        row = self.audited(action, kind, entry_id, before, after)
        self.connection.execute(insert(AUDIT).values(**dict(zip(AUDITED, row, strict=True))))


AUDITED = ("recorded_at", "key_id", "request_id", "action", "kind", "id", "version", "before", "after")
