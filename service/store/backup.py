"""Backups that both databases read: one committed state as JSON lines, and its way into an empty database.

The first line is the head, the last one the count of rows and a SHA-256 over all lines before it. A backup holds every
cost, recipe and audit row in the clear: its file is for its owner alone, and is to be encrypted before it leaves the
machine.
"""

import base64
import hashlib
import json
import os
from collections.abc import Iterator, Mapping
from contextlib import suppress
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any, Final, NamedTuple

from sqlalchemy import Connection, func, insert, inspect, select, text

from service.errors import StoreFault
from service.store.engine import engine_of
from service.store.schema import HEAD, alone, known_schemas, migrate_to, told_why
from service.store.store import Store
from service.store.tables import AUDIT, METADATA, STATE

FORMAT: Final = "washline-backup"
FORMAT_VERSION: Final = 1
_ROWS: Final = 500
_LONGEST_LINE: Final = 64 * 1024 * 1024


class Made(NamedTuple):
    """What a backup holds: rows, the cost version it is of, and the SHA-256 over its lines."""

    rows: int
    cost_version: int
    sha256: str


def backup(store: Store, path: Path, tool: str) -> Made:
    """Writes what is committed now to a new file that only its owner may read. Raises :class:`StoreFault`.

    The file has its name only once it is whole and flushed. ``tool`` is the version of the program, for readers.
    """
    if path.exists():
        raise StoreFault("There is a file of this name; a backup does not replace another one.")
    partial = path.with_name(f".{path.name}.{os.getpid()}.partial")
    try:
        descriptor = os.open(partial, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        try:
            with os.fdopen(descriptor, "wb") as file, store.reading() as connection:
                made = _written(file, connection, tool)
                file.flush()
                os.fsync(file.fileno())
            partial.replace(path)
            _flush_folder(path.parent)
        finally:
            with suppress(FileNotFoundError):
                partial.unlink()
    except OSError as fault:
        raise StoreFault(f"The backup cannot be written: {fault.strerror}.") from fault
    return made


def restore(path: Path, url: str) -> Made:
    """Puts a backup into an empty database, all of it or nothing. Raises :class:`StoreFault`."""
    head, checked = _verified(path)
    engine = engine_of(url)
    try:
        with told_why(engine), alone(engine) as connection:
            if inspect(connection).get_table_names():
                raise StoreFault("The database is not empty; a backup is restored into a new one.")
            migrate_to(connection, head["schema"])
            digest = _inserted(connection, path, head["tables"])
            if digest != checked.sha256 or connection.execute(select(STATE.c.cost_version)).scalar() is None:
                raise StoreFault("The backup changed while it was read; nothing was restored.")
            _continue_counting(connection)
            if head["schema"] != HEAD:
                migrate_to(connection, HEAD)
    finally:
        engine.dispose()
    return checked


def _written(file: Any, connection: Connection, tool: str) -> Made:
    if connection.dialect.name != "sqlite":  # All of the history takes longer than one request may.
        connection.execute(text("SET LOCAL statement_timeout = 0"))
    state = connection.execute(select(STATE)).one()
    tables = {table.name: [column.name for column in table.columns] for table in METADATA.sorted_tables}
    head = {
        "format": FORMAT, "format_version": FORMAT_VERSION, "schema": HEAD, "tool": tool,
        "cost_version": state.cost_version, "data_version": state.data_version,
        "made_at": datetime.now(UTC).isoformat(timespec="seconds"), "tables": tables,
    }  # fmt: skip
    digest, rows = hashlib.sha256(), 0
    for line in _lines(connection, head):
        digest.update(line)
        file.write(line)
        rows += 1
    made = Made(rows - 1, state.cost_version, digest.hexdigest())
    file.write(_line({"rows": made.rows, "sha256": made.sha256}))
    return made


def _lines(connection: Connection, head: Mapping[str, Any]) -> Iterator[bytes]:
    yield _line(head)
    for table in METADATA.sorted_tables:
        rows = connection.execution_options(yield_per=_ROWS).execute(select(table).order_by(*table.primary_key))
        for row in rows:
            yield _line([table.name, [_plain(cell) for cell in row]])


def _plain(cell: Any) -> Any:
    """A cell as JSON holds it: an exact decimal as its digits, bytes in base64 (RFC 4648, section 4)."""
    if isinstance(cell, Decimal):
        return format(cell, "f")
    return base64.b64encode(cell).decode("ascii") if isinstance(cell, bytes) else cell


def _line(value: Any) -> bytes:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"), allow_nan=False).encode() + b"\n"


def _verified(path: Path) -> tuple[dict[str, Any], Made]:
    """The head, and what the last line says of the rest, which holds."""
    digest, rows = hashlib.sha256(), -1
    last = first = b""
    for line in _lines_of(path):
        if last:
            digest.update(last)
            rows += 1
        first, last = first or line, line
    head, end = _object(first), _object(last)
    if head.get("format") != FORMAT:
        raise StoreFault("This is not a backup of this service.")
    if head.get("format_version") != FORMAT_VERSION or head.get("schema") not in known_schemas():
        raise StoreFault("The backup was written by a newer version of this service; restore it with that one.")
    if rows < 0 or (end.get("rows"), end.get("sha256")) != (rows, digest.hexdigest()) or not _tables_known(head):
        raise StoreFault("The backup is not whole: its count or its hash does not hold; nothing was restored.")
    return head, Made(rows, head["cost_version"], digest.hexdigest())


def _tables_known(head: Mapping[str, Any]) -> bool:
    return all(
        name in METADATA.tables and set(columns) <= set(METADATA.tables[name].columns.keys())
        for name, columns in head["tables"].items()
    )


def _lines_of(path: Path) -> Iterator[bytes]:
    try:
        with path.open("rb") as file:
            while line := file.readline(_LONGEST_LINE):
                yield line
    except OSError as fault:
        raise StoreFault(f"The backup cannot be read: {fault.strerror}.") from fault


def _object(line: bytes) -> dict[str, Any]:
    try:
        found = json.loads(line)
    except ValueError:
        return {}
    return found if isinstance(found, dict) else {}


def _inserted(connection: Connection, path: Path, tables: Mapping[str, list[str]]) -> str:
    """Writes every row; the SHA-256 of what was read, since the file may have changed after it was checked."""
    digest = hashlib.sha256()

    def rows() -> Iterator[tuple[str, list[Any]]]:
        for number, line in enumerate(_lines_of(path)):
            if line.startswith(b"{") and number:
                return
            digest.update(line)
            if number:
                yield json.loads(line)

    for batch in _by_table(rows()):
        table = METADATA.tables[batch[0][0]]
        connection.execute(
            insert(table), [_typed(dict(zip(tables[name], cells, strict=True))) for name, cells in batch]
        )
    return digest.hexdigest()


def _by_table(rows: Iterator[tuple[str, list[Any]]]) -> Iterator[list[tuple[str, list[Any]]]]:
    batch: list[tuple[str, list[Any]]] = []
    for row in rows:
        if batch and (batch[0][0] != row[0] or len(batch) == _ROWS):
            yield batch
            batch = []
        batch.append(row)
    if batch:
        yield batch


def _typed(row: dict[str, Any]) -> dict[str, Any]:
    """A price is an exact decimal again, and a file its bytes."""
    if row.get("price") is not None:
        row["price"] = Decimal(row["price"])
    for name in row.keys() & {"file", "piece"}:
        row[name] = base64.b64decode(row[name], validate=True)
    return row


def _continue_counting(connection: Connection) -> None:
    """PostgreSQL counts audit rows by a sequence that knows nothing of rows written with their number."""
    if connection.dialect.name == "sqlite":
        return
    last = connection.execute(select(func.max(AUDIT.c.sequence))).scalar_one_or_none()
    if last is not None:
        connection.execute(text("SELECT setval(pg_get_serial_sequence('audit', 'sequence'), :last)"), {"last": last})


def _flush_folder(folder: Path) -> None:
    """A new name is safe on disk once its folder is."""
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
