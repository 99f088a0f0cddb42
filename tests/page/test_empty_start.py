"""From a service that holds nothing to a priced menu, by keys alone: what each of the four users does on the page."""

from pathlib import Path

import pytest
from selenium.webdriver.common.keys import Keys

from tests.browsing import Browser
from tests.page.conftest import Bar

pytestmark = [pytest.mark.browser, pytest.mark.filterwarnings("ignore::ResourceWarning")]

LIST = "Article;Description;Pack;Price;Item\n1;Aged rum;700 ml;21,00;rum-aged-46\n2;Lime juice;1 l;8,00;lime-juice\n"
HEADINGS = (("Id of the item", "Item"), ("Article number", "Article"), ("Name", "Description"),
            ("Pack, such as 6 x 70 cl", "Pack"))  # fmt: skip
"""Of its columns beside the price, as Tab comes to them from there, at the end of the page from its beginning on."""


def test_a_developer_writes_down_a_supplier_and_takes_in_its_list(
    blank_bar: Bar, blank: Browser, tmp_path: Path
) -> None:
    path = tmp_path / "list.csv"
    path.write_text(LIST, encoding="utf-8")
    blank.open(key=blank_bar.keys["developer"])
    blank.do("Prices")
    blank.until(lambda: "no supplier yet" in blank.text("#list-state"))
    blank.do("Name", "Example Quay Supply")
    blank.do("Currency of its lists", "eur")
    blank.do("Keep the supplier")
    blank.until(lambda: "under which heading its prices stand" in blank.text("#list-state"))
    assert blank.run("return document.activeElement.id") == "column-price"
    blank.press("Price")
    for words, heading in HEADINGS:
        blank.do(words, heading)
    assert blank.violations() == []
    blank.do("Keep the supplier")
    blank.until(lambda: "Choose its list" in blank.text("#list-state"))
    held = blank_bar.ask("GET", "/v1/suppliers/example-quay-supply", key="developer")
    assert (held["name"], held["currency"]) == ("Example Quay Supply", "EUR")
    # The focus is on the file, which the browser's own dialog chooses.
    assert blank.run("return document.activeElement.id") == "file"
    blank.at("#file").send_keys(str(path))
    blank.do("Read it, change nothing")
    blank.until(lambda: blank.all("#commit"))
    assert blank.run("return document.querySelector('#list-bar').value") == 2
    blank.until(lambda: blank.at("#commit").is_enabled())
    blank.do("Take it in")
    blank.until(lambda: "taken in" in blank.text("#list-state"))
    offers = blank_bar.ask("GET", "/v1/offers", key="developer")["entries"]
    assert {(row["body"]["item"], row["body"]["price"]["amount"]) for row in offers} == {
        ("rum-aged-46", "21.00"), ("lime-juice", "8.00"),
    }  # fmt: skip


def test_a_developer_puts_a_kept_drink_on_a_menu_with_its_price(blank_bar: Bar, blank: Browser) -> None:
    """Arithmetic: 50 of 700 ml at 21.00 is 1.50 and 20 of 1000 ml at 8.00 is 0.16."""
    blank.open("#menu", blank_bar.keys["developer"])
    blank.until(lambda: "Keep a drink on the desk first" in blank.text("#menu-state"))
    blank.do("Desk")
    blank.do("Drink", "Quay Sour")
    blank.do("Line 1", "50 ml aged rum 46", Keys.ESCAPE, Keys.ENTER)
    blank.press("20 ml lime juice", Keys.ESCAPE)
    assert "1.66 EUR" in blank.answered("for what is poured")
    blank.do("Keep")
    blank.until(lambda: "Kept in the catalogue" in blank.text("#said"))
    blank.do("Menu")
    blank.until(lambda: blank.at("#menu-new").is_displayed())
    blank.do("Write a menu")
    blank.until(lambda: blank.run("return document.activeElement.id") == "menu-name")
    blank.press("Winter")
    blank.do("Drink 1", "Quay")
    blank.do("Price of Quay Sour", "12,50")
    blank.do("Section of Quay Sour", "Sours")
    assert blank.violations() == []
    blank.do("Keep the menu")
    blank.until(lambda: "Kept: Winter" in blank.text("#menu-state"))
    assert "Quay Sour" in blank.text(".matrix")
    assert blank_bar.ask("GET", "/v1/menus/winter", key="developer")["entries"] == [
        {"drink": "quay-sour", "menu_price": "12.50", "section": "Sours"}
    ]


