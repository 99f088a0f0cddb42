"""A price list tried on the catalogue: the offers as they would be if its rows were taken in, with nothing stored."""

import json
from collections.abc import Mapping
from datetime import date
from typing import IO, Any

from fastapi import Request
from msgspec import Struct

from schemas.moves import ListIn
from schemas.price_lists import ListMovesQuery
from service.api.kept import today
from service.api.list_reading import (
    bodies_of,
    day_of,
    head_of,
    offers_then,
    options_of,
    price_list_of,
    without_offers,
)
from service.errors import Conflict
from service.report.figures import Json
from service.store.held import Held
from service.store.price_lists import kept_file, kept_list
from service.store.snapshot import Snapshot
from service.suppliers.judging import Judged
from service.suppliers.spool import Spool


class Listed(Struct, frozen=True):
    """A list as it was sent, with how it is to be read; ``file`` is for whoever asked to close."""

    supplier: str
    media_type: str
    file: IO[bytes]
    options: Mapping[str, Any]

    @property
    def day(self) -> date:
        """The first day of its prices."""
        return day_of(self.options)


class Tried(Struct, frozen=True):
    """The catalogue with the list's offers in it, and what is told of the list."""

    snapshot: Snapshot
    told: Json


def listed_of_file(request: Request, query: ListMovesQuery, media_type: str, file: IO[bytes]) -> Listed:
    """A list that is sent with the question. Raises :class:`Problem` where it cannot be read."""
    snapshot = without_offers(request, query.valid_from or today(), request.state.versions.cost)
    return Listed(query.supplier, media_type, file, options_of(snapshot, query))


def listed_of_kept(request: Request, asked: ListIn) -> Listed:
    """A list that was sent before. Raises :class:`NotFound`, or :class:`Conflict` where it was taken in or dropped."""
    with request.app.state.store.reading() as connection:
        kept = kept_list(connection, asked.id)
        if kept.state != "read":
            raise Conflict(kept.state, f"The list was {kept.state} before; there is nothing left to try.")
        file = kept_file(connection, asked.id)
    options = {**kept.options, "confirm": list(asked.confirm), "leave_out": list(asked.leave_out)}
    options["items"] = {**options.get("items", {}), **asked.items}
    return Listed(kept.supplier, kept.media_type, file, options)


def tried(request: Request, listed: Listed, base: Snapshot) -> Tried:
    """What the rows that may be taken in make of the offers of ``base``; the other rows are named and change nothing.

    Prices that begin after the day of ``base`` count as if they had begun.
    """
    version = request.state.versions.cost
    snapshot = without_offers(request, listed.day, version)
    price_list = price_list_of(request, snapshot, listed.supplier, listed.media_type, listed.file, listed.options)
    offers, blocked = Spool(), []

    def take(judged: Judged) -> None:
        if judged.blocks:
            blocked.append(judged.listed.row)
        else:
            offers.take(judged)

    try:
        head = head_of(price_list, take)
        with request.app.state.store.reading() as connection:
            rows = bodies_of(connection, offers_then(request, snapshot), offers)
            entries = [_held(body, base) for body, _, _ in rows]
    finally:
        offers.close()
    told: Json = {
        "supplier": listed.supplier, "file_sha256": price_list.sha256,
        "not_counted": list(blocked), **head,
    }  # fmt: skip
    return Tried(base.supposing(entries), told)


def _held(body: dict[str, Any], base: Snapshot) -> Held:
    begins = body.get("valid_from")
    if begins is not None and begins > base.day:
        body = {name: one for name, one in body.items() if name != "valid_from"}
    text = json.dumps(body, ensure_ascii=False, separators=(",", ":"))
    return Held("offers", body["id"], -1, base.day, base.version, "live", text, "", body["item"])
