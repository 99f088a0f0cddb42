"""The store of one process: its engine, what is announced, and the doors for reading and writing."""

import shutil
import sqlite3
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final, Literal, NamedTuple

from sqlalchemy import Connection, Engine, insert, select, text

from service.errors import StoreBusy, StoreFault
from service.store.engine import BUSY_MS, engine_of, prepare_sqlite, reading, writing
from service.store.schema import HEAD, LOCK, bring_up_to_date, create_empty, schema_version, told_why
from service.store.tables import STATE

_STATE = "SELECT data_version, cost_version, keys_version FROM state WHERE id = 1"

LEAST_FREE_BYTES = 16 * 1024 * 1024
"""Free space below which the store says that it is not ready."""


class Versions(NamedTuple):
    """What is announced: ``data`` counts what labels show, ``cost`` every change, ``keys`` changes of keys."""

    data: int
    cost: int
    keys: int


class Checked(NamedTuple):
    """A store that can be relied on: its database, and whether its disk has room; ``None`` where nobody here knows."""

    database: Literal["sqlite", "postgresql"]
    has_room: bool | None


class Store:
    """One database. Without a URL it is an empty SQLite file of this process alone, which goes when it closes."""

    def __init__(self, url: str | None, rules_version: str, reference_version: str) -> None:
        self._own: tempfile.TemporaryDirectory[str] | None = None
        self._path: Path | None = None
        if url is None:
            self._own = tempfile.TemporaryDirectory(prefix="washline-", ignore_cleanup_errors=True)
            url = f"sqlite:///{self._own.name}/washline.db"
        self.engine: Engine = engine_of(url)
        self.embedded = self.engine.dialect.name == "sqlite"
        if self.embedded:
            self._path = Path(str(self.engine.url.database)).absolute()
        self._lock = threading.Lock()
        self._direct: sqlite3.Connection | None = None
        try:
            self._open(rules_version, reference_version)
        except BaseException:
            self.close()
            raise

    def _open(self, rules_version: str, reference_version: str) -> None:
        if self._own is not None:
            with writing(self.engine) as connection:
                create_empty(connection)
        else:
            bring_up_to_date(self.engine)
        self._begin(rules_version, reference_version)
        if self.embedded:
            self._direct = sqlite3.connect(str(self._path), check_same_thread=False, isolation_level=None, timeout=2)
            prepare_sqlite(self._direct)
            self._direct.execute("PRAGMA query_only=ON")

    def versions(self) -> Versions:
        """What is announced now; microseconds on SQLite, one round trip on PostgreSQL."""
        if self._direct is not None:
            try:
                with self._lock:
                    return Versions(*self._direct.execute(_STATE).fetchone())
            except sqlite3.Error as fault:
                raise StoreBusy("The store cannot be read now; try again.") from fault
        with self.reading() as connection:
            return versions_in(connection)

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A connection that sees one committed state."""
        with reading(self.engine) as connection:
            yield connection

    @contextmanager
    def writing(self, wait_ms: int = BUSY_MS) -> Iterator[Connection]:
        """A connection with the write lock, for which it waits so long; commits once, at the end."""
        with writing(self.engine, wait_ms) as connection:
            yield connection

    def check(self) -> "Checked":
        """What is well. Raises :class:`StoreFault` or :class:`StoreBusy` where the store cannot be relied on."""
        with self.reading() as connection:
            at = schema_version(connection)
            if at != HEAD:
                raise StoreFault(f"The schema is at {at}, this program at {HEAD}.")
            if self.embedded:
                mode = connection.execute(text("PRAGMA journal_mode")).scalar_one()
                flushed = connection.execute(text("PRAGMA synchronous")).scalar_one()
                if (mode, flushed) != ("wal", 2):
                    raise StoreFault("The database is not written with a flushed write-ahead log.")
            else:
                _check_server(connection)
            connection.execute(select(STATE)).one()
        if self._path is None:
            return Checked("postgresql", None)
        if shutil.disk_usage(self._path.parent).free < LEAST_FREE_BYTES:
            raise StoreFault("The disk is nearly full.")
        return Checked("sqlite", True)

    def close(self) -> None:
        """Gives all connections back; a database of this process alone is deleted."""
        if self._direct is not None:
            self._direct.close()
            self._direct = None
        self.engine.dispose()
        if self._own is not None:
            self._own.cleanup()

    def _begin(self, rules_version: str, reference_version: str) -> None:
        """Writes the first state; a later start with other rules or another reference announces a new version."""
        with self.reading() as connection:
            row = connection.execute(select(STATE)).first()
        if row is not None and (row.rules_version, row.reference_version) == (rules_version, reference_version):
            return
        from service.store.changes import (
            announce_rules,  # needed by a first start and by a start with other rules alone
        )

        with told_why(self.engine), self.writing() as connection:
            if not self.embedded:  # Where there is no row yet, its lock keeps nobody out.
                connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": LOCK})
            row = connection.execute(select(STATE)).first()
            if row is None:
                connection.execute(
                    insert(STATE).values(
                        id=1, data_version=0, cost_version=0, keys_version=0,
                        rules_version=rules_version, reference_version=reference_version,
                    )
                )  # fmt: skip
            elif (row.rules_version, row.reference_version) != (rules_version, reference_version):
                announce_rules(connection, rules_version, reference_version)


_SERVER: Final = (
    ("fsync", ("on",), "The database does not flush its log (fsync is off)."),
    ("synchronous_commit", ("on", "local", "remote_write", "remote_apply"),
     "The database acknowledges before it flushes (synchronous_commit is off)."),
    ("full_page_writes", ("on",), "The database does not outlive a torn page (full_page_writes is off)."),
)  # fmt: skip
"""Settings of a PostgreSQL server, the values with which what it acknowledges is kept, and what is wrong otherwise."""


def _check_server(connection: Connection) -> None:
    """Raises :class:`StoreFault` where a server may lose what it acknowledges, or takes no writes."""
    columns = ", ".join(f"current_setting('{name}')" for name, _, _ in _SERVER)
    *settings, recovering = connection.execute(text(f"SELECT {columns}, pg_is_in_recovery()")).one()
    if recovering:
        raise StoreFault("The database is a standby, or is recovering: it takes no writes.")
    for value, (_, safe, why) in zip(settings, _SERVER, strict=True):
        if value not in safe:
            raise StoreFault(why)


def versions_in(connection: Connection) -> Versions:
    """What is announced in the state that a connection sees."""
    row = connection.execute(text(_STATE)).one()
    return Versions(row.data_version, row.cost_version, row.keys_version)
