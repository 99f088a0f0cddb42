"""Pages of a test's own, served to the browser from the loopback."""

import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

from tests.browsing import Browser

Page = tuple[str, str, Mapping[str, str]]
"""Media type, text and more headers of one page."""


class Shown:
    """A browser and the pages it is served."""

    def __init__(self, browser: Browser, port: int, pages: dict[str, Page]) -> None:
        self._browser = browser
        self.driver, self.run, self.violations = browser.driver, browser.run, browser.violations
        self.port = port
        self.pages = pages

    def show(self, text: str, media_type: str, width: int = 1280, headers: Mapping[str, str] | None = None) -> None:
        """Opens a page of this text in a window of this width."""
        path = f"/{len(self.pages)}"
        self.pages[path] = (media_type, text, headers or {})
        self._browser.width(width)
        self.driver.get(f"http://127.0.0.1:{self.port}{path}")

    def ran(self) -> list[str]:
        """Which of the hooked functions any script of the page called."""
        found: list[str] = self.run("return window.__ran")
        return found


@contextmanager
def showing(browser: Browser) -> Iterator[Shown]:
    """A server on the loopback for pages, and the browser that looks at them."""
    pages: dict[str, Page] = {}
    server = ThreadingHTTPServer(("127.0.0.1", 0), _handler(pages))
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield Shown(browser, server.server_port, pages)
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


def _handler(pages: Mapping[str, Page]) -> type[BaseHTTPRequestHandler]:
    class Handler(BaseHTTPRequestHandler):
        """Serves the pages and nothing else."""

        def do_GET(self) -> None:
            """One page, or 404."""
            page = pages.get(self.path)
            if page is None:
                self.send_error(404)
                return
            media_type, text, headers = page
            body = text.encode("utf-8")
            self.send_response(200)
            for name, value in {"Content-Type": media_type, "Content-Length": str(len(body)), **headers}.items():
                self.send_header(name, value)
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, format: str, *args: Any) -> None:
            """Nothing is logged."""

    return Handler
