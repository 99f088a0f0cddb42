"""The database goes, is locked or full: reads go on where they can, and nothing is lost (F4, F5, F7, P18)."""

import os
import resource
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from service.store import keys
from service.store.engine import engine_of, writing
from tests.faults.importing import FIRST, list_of, prepare_lists
from tests.faults.postgres import Postgres
from tests.faults.rounds import FACTOR, LONG
from tests.faults.rows import check_whole, prices_in, suppliers_in
from tests.faults.running import Client, Forked, Forks, Told

HOLD = """
import sqlite3, sys, time
connection = sqlite3.connect(sys.argv[1], isolation_level=None)
connection.execute("BEGIN IMMEDIATE")
print("held", flush=True)
time.sleep(float(sys.argv[2]))
connection.execute("ROLLBACK")
"""


LONG_LIST = 500
"""Rows of a list that takes more room than is left where a small write finds none."""


def _key(url: str) -> str:
    engine = engine_of(url)
    with writing(engine) as connection:
        _, text = keys.new_key(connection, "Test", keys.SCOPES, None, None)
    engine.dispose()
    return text


def _create(client: Client, name: str) -> Told:
    return client.ask("POST", "/v1/suppliers", {"id": name, "name": name}, Idempotency_Key=name)


def test_while_another_process_holds_the_lock_reads_go_on(forks: Forks, tmp_path: Path) -> None:
    """Writes are told within 2.5 s to come again; a key's quota, which is written, keeps no reader waiting."""
    url = f"sqlite:///{tmp_path}/locked.db"
    group = forks.start(url, drain_s="0")
    client, keyed = Client(group.port), Client(group.port, _key(url))
    assert _create(client, "before").status == 201
    seconds = 10 if LONG else 6
    with subprocess.Popen(
        [sys.executable, "-c", HOLD, f"{tmp_path}/locked.db", str(seconds)], stdout=subprocess.PIPE
    ) as holder:
        assert holder.stdout is not None
        assert holder.stdout.readline() == b"held\n"
        writes = 0
        while holder.poll() is None and writes < (3 if LONG else 2):
            for reader in (keyed, client):
                begun = time.monotonic()
                assert reader.ask("GET", "/v1/suppliers/before").status == 200
                assert time.monotonic() - begun < 1.0
            begun = time.monotonic()
            told = _create((client, keyed)[writes % 2], "during")
            took = time.monotonic() - begun
            if holder.poll() is not None:
                break
            assert (told.status, took <= 2.5) == (503, True), took
            assert told.headers["retry-after"].isdigit()
            writes += 1
        assert writes >= 2, "too few writes met the lock to prove anything"
        holder.wait(timeout=30)
    assert _create(client, "during").status == 201
    group.kill()
    check_whole(url)


@contextmanager
def _little_space(folder: Path) -> Iterator[Path]:
    """A file system of 24 MiB."""
    done = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=24m", "none", str(folder)], capture_output=True, text=True, check=False
    )
    if done.returncode != 0:
        pytest.fail(f"This machine mounts no tmpfs, so that a full disk cannot be tried: {done.stderr.strip()}")
    try:
        yield folder
    finally:
        subprocess.run(["umount", "-l", str(folder)], check=True)


@pytest.mark.skipif(os.geteuid() != 0 and not LONG, reason="only root mounts; the limit of a file stands for it")
def test_a_full_disk_refuses_writes_and_nothing_else(forks: Forks, tmp_path: Path) -> None:
    with _little_space(tmp_path) as folder:
        url = f"sqlite:///{folder}/full.db"
        group = forks.start(url, drain_s="0")
        ballast = folder / "ballast"
        left = os.statvfs(folder).f_bavail * os.statvfs(folder).f_frsize
        ballast.write_bytes(b"x" * (left - 2 * 1024 * 1024))
        ready = Client(group.port).ask("GET", "/readyz")
        assert (ready.status, ready.json["type"]) == (503, "urn:washline:problem:not-ready")
        acknowledged, waiting = _fill(group)
        ballast.unlink()
        _recovers(group, url, acknowledged, waiting)


def test_a_file_that_may_not_grow_refuses_writes_and_nothing_else(forks: Forks, tmp_path: Path) -> None:
    url = f"sqlite:///{tmp_path}/limited.db"
    group = forks.start(url, drain_s="0")
    size = (tmp_path / "limited.db-wal").stat().st_size
    unlimited = resource.prlimit(group.pid, resource.RLIMIT_FSIZE)
    resource.prlimit(group.pid, resource.RLIMIT_FSIZE, (size + 2 * 1024 * 1024, unlimited[1]))
    acknowledged, waiting = _fill(group)
    resource.prlimit(group.pid, resource.RLIMIT_FSIZE, unlimited)
    _recovers(group, url, acknowledged, waiting)


