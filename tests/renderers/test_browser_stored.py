"""Names kept through the stored routes, opened in a real browser: none makes a script run on a page or in a drawing."""

import pytest

from service.settings import Settings
from tests.api.conftest import Client
from tests.asked import DAY
from tests.browsing import Browser
from tests.renderers.showing import showing
from tests.renderers.test_browser import CORPUS, HTML, INTRUDERS, XHTML

pytestmark = [pytest.mark.browser, pytest.mark.filterwarnings("ignore::ResourceWarning")]

NAMES = [f"{number} {text}" for number, text in enumerate(CORPUS) if text.isprintable()]
"""Those that a route lets in: one with a control character is refused at the door."""


def _stored(client: Client) -> None:
    """One item, drink and modifier for each text; one menu, venue and supplier that bear the first of them."""
    bodies: list[tuple[str, object]] = [
        ("venues", {"id": "odd-venue", "name": NAMES[0]}),
        ("suppliers", {"id": "odd-supplier", "name": NAMES[0]}),
    ]
    for number, name in enumerate(NAMES):
        line = {"item": f"odd-item-{number}", "amount": "50 ml"}
        bodies.append(("ingredients", {"id": line["item"], "name": name, "kind": "syrup", "abv_percent": "0"}))
        change = {"id": "odd", "name": name, "scale": "2"}
        bodies.append(("drinks", {"id": f"odd-{number}", "name": name, "lines": [line], "modifiers": [change]}))
    rows = [{"drink": f"odd-{number}", "section": name, "with": ["odd"]} for number, name in enumerate(NAMES)]
    lines = [{"item": f"odd-item-{number}", "amount": "1 ml"} for number in range(len(NAMES))]
    bodies.append(("drinks", {"id": "odd-all", "name": f"all {NAMES[1]}", "lines": lines}))
    bodies.append(("menus", {"id": "odd-menu", "name": NAMES[1], "venue": "odd-venue", "entries": rows}))
    for kind, body in bodies:
        made = client.ask("POST", f"/v1/{kind}", json=body)
        assert made.status_code == 201, made.text


def _text(client: Client, path: str, media_type: str, **query: str) -> str:
    found = client.get(path, params={"as_of": DAY.isoformat(), **query}, headers={"Accept": media_type})
    assert found.status_code == 200, found.text
    return found.text


def test_no_stored_name_makes_a_script_run(one_browser: Browser) -> None:
    client = Client(Settings(demo=True))
    try:
        _stored(client)
        pages = [
            ("menu", _text(client, "/v1/menus/odd-menu/label", "text/html"), HTML),
            ("sheet", _text(client, "/v1/drinks/odd-all/evaluation", "text/html", serves="2"), HTML),
            ("books", _text(client, "/v1/menus/odd-menu/margins", "text/html"), HTML),
        ]
        panels = [
            _text(client, f"/v1/drinks/odd-{number}/label", "image/svg+xml", lot=name, responsible=name, storage=name)
            for number, name in enumerate(NAMES)
        ]
    finally:
        client.close()
    # All panels in one page, read once as XML, as a drawing is, and once as HTML, as one inside a page is.
    drawn = "".join(panel.partition("?>")[2] for panel in panels)
    pages.append(("panels as XML", f'<html xmlns="http://www.w3.org/1999/xhtml"><body>{drawn}</body></html>', XHTML))
    pages.append(("panels as HTML", f"<!DOCTYPE html><title>t</title>{drawn}", HTML))
    with showing(one_browser) as window:
        for name, page, media_type in pages:
            window.show(page, media_type)
            assert window.run("return document.getElementsByTagName('parsererror').length") == 0, name
            assert window.run(INTRUDERS) == [], name
            assert window.ran() == [], name
            shown = window.run("return document.documentElement.textContent.replace(/\\s+/g, ' ')")
            if name in ("menu", "sheet"):
                assert all(" ".join(text.split()) in shown for text in NAMES), name
