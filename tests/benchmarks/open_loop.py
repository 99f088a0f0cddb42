"""A client that sends at moments set beforehand, whether or not the last answer is there: nobody waits politely."""

import asyncio
import itertools
import random
import time
from collections import deque
from collections.abc import Sequence
from typing import cast

import uvloop

from tests.benchmarks.loopback import PATIENCE_S, Exchange
from tests.benchmarks.servers import HOST

CONNECTIONS = 32
"""Requests that may be on their way at once; one that finds none free waits, and its time goes on."""


class _Line(asyncio.Protocol):
    """One connection, free or waiting for its answer."""

    def __init__(self, arrivals: "_Arrivals") -> None:
        self._arrivals = arrivals
        self._received = b""
        self._expected = b""
        self._due = 0.0

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        """Keeps what it writes to."""
        self._transport = cast(asyncio.Transport, transport)  # uvloop's own class does not derive from it

    def ask(self, exchange: Exchange, due: float) -> None:
        """Sends one request, which should have been sent at ``due``."""
        request, self._expected = exchange
        self._due = due
        self._transport.write(request)

    def data_received(self, data: bytes) -> None:
        """Notes the time where an answer is whole and the expected one."""
        self._received += data
        head, found, content = self._received.partition(b"\r\n\r\n")
        if not found or (len(content) < len(self._expected) and head.startswith(b"HTTP/1.1 200 ")):
            return
        self._received = b""
        if not head.startswith(b"HTTP/1.1 200 ") or content != self._expected:
            self._arrivals.fail(f"an answer other than the expected one: {head[:60]!r}, {len(content)} bytes")
            return
        self._arrivals.answered(self, time.perf_counter() - self._due)

    def connection_lost(self, exc: Exception | None) -> None:
        """Fails the round where the server closed."""
        self._arrivals.fail("a connection was lost")

    def close(self) -> None:
        """Closes the connection."""
        self._transport.close()


class _Arrivals:
    """Hands requests that are due to free connections, and gathers how long each took."""

    def __init__(self, exchanges: Sequence[Exchange], count: int) -> None:
        self.done: asyncio.Future[None] = asyncio.get_running_loop().create_future()
        self.took_s: list[float] = []
        self.free: deque[_Line] = deque()
        self._following = itertools.cycle(exchanges)
        self._waiting: deque[float] = deque()
        self._count = count

    def due(self, moment: float) -> None:
        """One more request is due."""
        self._waiting.append(moment)
        self._send()

    def answered(self, line: _Line, seconds: float) -> None:
        """A connection is free again."""
        self.took_s.append(seconds)
        self.free.append(line)
        if len(self.took_s) == self._count and not self.done.done():
            self.done.set_result(None)
        self._send()

    def fail(self, detail: str) -> None:
        """Ends the round."""
        if not self.done.done():
            self.done.set_exception(RuntimeError(detail))

    def _send(self) -> None:
        while self._waiting and self.free:
            self.free.popleft().ask(next(self._following), self._waiting.popleft())


async def _asked(port: int, exchanges: Sequence[Exchange], moments_s: Sequence[float]) -> list[float]:
    loop = asyncio.get_running_loop()
    arrivals = _Arrivals(exchanges, len(moments_s))
    lines: list[_Line] = []
    try:
        for _ in range(CONNECTIONS):
            _, line = await loop.create_connection(lambda: _Line(arrivals), HOST, port)
            lines.append(line)
        arrivals.free.extend(lines)
        begun = time.perf_counter()
        async with asyncio.timeout(moments_s[-1] + PATIENCE_S):
            for moment in moments_s:
                await asyncio.sleep(begun + moment - time.perf_counter())
                arrivals.due(begun + moment)
            await arrivals.done
        return arrivals.took_s
    finally:
        if not arrivals.done.done():
            arrivals.done.cancel()
        for line in lines:
            line.close()


def seconds_to_answers(
    port: int, exchanges: Sequence[Exchange], per_second: float, seconds: float, seed: int
) -> list[float]:
    """Seconds from the moment when each request was due to the end of its answer; arrivals are random (Poisson)."""
    draws = random.Random(seed)
    moments_s = [draws.expovariate(per_second)]
    while moments_s[-1] < seconds:
        moments_s.append(moments_s[-1] + draws.expovariate(per_second))
    with asyncio.Runner(loop_factory=uvloop.new_event_loop) as runner:
        return runner.run(_asked(port, exchanges, moments_s))
