"""A backup under write load is a committed prefix, and both databases read it (F28, P19)."""

import hashlib
import json
import threading
import time
from pathlib import Path

import pytest
from sqlalchemy import select, text

from service.errors import StoreFault
from service.reference import reference
from service.rules import rules
from service.store.backup import backup, restore
from service.store.engine import engine_of, reading, writing
from service.store.store import Store
from service.store.tables import AUDIT, REVISIONS, STATE, VERSIONS
from tests.faults.postgres import Postgres
from tests.faults.rounds import FACTOR
from tests.faults.rows import check_whole, suppliers_in
from tests.faults.running import Client, Forks
from tests.faults.writing import Noted, Writer, prepare, wait_for


def _store(url: str) -> Store:
    return Store(url, rules().version, reference().version)


def _hash_up_to(url: str, version: int) -> str:
    """Over every row of history up to a version."""
    engine = engine_of(url)
    digest = hashlib.sha256()
    with reading(engine) as connection:
        for table, number in (
            (REVISIONS, REVISIONS.c.version),
            (AUDIT, AUDIT.c.version),
            (VERSIONS, VERSIONS.c.version),
        ):
            for row in connection.execute(select(table).where(number <= version).order_by(*table.primary_key)):
                digest.update(json.dumps([str(cell) for cell in row]).encode())
    engine.dispose()
    return digest.hexdigest()


def test_a_backup_under_load_is_a_committed_prefix(url: str, forks: Forks, postgres: Postgres, tmp_path: Path) -> None:
    group = forks.start(url, drain_s="0")
    prepare(group.port, ["offer-w0", "offer-w1"])
    noted, lock = Noted(), threading.Lock()
    writers = [Writer(group.port, f"w{number}-0", noted, lock) for number in range(2)]
    for writer in writers:
        writer.start()
    store = _store(url)
    made = []
    for number in range(2 * FACTOR):
        wait_for(noted, noted.acks + 5)
        with lock:
            sure = set(noted.created)
        path = tmp_path / f"{number}.jsonl"
        made.append((path, sure, backup(store, path, "test")))
        assert path.stat().st_mode & 0o777 == 0o600
    wait_for(noted, noted.acks + 5)
    store.close()
    for writer in writers:
        writer.ends.set()
    for writer in writers:
        writer.join(timeout=40)
    group.kill()
    for path, sure, head in made:
        for target in (f"sqlite:///{path}.db", postgres.database()):
            assert restore(path, target) == head
            check_whole(target)
            assert sure <= suppliers_in(target) <= noted.created | set(noted.unknown) | {"quay"}
            assert _hash_up_to(target, 10**9) == _hash_up_to(url, head.cost_version)
    assert len({head.cost_version for _, _, head in made}) == len(made), "no write came between two backups"
    for again in (f"sqlite:///{made[0][0]}.db", target):
        group = forks.start(again, drain_s="0")
        client = Client(group.port)
        assert client.ask("POST", "/v1/suppliers", {"id": "later", "name": "Later"}).status == 201
        client.close()
        group.kill()
        check_whole(again)


@pytest.fixture
def small(tmp_path: Path) -> Path:
    """A backup of an almost empty store."""
    store = _store(f"sqlite:///{tmp_path}/small.db")
    path = tmp_path / "small.jsonl"
    backup(store, path, "test")
    store.close()
    return path


def _refused(path: Path, url: str) -> str:
    with pytest.raises(StoreFault) as caught:
        restore(path, url)
    return str(caught.value)


def test_what_is_not_whole_is_refused_and_leaves_nothing(small: Path, tmp_path: Path) -> None:
    """Any byte changed, a line gone, doubled or cut: refused before anything is written."""
    lines = small.read_bytes().splitlines(keepends=True)
    changed = small.read_bytes().replace(b'"cost_version":0', b'"cost_version":7')
    broken = {
        "changed": changed,
        "cut": b"".join(lines[:-1]),
        "shorter": b"".join([*lines[:-2], lines[-1]]),
        "doubled": b"".join([*lines[:-1], lines[-2], lines[-1]]),
        "half": small.read_bytes()[: len(small.read_bytes()) // 2],
        "empty": b"",
        "other": b"{}\n",
    }
    assert changed != small.read_bytes()
    for name, content in broken.items():
        path = tmp_path / f"{name}.jsonl"
        path.write_bytes(content)
        said = _refused(path, f"sqlite:///{tmp_path}/{name}.db")
        assert "not whole" in said or "not a backup" in said, name
        restore(small, f"sqlite:///{tmp_path}/{name}.db")


def test_a_database_that_is_not_empty_is_left_as_it_is(small: Path, tmp_path: Path, postgres: Postgres) -> None:
    for url in (f"sqlite:///{tmp_path}/used.db", postgres.database()):
        restore(small, url)
        assert "not empty" in _refused(small, url)


def test_a_newer_backup_and_a_newer_database_are_refused(small: Path, tmp_path: Path, postgres: Postgres) -> None:
    lines = small.read_bytes().splitlines(keepends=True)
    head = json.loads(lines[0]) | {"schema": "9999"}
    newer = [json.dumps(head).encode() + b"\n", *lines[1:-1]]
    end = {"rows": len(newer) - 1, "sha256": hashlib.sha256(b"".join(newer)).hexdigest()}
    path = tmp_path / "newer.jsonl"
    path.write_bytes(b"".join([*newer, json.dumps(end).encode() + b"\n"]))
    for url in (f"sqlite:///{tmp_path}/newer.db", postgres.database()):
        assert "newer version" in _refused(path, url)
        restore(small, url)
        engine = engine_of(url)
        with writing(engine) as connection:
            connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
        with pytest.raises(StoreFault, match="newer version"):
            _store(url)
        with reading(engine) as connection:
            assert connection.execute(select(STATE)).one().cost_version == 0
        engine.dispose()


def test_a_backup_replaces_no_file_and_leaves_no_part_of_one(small: Path, tmp_path: Path) -> None:
    store = _store(f"sqlite:///{tmp_path}/small.db")
    before = small.read_bytes()
    with pytest.raises(StoreFault, match="does not replace"):
        backup(store, small, "test")
    with pytest.raises(StoreFault, match="cannot be written"):
        backup(store, tmp_path / "missing" / "a.jsonl", "test")
    assert small.read_bytes() == before
    assert [path.name for path in tmp_path.iterdir() if "partial" in path.name] == []
    store.close()


def test_the_store_is_for_its_owner_alone(tmp_path: Path) -> None:
    _store(f"sqlite:///{tmp_path}/own.db").close()
    assert (tmp_path / "own.db").stat().st_mode & 0o777 == 0o600


def test_time_passes_in_a_backup_once(small: Path) -> None:
    """The head says when it was made, in UTC."""
    head = json.loads(small.read_bytes().splitlines()[0])
    assert head["made_at"].endswith("+00:00")
    assert abs(time.time() - small.stat().st_mtime) < 600