def _fill(group: Forked) -> tuple[set[str], str]:
    """Writes until nothing more fits; what was acknowledged, and a list that could not be taken in. Reads go on."""
    prepare_lists(group.port)
    client, acknowledged, refused = Client(group.port), {"pier"}, 0
    waiting = client.send("/v1/price-lists?supplier=pier", list_of(FIRST, LONG_LIST), "text/csv").json["id"]
    for number in range(2000):
        told = _create(client, f"fill-{number}")
        if told.status == 201:
            acknowledged.add(f"fill-{number}")
            continue
        assert told.status in (503, 507), told.body
        assert told.headers["content-type"] == "application/problem+json"
        assert client.ask("GET", "/v1/suppliers/fill-0").status == 200
        assert client.ask("GET", "/livez").status == 200
        refused += 1
        if refused == 5:
            assert client.ask("POST", f"/v1/price-lists/{waiting}/commit", {}).status in (503, 507)
            assert client.ask("GET", "/v1/offers").json["entries"] == [], "half of a list is there"
            return acknowledged, waiting
    pytest.fail("it never was full")


def _recovers(group: Forked, url: str, acknowledged: set[str], waiting: str) -> None:
    client = Client(group.port)
    begun = time.monotonic()
    while _create(client, "after").status != 201:
        assert time.monotonic() - begun < 5, "it does not recover by itself"
        time.sleep(0.05)
    assert suppliers_in(url) == acknowledged | {"after"}
    assert client.ask("POST", f"/v1/price-lists/{waiting}/commit", {}).status == 200
    assert list(prices_in(url).values()) == [FIRST] * LONG_LIST
    group.kill()
    check_whole(url)
    assert len(acknowledged) >= 5, "too little was written to prove anything"


class _Steady(threading.Thread):
    """Creates suppliers one after another, each sent again with its key until it is acknowledged."""

    def __init__(self, port: int, name: str) -> None:
        super().__init__(daemon=True)
        self.name = name
        self.port = port
        self.acknowledged: set[str] = set()
        self.statuses: set[int] = set()
        self.again = 0
        self.ends = threading.Event()

    def run(self) -> None:
        """Writes."""
        client, number = Client(self.port), 0
        while not self.ends.is_set():
            number += 1
            one = f"{self.name}-{number}"
            while (told := _create(client, one)).status != 201:
                self.statuses.add(told.status)
                self.again += 1
                time.sleep(0.05)
            self.acknowledged.add(one)
        client.close()


def _some_more(writers: list[_Steady]) -> None:
    """Returns once five more writes are acknowledged."""
    begun, before = time.monotonic(), sum(len(writer.acknowledged) for writer in writers)
    while sum(len(writer.acknowledged) for writer in writers) < before + 5:
        assert time.monotonic() - begun < 30, "too few writes to prove anything"
        time.sleep(0.01)


@pytest.mark.parametrize("way", ["fast", "immediate", "kill", "connections"])
def test_postgresql_goes_and_comes_back(forks: Forks, way: str) -> None:
    """No manual step, nothing lost, nothing twice; what a broken commit became is told by its Idempotency-Key."""
    server = Postgres()
    url = server.database()
    group = forks.start(url, workers="2", drain_s="0")
    writers = [_Steady(group.port, f"w{number}") for number in range(4)]
    for writer in writers:
        writer.start()
    client = Client(group.port)
    for _ in range(FACTOR):
        _some_more(writers)
        if way == "connections":
            assert server.end_connections(url.rpartition("/")[2]) > 0
        else:
            server.stop(way)  # type: ignore[arg-type]  # one of its three
            begun = time.monotonic()
            ready = client.ask("GET", "/readyz")
            assert (ready.status, time.monotonic() - begun <= 2.0) == (503, True), time.monotonic() - begun
            assert client.ask("GET", "/livez").status == 200
            assert client.ask("GET", "/v1/suppliers").status == 503
            server.start()
        begun = time.monotonic()
        while client.ask("GET", "/readyz").status != 200 or _create(client, "back").status != 201:
            assert time.monotonic() - begun <= 5.0
            time.sleep(0.05)
        _some_more(writers)
    for writer in writers:
        writer.ends.set()
    for writer in writers:
        writer.join(timeout=60)
    acknowledged = {one for writer in writers for one in writer.acknowledged} | {"back"}
    assert suppliers_in(url) == acknowledged
    assert {status for writer in writers for status in writer.statuses} <= {503}
    group.kill()
    check_whole(url)
    server.close()
    assert len(acknowledged) >= 10, "too few writes to prove anything"
    assert way == "connections" or sum(writer.again for writer in writers) >= 1, "no write met the fault"


def test_a_postgresql_that_hangs_is_told_and_comes_back(forks: Forks) -> None:
    """Stopped in the middle of everything (SIGSTOP), it answers nothing and refuses nothing."""
    server = Postgres()
    url = server.database()
    group = forks.start(url, drain_s="0")
    client = Client(group.port)
    assert _create(client, "before").status == 201
    server.signal(signal.SIGSTOP)
    waiting = _Steady(group.port, "w")
    waiting.start()
    for _ in range(3):
        begun = time.monotonic()
        assert client.ask("GET", "/readyz").status == 503
        assert time.monotonic() - begun <= 2.0
        assert client.ask("GET", "/livez").status == 200
    server.signal(signal.SIGCONT)
    begun = time.monotonic()
    while client.ask("GET", "/readyz").status != 200 or _create(client, "after").status != 201:
        assert time.monotonic() - begun <= 5.0
        time.sleep(0.05)
    waiting.ends.set()
    waiting.join(timeout=60)
    assert suppliers_in(url) == waiting.acknowledged | {"before", "after"}
    assert waiting.statuses <= {503}
    group.kill()
    server.close()
