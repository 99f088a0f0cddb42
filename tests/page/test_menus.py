"""A menu is changed on the page: its drinks, prices, sections, days and order, and nobody's change is lost."""

from typing import Any

import pytest
from selenium.webdriver.common.keys import Keys

from tests.browsing import Browser
from tests.page.conftest import Bar

pytestmark = [pytest.mark.browser, pytest.mark.filterwarnings("ignore::ResourceWarning")]

ENTRIES: list[dict[str, Any]] = [
    {"drink": "fog-signal", "menu_price": "13.00", "section": "Long", "external_id": "PLU:77"},
    {"drink": "wickwarden-sour", "menu_price": "12.00", "section": "Sours", "with": ["no-egg"]},
    {"drink": "almond-pier", "menu_price": "11.00"},
]
MENU: dict[str, Any] = {
    "id": "jetty",
    "name": "Jetty",
    "valid_from": "2026-01-01",
    "entries": ENTRIES,
    "prices_public": True,
}


CUT = """
return [...document.querySelectorAll("#menu-entries .price")].filter((one) => one.scrollWidth > one.clientWidth);
"""
"""Prices that are not read whole where they stand."""


@pytest.fixture
def jetty(demo_bar: Bar, demo: Browser) -> Browser:
    """The menu view of who writes drinks, with a menu of three drinks as above opened in the form."""
    held = [row["etag"] for row in demo_bar.ask("GET", "/v1/menus", key="maker")["entries"] if row["id"] == "jetty"]
    more = {"If_Match": held[0]} if held else {"If_None_Match": "*"}
    demo_bar.ask("PUT", "/v1/menus/jetty", MENU, key="maker", **more)
    demo.open("#menu", demo_bar.keys["maker"])
    demo.until(lambda: demo.all("#menu-choice option"))
    demo.choose("#menu-choice", "jetty")
    demo.at("#menu-change").click()
    demo.until(lambda: len(demo.all("#menu-entries tr")) == 3)
    return demo


def _held(bar: Bar) -> dict[str, Any]:
    found: dict[str, Any] = bar.ask("GET", "/v1/menus/jetty", key="maker")
    return found


def _field(window: Browser, words: str) -> Any:
    return window.at(f'#menu-box [aria-label="{words}"]')


def _kept(window: Browser) -> None:
    window.at("#menu-keep").click()
    window.until(lambda: "Kept: Jetty" in window.text("#menu-state"))


def test_entries_are_changed_added_and_taken_off_and_the_rest_stays(demo_bar: Bar, jetty: Browser) -> None:
    assert jetty.text("#menu-form-title") == "Change Jetty"
    assert "with no egg" in jetty.text("#menu-entries")
    _field(jetty, "Price of Fog Signal").send_keys(Keys.BACKSPACE * 5, "14,50")
    _field(jetty, "Section of Almond Pier").send_keys("Sours")
    jetty.run("arguments[0].value = '2026-12-24'", _field(jetty, "First day of Almond Pier"))
    _field(jetty, "Take Fog Signal off").click()
    assert jetty.text("#menu-heard") == "Fog Signal is taken off"
    jetty.at("#menu-add").click()
    jetty.press("Fog")  # a select takes what is typed
    jetty.until(lambda: _field(jetty, "Price of Fog Signal"))
    _field(jetty, "Price of Fog Signal").send_keys("15")
    _field(jetty, "Move Fog Signal up").click()
    assert jetty.text("#menu-heard") == "Fog Signal is now 2 of 3"
    for width in (320, 768, 1280):
        jetty.width(width)
        assert jetty.violations() == []
        assert jetty.run(CUT) == []
        assert jetty.run("return document.documentElement.scrollWidth") <= width
    _kept(jetty)
    assert jetty.run("return document.activeElement.id") == "menu-change"
    assert _held(demo_bar) == {**MENU, "entries": [
        ENTRIES[1],
        {"drink": "fog-signal", "menu_price": "15"},
        {**ENTRIES[2], "section": "Sours", "valid_from": "2026-12-24"},
    ]}  # fmt: skip


def test_a_drink_that_takes_the_place_of_another_leaves_its_modifiers_behind(demo_bar: Bar, jetty: Browser) -> None:
    jetty.choose("#menu-entries tr:nth-child(2) select", "ballast-line")
    assert "with no egg" not in jetty.text("#menu-entries")
    jetty.at("#menu-valid_from").clear()
    _kept(jetty)
    held = _held(demo_bar)
    assert held["entries"][1] == {"drink": "ballast-line", "menu_price": "12.00", "section": "Sours"}
    assert "valid_from" not in held


