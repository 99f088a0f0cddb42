"""Server processes of the benches: started, asked, read from /proc and stopped."""

import http.client
import os
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
HOST = "127.0.0.1"
LONGEST_START_S = 60.0
PATIENCE_S = 0.002
"""Pause between two attempts to reach a server that starts."""

SERVICE = ("-m", "service", "serve")
FORGETFUL = ("-m", "tests.benchmarks.forgetful")
"""The service, which keeps no answer, so that each request is computed."""


def uvicorn(application: str, port: int, *more: str) -> tuple[str, ...]:
    """Arguments that serve an application as the service serves itself."""
    return (
        "-m", "uvicorn", application, "--host", HOST, "--port", str(port), "--log-level", "warning",
        "--no-access-log", "--no-server-header", *more,
    )  # fmt: skip


def free_port() -> int:
    """A port nobody listens on just now."""
    with socket.socket() as probe:
        probe.bind((HOST, 0))
        return int(probe.getsockname()[1])


@dataclass(frozen=True, slots=True)
class Server:
    """A process that listens, or soon will."""

    process: subprocess.Popen[bytes]
    port: int
    begun: float
    log: Path

    def seconds_to_answer(self, request: bytes) -> float:
        """Seconds from the start of the process until ``request`` is answered with 200."""
        while True:
            try:
                status = _status(self.port, request)
                break
            except ConnectionError:
                self._alive()
                time.sleep(PATIENCE_S)
        if status != 200:
            raise RuntimeError(f"The server answered {status}: {self.log.read_text('utf-8')[-2000:]}")
        return time.perf_counter() - self.begun

    def _alive(self) -> None:
        if self.process.poll() is not None or time.perf_counter() - self.begun > LONGEST_START_S:
            raise RuntimeError(f"The server did not start: {self.log.read_text('utf-8')[-2000:]}")

    def rss_kib(self) -> int:
        """Resident memory now."""
        status = Path(f"/proc/{self.process.pid}/status").read_text("ascii")
        return next(int(line.split()[1]) for line in status.splitlines() if line.startswith("VmRSS:"))

    def peak_kib(self) -> int:
        """The most resident memory since the start, or since :meth:`forget_peak`."""
        status = Path(f"/proc/{self.process.pid}/status").read_text("ascii")
        return next(int(line.split()[1]) for line in status.splitlines() if line.startswith("VmHWM:"))

    def forget_peak(self) -> None:
        """Lets the peak begin anew at what is resident now (proc(5), clear_refs)."""
        Path(f"/proc/{self.process.pid}/clear_refs").write_text("5", "ascii")

    def cpu_s(self) -> float:
        """CPU seconds of all its threads since it started, from the scheduler's nanoseconds."""
        tasks = Path(f"/proc/{self.process.pid}/task").glob("*/schedstat")
        return sum(int(task.read_text("ascii").split()[0]) for task in tasks) / 1e9


@contextmanager
def running(arguments: Sequence[str], port: int, settings: Mapping[str, str] | None = None) -> Iterator[Server]:
    """A Python process in the project's folder with no setting but ``settings``, ended on leaving."""
    inherited = {name: value for name, value in os.environ.items() if not name.upper().startswith("WASHLINE_")}
    inherited.pop("PYTHONDONTWRITEBYTECODE", None)  # An installation compiles its modules once, not at every start.
    with tempfile.TemporaryDirectory() as folder:
        log = Path(folder) / "log.txt"
        inherited["WASHLINE_DATABASE_URL"] = f"sqlite:///{folder}/measured.db"
        with log.open("wb") as sink:
            begun = time.perf_counter()
            process = subprocess.Popen(
                [sys.executable, *arguments], cwd=ROOT, env={**inherited, **(settings or {})},
                stdin=subprocess.DEVNULL, stdout=sink, stderr=sink,
            )  # fmt: skip
        try:
            yield Server(process, port, begun, log)
        finally:
            process.terminate()
            try:
                process.wait(10)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait(10)


def service_settings(port: int) -> dict[str, str]:
    """Settings of the service as it is measured: the demo off, the log quiet, all else as it comes."""
    return {
        "WASHLINE_HOST": HOST, "WASHLINE_PORT": str(port), "WASHLINE_DEMO": "0", "WASHLINE_LOG_LEVEL": "warning",
    }  # fmt: skip


def message(method: str, path: str, content: bytes = b"", key: str | None = None) -> bytes:
    """A request on a connection that is kept, with a key of the service if one is given."""
    head = f"{method} {path} HTTP/1.1\r\nHost: {HOST}\r\nContent-Length: {len(content)}\r\n"
    if key is not None:
        head += f"Authorization: Bearer {key}\r\n"
    return f"{head}Content-Type: application/json\r\n\r\n".encode() + content


def answer_of(
    port: int, method: str, path: str, content: bytes = b"", key: str | None = None, media: str = "application/json"
) -> bytes:
    """The body of one answer; raises where it is not a success."""
    connection = http.client.HTTPConnection(HOST, port, timeout=300)
    try:
        authorization = {} if key is None else {"Authorization": f"Bearer {key}"}
        connection.request(method, path, content, {"Content-Type": media, **authorization})
        answer = connection.getresponse()
        body = answer.read()
    finally:
        connection.close()
    if answer.status not in (200, 201):
        raise RuntimeError(f"{method} {path} was answered {answer.status}: {body[:2000]!r}")
    return body


def _status(port: int, request: bytes) -> int:
    """The status of one answer, read as far as its head."""
    with socket.create_connection((HOST, port), 20) as connection:
        connection.sendall(request)
        head = b""
        while b"\r\n\r\n" not in head:
            chunk = connection.recv(65536)
            if not chunk:
                raise ConnectionResetError
            head += chunk
    return int(head.split(b" ", 2)[1])
