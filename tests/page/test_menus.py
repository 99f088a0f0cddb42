"""A menu is changed on the page: its drinks, prices, sections, days and order, and nobody's change is lost."""

from typing import Any

import pytest
from selenium.webdriver.common.keys import Keys

from tests.browsing import Browser
from tests.page.conftest import Bar

pytestmark = [pytest.mark.browser, pytest.mark.filterwarnings("ignore::ResourceWarning")]

ENTRIES: list[dict[str, Any]] = [
    {"drink": "fog-signal", "menu_price": "13.00", "section": "Long", "external_id": "PLU:77"},
    {"drink": "wickwarden-sour", "menu_price": "12.00", "section": "Sours", "with": ["no-egg-white"]},
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
    assert "with no egg white" in jetty.text("#menu-entries")
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
    assert "with no egg white" not in jetty.text("#menu-entries")
    jetty.at("#menu-valid_from").clear()
    _kept(jetty)
    held = _held(demo_bar)
    assert held["entries"][1] == {"drink": "ballast-line", "menu_price": "12.00", "section": "Sours"}
    assert "valid_from" not in held


def test_a_line_is_sold_with_modifiers_that_are_ticked_and_prices_are_made_public(
    demo_bar: Bar, jetty: Browser
) -> None:
    line = "#menu-entries tr:nth-child(1)"
    assert jetty.at(f"{line} details").get_attribute("open") is None
    jetty.choose("#menu-entries tr:nth-child(3) select", "bollard-serve")  # a drink that has no modifiers
    assert not jetty.at("#menu-entries tr:nth-child(3) details").is_displayed()
    modifiers = demo_bar.ask("GET", "/v1/drinks/fog-signal", key="maker")["modifiers"]
    jetty.at(f"{line} summary").click()
    assert [one.text for one in jetty.all(f"{line} label.tick")] == [one["name"] for one in modifiers]
    for place in (1, 0):
        jetty.all(f"{line} label.tick")[place].click()
    said = " and ".join(modifiers[place]["id"].replace("-", " ") for place in (1, 0)).replace(" and ", ", ")
    assert jetty.text(f"{line} summary") == f"with {said}"
    assert jetty.violations() == []
    assert jetty.at("#menu-public").is_selected()
    jetty.at("#menu-public").click()
    jetty.at("#menu-entries tr:nth-child(2) summary").click()
    jetty.at("#menu-entries tr:nth-child(2) input[checked]").click()
    _kept(jetty)
    held = _held(demo_bar)
    assert held["entries"][0] == {**ENTRIES[0], "with": [modifiers[1]["id"], modifiers[0]["id"]]}
    assert "with" not in held["entries"][1]
    assert "prices_public" not in held


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


def test_every_fault_of_an_entry_stands_there_and_an_entry_without_a_drink_is_not_dropped(
    demo_bar: Bar, jetty: Browser
) -> None:
    price, section = _field(jetty, "Price of Almond Pier"), _field(jetty, "Section of Almond Pier")
    price.clear()
    price.send_keys("twelve")
    jetty.run("arguments[0].value = 'a\\u202eb'", section)  # a sign that turns the reading round
    jetty.at("#menu-keep").click()
    jetty.until(lambda: "What is wrong stands at its entry" in jetty.text("#menu-said"))
    assert [one.get_attribute("aria-invalid") for one in (price, section)] == ["true", "true"]
    both = jetty.text("#menu-entries tr.wrong .note")
    section.send_keys(Keys.BACKSPACE)
    left = jetty.text("#menu-entries tr.wrong .note")
    assert left
    assert left != both
    assert left in both
    price.send_keys(Keys.BACKSPACE * 6, "11.00")
    section.send_keys(Keys.BACKSPACE * 3)
    jetty.at("#menu-add").click()
    jetty.run("arguments[0].value = '2026-12-24'", _field(jetty, "First day of entry 4"))
    jetty.at("#menu-keep").click()
    jetty.until(lambda: jetty.text("#menu-said") == "One entry names no drink.")
    assert _held(demo_bar) == MENU


def test_a_key_of_one_venue_writes_menus_of_that_venue(demo_bar: Bar, demo: Browser) -> None:
    demo.open("#menu", demo_bar.venue_key("ferry-landing", "catalogue:write"))
    demo.until(lambda: demo.at("#menu-new").is_displayed())
    demo.at("#menu-new").click()
    demo.until(lambda: demo.at("#menu-name").is_displayed())
    assert demo.run("return document.getElementById('menu-venue').value") == "ferry-landing"


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
