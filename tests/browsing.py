"""A real headless browser, and what a person does in it: open, write, wait for the answer, read it."""

import base64
import functools
import hashlib
import json
import shutil
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from selenium import webdriver
from selenium.webdriver.chrome.options import Options
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.remote.webelement import WebElement

from tests.api.served import ROOT

FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync", "--hide-scrollbars",
    "--lang=en-GB",
)  # fmt: skip

AXE = ROOT / ".node" / "node_modules" / "axe-core" / "axe.min.js"
AXE_SHA256 = "29348999450cdf2849a8e70b7912fc2da85a849da39c0d0d5394f51d4a9ed95c"
"""Of axe-core 4.14.1, which the Makefile installs."""

HOOK = """
window.__ran = []; window.__refused = []; window.__answers = 0;
for (const name of ["alert", "confirm", "prompt", "print", "open"]) {
  window[name] = (...words) => { window.__ran.push(name + " " + words.join(" ")); return null; };
}
document.addEventListener("securitypolicyviolation", (event) => {
  window.__refused.push(event.violatedDirective + " " + event.blockedURI);
});
const asked = window.fetch;
window.fetch = async (...request) => {
  const answer = await asked(...request);
  if (String(request[0]).endsWith("/v1/evaluate")) window.__answers += 1;
  return answer;
};
"""
"""Stands in every page before anything of its own: sees scripts that run, what the policy refused, and answers."""


FOCUSED = """
const at = document.activeElement;
if (at === document.body || at.tabIndex < 0) return [null, false];
const style = getComputedStyle(at);
const name = at.getAttribute("aria-label") || at.labels?.[0]?.textContent || at.textContent;
return [name.trim(), style.outlineStyle !== "none" || style.boxShadow !== "none"];
"""
"""What has the focus is called so, and whether that is seen."""


