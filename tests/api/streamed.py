"""Bodies and answers of lines, sent and read as bytes over a socket and in process."""

import asyncio
import json
import socket
import threading
from collections.abc import Iterator, Sequence
from typing import Any

from fastapi import FastAPI

from tests.api.served import Served

Body = dict[str, Any]
PATH = "/v1/evaluations"


def drink(number: int = 0) -> Body:
    """A small drink as POST /v1/evaluate takes it."""
    lines = [{"item": "lime-juice", "amount": f"{20 + number % 7} ml"}]
    return {"drink": {"id": "small", "name": "Small", "lines": lines}, "include": ["balance"]}


def ndjson(rows: Sequence[object]) -> bytes:
    """Rows as lines, written as the tests' client writes a body; a text stands for itself."""
    texts = (
        row if isinstance(row, str) else json.dumps(row, ensure_ascii=False, separators=(",", ":")) for row in rows
    )
    return b"".join(text.encode() + b"\n" for text in texts)


def records(content: bytes) -> list[Body]:
    """The lines of an answer."""
    return [json.loads(line) for line in content.splitlines()]


def in_process(app: FastAPI, pieces: Sequence[bytes], headers: Sequence[tuple[bytes, bytes]] = ()) -> list[Body]:
    """The records that the application answers to a body in these pieces, asked without a client between."""
    waiting = [
        {"type": "http.request", "body": piece, "more_body": place < len(pieces) - 1}
        for place, piece in enumerate(pieces)
    ]
    sent: list[Any] = []

    async def receive() -> Any:
        return waiting.pop(0) if waiting else {"type": "http.disconnect"}

    async def send(message: Any) -> None:
        sent.append(message)

    scope = {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": "POST", "path": PATH,
        "raw_path": PATH.encode(), "query_string": b"", "root_path": "", "scheme": "http",
        "headers": [(b"host", b"bar.test"), (b"content-type", b"application/x-ndjson"), *headers],
        "client": ("127.0.0.1", 1), "server": ("127.0.0.1", 80),
    }  # fmt: skip
    asyncio.run(app(scope, receive, send))
    assert sent[0]["status"] == 200
    assert not sent[-1].get("more_body")
    return records(b"".join(message["body"] for message in sent[1:]))


def head(length: int, path: str = PATH) -> bytes:
    """The head of a request of lines that closes its connection."""
    text = f"POST {path} HTTP/1.1\r\nHost: bar.test\r\nConnection: close\r\nContent-Type: application/x-ndjson\r\n"
    return f"{text}Content-Length: {length}\r\n\r\n".encode()


def streamed(served: Served, body: bytes) -> Iterator[bytes]:
    """The lines of the answer as they come, while the body is sent beside."""
    with served.connected() as connection:
        connection.settimeout(60)
        sender = threading.Thread(target=_send, args=(connection, head(len(body)) + body), daemon=True)
        sender.start()
        yield from chunked_lines(connection)
        sender.join(5)


def _send(connection: socket.socket, content: bytes) -> None:
    try:
        connection.sendall(content)
    except OSError:
        return


def chunked_lines(connection: socket.socket) -> Iterator[bytes]:
    """The lines of an answer in chunks; a connection that ends before the last chunk raises."""
    stream = connection.makefile("rb")
    assert stream.readline().startswith(b"HTTP/1.1 200")
    while stream.readline().strip():
        pass
    kept = b""
    while size := int(stream.readline().strip() or b"-1", 16):
        assert size > 0, "cut short"
        kept += stream.read(size)
        stream.readline()
        *whole, kept = kept.split(b"\n")
        yield from whole
    assert not kept
