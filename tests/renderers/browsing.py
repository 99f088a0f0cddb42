"""A real headless browser, pages served to it from the loopback, and a hook that sees whether any script ran."""

import hashlib
import shutil
import tempfile
import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import pytest
from selenium import webdriver
from selenium.webdriver.chrome.options import Options
from selenium.webdriver.chrome.service import Service

from tests.api.served import ROOT

FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking",    "--disable-component-update", "--disable-sync", "--hide-scrollbars",
)  # fmt: skip

AXE = ROOT / ".node" / "node_modules" / "axe-core" / "axe.min.js"
AXE_SHA256 = "29348999450cdf2849a8e70b7912fc2da85a849da39c0d0d5394f51d4a9ed95c"
"""Of axe-core 4.14.1, which the Makefile installs."""

HOOK = """
window.__ran = [];
for (const name of ["alert", "confirm", "prompt", "print", "open"]) {
  window[name] = (...words) => { window.__ran.push(name + " " + words.join(" ")); return null; };
}
"""
"""Stands in every page before anything of its own."""

Page = tuple[str, str, Mapping[str, str]]
"""Media type, text and more headers of one page."""


def axe_source() -> str:
    """What checks a page for accessibility, in the version whose hash is held here."""
    if not AXE.is_file():
        pytest.fail("axe-core is missing: `make .node/.installed` installs it with npm (see .ci/browser).")
    text = AXE.read_bytes()
    assert hashlib.sha256(text).hexdigest() == AXE_SHA256, "axe-core is not the version that the Makefile names"
    return text.decode("utf-8")


def _program(name: str) -> str:
    found = shutil.which(name)
    if found is None:
        pytest.fail(f"{name} is missing: .ci/browser installs it.")
    return found


class Browser:
    """A browser and the pages it is served."""

    def __init__(self, driver: webdriver.Chrome, port: int, pages: dict[str, Page]) -> None:
        self.driver = driver
        self.port = port
        self.pages = pages

    def show(self, text: str, media_type: str, width: int = 1280, headers: Mapping[str, str] | None = None) -> None:
        """Opens a page of this text in a window of this width."""
        path = f"/{len(self.pages)}"
        self.pages[path] = (media_type, text, headers or {})
        self.driver.execute_cdp_cmd(
            "Emulation.setDeviceMetricsOverride",
            {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": False},
        )
        self.driver.get(f"http://127.0.0.1:{self.port}{path}")

    def run(self, script: str, *arguments: Any) -> Any:
        """What a script of the test's own gives."""
        return self.driver.execute_script(script, *arguments)

    def ran(self) -> list[str]:
        """Which of the hooked functions any script of the page called."""
        found: list[str] = self.run("return window.__ran")
        return found

    def violations(self) -> list[str]:
        """What axe-core finds against the page, each with its rule and place."""
        self.run(axe_source())
        found: dict[str, Any] = self.driver.execute_async_script(
            "const done = arguments[0]; axe.run().then(done, fault => done({fault: String(fault)}));"
        )
        assert "fault" not in found, found
        assert found["passes"]
        return [
            f"{rule['id']}: {node['target']} {node.get('failureSummary')}"
            for rule in found["violations"]
            for node in rule["nodes"]
        ]


@contextmanager
def browser() -> Iterator[Browser]:
    """A browser with a profile of its own, and a server on the loopback for its pages."""
    pages: dict[str, Page] = {}
    server = ThreadingHTTPServer(("127.0.0.1", 0), _handler(pages))
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as profile:
        driver = _driver(Path(profile))
        try:
            driver.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": HOOK})
            yield Browser(driver, server.server_port, pages)
        finally:
            driver.quit()
            server.shutdown()
            server.server_close()
            thread.join()


def _driver(profile: Path) -> webdriver.Chrome:
    options = Options()
    options.binary_location = _program("chromium")
    for flag in (*FLAGS, f"--user-data-dir={profile}"):
        options.add_argument(flag)
    return webdriver.Chrome(options=options, service=Service(_program("chromedriver")))


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
