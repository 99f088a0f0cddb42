"""Hostile names, accessibility, width, size, and what is printed."""

import base64
import json
from pathlib import Path

import pytest

from tests.browsing import Browser
from tests.page.conftest import LISTS, Bar

pytestmark = [pytest.mark.browser, pytest.mark.filterwarnings("ignore::ResourceWarning")]

FOLDER = Path(__file__).parents[2] / "service" / "page"
HOSTILE = ("<img src=x onerror=alert(1)>", '"><script>alert(2)</script>', "javascript:alert(3)", "{{7*7}} &lt;b&gt;")


def test_script_and_style_stay_small() -> None:
    """The goal is under 150 kB."""
    assert sum(path.stat().st_size for path in FOLDER.iterdir() if path.suffix in (".js", ".css")) < 150_000


def test_the_page_names_no_other_host_and_makes_no_markup_of_text() -> None:
    text = "".join(path.read_text(encoding="utf-8") for path in FOLDER.iterdir())
    assert {part.split("'")[0].split('"')[0] for part in text.split("http://")[1:]} == {"www.w3.org/2000/svg"}
    assert "https://" not in text and "//" + "cdn" not in text
    for word in (
        "innerHTML",
        "outerHTML",
        "insertAdjacentHTML",
        "document.write",
        "eval(",
        "new Function",
        "DOMParser",
    ):
        assert word not in text


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_name_stays_text(empty_bar: Bar, empty: Browser, name: str) -> None:
    item = {"id": "odd-item", "name": name, "kind": "spirit", "abv_percent": 40}
    drink = {"id": "odd-drink", "name": name, "lines": [{"item": "odd-item", "amount": "50 ml"}]}
    menu = {"id": "odd-menu", "name": name, "entries": [{"drink": "odd-drink", "section": name}]}
    for path, body in (("ingredients/odd-item", item), ("drinks/odd-drink", drink), ("menus/odd-menu", menu)):
        empty_bar.ask("PUT", f"/v1/{path}", body, If_Match="*") if _held(empty_bar, path) else empty_bar.ask(
            "PUT", f"/v1/{path}", body
        )
    empty.open()
    empty.at("#open").click()
    empty.until(lambda: name in empty.text("#panel"))
    empty.button(name, "#panel").click()
    empty.answered("% vol")
    assert name in empty.notes()[0]
    assert empty.at("#name").get_property("value") == name
    empty.at("#share").click()
    link = str(empty.at("#link").get_property("value"))
    empty.run("location.hash = '#menu'")
    empty.until(lambda: name in empty.text(".matrix"))
    empty.untouched()
    empty.open("#" + link.split("#")[1])
    empty.answered("% vol")
    assert empty.at("#name").get_property("value") == name
    assert not empty.all("main img, main script")
    empty.untouched()


def _held(bar: Bar, path: str) -> bool:
    kind, _, entry_id = path.partition("/")
    return any(row["id"] == entry_id for row in bar.ask("GET", f"/v1/{kind}")["entries"])


def test_a_hostile_link_is_at_most_refused(empty: Browser) -> None:
    spec = {
        "v": 1, "name": HOSTILE[0], "method": HOSTILE[1], "serves": HOSTILE[0], "place": HOSTILE[0],
        "lines": [
            [HOSTILE[0], HOSTILE[0], HOSTILE[0], {"item": HOSTILE[0], "amount": HOSTILE[1], "__proto__": {"a": 1}}],
            7, None,
        ],
        "rest": {"method": {"water": HOSTILE[0]}, "serve": {"ice": {"kind": HOSTILE[1]}}},
    }  # fmt: skip
    empty.open("#d=" + base64.urlsafe_b64encode(json.dumps(spec).encode()).decode().rstrip("="))
    empty.until(lambda: "No answer until" in empty.text("#summary"))
    assert not empty.all("main img, main script")
    empty.untouched()


def test_the_policy_refuses_what_is_not_the_pages_own(empty: Browser) -> None:
    """That nothing is refused elsewhere means something only where the hook sees what is."""
    empty.open()
    empty.run(
        "const odd = document.createElement('script'); odd.textContent = 'alert(9)'; document.body.append(odd);"
        "const img = document.createElement('img'); img.src = 'http://192.0.2.1/x.png'; document.body.append(img);"
    )
    empty.until(lambda: len(empty.run("return window.__refused")) >= 2)
    assert empty.run("return window.__ran") == []
    empty.run("window.__refused = []")
    empty.hosts()


