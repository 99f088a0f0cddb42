"""Suppliers' price lists as they were sent: kept with what they were read against until they are committed."""

import json
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from typing import IO, Any, Final

from sqlalchemy import Connection, func, insert, select, update

from service.errors import NotFound
from service.store.tables import PRICE_LIST_PIECES, PRICE_LISTS, REVISIONS
from service.temporary import temporary_file

_PIECE: Final = 65_536
"""Bytes of a piece of a file."""


@dataclass(frozen=True, slots=True)
class KeptList:
    """A list without its bytes: ``base_version`` is the version of the catalogue that it was read against."""

    id: str
    supplier: str
    state: str
    base_version: int
    received_at: str
    committed_at: str | None
    file_sha256: str
    media_type: str
    options: Mapping[str, Any]
    head: Mapping[str, Any]


def keep_list(connection: Connection, made: KeptList, key_id: str, file: IO[bytes]) -> None:
    """Keeps a list in dry run."""
    connection.execute(
        insert(PRICE_LISTS).values(
            id=made.id, supplier=made.supplier, state=made.state, base_version=made.base_version,
            received_at=made.received_at, key_id=key_id, file_sha256=made.file_sha256, media_type=made.media_type,
            options=json.dumps(dict(made.options)), head=json.dumps(dict(made.head)), file=b"",
        )
    )  # fmt: skip
    file.seek(0)
    place = 0
    while piece := file.read(_PIECE):
        connection.execute(insert(PRICE_LIST_PIECES).values(list_id=made.id, place=place, piece=piece))
        place += 1


def kept_list(connection: Connection, list_id: str) -> KeptList:
    """A list. Raises :class:`NotFound`."""
    row = connection.execute(select(PRICE_LISTS).where(PRICE_LISTS.c.id == list_id)).first()
    if row is None:
        raise NotFound("There is no price list of this id.")
    return KeptList(
        row.id, row.supplier, row.state, row.base_version, row.received_at, row.committed_at, row.file_sha256,
        row.media_type, json.loads(row.options), json.loads(row.head),
    )  # fmt: skip


def kept_file(connection: Connection, list_id: str) -> IO[bytes]:
    """The file of a list, for whoever closes it."""
    file = temporary_file()
    pieces = select(PRICE_LIST_PIECES.c.piece).where(PRICE_LIST_PIECES.c.list_id == list_id)
    ordered = pieces.order_by(PRICE_LIST_PIECES.c.place).execution_options(yield_per=1)
    try:
        for piece in connection.execute(ordered).scalars():
            file.write(piece)
    except BaseException:
        file.close()
        raise
    return file


def mark_committed(
    connection: Connection, list_id: str, at: str, options: Mapping[str, Any], head: Mapping[str, Any]
) -> None:
    """Says that a list was taken in."""
    connection.execute(
        update(PRICE_LISTS)
        .where(PRICE_LISTS.c.id == list_id)
        .values(state="committed", committed_at=at, options=json.dumps(dict(options)), head=json.dumps(dict(head)))
    )


def drop_list(connection: Connection, list_id: str) -> None:
    """Takes a list that was not committed out of consideration."""
    connection.execute(update(PRICE_LISTS).where(PRICE_LISTS.c.id == list_id).values(state="dropped"))


def offers_changed_since(connection: Connection, supplier: str, version: int) -> bool:
    """Whether an offer that is or ever was a supplier's was written after a version."""
    ever = select(REVISIONS.c.id).where(REVISIONS.c.kind == "offers", REVISIONS.c.supplier == supplier)
    newest = select(func.max(REVISIONS.c.version)).where(REVISIONS.c.kind == "offers", REVISIONS.c.id.in_(ever))
    found = connection.execute(newest).scalar_one()
    return found is not None and found > version


def new_list_id() -> str:
    """A random id."""
    return uuid.uuid4().hex