@functools.cache
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
    """One window, and the service it looks at."""

    def __init__(self, driver: webdriver.Chrome, base: str) -> None:
        self.driver = driver
        self.base = base

    def width(self, pixels: int, height: int = 900) -> None:
        """A window of this width, and of a height where what is looked at is higher."""
        self.driver.execute_cdp_cmd(
            "Emulation.setDeviceMetricsOverride",
            {"width": pixels, "height": height, "deviceScaleFactor": 1, "mobile": False},
        )

    def open(self, fragment: str = "", key: str = "") -> None:
        """The page as new: nothing kept of before, with a key put in by hand where one is given."""
        self.driver.get(f"{self.base}/livez")  # of the same origin, and small
        self.run("sessionStorage.clear()")
        self.driver.get(f"{self.base}/{fragment}")
        if key:
            self.run("document.querySelector('#key-box').open = true")
            self.at("#key").send_keys(key, Keys.ENTER)
            self.until(lambda: self.text("#key-state") == "Key in use")

    def run(self, script: str, *arguments: Any) -> Any:
        """What a script of the test's own gives."""
        return self.driver.execute_script(script, *arguments)

    def at(self, selector: str) -> WebElement:
        """The one element of a selector."""
        return self.driver.find_element(By.CSS_SELECTOR, selector)

    def all(self, selector: str) -> list[WebElement]:
        """Every element of a selector."""
        return self.driver.find_elements(By.CSS_SELECTOR, selector)

    def text(self, selector: str) -> str:
        """What stands in an element, shown or not."""
        return str(self.run("return document.querySelector(arguments[0])?.textContent ?? ''", selector))

    def seen(self, selector: str = "body") -> str:
        """What a person sees in an element."""
        return str(self.run("return document.querySelector(arguments[0])?.innerText ?? ''", selector))

    def until(self, fact: Callable[[], Any], seconds: float = 20) -> Any:
        """Waits until a fact holds, and gives it."""
        begun = time.monotonic()
        while True:
            found = fact()
            if found:
                return found
            assert time.monotonic() - begun < seconds, self.seen()
            time.sleep(0.02)

    def press(self, *keys: str) -> None:
        """Keys to whatever has the focus."""
        self.driver.switch_to.active_element.send_keys(*keys)

    def chord(self, *keys: str) -> None:
        """Keys held together, to whatever has the focus."""
        chain = webdriver.ActionChains(self.driver)
        for key in keys[:-1]:
            chain.key_down(key)
        chain.send_keys(keys[-1])
        for key in keys[:-1]:
            chain.key_up(key)
        chain.perform()

    def reach(self, words: str, most: int = 120) -> None:
        """Tab after tab until what is called so has the focus, which is seen on every stop of the way."""
        for _ in range(most):
            # Not as keys to an element, which a field for files takes as names of files.
            for kind in ("keyDown", "keyUp"):
                self.driver.execute_cdp_cmd("Input.dispatchKeyEvent", {"type": kind, "key": "Tab", "code": "Tab",
                                                                       "windowsVirtualKeyCode": 9})  # fmt: skip
            name, outline = self.run(FOCUSED)
            if name is None:  # past the end, before it begins anew
                continue
            assert outline, f"the focus on {name} is not seen"
            if name == words:
                return
        raise AssertionError(f"{words} is not reached")

    def do(self, words: str, *keys: str) -> None:
        """Goes there by Tab and presses keys; Enter unless others are given."""
        self.reach(words)
        self.press(*(keys or (Keys.ENTER,)))

    def button(self, words: str, within: str = "body") -> WebElement:
        """The shown button of these words."""
        for button in self.all(f"{within} button"):
            if button.is_displayed() and button.text == words:
                return button
        raise AssertionError(f"No button {words!r} in: {self.seen(within)}")

    def write(self, *lines: str) -> None:
        """Lines after what is there, as a person types them; the last one keeps the focus."""
        self.all("#lines input")[-1].click()
        for place, line in enumerate(lines):
            if place:
                self.press(Keys.ESCAPE)
                self.press(Keys.ENTER)
            self.press(line)
        self.press(Keys.ESCAPE)

    def lines(self) -> list[str]:
        """The lines as they are written now."""
        found: list[str] = self.run("return [...document.querySelectorAll('#lines input')].map((line) => line.value)")
        return found

    def notes(self) -> list[str]:
        """What stands under each line."""
        found: list[str] = self.run(
            "return [...document.querySelectorAll('#lines .note')].map((note) => note.innerText)"
        )
        return found

    def answered(self, words: str) -> str:
        """Waits for an answer with these words in it, and gives the whole of it."""
        self.until(lambda: words in self.text("#answer") and not self.all("#answer[aria-busy]"))
        return self.text("#answer")

    def choose(self, selector: str, value: str) -> None:
        """An option of a select by its value, with the event that a person's choice makes."""
        self.run(
            "const [selector, value] = arguments; const select = document.querySelector(selector);"
            "select.value = value; select.dispatchEvent(new Event('change'));",
            selector,
            value,
        )

    def printed(self) -> str:
        """What is seen on paper; the browser has made a document of it, of at least one page, at that."""
        self.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
        try:
            paper = base64.b64decode(self.driver.execute_cdp_cmd("Page.printToPDF", {})["data"])
            assert paper.startswith(b"%PDF") and b"/Type /Page" in paper
            return self.seen()
        finally:
            self.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})

    def violations(self) -> list[str]:
        """What axe-core finds against the page, each with its rule and place."""
        if not self.run("return Boolean(window.axe)"):  # half a megabyte, once a page
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

    def hosts(self) -> set[str]:
        """Hosts of every request since this was last asked."""
        found = set()
        for row in self.driver.get_log("performance"):  # type: ignore[no-untyped-call]  # selenium leaves it untyped
            message = json.loads(row["message"])["message"]
            if message["method"] == "Network.requestWillBeSent":
                url = urlsplit(message["params"]["request"]["url"])
                if url.scheme not in ("data", "about", "chrome", "chrome-error"):
                    found.add(url.netloc)
        return found

    def untouched(self) -> None:
        """No script of another ran, the policy refused nothing, and the page itself logged no fault."""
        assert self.run("return window.__ran") == []
        assert self.run("return window.__refused") == []


@contextmanager
def browsing(base: str) -> Iterator[Browser]:
    """A browser with a profile of its own."""
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as profile:
        options = Options()
        options.binary_location = _program("chromium")
        for flag in (*FLAGS, f"--user-data-dir={Path(profile)}"):
            options.add_argument(flag)
        options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
        driver = webdriver.Chrome(options=options, service=Service(_program("chromedriver")))
        try:
            driver.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": HOOK})
            yield Browser(driver, base)
        finally:
            driver.quit()
