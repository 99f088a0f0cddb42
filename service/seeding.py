"""Writes the demo bar into an empty store: what a new user finds behind ``make serve``."""

import json
from collections.abc import Iterator
from datetime import UTC, date, datetime
from typing import Any

import tomli
from sqlalchemy import select

from service.demo import FOLDER, demo
from service.store.held import current
from service.store.kinds import normalised
from service.store.ledger import Ledger
from service.store.store import Store
from service.store.tables import ENTRIES
from service.store.transaction import Actor, Embedded


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
            known = current(connection, kind, body["id"]) if kind == "offers" else None
            ledger.put(kind, normalised(body), day, known)
        ledger.close()


def _entries() -> Iterator[tuple[str, dict[str, Any], date | None]]:
    bar = demo()
    yield "venues", _group(), None
    suppliers = sorted({offer.supplier for offer in bar.offers})
    for supplier in suppliers:
        yield "suppliers", {"id": _slug(supplier), "name": supplier, **_list_settings(supplier)}, None
    for ingredient in bar.ingredients:
        body = _body(ingredient)
        if "supplier" in body.get("evidence", {}):  # An offer of the store names its supplier by its id.
            body["evidence"]["supplier"] = _slug(body["evidence"]["supplier"])
        yield "ingredients", body, None
    waiting = {row.id: row for row in bar.preparations.values()}
    while waiting:  # A part comes after the parts that it is made of.
        ready = [row for row in waiting.values() if not any(line.item in waiting for line in row.lines)]
        for row in ready:
            yield "preparations", _body(row), None
            del waiting[row.id]
    for offer in bar.offers:
        yield from _priced({**_body(offer), "supplier": _slug(offer.supplier)})
    for document in bar.drinks.values():
        yield "drinks", document["drink"], None
    for venue in bar.venues:
        yield "venues", venue, None
    for menu in bar.menus:
        yield "menus", menu, None


def _priced(body: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any], date | None]]:
    """An offer with its prices of the year before, each from its day on."""
    old = [row for row in demo().history if row.offer == body["id"]]
    before = {name: value for name, value in body.items() if name not in ("valid_from", "valid_to")}
    for number, row in enumerate(old):
        price = {**body["price"], "amount": row.amount}
        yield "offers", {**before, "price": price}, None if number == 0 else row.day
    stated = date.fromisoformat(body["valid_from"]) if "valid_from" in body else demo().history_until
    yield "offers", body, stated if old else None


def _group() -> dict[str, Any]:
    bar = demo()
    return {
        "id": "group", "name": bar.bar, "jurisdictions": list(bar.jurisdictions), "pricing": _body(bar.pricing),
        "house": _body(bar.house),
    }  # fmt: skip


def _list_settings(supplier: str) -> dict[str, Any]:
    """How the lists of a supplier are read, from the file beside the sample list."""
    for path in sorted((FOLDER / "price_lists").glob("*.toml")):
        settings = tomli.loads(path.read_text("utf-8"))
        if settings.pop("supplier") == supplier:
            currency = settings.pop("currency")
            settings.pop("valid_from", None)
            return {"currency": currency, "price_list": settings}
    return {}


def _body(model: Any) -> dict[str, Any]:
    body: dict[str, Any] = json.loads(model.model_dump_json(by_alias=True, exclude_unset=True))
    return body


def _slug(name: str) -> str:
    return "-".join("".join(char if char.isalnum() else " " for char in name.lower()).split())
