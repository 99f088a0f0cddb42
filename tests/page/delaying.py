"""A server between the browser and the service that can hold answers back, or give others in their place."""

import http.client
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

Given = tuple[int, str, bytes]
"""Status, media type and body of an answer that the service did not give."""


@dataclass
class Between:
    """What it does with each request, and what it saw."""

    port: int
    own_port: int = 0
    delay: Callable[[str, bytes], float] = lambda path, body: 0.0
    instead: Callable[[str, str, bytes], Given | None] = lambda method, path, body: None
    seen: list[tuple[str, str, bytes, dict[str, str]]] = field(default_factory=list)
    sent: list[tuple[str, bytes]] = field(default_factory=list)
    """Paths and bodies of the requests whose answer went out whole."""

    @property
    def base(self) -> str:
        """Its address."""
        return f"http://127.0.0.1:{self.own_port}"


@contextmanager
def between(port: int) -> Iterator[Between]:
    """Serves on a port of its own in front of the service on ``port``."""
    made = Between(port)
    server = ThreadingHTTPServer(("127.0.0.1", 0), _handler(made))
    server.daemon_threads = True
    made.own_port = server.server_port
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield made
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


def _handler(made: Between) -> type[BaseHTTPRequestHandler]:
    class Handler(BaseHTTPRequestHandler):
        """Passes on."""

        def _pass(self) -> None:
            body = self.rfile.read(int(self.headers.get("Content-Length") or 0))
            made.seen.append((self.command, self.path, body, dict(self.headers.items())))
            time.sleep(made.delay(self.path, body))
            given = made.instead(self.command, self.path, body)
            try:
                if given is None:
                    self._forward(body)
                else:
                    self._send(given[0], {"Content-Type": given[1]}, given[2])
                made.sent.append((self.path, body))
            except (BrokenPipeError, ConnectionResetError):
                pass  # the browser no longer wants it

        def _forward(self, body: bytes) -> None:
            connection = http.client.HTTPConnection("127.0.0.1", made.port, timeout=60)
            headers = {name: value for name, value in self.headers.items() if name.lower() != "connection"}
            connection.request(self.command, self.path, body or None, headers)
            answer = connection.getresponse()
            content = answer.read()
            kept = {
                name: value for name, value in answer.getheaders()
                if name.lower() not in ("connection", "content-length", "transfer-encoding", "date", "server")
            }  # fmt: skip
            self._send(answer.status, kept, content)
            connection.close()

        def _send(self, status: int, headers: dict[str, str], content: bytes) -> None:
            self.send_response(status)
            for name, value in {**headers, "Content-Length": str(len(content))}.items():
                self.send_header(name, value)
            self.end_headers()
            self.wfile.write(content)

        do_GET = do_POST = do_PUT = do_DELETE = _pass  # noqa: N815  # names of the standard library

        def log_message(self, format: str, *args: object) -> None:
            """Nothing is logged."""

    return Handler