@pytest.mark.parametrize("pixels", [320, 768, 1280])
def test_nothing_is_inaccessible_or_wider_than_its_screen(demo_bar: Bar, demo: Browser, pixels: int) -> None:
    demo.width(pixels)
    demo.open(key=demo_bar.keys["till"])
    demo.write("50 ml aged rum 46", "20 ml lime juice", "1 splash soda water")
    demo.until(lambda: "No answer until" in demo.text("#summary"))
    assert demo.violations() == []
    demo.all(".drop")[2].click()
    demo.answered("Cost and price")
    demo.at("#glass").send_keys("200")
    demo.answered("of the brim")
    demo.at("#add").click()
    demo.press("10 ml lime")
    demo.until(lambda: demo.all("[role=option]"))
    _held_to(demo, pixels)
    demo.at("#open").click()
    demo.until(lambda: demo.all(".choices button"))
    demo.at("#key-state").click()
    _held_to(demo, pixels)
    demo.run("location.hash = '#menu'")
    demo.until(lambda: demo.all(".matrix tbody tr"))
    _held_to(demo, pixels)
    demo.open("#prices", demo_bar.keys["buyer"])
    demo.until(lambda: demo.all("#supplier option"))
    demo.at("#supplier").send_keys("Osk")
    demo.at("#file").send_keys(str(LISTS / "osk-lane.csv"))
    demo.at("#read-list").click()
    demo.until(lambda: demo.all("#commit"))
    _held_to(demo, pixels)
    demo.button("Drop it").click()
    demo.until(lambda: "dropped" in demo.text("#list-state"))


def test_an_answer_stays_readable_while_the_next_one_is_awaited(demo_bar: Bar, demo: Browser) -> None:
    demo.open(key=demo_bar.keys["till"])
    demo.write("50 ml aged rum 46", "20 ml lime juice")
    demo.answered("Cost and price")
    demo.run("document.getElementById('answer').classList.add('late')")
    assert demo.violations() == []


def _held_to(window: Browser, pixels: int) -> None:
    assert window.violations() == []
    assert window.run("return document.documentElement.scrollWidth") <= pixels


def test_the_check_would_find_what_is_wrong(empty: Browser) -> None:
    empty.open()
    empty.run("document.querySelector('#serves').previousElementSibling.remove()")
    assert any("label" in row for row in empty.violations())


def test_the_answer_is_read_out_once_and_politely(demo_bar: Bar, demo: Browser) -> None:
    demo.open(key=demo_bar.keys["menu"])
    demo.run(
        "window.__said = [];"
        "new MutationObserver(() => window.__said.push(document.querySelector('#summary').textContent))"
        ".observe(document.querySelector('#summary'), { childList: true, characterData: true, subtree: true })"
    )
    demo.write("50 ml aged rum 46")
    demo.answered("% vol")
    demo.until(lambda: demo.run("return window.__said.length"))
    demo.press(" ")  # the same drink again says nothing anew
    demo.run("return new Promise((done) => setTimeout(done, 900))")
    said = demo.run("return window.__said")
    assert said[-1] == demo.text("#summary")
    assert len(said) == len(set(said)) <= 4
    assert demo.at("#summary").get_attribute("aria-live") == "polite"


def test_the_label_panel_is_printed_and_not_shown_and_costs_are_not_printed(demo_bar: Bar, demo: Browser) -> None:
    demo.open(key=demo_bar.keys["till"])
    demo.write("50 ml aged rum 46")
    demo.answered("Cost and price")
    assert not demo.at(".statutory").is_displayed()
    assert demo.at("#answer .money").is_displayed()
    demo.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    try:
        assert demo.at(".statutory").is_displayed()
        assert "Nutrition declaration" in demo.seen(".statutory")
        assert not demo.at("#answer .money").is_displayed()
        assert not demo.at("#keep").is_displayed()
    finally:
        demo.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
