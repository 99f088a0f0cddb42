"""Nothing is written in a transaction that did not begin with the write lock (P3): a planted one is refused."""

import re
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Connection, event, select, text
from sqlalchemy.exc import DBAPIError

from service.errors import StoreBusy, StoreFault
from service.store.engine import reading, writing
from service.store.store import Store
from service.store.tables import STATE
from tests.databases import REFERENCE, RULES, sqlite_url
from tests.store.written import ingredient, put

WRITES = (
    "UPDATE state SET cost_version = 99", "DELETE FROM state", "INSERT INTO quotas VALUES ('k', 'm', 1, 1)",
    "CREATE TABLE more (id INTEGER)",
)  # fmt: skip


@pytest.mark.parametrize("statement", WRITES)
def test_a_transaction_without_the_lock_cannot_write(store: Store, statement: str) -> None:
    ways: tuple[Callable[[], Any], ...] = (
        lambda: reading(store.engine),
        store.engine.begin,
        lambda: store.engine.execution_options(washline_begin="DEFERRED").begin(),
    )
    for way in ways:
        with pytest.raises((DBAPIError, StoreBusy)) as caught, way() as connection:
            connection.execute(text(statement))
        _is_read_only(caught.value)
    assert store.versions() == (0, 0, 0)
    with store.writing() as connection:  # The same connection may write where it has the lock.
        connection.execute(text(statement))


def test_a_read_after_a_write_cannot_write_again(store: Store) -> None:
    """The right to write does not stay with the connection, which is used again."""
    for _ in range(3):
        put(store, "ingredients", ingredient("rum"))
        with pytest.raises(StoreBusy) as caught, store.reading() as connection:
            connection.execute(text("DELETE FROM state"))
        _is_read_only(caught.value)
    assert store.versions().cost == 1


def test_every_write_begins_with_the_lock(store: Store) -> None:
    """On SQLite by BEGIN IMMEDIATE, on PostgreSQL by the lock of the one row of versions, before anything is read."""
    said: list[str] = []
    event.listen(store.engine, "before_cursor_execute", lambda *given: said.append(given[2]))
    put(store, "ingredients", ingredient("rum"))
    locks = "BEGIN IMMEDIATE" if store.embedded else "SELECT 1 FROM state WHERE id = 1 FOR UPDATE"
    first = next(one for one in said if not one.startswith(("PRAGMA", "SET LOCAL")))
    assert first == locks
    assert any(one.startswith("INSERT INTO revisions") for one in said)


def test_who_has_the_lock_keeps_other_writers_out_and_no_reader(store: Store) -> None:
    has, ends = threading.Event(), threading.Event()

    def hold() -> None:
        with store.writing() as connection:
            _raise_by_one(connection)
            has.set()
            assert ends.wait(20)

    holder = threading.Thread(target=hold)
    holder.start()
    assert has.wait(20)
    with pytest.raises(StoreBusy), writing(store.engine, 50):
        pass
    assert store.versions().cost == 0
    ends.set()
    holder.join()
    with store.writing() as connection:
        _raise_by_one(connection)
    assert store.versions().cost == 2


def test_a_database_that_does_not_flush_is_told(tmp_path: Path) -> None:
    """SQLite, where the connection settles it; for the settings of a server see tests/faults/test_ready.py."""
    store = Store(sqlite_url(tmp_path), RULES, REFERENCE)
    assert store.check() == ("sqlite", True)
    event.listen(store.engine, "connect", lambda connection, _: connection.execute("PRAGMA synchronous=NORMAL"))
    store.engine.dispose()
    with pytest.raises(StoreFault, match="flushed"):
        store.check()
    store.close()


def _is_read_only(fault: BaseException) -> None:
    """The words with which both databases refuse a write in a transaction that only reads."""
    assert re.search("read-?only", str(fault.__cause__ or fault)), fault


def _raise_by_one(connection: Connection) -> None:
    """Reads and writes what it read, plus one: what a deferred transaction would lose."""
    at = connection.execute(select(STATE.c.cost_version)).scalar_one()
    connection.execute(text("UPDATE state SET cost_version = :next"), {"next": at + 1})
