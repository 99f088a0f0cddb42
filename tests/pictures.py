"""``python -m tests.pictures``: takes the README's pictures of the page and of a label, from the served demo."""

import tempfile
from pathlib import Path

from tests.api.served import ROOT, served
from tests.page.browsing import Browser, browsing

FOLDER = ROOT / "pictures"


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
    """What the printed sheet says of a drink for its label."""
    window.width(640)
    window.open()
    window.write("50 ml aged rum 46", "3/4 oz lime juice", "1/2 oz rich demerara")
    window.answered("% vol")
    window.choose("#place", "NL")
    window.run("document.querySelector('#place').dispatchEvent(new Event('input'))")
    window.until(lambda: "GB" not in window.text("#answer"))
    window.answered("% vol")
    window.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    window.at(".statutory").screenshot(str(FOLDER / "label.png"))
    window.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})


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
