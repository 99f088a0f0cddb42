"""The server's HTTP/1.1 protocol with bounds on the head of a request, which no application can set.

The server itself waits for a head as long as the connection stands and keeps all of it.
"""

import asyncio
from typing import Any, Final

from uvicorn.protocols.http.httptools_impl import HttpToolsProtocol

from service.api.problems import BAD_REQUEST, HEADERS_TOO_LARGE, SLOW_HEAD, Problem, title_of
from service.api.streams import ABORT

LARGEST_HEAD: Final = 64 * 1024
"""Bytes of address and headers of one request."""


class BoundedHead(HttpToolsProtocol):
    """Cuts a connection whose request head is too large or does not arrive in time; refuses in problem+json."""

    def __init__(self, *positional: Any, head_timeout_s: float, **named: Any) -> None:
        super().__init__(*positional, **named)
        self._head_timeout_s = head_timeout_s
        self._head_bytes = 0
        self._in_head = False
        self._head_timer: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]  # as the server has it
        """A connection stands; its first head is waited for."""
        super().connection_made(transport)
        self._begin_head()

    def connection_lost(self, exc: Exception | None) -> None:
        """The connection is gone."""
        self._end_head()
        super().connection_lost(exc)

    def on_message_begin(self) -> None:
        """The first byte of a request has come."""
        super().on_message_begin()
        self.scope["extensions"] = {ABORT: {"call": self.transport.abort}}
        self._begin_head()

    def on_headers_complete(self) -> None:
        """The head is complete."""
        self._end_head()
        super().on_headers_complete()

    def data_received(self, data: bytes) -> None:
        """Some bytes of a request."""
        super().data_received(data)
        if self._in_head:
            self._head_bytes += len(data)
            if self._head_bytes > LARGEST_HEAD:
                self._refuse(Problem(*HEADERS_TOO_LARGE))

    def send_400_response(self, msg: str) -> None:
        """What is no HTTP/1.1 is refused as a problem, too."""
        self._refuse(Problem(*BAD_REQUEST))

    def _begin_head(self) -> None:
        self._end_head()
        self._in_head, self._head_bytes = True, 0
        self._head_timer = self.loop.call_later(self._head_timeout_s, self._refuse, Problem(*SLOW_HEAD))

    def _end_head(self) -> None:
        self._in_head = False
        if self._head_timer is not None:
            self._head_timer.cancel()
            self._head_timer = None

    def _refuse(self, problem: Problem) -> None:
        """Sends the refusal, unless an answer to an earlier request is still being sent, and closes."""
        self._end_head()
        if self.transport.is_closing():
            return
        waiting = self.cycle is not None and (self.cycle.response_started or bool(self.pipeline))
        if not waiting or self.cycle.response_complete:
            response = problem.response({"Connection": "close", "X-Content-Type-Options": "nosniff"})
            head = b"".join(
                b"%b: %b\r\n" % header for header in (*self.server_state.default_headers, *response.raw_headers)
            )
            status = f"HTTP/1.1 {problem.status} {title_of(problem.status)}\r\n".encode("ascii")
            self.transport.write(status + head + b"\r\n" + bytes(response.body))
        self.transport.close()
