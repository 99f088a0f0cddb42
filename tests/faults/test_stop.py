"""SIGTERM under load: the stop is announced, whoever was heard is answered, the exit code is 0 (F26, P17)."""

import threading
import time
from dataclasses import dataclass, field
from datetime import UTC, datetime

import pytest

from service.store import keys
from service.store.engine import engine_of, reading, writing
from tests.faults.rounds import FACTOR
from tests.faults.rows import suppliers_in
from tests.faults.running import Client, Forks, Lost

ROUNDS = 5 * FACTOR


@dataclass
class _Load:
    """Clients that read and write until the service takes no more connections."""

    port: int
    name: str
    sent: list[float] = field(default_factory=list)
    failed: list[float] = field(default_factory=list)
    created: set[str] = field(default_factory=set)
    draining: bool = False
    ends: threading.Event = field(default_factory=threading.Event)

    def run(self, place: int) -> None:
        """One client."""
        client, number = Client(self.port), 0
        while not self.ends.is_set():
            number += 1
            begun = time.monotonic()
            try:
                if place == 0:
                    self.draining |= client.ask("GET", "/readyz").status == 503
                    continue
                one = f"{self.name}-{place}-{number}"
                told = client.ask("POST", "/v1/suppliers", {"id": one, "name": one})
                assert told.status in (201, 503), told.body  # 503: the store was busy, and says so
                if told.status == 201:
                    self.created.add(one)
            except Lost:
                self.failed.append(begun)
                break
            finally:
                self.sent.append(begun)
        client.close()


@pytest.mark.parametrize("workers", ["1", "2"])
def test_nobody_who_was_heard_is_dropped(forks: Forks, url: str, workers: str) -> None:
    created: set[str] = set()
    for round_ in range(ROUNDS):
        group = forks.start(url, workers=workers, drain_s="0.5")
        load = _Load(group.port, f"r{round_}")
        threads = [threading.Thread(target=load.run, args=(place,), daemon=True) for place in range(5)]
        for thread in threads:
            thread.start()
        time.sleep(0.3)
        begun = time.monotonic()
        assert group.stop() == 0
        assert time.monotonic() - begun <= 15
        load.ends.set()
        for thread in threads:
            thread.join(timeout=40)
        before = [sent for sent in load.sent if sent < begun]
        assert before, "nothing was asked before the signal"
        assert [sent - begun for sent in load.failed if sent < begun + 0.4] == []
        assert load.draining, "no client was told that the service is stopping"
        created |= load.created
    assert created <= suppliers_in(url)
    assert len(created) >= 5 * ROUNDS, "too few writes to prove anything"


def test_a_worker_that_is_killed_is_started_again(forks: Forks, tmp_path: object) -> None:
    """And the group goes on without being told."""
    import subprocess  # of this test alone

    group = forks.start(f"sqlite:///{tmp_path}/w.db", workers="2", drain_s="0")
    found = subprocess.run(["pgrep", "-P", str(group.pid)], capture_output=True, text=True, check=True).stdout.split()
    assert len(found) == 2
    subprocess.run(["kill", "-9", *found], check=True)
    client = Client(group.port)
    assert client.ask("GET", "/livez").status == 200
    client.close()
    assert group.stop() == 0


def test_workers_end_when_their_parent_is_killed(forks: Forks, tmp_path: object) -> None:
    import os  # as above
    import signal
    import subprocess

    group = forks.start(f"sqlite:///{tmp_path}/p.db", workers="2", drain_s="0")
    os.kill(group.pid, signal.SIGKILL)
    begun = time.monotonic()
    while subprocess.run(["pgrep", "-g", str(group.pid)], capture_output=True, check=False).stdout:
        assert time.monotonic() - begun < 15
        time.sleep(0.05)


def test_when_a_key_was_last_used_is_known_after_a_stop(forks: Forks, url: str) -> None:
    """Uses are noted in batches; the last ones are noted at the end of serving."""
    group = forks.start(url, require_keys="1", drain_s="0")
    engine = engine_of(url)
    with writing(engine) as connection:
        made, key = keys.new_key(connection, "Till", ("costs:read",), None, None)
    client = Client(group.port, key)
    assert client.ask("GET", "/v1/costs").status == 200
    time.sleep(0.01)
    before = datetime.now(UTC).isoformat(timespec="microseconds")
    assert client.ask("GET", "/v1/costs").status == 200
    client.close()
    assert group.stop() == 0
    with reading(engine) as connection:
        used = keys.key_of_id(connection, made.id).last_used_at
    engine.dispose()
    assert used is not None
    assert before <= used <= datetime.now(UTC).isoformat(timespec="microseconds")
