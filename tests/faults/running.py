"""A served process group under test: started, asked, killed; and a client that knows what was acknowledged."""

import http.client
import json
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any, NamedTuple

from tests.api.served import ROOT, free_port


class Told(NamedTuple):
    """One answer."""

    status: int
    headers: Mapping[str, str]
    body: bytes

    @property
    def json(self) -> Any:
        """The document in it."""
        return json.loads(self.body)


class Lost(Exception):
    """The connection ended before the answer: what became of the request is not known."""


class Client:
    """One connection that is opened anew when it is lost."""

    def __init__(self, port: int, key: str | None = None, timeout_s: float = 30.0) -> None:
        self._connection = http.client.HTTPConnection("127.0.0.1", port, timeout=timeout_s)
        self._asked_at = time.monotonic()
        self._key = {} if key is None else {"Authorization": f"Bearer {key}"}

    def ask(self, method: str, path: str, body: Any = None, **headers: str) -> Told:
        """The answer. Headers are named with underscores. Raises :class:`Lost`."""
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        return self._asked(method, path, None if body is None else json.dumps(body).encode(), "application/json", named)

    def send(self, path: str, content: bytes, media_type: str) -> Told:
        """The answer to a file. Raises :class:`Lost`."""
        return self._asked("POST", path, content, media_type, {})

    def _asked(
        self, method: str, path: str, content: bytes | None, media_type: str, headers: Mapping[str, str]
    ) -> Told:
        named = {**headers, **self._key}
        if time.monotonic() - self._asked_at > 2:  # The service ends a connection that was idle for five seconds.
            self._connection.close()
        self._asked_at = time.monotonic()
        if content is not None:
            named["Content-Type"] = media_type
        try:
            self._connection.request(method, path, content, named)
            answer = self._connection.getresponse()
            read = answer.read()
        except (OSError, http.client.HTTPException) as fault:
            self._connection.close()
            raise Lost(type(fault).__name__) from fault
        return Told(answer.status, {name.lower(): value for name, value in answer.getheaders()}, read)

    def close(self) -> None:
        """Ends the connection."""
        self._connection.close()

    def __del__(self) -> None:
        """A client that is let go leaves no connection open."""
        self._connection.close()


def settings_of(url: str, port: int, more: Mapping[str, str]) -> dict[str, str]:
    """The environment of a served process."""
    found = {"WASHLINE_DATABASE_URL": url, "WASHLINE_PORT": str(port), "WASHLINE_LOG_LEVEL": "warning"}
    return found | {f"WASHLINE_{name.upper()}": value for name, value in more.items()}


def wait_until_ready(port: int, alive: Any, log: Path, most_s: float = 60.0) -> float:
    """Seconds until /readyz answers 200."""
    begun = time.monotonic()
    while time.monotonic() - begun < most_s:
        client = Client(port, timeout_s=5)
        with suppress(Lost):
            if client.ask("GET", "/readyz").status == 200:
                client.close()
                return time.monotonic() - begun
        client.close()
        assert alive(), log.read_text(encoding="utf-8")[-3000:]
        time.sleep(0.02)
    raise AssertionError(f"not ready after {most_s} s: {log.read_text(encoding='utf-8')[-3000:]}")


class Group:
    """``python -m service serve`` as a process group of its own."""

    def __init__(self, url: str, folder: Path, **more: str) -> None:
        self.port = free_port()
        self.log = folder / f"served-{self.port}.log"
        inherited = {name: value for name, value in os.environ.items() if not name.startswith("WASHLINE_")}
        with self.log.open("ab") as log:
            self.process = subprocess.Popen(
                [sys.executable, "-m", "service", "serve"], cwd=ROOT, stdout=log, stderr=log,
                env=inherited | settings_of(url, self.port, more), start_new_session=True,
            )  # fmt: skip
        self.ready_s = wait_until_ready(self.port, lambda: self.process.poll() is None, self.log)

    def kill(self) -> None:
        """Ends every process of the group at once."""
        with suppress(ProcessLookupError):
            os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait(timeout=20)

    def stop(self) -> int:
        """Asks it to end; its exit code."""
        with suppress(ProcessLookupError):
            self.process.send_signal(signal.SIGTERM)
        return self.process.wait(timeout=20)


class Forks:
    """Starts many groups in turn, each from a process that has everything imported."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._lock = threading.Lock()
        inherited = {name: value for name, value in os.environ.items() if not name.startswith("WASHLINE_")}
        self._process = subprocess.Popen(
            [sys.executable, "-m", "tests.faults.forks"], cwd=ROOT, env=inherited, text=True,
            stdin=subprocess.PIPE, stdout=subprocess.PIPE,
        )  # fmt: skip
        assert self._process.stdout is not None
        assert self._process.stdout.readline() == "ready\n"

    def start(self, url: str, **more: str) -> "Forked":
        """A group that is ready."""
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        port = free_port()
        log = self._folder / f"forked-{port}.log"
        log.touch()
        row = {"settings": settings_of(url, port, more), "log": str(log)}
        with self._lock:
            self._process.stdin.write(json.dumps(row) + "\n")
            self._process.stdin.flush()
            pid = int(self._process.stdout.readline())
        return Forked(pid, port, log)

    def close(self) -> None:
        """Ends the first process."""
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.close()
        self._process.stdout.close()
        self._process.wait(timeout=20)


class Forked:
    """One group that was started by a fork."""

    def __init__(self, pid: int, port: int, log: Path) -> None:
        self.pid = pid
        self.port = port
        self.log = log
        self.ready_s = wait_until_ready(port, self.alive, log)

    def alive(self) -> bool:
        """Whether its first process runs."""
        try:
            os.kill(self.pid, 0)
        except ProcessLookupError:
            return False
        return True

    def kill(self) -> None:
        """Ends every process of the group at once, and waits until they are gone."""
        self._end(signal.SIGKILL)

    def stop(self) -> int:
        """Asks it to end, and waits until it has; its exit code."""
        self._end(signal.SIGTERM, group=False)
        last = self.log.read_text(encoding="utf-8").splitlines()[-1]
        assert last.startswith("exit code "), last
        return int(last.rpartition(" ")[2])

    def _end(self, number: int, *, group: bool = True) -> None:
        with suppress(ProcessLookupError):
            (os.killpg if group else os.kill)(self.pid, number)
        begun = time.monotonic()
        while self.alive():
            assert time.monotonic() - begun < 20, "the group does not end"
            time.sleep(0.01)
