"""A client that keeps its connections and asks again as soon as it is answered; every answer is checked whole."""

import asyncio
import itertools
import time
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import cast

import uvloop

from tests.benchmarks.servers import HOST

Exchange = tuple[bytes, bytes]
"""A request, and the body of the answer that it has to have."""

MOST_REQUESTS = 100_000
"""Answers after which a round ends whatever its time."""

PATIENCE_S = 10.0
"""How long after the round's time the last answers may take."""


@dataclass(frozen=True, slots=True)
class Load:
    """What one round of asking came to."""

    answers: int
    seconds: float
    client_cpu_s: float

    @property
    def per_second(self) -> float:
        """Answers a second."""
        return self.answers / self.seconds


class _Caller(asyncio.Protocol):
    """One connection: sends, reads one whole answer, compares it, sends again until the time is over."""

    def __init__(self, exchanges: Iterable[Exchange], until: float) -> None:
        self.done: asyncio.Future[int] = asyncio.get_running_loop().create_future()
        self._following = itertools.cycle(exchanges)
        self._until = until
        self._expected = b""
        self._received = b""
        self._answers = 0

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        """Sends the first request."""
        self._transport = cast(asyncio.Transport, transport)  # uvloop's own class does not derive from it
        self._ask()

    def data_received(self, data: bytes) -> None:
        """Goes on where an answer is whole."""
        self._received += data
        head, found, content = self._received.partition(b"\r\n\r\n")
        if not found or (len(content) < len(self._expected) and head.startswith(b"HTTP/1.1 200 ")):
            return
        if not head.startswith(b"HTTP/1.1 200 ") or content != self._expected:
            self._fail(f"an answer other than the expected one: {head[:60]!r}, {len(content)} bytes")
            return
        self._received = b""
        self._answers += 1
        if time.perf_counter() < self._until and self._answers < MOST_REQUESTS:
            self._ask()
        else:
            self.done.set_result(self._answers)

    def connection_lost(self, exc: Exception | None) -> None:
        """Fails the round where the server closed."""
        if not self.done.done():
            self._fail(f"the connection was lost after {self._answers} answers")

    def _ask(self) -> None:
        request, self._expected = next(self._following)
        self._transport.write(request)

    def close(self) -> None:
        """Closes the connection."""
        self._transport.close()

    def _fail(self, detail: str) -> None:
        if not self.done.done():
            self.done.set_exception(RuntimeError(detail))


async def _asked(port: int, exchanges: Sequence[Exchange], connections: int, seconds: float) -> int:
    loop = asyncio.get_running_loop()
    until = time.perf_counter() + seconds
    callers: list[_Caller] = []
    try:
        async with asyncio.timeout(seconds + PATIENCE_S):
            for _ in range(connections):
                _, caller = await loop.create_connection(lambda: _Caller(exchanges, until), HOST, port)
                callers.append(caller)
            return sum(await asyncio.gather(*(caller.done for caller in callers)))
    finally:
        for caller in callers:
            caller.close()


def load(port: int, exchanges: Sequence[Exchange], connections: int, seconds: float) -> Load:
    """One round: ``connections`` callers for ``seconds``. Raises where an answer is not 200 with what is expected."""
    cpu, begun = time.process_time(), time.perf_counter()
    with asyncio.Runner(loop_factory=uvloop.new_event_loop) as runner:
        answers = runner.run(_asked(port, exchanges, connections, seconds))
    return Load(answers, time.perf_counter() - begun, time.process_time() - cpu)
