"""``python -m tests.pictures``: takes the README's pictures of the page and of a label, from the served demo."""

import tempfile
import urllib.request
from pathlib import Path
from urllib.parse import quote, urlencode

from tests.api.served import ROOT, served
from tests.browsing import Browser, browsing

FOLDER = ROOT / "pictures"

PACKED = {"jurisdiction": "NL", "as_of": "2026-11-25"}
"""How the label of the demo's bottled drink is asked for."""


def _desk(window: Browser) -> None:
    """A stored drink on the desk, as a screen shows it."""
    window.width(1120)
    window.open()
    window.at("#open").click()
    window.until(lambda: window.all(".choices button"))
    window.button("Wickwarden Sour", "#panel").click()
    window.answered("% vol")
    window.run("document.activeElement.blur(); document.querySelector('#said').replaceChildren()")
    window.driver.save_screenshot(str(FOLDER / "desk.png"))


def _label(window: Browser) -> None:
    """The label panel of a bottled drink, as the service draws it."""
    drawing = _asked(window, f"/v1/drinks/lantern-flask/label?{urlencode(PACKED)}")
    assert "NOT READY" not in drawing, drawing
    window.width(380, 1200)  # high enough for all of it
    window.driver.get(f"data:image/svg+xml;charset=utf-8,{quote(drawing)}")
    window.at("svg").screenshot(str(FOLDER / "label.png"))


def _asked(window: Browser, path: str) -> str:
    """The drawing that the service answers."""
    request = urllib.request.Request(window.base + path, headers={"Accept": "image/svg+xml"})
    with urllib.request.urlopen(request, timeout=30) as answer:
        return str(answer.read().decode())


def main() -> None:
    """Both pictures, and their sizes."""
    FOLDER.mkdir(exist_ok=True)
    with (
        tempfile.TemporaryDirectory() as folder,
        served(demo="1", database_url=f"sqlite:///{folder}/bar.db") as service,
        browsing(f"http://127.0.0.1:{service.port}") as window,
    ):
        _desk(window)
        _label(window)
    for path in sorted(Path(FOLDER).glob("*.png")):
        print(f"{path.name}: {path.stat().st_size // 1000} kB")


if __name__ == "__main__":
    main()