def test_a_developer_compares_swaps_and_takes_over_what_the_service_solved(blank_bar: Bar, blank: Browser) -> None:
    """Arithmetic: 50 ml of 46 % hold what 41.07 ml of 56 % do; the ethanol held within what is shown."""
    spirit = {"name": "Overproof, 56 %", "kind": "spirit", "abv_percent": 56}
    blank_bar.ask("PUT", "/v1/ingredients/overproof-56", {"id": "overproof-56", **spirit}, key="developer")
    other = {"id": "long-one", "name": "Long One", "lines": [{"item": "rum-aged-46", "amount": "25 ml"}]}
    blank_bar.ask("PUT", "/v1/drinks/long-one", other, key="developer")
    blank.open(key=blank_bar.keys["developer"])
    blank.do("Line 1", "50 ml aged rum 46", Keys.ESCAPE, Keys.ENTER)
    blank.press("20 ml lime juice", Keys.ESCAPE)
    blank.answered("% vol")
    blank.until(lambda: blank.at("#compare").is_displayed())
    blank.do("Compare")
    blank.until(lambda: blank.run("return document.activeElement.id") == "other")
    blank.press("Long")
    blank.do("Show both")
    blank.until(lambda: blank.all("#panel img"))
    blank.until(lambda: blank.run("return document.querySelector('#panel img').naturalWidth > 300"))
    assert "Long One" in blank.text("#panel table")
    # By hand: 50 of 700 ml at 21.00 with 20 of 1000 ml at 8.00, and 25 of 700 ml.
    assert "Cost1.66 EUR0.75 EUR" in blank.text("#panel table")
    assert blank.violations() == []
    blank.do("Swap")
    blank.do("Pour instead", "overproof 56")
    blank.do("Solve")
    blank.until(lambda: "What was to be held is held." in blank.text("#panel"))
    assert "41.07 ml" in blank.text("#panel")
    blank.do("Take it over")
    blank.until(lambda: any("41.07" in line and "verproof" in line for line in blank.lines()))
    blank.answered("% vol")
    blank.do("Undo")
    assert blank.lines() == ["50 ml aged rum 46", "20 ml lime juice"]


def test_a_comparison_that_comes_late_never_takes_the_place_of_a_newer_one(blank_bar: Bar, blank: Browser) -> None:
    """The first is held back until the second has come, on a page that says meanwhile what it waits for."""
    front = blank_bar.between
    front.delay = lambda path, body: 1.5 if path == "/v1/compare" and b'"Long One"' in body else 0.0
    blank.open(key=blank_bar.keys["developer"])
    blank.write("50 ml aged rum 46")
    blank.answered("% vol")
    blank.until(lambda: blank.at("#compare").is_displayed())
    blank.at("#compare").click()
    blank.until(lambda: blank.all("#other"))
    blank.choose("#other", "long-one")
    since = len(front.sent)
    blank.button("Show both").click()
    assert "Comparing." in blank.text("#panel")
    blank.choose("#other", "quay-sour")
    blank.button("Show both").click()
    blank.until(lambda: "Quay Sour" in blank.text("#panel table"))
    blank.until(lambda: any(b'"Long One"' in body for _, body in front.sent[since:]))
    blank.run("return new Promise((done) => setTimeout(done, 200))")
    assert "Long One" not in blank.text("#panel table")


