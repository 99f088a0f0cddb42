"""The service as it is served: a process of its own on a free port of the loopback, asked through raw sockets."""

import os
import re
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parents[2]


class Answer(NamedTuple):
    """One answer off the wire."""

    status: int
    headers: Mapping[str, str]
    body: bytes


class Served(NamedTuple):
    """A process that serves, and its port."""

    process: subprocess.Popen[bytes]
    port: int

    def connected(self) -> socket.socket:
        """A connection to it."""
        return socket.create_connection(("127.0.0.1", self.port), timeout=10)

    def asked(self, raw: bytes) -> tuple[Answer, ...]:
        """Every answer that comes back until the service closes the connection."""
        with self.connected() as connection:
            connection.sendall(raw)
            return answers(everything(connection))

    def rss_kib(self) -> int:
        """Resident memory of the process."""
        status = Path(f"/proc/{self.process.pid}/status").read_text(encoding="ascii")
        return int(re.search(r"VmRSS:\s+(\d+)", status)[1])  # type: ignore[index]  # Linux always has it


def free_port() -> int:
    """A port that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def served(**settings: str) -> Iterator[Served]:
    """``python -m service serve`` with these settings, once it answers."""
    port = free_port()
    folder = tempfile.TemporaryDirectory(prefix="washline-served-")
    environment = {**os.environ, "WASHLINE_PORT": str(port), "WASHLINE_LOG_LEVEL": "warning"}
    environment |= {"WASHLINE_DATABASE_URL": f"sqlite:///{folder.name}/served.db", "WASHLINE_DRAIN_S": "0"}
    environment |= {f"WASHLINE_{name.upper()}": value for name, value in settings.items()}
    process = subprocess.Popen(
        [sys.executable, "-m", "service", "serve"], cwd=ROOT, env=environment, stderr=subprocess.PIPE
    )
    try:
        _wait(process, port)
        yield Served(process, port)
    finally:
        process.terminate()
        process.communicate(timeout=20)
        folder.cleanup()


def _wait(process: subprocess.Popen[bytes], port: int) -> None:
    begun = time.monotonic()
    while time.monotonic() - begun < 30:
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
            return
        except OSError:
            assert process.poll() is None, process.communicate()[1].decode()
            time.sleep(0.05)
    raise AssertionError("the service did not start")


def everything(connection: socket.socket) -> bytes:
    """All that is sent until the other side closes or resets."""
    received = bytearray()
    while True:
        try:
            chunk = connection.recv(65536)
        except ConnectionResetError:
            return bytes(received)
        if not chunk:
            return bytes(received)
        received += chunk


def one_answer(connection: socket.socket) -> Answer:
    """The next answer, read to the end that its content-length states."""
    received = bytearray()
    while b"\r\n\r\n" not in received:
        received += _some(connection)
    head, _, body = bytes(received).partition(b"\r\n\r\n")
    found = _head(head)
    while len(body) < int(found.headers["content-length"]):
        body += _some(connection)
    return Answer(found.status, found.headers, body)


def _some(connection: socket.socket) -> bytes:
    chunk = connection.recv(65536)
    assert chunk, "closed before the answer was complete"
    return chunk


def answers(raw: bytes) -> tuple[Answer, ...]:
    """The answers in a stream; each states its length."""
    found = []
    while raw:
        head, _, raw = raw.partition(b"\r\n\r\n")
        answer = _head(head)
        length = int(answer.headers.get("content-length", "0"))
        found.append(Answer(answer.status, answer.headers, raw[:length]))
        raw = raw[length:]
    return tuple(found)


def _head(head: bytes) -> Answer:
    first, *lines = head.decode("latin-1").split("\r\n")
    headers = {name.lower(): value.strip() for name, _, value in (line.partition(":") for line in lines)}
    return Answer(int(first.split(" ")[1]), headers, b"")
