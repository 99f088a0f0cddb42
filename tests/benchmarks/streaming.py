"""S5: drinks as lines over HTTP against single calls, what it does to memory and to everybody else."""

import http.client
import itertools
import json
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field

from tests.benchmarks.drink import bench_drinks
from tests.benchmarks.measuring import Figure, Result, Side, Size, in_turns
from tests.benchmarks.servers import FORGETFUL, HOST, Server, free_port, message, running, service_settings

LINES_PER_CALL = 5
"""Lines of a round for each of a round's calls."""

LINES_FOR_MEMORY = 10
"""Lines, times the square of a round's calls, over which memory is watched: 100,000 at the full size."""

PATIENCE_S = 60.0
LINES_TYPE = {"Content-Type": "application/x-ndjson"}
MIB = 1 / 1024


@dataclass(slots=True)
class Streams:
    """What the rounds of lines found beside their speed."""

    server: Server
    raws: Sequence[bytes]
    first_share: list[float] = field(default_factory=list)

    def round_of(self, lines: int) -> Callable[[], float]:
        """A round: drinks for a second of the server's CPU; every record is counted."""

        def one_round() -> float:
            before = self.server.cpu_s()
            first, whole = streamed(self.server.port, self.raws, lines)
            self.first_share.append(first / whole)
            return lines / (self.server.cpu_s() - before)

        return one_round


def streamed(port: int, raws: Sequence[bytes], lines: int) -> tuple[float, float]:
    """Seconds to the first record and to the last one of a stream. Raises where a record is missing or a problem."""
    connection = http.client.HTTPConnection(HOST, port, timeout=PATIENCE_S)
    begun = time.perf_counter()
    try:
        connection.putrequest("POST", "/v1/evaluations")
        for name, value in (*LINES_TYPE.items(), ("Transfer-Encoding", "chunked")):
            connection.putheader(name, value)
        connection.endheaders()
        sender = threading.Thread(target=_send, args=(connection, raws, lines), daemon=True)
        sender.start()
        first, results, last = 0.0, 0, b""
        with connection.getresponse() as answer:
            for last in answer:
                first = first or time.perf_counter() - begun
                results += b'"result":' in last
        sender.join(PATIENCE_S)
    finally:
        connection.close()
    if results != lines or json.loads(last) != {"end": True, "results": lines, "problems": 0}:
        raise RuntimeError(f"{lines} lines, {results} results, then {last[:300]!r}")
    return first, time.perf_counter() - begun


def _send(connection: http.client.HTTPConnection, raws: Sequence[bytes], lines: int) -> None:
    for number in range(lines):
        raw = raws[number % len(raws)] + b"\n"
        connection.send(b"%x\r\n%b\r\n" % (len(raw), raw))
    connection.send(b"0\r\n\r\n")


def _singles(port: int, raws: Iterator[bytes], calls: int) -> list[float]:
    """Seconds of single calls one after the other on one connection, each body read whole."""
    found = []
    connection = http.client.HTTPConnection(HOST, port, timeout=PATIENCE_S)
    try:
        for raw in itertools.islice(raws, calls):
            begun = time.perf_counter()
            connection.request("POST", "/v1/evaluate", raw, {"Content-Type": "application/json"})
            answer = connection.getresponse()
            body = answer.read()
            found.append(time.perf_counter() - begun)
            if answer.status != 200 or not body.startswith(b'{"drink":'):
                raise RuntimeError(f"{answer.status}: {body[:300]!r}")
    finally:
        connection.close()
    return found


def _p99(seconds: list[float]) -> float:
    return sorted(seconds)[int(0.99 * (len(seconds) - 1))]


@contextmanager
def _a_stream_runs(port: int, raws: Sequence[bytes], lines: int) -> Iterator[None]:
    """Another caller sends streams of lines, one after the other, until this ends. Raises what went wrong in one."""
    stop = threading.Event()
    begun = threading.Event()
    faults: list[Exception] = []

    def keep_streaming() -> None:
        begun.set()
        while not stop.is_set():
            try:
                streamed(port, raws, lines)
            except (OSError, RuntimeError, http.client.HTTPException) as fault:
                faults.append(fault)
                return

    thread = threading.Thread(target=keep_streaming)
    thread.start()
    try:
        begun.wait(PATIENCE_S)
        yield
    finally:
        stop.set()
        thread.join(PATIENCE_S)
    if faults:
        raise faults[0]


def result(size: Size) -> Result:
    """S5."""
    raws = bench_drinks()
    following = itertools.cycle(raws)
    port = free_port()
    lines = LINES_PER_CALL * size.calls
    with running(FORGETFUL, port, service_settings(port)) as server:
        server.seconds_to_answer(message("GET", "/livez"))
        streams = Streams(server, raws)
        streamed(port, raws, lines)

        def singles() -> float:
            before = server.cpu_s()
            _singles(port, following, lines)
            return lines / (server.cpu_s() - before)

        def beside() -> float:
            with _a_stream_runs(port, raws, lines):
                return _p99(_singles(port, following, 3 * size.calls))

        found = in_turns(
            {
                "lines": streams.round_of(lines), "single": singles,
                "alone": lambda: _p99(_singles(port, following, 3 * size.calls)), "beside": beside,
            },
            size.rounds,
        )  # fmt: skip
        before = server.rss_kib()
        server.forget_peak()
        many = LINES_FOR_MEMORY * size.calls**2
        streamed(port, raws, many)
        grown = max(0, server.peak_kib() - before) * MIB
    return _result(found, streams, lines, many, grown)


def _result(found: dict[str, tuple[float, ...]], streams: Streams, lines: int, many: int, grown: float) -> Result:
    share = sorted(streams.first_share)[len(streams.first_share) // 2]
    faults = []
    if grown > 20:
        faults.append(f"memory grew by {grown:.1f} MiB over {many:,} lines; accept 20")
    if share > 0.05 and lines >= 100:
        faults.append(f"the first record came after {100 * share:.1f} % of the whole; accept 5 %")
    return Result(
        "S5",
        "Drinks as lines over HTTP, one worker",
        (
            f"over:  POST /v1/evaluations with {lines:,} lines of the bench's drink, read while sent; records counted",
            "under: POST /v1/evaluate with the same drinks one after the other on one connection; no answer is kept",
        ),
        (
            Figure("drinks for a second of the server's CPU", Side("lines", found["lines"], "/s"),
                   Side("single calls", found["single"], "/s"), 1.4, 1.6, more_is_better=True),
            Figure("p99 of another caller", Side("beside a stream", found["beside"], "ms", 1e3),
                   Side("alone", found["alone"], "ms", 1e3), 6, 4),
        ),
        (
            f"peak memory grew by {grown:.1f} MiB over {many:,} lines (accept 20, aim 5)",
            f"the first record came after {100 * share:.2f} % of the whole (accept 5 %, aim 1 %)",
        ),
        tuple(faults),
    )  # fmt: skip
