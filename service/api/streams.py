"""Answers of lines, as plain ASGI: written while the request is still read, at the pace of the reader.

The framework's own streaming response listens for a disconnect on the channel that the body comes through, and so
loses pieces of a body that is read meanwhile; this one leaves the channel to whoever makes the lines.
"""

import asyncio
import contextlib
from collections.abc import AsyncIterator, Awaitable, Callable, Mapping
from typing import Final

from starlette.responses import Response
from starlette.types import Receive, Scope, Send

MEDIA_TYPE: Final = "application/x-ndjson"
ABORT: Final = "washline.abort"
"""The extension of the scope through which a connection is cut."""

_FLUSHED: Final = 16 * 1024
"""Bytes of lines that are sent together where more are ready."""


class Gone(Exception):
    """The client has left."""


class Stalled(Exception):
    """The client has stopped reading."""


class Late(Exception):
    """The next piece of the body did not arrive in time."""


class Writer:
    """Where lines are written; waits where the reader is slower than the lines are made."""

    def __init__(self, send: Send, head: list[tuple[bytes, bytes]], timeout_s: float) -> None:
        self._send = send
        self._head = head
        self._timeout_s = timeout_s
        self._begun = False
        self._ready: list[bytes] = []
        self._size = 0

    async def write(self, line: bytes) -> None:
        """One line with its end. Raises :class:`Stalled`."""
        self._ready.append(line)
        self._size += len(line)
        if self._size >= _FLUSHED:
            await self.flush()

    async def flush(self) -> None:
        """Sends what is ready. Raises :class:`Stalled`."""
        if self._ready:
            content, self._ready, self._size = b"".join(self._ready), [], 0
            await self._sent(content, True)

    async def close(self) -> None:
        """Sends what is ready and ends the answer. Raises :class:`Stalled`."""
        content, self._ready, self._size = b"".join(self._ready), [], 0
        await self._sent(content, False)

    async def _sent(self, content: bytes, more: bool) -> None:
        try:
            async with asyncio.timeout(self._timeout_s):
                if not self._begun:
                    self._begun = True
                    await self._send({"type": "http.response.start", "status": 200, "headers": self._head})
                await self._send({"type": "http.response.body", "body": content, "more_body": more})
        except TimeoutError:
            raise Stalled from None


class LineResponse(Response):
    """An answer whose lines ``produce`` writes while it reads the body; a reader that stops is cut off."""

    def __init__(
        self, produce: Callable[[Receive, Writer], Awaitable[None]], timeout_s: float, headers: Mapping[str, str]
    ) -> None:
        super().__init__(None, 200, dict(headers), MEDIA_TYPE)
        self._produce = produce
        self._timeout_s = timeout_s

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Makes and sends the lines."""
        head = [row for row in self.raw_headers if row[0] != b"content-length"]
        writer = Writer(send, head, self._timeout_s)
        try:
            await self._produce(receive, writer)
            await writer.close()
        except Gone:
            pass
        except Stalled:
            abort = (scope.get("extensions") or {}).get(ABORT)
            if abort is not None:
                abort["call"]()
                with contextlib.suppress(TimeoutError):  # The server marks the connection as lost in its next turn.
                    async with asyncio.timeout(1):
                        while (await receive())["type"] != "http.disconnect":
                            pass


async def pieces(receive: Receive, timeout_s: float) -> AsyncIterator[bytes]:
    """The body as it arrives. Raises :class:`Gone` and :class:`Late`."""
    more = True
    while more:
        try:
            async with asyncio.timeout(timeout_s):
                message = await receive()
        except TimeoutError:
            raise Late from None
        if message["type"] != "http.request":
            raise Gone
        more = message.get("more_body", False)
        yield message.get("body", b"")
