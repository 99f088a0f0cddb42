"""``python -m tests.pictures``: takes the README's pictures of the page and of a label, from the served demo."""

import json
import tempfile
import urllib.request
from pathlib import Path
from urllib.parse import quote, urlencode

from tests.api.served import ROOT, served
from tests.browsing import Browser, browsing

FOLDER = ROOT / "pictures"

BOTTLED = {
    "id": "quay-daisy", "name": "Quay Daisy", "method": {"kind": "prediluted", "water": {"ml": "35"}},
    "lines": [
        {"item": "rum-aged-46", "amount": "50 ml"}, {"item": "lime-juice", "amount": "20 ml"},
        {"item": "rich-demerara", "amount": "15 ml"},
    ],
}  # fmt: skip
PACK = {
    "venue": "shop", "jurisdiction": "NL", "net_ml": "120", "lot": "L2611", "made_on": "2026-11-25",
    "storage": "Keep below 5 °C", "responsible": "The Slack Warp, Harbour",
}  # fmt: skip
"""A drink of which everything is known, and what is printed with it."""


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
    _asked(window, "PUT", "/v1/drinks/quay-daisy", json.dumps(BOTTLED))
    shop = {"id": "shop", "name": "Shop", "house": {"sold_as": "prepacked"}}
    _asked(window, "PUT", "/v1/venues/shop", json.dumps(shop))
    drawing = _asked(window, "GET", f"/v1/drinks/quay-daisy/label?{urlencode(PACK)}")
    assert "NOT READY" not in drawing, drawing
    window.width(640)
    window.driver.get(f"data:image/svg+xml;charset=utf-8,{quote(drawing)}")
    window.at("svg").screenshot(str(FOLDER / "label.png"))


def _asked(window: Browser, method: str, path: str, body: str | None = None) -> str:
    """What the service answers, a drawing where it may."""
    headers = {"Accept": "image/svg+xml, application/json;q=0.5", "Content-Type": "application/json"}
    data = None if body is None else body.encode()
    request = urllib.request.Request(window.base + path, data, headers, method=method)
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