def test_a_venue_is_chosen_and_all_that_holds_there_counts(blank_bar: Bar, blank: Browser) -> None:
    """Arithmetic: 1.50 at a pour cost of 20 % is 7.50; at the pier the rum costs 14.00, so that 1.00 at 10 % is 10.00.

    At the pier the menu says 12.50, of which (12.50 - 1.00) / 12.50 = 92.0 % are left. Neither has a tax.
    """
    for venue_id, share in (("group", "20"), ("pier", "10")):
        pricing = {"currency": "EUR", "target": {"pour_cost_percent": share}}
        house = {"storage": "Keep cold", "responsible": "Pier Bar, 1 Quay", "max_standard_drinks": 3}
        venue = {"id": venue_id, "name": venue_id.title(), "pricing": pricing, "house": house}
        blank_bar.ask("PUT", f"/v1/venues/{venue_id}", venue, key="developer")
    offer = {"id": "pier-rum", "item": "rum-aged-46", "supplier": "example-quay-supply", "pack": {"size": "700 ml"},
             "price": {"amount": "14.00", "currency": "EUR"}, "venue": "pier"}  # fmt: skip
    blank_bar.ask("PUT", "/v1/offers/pier-rum", offer, key="developer")
    blank.open(key=blank_bar.keys["till"])
    blank.do("Line 1", "50 ml aged rum 46", Keys.ESCAPE)
    blank.do("Method", "Mixed")
    blank.answered("Price to ask7.50 EUR")
    blank.do("Venue", "Pier")
    blank.answered("Price to ask10.00 EUR")
    blank.chord(Keys.SHIFT, Keys.TAB)
    blank.chord(Keys.SHIFT, Keys.TAB)
    assert blank.run("return document.activeElement.id") == "menu-price"
    blank.press("12.5")
    assert "92.0 %" in blank.answered("On the menu12.50 EUR")
    assert not blank.at("#keep").is_displayed()  # this key may write nothing
    assert blank.violations() == []


def test_a_till_of_one_venue_asks_at_that_venue_and_no_other(blank_bar: Bar, blank: Browser) -> None:
    """As above: 1.00 at the pier."""
    blank.open(key=blank_bar.venue_key("pier", "costs:read", "labels:read"))
    blank.do("Open")
    blank.until(lambda: blank.run("return document.activeElement.id") == "find")
    blank.press("long")
    blank.do("Long One")
    # 25 of 700 ml at 14.00.
    blank.answered("0.50 EUR")
    assert not blank.at("#venue-box").is_displayed()
    assert "Price to ask5.00 EUR" in blank.text("#answer")


def test_the_accountant_reads_margins_and_costs_and_writes_nothing(blank_bar: Bar, blank: Browser) -> None:
    """By hand: of 12.50, (12.50 - 1.66) / 12.50 = 86.7 % are left; at a pour cost of 20 %, 8.30 is asked."""
    blank.open(key=blank_bar.keys["accounts"])
    blank.do("Menu")
    blank.until(lambda: blank.all(".sums tbody tr"))
    assert blank.text(".sums tbody tr") == "Quay Sour12.50 EUR1.66 EUR86.7 %met8.30 EUR"
    assert not blank.all(".matrix")
    assert not blank.at("#menu-new").is_displayed() and not blank.at("#menu-change").is_displayed()
    blank.do("Prices")
    blank.until(lambda: "This key takes in no price list" in blank.text("#list-state"))
    assert not blank.at("#list-form").is_displayed() and not blank.at("#supplier-make").is_displayed()


def test_the_menu_designer_reads_allergens_compares_and_sees_no_money(blank_bar: Bar, blank: Browser) -> None:
    blank.open(key=blank_bar.keys["menu"])
    blank.do("Menu")
    blank.until(lambda: blank.all(".matrix"))
    assert "Quay Sour" in blank.text(".matrix")
    blank.do("Desk")
    blank.do("Open")
    blank.until(lambda: blank.run("return document.activeElement.id") == "find")
    blank.do("Quay Sour")
    blank.answered("% vol")
    blank.do("Compare")
    blank.until(lambda: blank.run("return document.activeElement.id") == "other")
    blank.press("Long")
    blank.do("Show both")
    blank.until(lambda: "Side by side" in blank.text("#panel"))
    told = blank.text("#panel") + blank.text("#answer")
    assert not any(word in told for word in ("EUR", "Cost", "Price"))
    assert blank.violations() == []


def test_print_is_pressed_and_what_is_printed_is_the_drink_with_its_label_and_no_cost(
    blank_bar: Bar, blank: Browser
) -> None:
    blank.open(key=blank_bar.keys["till"])
    blank.do("Open")
    blank.until(lambda: blank.run("return document.activeElement.id") == "find")
    blank.do("Quay Sour")
    blank.answered("Cost and price")
    blank.do("Print")
    assert blank.run("return window.__ran") == ["print "]
    blank.run("window.__ran = []")
    printed = blank.printed()
    assert "Nutrition declaration" in printed and "Strength" in printed
    assert not [line for line in printed.splitlines() if "EUR" in line or "Cost and price" in line]
    assert [line for line in ("50 ml Rum, aged, 46 %", "20 ml Lime juice, fresh") if line in blank.lines()]
