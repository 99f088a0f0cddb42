"""From a service that holds nothing to a priced menu: all of it on the page, answered by the service itself."""

from pathlib import Path

import pytest

from tests.browsing import Browser
from tests.page.conftest import Bar

pytestmark = [pytest.mark.browser, pytest.mark.filterwarnings("ignore::ResourceWarning")]

LIST = "Article;Description;Pack;Price;Item\n1;Aged rum;700 ml;21,00;rum-aged-46\n2;Lime juice;1 l;8,00;lime-juice\n"


def test_an_accountant_writes_down_a_supplier_and_takes_in_its_list(
    blank_bar: Bar, blank: Browser, tmp_path: Path
) -> None:
    path = tmp_path / "list.csv"
    path.write_text(LIST, encoding="utf-8")
    blank.open("#prices")
    blank.until(lambda: "no supplier yet" in blank.text("#list-state"))
    blank.at("#supplier-name").send_keys("Example Quay Supply")
    blank.at("#supplier-currency").send_keys("eur")
    blank.at("#supplier-keep").click()
    blank.until(lambda: "under which heading its prices stand" in blank.text("#list-state"))
    for column, heading in (("code", "Article"), ("name", "Description"), ("pack", "Pack"), ("price", "Price"),
                            ("item", "Item")):  # fmt: skip
        blank.at(f"#column-{column}").send_keys(heading)
    assert blank.violations() == []
    blank.at("#supplier-keep").click()
    blank.until(lambda: "Choose its list" in blank.text("#list-state"))
    held = blank_bar.ask("GET", "/v1/suppliers/example-quay-supply")
    assert (held["name"], held["currency"]) == ("Example Quay Supply", "EUR")
    blank.at("#file").send_keys(str(path))
    blank.at("#read-list").click()
    blank.until(lambda: blank.all("#commit"))
    assert blank.run("return document.querySelector('#list-bar').value") == 2
    blank.until(lambda: blank.at("#commit").is_enabled())
    blank.at("#commit").click()
    blank.until(lambda: "taken in" in blank.text("#list-state"))
    offers = blank_bar.ask("GET", "/v1/offers")["entries"]
    assert {(row["body"]["item"], row["body"]["price"]["amount"]) for row in offers} == {
        ("rum-aged-46", "21.00"), ("lime-juice", "8.00"),
    }  # fmt: skip


def test_a_menu_designer_puts_a_kept_drink_on_a_menu_with_its_price(blank_bar: Bar, blank: Browser) -> None:
    """Arithmetic: 50 of 700 ml at 21.00 is 1.50 and 20 of 1000 ml at 8.00 is 0.16."""
    blank.open("#menu")
    blank.until(lambda: "Keep a drink on the desk first" in blank.text("#menu-state"))
    blank.run("location.hash = '#desk'")
    blank.at("#name").send_keys("Quay Sour")
    blank.write("50 ml aged rum 46", "20 ml lime juice")
    assert "1.66 EUR" in blank.answered("for what is poured")
    blank.at("#keep").click()
    blank.until(lambda: "Kept in the catalogue" in blank.text("#said"))
    blank.run("location.hash = '#menu'")
    blank.until(lambda: blank.at("#menu-new").is_displayed())
    blank.at("#menu-new").click()
    blank.until(lambda: blank.at("#menu-name").is_displayed())
    blank.at("#menu-name").send_keys("Winter")
    blank.choose("#menu-entries select", "quay-sour")
    blank.at("#menu-entries .price").send_keys("12,50")
    assert blank.violations() == []
    blank.at("#menu-keep").click()
    blank.until(lambda: "Quay Sour" in blank.text(".matrix"))
    assert blank_bar.ask("GET", "/v1/menus/winter")["entries"] == [{"drink": "quay-sour", "menu_price": "12.50"}]


def test_a_developer_compares_swaps_and_takes_over_what_the_service_solved(blank_bar: Bar, blank: Browser) -> None:
    """Arithmetic: 50 ml of 46 % hold what 41.07 ml of 56 % do; the ethanol held within what is shown."""
    spirit = {"name": "Overproof, 56 %", "kind": "spirit", "abv_percent": 56}
    blank_bar.ask("PUT", "/v1/ingredients/overproof-56", {"id": "overproof-56", **spirit})
    other = {"id": "long-one", "name": "Long One", "lines": [{"item": "rum-aged-46", "amount": "25 ml"}]}
    blank_bar.ask("PUT", "/v1/drinks/long-one", other)
    blank.open()
    blank.write("50 ml aged rum 46", "20 ml lime juice")
    blank.answered("% vol")
    blank.until(lambda: blank.at("#compare").is_displayed())
    blank.at("#compare").click()
    blank.until(lambda: blank.all("#other"))
    blank.at("#other").send_keys("Long One")
    blank.button("Show both").click()
    blank.until(lambda: blank.all("#panel img"))
    blank.until(lambda: blank.run("return document.querySelector('#panel img').naturalWidth > 300"))
    assert "Long One" in blank.text("#panel table")
    assert blank.violations() == []
    blank.at("#swap").click()
    blank.at("#swap-by").send_keys("overproof 56")
    blank.button("Solve").click()
    blank.until(lambda: "What was to be held is held." in blank.text("#panel"))
    assert "41.07 ml" in blank.text("#panel")
    blank.button("Take it over").click()
    blank.until(lambda: any("41.07" in line and "verproof" in line for line in blank.lines()))
    blank.answered("% vol")
    blank.at("#undo").click()
    assert blank.lines() == ["50 ml aged rum 46", "20 ml lime juice"]


def test_a_venue_is_chosen_and_its_price_is_asked(blank_bar: Bar, blank: Browser) -> None:
    """Arithmetic: 1.50 at a pour cost of 10 % is 15.00, at one of 20 % it is 7.50; neither has a tax."""
    for venue_id, share in (("group", "20"), ("pier", "10")):
        pricing = {"currency": "EUR", "target": {"pour_cost_percent": share}}
        house = {"storage": "Keep cold", "responsible": "Pier Bar, 1 Quay", "max_standard_drinks": 3}
        venue = {"id": venue_id, "name": venue_id.title(), "pricing": pricing, "house": house}
        blank_bar.ask("PUT", f"/v1/venues/{venue_id}", venue)
    blank.open()
    blank.at("#method").send_keys("Mixed")
    blank.write("50 ml aged rum 46")
    blank.answered("Price to ask7.50 EUR")
    blank.choose("#venue", "pier")
    blank.answered("Price to ask15.00 EUR")
    assert blank.violations() == []
