"""The connection to the database: SQLite beside the service by default, PostgreSQL by its URL.

SQLite runs in WAL with every commit flushed to disk, and each write begins with the write lock: a deferred transaction
that reads first and writes later would lose updates or fail at once. So nothing can be written in a transaction that
did not begin with the lock, on neither database.
"""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import Any, Final

from sqlalchemy import Connection, Engine, create_engine, event, text
from sqlalchemy.engine import make_url
from sqlalchemy.exc import DBAPIError, OperationalError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from service.errors import StoreBusy, StoreFault, StoreFull

BUSY_MS: Final = 2000
"""How long a write waits for another one's lock."""
STATEMENT_MS: Final = 3000
"""How long one statement may run on PostgreSQL."""
POOL_SIZE: Final = 20
POOL_MORE: Final = 20
"""Together the number of threads that the web framework has for blocking work."""
POOL_WAIT_S: Final = 1.0

ONE_STATE: Final[dict[str, dict[str, Any]]] = {"sqlite": {}, "postgresql": {"isolation_level": "REPEATABLE READ"}}
"""By database: what makes all statements of a transaction see one committed state. It cannot write."""
TO_WRITE: Final[dict[str, Any]] = {"washline_begin": "IMMEDIATE", "postgresql_readonly": False}
"""What lets a transaction write; on SQLite it has the write lock from its beginning."""


def engine_of(url: str) -> Engine:
    """An engine for a database URL with the service's durability and time limits. Raises :class:`StoreFault`."""
    try:
        parsed = make_url(url)
        backend = parsed.get_backend_name()
    except Exception as fault:  # the library has no one class for a malformed URL
        raise StoreFault("WASHLINE_DATABASE_URL is not a database URL.") from fault
    if backend == "sqlite":
        if parsed.database in (None, "", ":memory:"):
            raise StoreFault("A database in memory holds for one connection alone; name a file, or leave the URL out.")
        return _sqlite(url)
    if backend == "postgresql":
        return _postgresql(str(parsed.set(drivername="postgresql+psycopg").render_as_string(hide_password=False)))
    raise StoreFault("WASHLINE_DATABASE_URL names neither sqlite nor postgresql.")


def _sqlite(url: str) -> Engine:
    name = make_url(url).database
    if name and name != ":memory:":  # A new file is for its owner alone: it will hold costs.
        with suppress(OSError):  # What is wrong with the place is told when the file is opened.
            os.close(os.open(name, os.O_CREAT | os.O_RDONLY, 0o600))
    engine = create_engine(
        url,
        pool_size=POOL_SIZE,
        max_overflow=POOL_MORE,
        pool_timeout=POOL_WAIT_S,
        hide_parameters=True,  # What a statement was given may be a price or a digest, and faults go into the log.
        connect_args={"timeout": BUSY_MS / 1000, "check_same_thread": False, "isolation_level": None},
    )

    @event.listens_for(engine, "connect")
    def _prepare(connection: Any, _: Any) -> None:
        prepare_sqlite(connection)

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        options = connection.get_execution_options()
        begin = options.get("washline_begin", "DEFERRED")
        connection.exec_driver_sql(f"PRAGMA busy_timeout={options.get('washline_wait_ms', BUSY_MS)}")
        connection.exec_driver_sql(f"PRAGMA query_only={int(begin != 'IMMEDIATE')}")
        connection.exec_driver_sql(f"BEGIN {begin}")

    return engine


def prepare_sqlite(connection: sqlite3.Connection) -> None:
    """Sets and verifies durability on one connection. Raises :class:`StoreFault` where it cannot be had."""
    cursor = connection.cursor()
    try:
        mode = cursor.execute("PRAGMA journal_mode=WAL").fetchone()[0]
        if mode != "wal":
            raise StoreFault(f"The database file cannot be used with a write-ahead log (journal mode {mode}).")
        cursor.execute("PRAGMA synchronous=FULL")
        cursor.execute("PRAGMA foreign_keys=ON")
        cursor.execute(f"PRAGMA busy_timeout={BUSY_MS}")
    finally:
        cursor.close()


def _postgresql(url: str) -> Engine:
    options = f"-c statement_timeout={STATEMENT_MS} -c lock_timeout={BUSY_MS} -c timezone=UTC"
    return create_engine(
        url,
        pool_size=POOL_SIZE,
        max_overflow=POOL_MORE,
        pool_timeout=POOL_WAIT_S,
        hide_parameters=True,  # What a statement was given may be a price or a digest, and faults go into the log.
        pool_pre_ping=True,
        execution_options={"postgresql_readonly": True},
        connect_args={
            "options": options,
            "connect_timeout": 2,
            # A connection whose other end is gone without a word is given up after some seconds, not hours.
            "keepalives_idle": 5,
            "keepalives_interval": 2,
            "keepalives_count": 2,
            "tcp_user_timeout": 5000,
        },
    )


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """A connection whose statements all see one committed state."""
    isolation = ONE_STATE[engine.dialect.name]
    with translated(), engine.connect().execution_options(**isolation) as connection, connection.begin():
        yield connection


@contextmanager
def writing(engine: Engine, wait_ms: int = BUSY_MS) -> Iterator[Connection]:
    """A connection that holds the write lock from its first statement on; commits at the end, once.

    ``wait_ms`` is how long it waits for that lock.
    """
    options = {**TO_WRITE, "washline_wait_ms": wait_ms}
    with translated(), engine.connect().execution_options(**options) as connection, connection.begin():
        if engine.dialect.name != "sqlite":
            if wait_ms != BUSY_MS:
                connection.execute(text(f"SET LOCAL lock_timeout = {wait_ms:d}"))
            connection.execute(text("SELECT 1 FROM state WHERE id = 1 FOR UPDATE"))
        yield connection


@contextmanager
def translated() -> Iterator[None]:
    """What a database says in its own words, as the faults of this service."""
    try:
        yield
    except PoolTimeout as fault:
        raise StoreBusy("The store has no connection free; try again.") from fault
    except DBAPIError as fault:
        raise _fault_of(fault) from fault


def is_busy(fault: DBAPIError) -> bool:
    """Whether a database says that somebody else holds what is wanted, so that waiting helps."""
    return "locked" in str(fault.orig).lower() or getattr(fault.orig, "sqlstate", None) in {"55P03", "57014"}


def _fault_of(fault: DBAPIError) -> Exception:
    said = str(fault.orig).lower()
    state = getattr(fault.orig, "sqlstate", None)
    if "disk is full" in said or "disk full" in said or "no space left" in said or state == "53100":
        return StoreFull("The store has no space left; nothing was changed.")
    if isinstance(fault, OperationalError) or state in {
        "55P03",
        "57014",
        "40001",
        "40P01",
        "57P01",
        "57P02",
        "57P03",
        "25006",
    }:
        return StoreBusy("The store cannot take this now; try again.")
    if "during recovery" in said:  # A standby, or one that was restored up to a moment: it may come to take writes.
        return StoreBusy("The store takes no writes now; try again.")
    if fault.connection_invalidated or (state or "").startswith("08"):
        return StoreBusy("The store cannot be reached; try again.")
    return fault