def test_a_change_of_another_is_told_and_never_written_over_unseen(demo_bar: Bar, jetty: Browser) -> None:
    _field(jetty, "Price of Almond Pier").send_keys(Keys.BACKSPACE * 5, "9.00")
    tag = next(row["etag"] for row in demo_bar.ask("GET", "/v1/menus", key="maker")["entries"] if row["id"] == "jetty")
    theirs = {**MENU, "entries": [{**ENTRIES[0], "menu_price": "20.00"}]}
    demo_bar.ask("PUT", "/v1/menus/jetty", theirs, key="maker", If_Match=tag)
    jetty.at("#menu-keep").click()
    jetty.until(lambda: "Somebody has changed this menu" in jetty.text("#menu-said"))
    assert _held(demo_bar) == theirs
    assert jetty.run("return document.activeElement.textContent") == "Open that one"
    # What was written here is still here, and may be looked at beside the other's before it is put in its place.
    assert _field(jetty, "Price of Almond Pier").get_property("value") == "9.00"
    jetty.button("Put mine in its place").click()
    jetty.until(lambda: "Kept: Jetty" in jetty.text("#menu-state"))
    assert [row["menu_price"] for row in _held(demo_bar)["entries"]] == ["13.00", "12.00", "9.00"]


def test_a_menu_under_a_name_that_is_taken_is_told_and_the_other_opened(demo_bar: Bar, jetty: Browser) -> None:
    before = _held(demo_bar)
    jetty.at("#menu-leave").click()
    assert not jetty.at("#menu-box").is_displayed()
    jetty.at("#menu-new").click()
    jetty.until(lambda: jetty.at("#menu-name").is_displayed())
    jetty.at("#menu-name").send_keys("Jetty")
    jetty.at("#menu-keep").click()
    jetty.until(lambda: "Choose a drink" in jetty.text("#menu-said"))
    jetty.choose("#menu-entries select", "fog-signal")
    jetty.at("#menu-keep").click()
    jetty.until(lambda: "already holds a menu under jetty" in jetty.text("#menu-said"))
    assert _held(demo_bar) == before
    jetty.button("Open that one").click()
    jetty.until(lambda: len(jetty.all("#menu-entries tr")) == 3)


def test_a_fault_stands_at_its_entry(demo_bar: Bar, jetty: Browser) -> None:
    price = _field(jetty, "Price of Almond Pier")
    price.clear()
    price.send_keys("twelve")
    jetty.at("#menu-keep").click()
    jetty.until(lambda: "What is wrong stands at its entry" in jetty.text("#menu-said"))
    assert price.get_attribute("aria-invalid") == "true"
    assert jetty.run("return document.activeElement === arguments[0]", price)
    note = jetty.text(f"#{price.get_attribute('aria-describedby')}")
    assert note and note in jetty.seen("#menu-entries")
    price.send_keys(Keys.BACKSPACE)
    assert price.get_attribute("aria-invalid") is None
    assert _held(demo_bar) == MENU


def test_a_menu_is_changed_by_keys_alone_and_a_slow_answer_loses_nothing(demo_bar: Bar, jetty: Browser) -> None:
    """The entry keeps the focus as it moves; what is asked for twice is written once."""
    demo_bar.between.delay = lambda path, body: 1.0 if path.startswith("/v1/menus/jetty") else 0.0
    assert jetty.run("return document.activeElement.id") == "menu-name"
    jetty.reach("Price of Fog Signal")
    jetty.press(Keys.END, Keys.BACKSPACE * 5, "16.00")
    jetty.chord(Keys.ALT, Keys.ARROW_DOWN)
    assert jetty.run("return document.activeElement.getAttribute('aria-label')") == "Price of Fog Signal"
    assert jetty.text("#menu-heard") == "Fog Signal is now 2 of 3"
    jetty.reach("Keep the menu")
    begun = len(demo_bar.between.seen)
    jetty.press(Keys.ENTER, Keys.ENTER)  # at once, before the page can have moved on
    jetty.until(lambda: "Kept: Jetty" in jetty.text("#menu-state"))
    assert [row[0] for row in demo_bar.between.seen[begun:]].count("PUT") == 1
    held = _held(demo_bar)["entries"]
    assert [(row["drink"], row["menu_price"]) for row in held] == [
        ("wickwarden-sour", "12.00"), ("fog-signal", "16.00"), ("almond-pier", "11.00"),
    ]  # fmt: skip
