"""Writes the demo bar into an empty store: what a new user finds behind ``make serve``."""

import json
from collections.abc import Iterator
from datetime import UTC, date, datetime
from typing import Any

from sqlalchemy import select

from service.demo import demo
from service.store.kinds import normalised
from service.store.ledger import Actor, Embedded, Ledger
from service.store.store import Store
from service.store.tables import ENTRIES


def seed_demo(store: Store, embedded: Embedded) -> None:
    """Writes the demo where nothing is stored yet; a store that holds anything is left as it is."""
    with store.reading() as connection:
        if connection.execute(select(ENTRIES.c.id).limit(1)).first() is not None:
            return
    with store.writing() as connection:
        if connection.execute(select(ENTRIES.c.id).limit(1)).first() is not None:
            return  # Another worker was first.
        ledger = Ledger(connection, Actor("demo", "demo"), datetime.now(UTC), embedded)
        for kind, body, day in _entries():
            ledger.put(kind, normalised(body), day)
        ledger.close()


def _entries() -> Iterator[tuple[str, dict[str, Any], date | None]]:
    bar = demo()
    yield "venues", _group(), None
    suppliers = sorted({offer.supplier for offer in bar.offers})
    for supplier in suppliers:
        yield "suppliers", {"id": _slug(supplier), "name": supplier}, None
    for ingredient in bar.ingredients:
        yield "ingredients", _body(ingredient), None
    waiting = {row.id: row for row in bar.preparations.values()}
    while waiting:  # A part comes after the parts that it is made of.
        ready = [row for row in waiting.values() if not any(line.item in waiting for line in row.lines)]
        for row in ready:
            yield "preparations", _body(row), None
            del waiting[row.id]
    for offer in bar.offers:
        yield "offers", {**_body(offer), "supplier": _slug(offer.supplier)}, None
    for document in bar.drinks.values():
        yield "drinks", document["drink"], None


def _group() -> dict[str, Any]:
    bar = demo()
    return {
        "id": "group", "name": bar.bar, "jurisdictions": list(bar.jurisdictions), "pricing": _body(bar.pricing),
        "house": _body(bar.house),
    }  # fmt: skip


def _body(model: Any) -> dict[str, Any]:
    body: dict[str, Any] = json.loads(model.model_dump_json(by_alias=True, exclude_unset=True))
    return body


def _slug(name: str) -> str:
    return "-".join("".join(char if char.isalnum() else " " for char in name.lower()).split())
