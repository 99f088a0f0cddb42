"""S5: drinks as lines over HTTP against single calls, what it does to memory and to everybody else."""

import json
import socket
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from tests.benchmarks.drink import bench_drinks
from tests.benchmarks.measuring import Figure, Result, Side, Size, in_turns
from tests.benchmarks.servers import HOST, SERVICE, Server, free_port, message, running, service_settings

LINES_PER_CALL = 5
"""Lines of a round for each of a round's calls."""

LINES_FOR_MEMORY = 200
"""Lines for each of a round's calls over which memory is watched."""

MARK = b'{"line":'
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
    """Seconds to the first record and to the last one of a stream. Raises where a record is missing."""
    begun = time.perf_counter()
    with socket.create_connection((HOST, port), 60) as connection:
        sender = threading.Thread(target=_send, args=(connection, raws, lines), daemon=True)
        sender.start()
        first, count, kept, last = 0.0, 0, b"", b""
        while b"\r\n0\r\n\r\n" not in last:
            data = connection.recv(262_144)
            if not data:
                raise RuntimeError(f"the answer was cut short after {count} records")
            kept += data
            count += kept.count(MARK)
            if count and not first:
                first = time.perf_counter() - begun
            last = (last + data)[-200:]
            kept = kept[-(len(MARK) - 1) :]
        sender.join(5)
    end = json.loads(last[last.index(b'{"end"') : last.rindex(b"}") + 1])
    if (count, end) != (lines, {"end": True, "results": lines, "problems": 0}):
        raise RuntimeError(f"{lines} lines, {count} records, {end}")
    return first, time.perf_counter() - begun


def _send(connection: socket.socket, raws: Sequence[bytes], lines: int) -> None:
    head = f"POST /v1/evaluations HTTP/1.1\r\nHost: {HOST}\r\nTransfer-Encoding: chunked\r\n"
    connection.sendall(f"{head}Content-Type: application/x-ndjson\r\n\r\n".encode())
    for number in range(lines):
        raw = raws[number % len(raws)] + b"\n"
        connection.sendall(b"%x\r\n%b\r\n" % (len(raw), raw))
    connection.sendall(b"0\r\n\r\n")


def p99_s(port: int, request: bytes, calls: int) -> float:
    """The 99th percentile of single calls one after the other."""
    found = []
    with socket.create_connection((HOST, port), 30) as connection:
        for _ in range(calls):
            begun = time.perf_counter()
            connection.sendall(request)
            received = b""
            while b"\r\n\r\n" not in received or len(received) < _length(received):
                received += connection.recv(262_144)
            found.append(time.perf_counter() - begun)
    return sorted(found)[int(0.99 * (len(found) - 1))]


def _length(received: bytes) -> int:
    head, _, _ = received.partition(b"\r\n\r\n")
    row = next(row for row in head.lower().split(b"\r\n") if row.startswith(b"content-length:"))
    return len(head) + 4 + int(row.split(b":")[1])


def _beside(server: Server, raws: Sequence[bytes], size: Size) -> float:
    """The p99 of a caller while another sends lines without pause."""
    stop = threading.Event()

    def keep_streaming() -> None:
        while not stop.is_set():
            streamed(server.port, raws, LINES_PER_CALL * size.calls)

    thread = threading.Thread(target=keep_streaming)
    thread.start()
    try:
        time.sleep(0.05)
        return p99_s(server.port, _quiet(), 3 * size.calls)
    finally:
        stop.set()
        thread.join()


def _quiet() -> bytes:
    """A cheap request of another caller, whose time is mostly waiting."""
    return message("GET", "/v1/reference/measures")


def result(size: Size) -> Result:
    """S5."""
    raws = bench_drinks()
    fresh = [_varied(raw) for raw in raws]
    port = free_port()
    with running(SERVICE, port, service_settings(port)) as server:
        server.seconds_to_answer(message("GET", "/livez"))
        streams = Streams(server, raws)
        lines = LINES_PER_CALL * size.calls
        streamed(port, raws, lines)
        single_per_second(server, fresh, lines)
        found = in_turns(
            {
                "lines": streams.round_of(lines),
                "single": lambda: single_per_second(server, fresh, lines),
                "quiet": lambda: p99_s(port, _quiet(), 3 * size.calls),
                "beside": lambda: _beside(server, raws, size),
            },
            size.rounds,
        )
        before = server.rss_kib()
        many = LINES_FOR_MEMORY * size.calls
        streamed(port, raws, many)
        grown = max(0, server.rss_kib() - before) * MIB
    return _result(found, streams, lines, many, grown)


def _varied(raw: bytes) -> tuple[bytes, bytes]:
    """The two halves of a body between which a number makes it another one, so that no answer is a kept one."""
    place = raw.index(b'"name":"Signal lamp') + len(b'"name":"Signal lamp')
    return raw[:place], raw[place:]


def single_per_second(server: Server, halves: Sequence[tuple[bytes, bytes]], calls: int) -> float:
    """Single calls for a second of the server's CPU, each with a body that was not asked before."""
    begun = server.cpu_s()
    with socket.create_connection((HOST, server.port), 30) as connection:
        for number in range(calls):
            before, after = halves[number % len(halves)]
            body = before + b" %d" % time.perf_counter_ns() + after
            connection.sendall(message("POST", "/v1/evaluate", body))
            received = b""
            while b"\r\n\r\n" not in received or len(received) < _length(received):
                received += connection.recv(262_144)
            if not received.startswith(b"HTTP/1.1 200 "):
                raise RuntimeError(received[:100].decode("latin-1"))
    return calls / (server.cpu_s() - begun)


def _result(found: dict[str, tuple[float, ...]], streams: Streams, lines: int, many: int, grown: float) -> Result:
    share = sorted(streams.first_share)[len(streams.first_share) // 2]
    faults = []
    if grown > 20:
        faults.append(f"memory grew by {grown:.1f} MiB over {many:,} lines; accept 20")
    if share > 0.05:
        faults.append(f"the first record came after {100 * share:.1f} % of the whole; accept 5 %")
    return Result(
        "S5",
        "Drinks as lines over HTTP, one worker",
        (
            f"over:  POST /v1/evaluations with {lines:,} lines of the bench's drink, read while sent; records counted",
            "under: POST /v1/evaluate with the same drinks one after the other on one connection, no answer a kept one",
        ),
        (
            Figure("drinks for a second of the server's CPU", Side("lines", found["lines"], "/s"),
                   Side("single calls", found["single"], "/s"),
                   1.4, 1.6, more_is_better=True),
            Figure("p99 of another caller", Side("beside a stream", found["beside"], "ms", 1e3),
                   Side("alone", found["quiet"], "ms", 1e3), 6, 4),
        ),
        (
            f"memory grew by {grown:.1f} MiB over {many:,} lines (accept 20, aim 5)",
            f"the first record came after {100 * share:.2f} % of the whole (accept 5 %, aim 1 %)",
        ),
        tuple(faults),
    )  # fmt: skip
