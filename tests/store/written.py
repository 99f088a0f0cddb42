"""Writes to a store without the web in front of it."""

import json
from collections.abc import Callable, Sequence
from datetime import UTC, date, datetime
from typing import Any

from service.store.held import Held, current
from service.store.ledger import Ledger
from service.store.store import Store
from service.store.transaction import Actor, Embedded

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
EMBEDDED = Embedded(lambda item: item in ("water", "lime", "lime-juice"), lambda _, __: (), {"lime": ["lime-juice"]})
Body = dict[str, Any]


def change(store: Store, work: Callable[[Ledger], Any], now: datetime = NOON) -> int:
    """One committed change; the cost version that it announced."""
    with store.writing() as connection:
        ledger = Ledger(connection, Actor("key-1", "request-1"), now, EMBEDDED)
        work(ledger)
        return ledger.close()


def put(store: Store, kind: str, body: Body, day: date | None = None, now: datetime = NOON) -> Held:
    """Creates or replaces one entry."""
    with store.writing() as connection:
        ledger = Ledger(connection, Actor("key-1", "request-1"), now, EMBEDDED)
        held = ledger.put(kind, body, day, current(connection, kind, body["id"]))
        ledger.close()
    return held


def remove(store: Store, kind: str, entry_id: str, now: datetime = NOON) -> int:
    """Deletes one entry."""

    def work(ledger: Ledger) -> None:
        known = held(store, kind, entry_id)
        assert known is not None
        ledger.remove(known, body_of(known))

    return change(store, work, now)


def set_state(store: Store, kind: str, entry_id: str, state: str, now: datetime = NOON) -> int:
    """Archives one entry or takes it back."""

    def work(ledger: Ledger) -> None:
        known = held(store, kind, entry_id)
        assert known is not None
        ledger.set_state(known, body_of(known), state)

    return change(store, work, now)


def held(store: Store, kind: str, entry_id: str) -> Held | None:
    """The entry as it is now."""
    with store.reading() as connection:
        return current(connection, kind, entry_id)


def body_of(entry: Held) -> Body:
    """What an entry says."""
    found: Body = json.loads(entry.text)
    return found


def ingredient(entry_id: str, **more: Any) -> Body:
    """An ingredient."""
    return {"id": entry_id, "name": f"Name of {entry_id}", **more}


def part(entry_id: str, items: Sequence[str], **more: Any) -> Body:
    """A preparation of these items."""
    lines = [{"item": item, "amount": "10 ml"} for item in items]
    return {"id": entry_id, "name": f"Name of {entry_id}", "lines": lines, **more}


drink = part


def offer(entry_id: str, item: str, amount: str = "10.00", **more: Any) -> Body:
    """An offer of a litre by the supplier ``quay``."""
    return {"id": entry_id, "item": item, "supplier": "quay", "pack": {"size": "1 l"},
            "price": {"amount": amount, "currency": "EUR"}, **more}  # fmt: skip
