"""Each of the four users does on the page what they came for."""

import re
from decimal import Decimal

import pytest

from tests.browsing import Browser
from tests.page.conftest import LISTS, Bar

pytestmark = [pytest.mark.browser, pytest.mark.filterwarnings("ignore::ResourceWarning")]

RUM = {"id": "quay-rum-46", "name": "Quay rum, 46 %", "kind": "spirit", "abv_percent": 46}
OFFER = {
    "id": "quay-rum", "item": "quay-rum-46", "supplier": "quay", "pack": {"size": "700 ml"}, "tax_included": False,
    "price": {"amount": "21.00", "currency": "EUR"},
}  # fmt: skip
GROUP = {
    "id": "group", "name": "Example quay", "jurisdictions": ["GB"],
    "pricing": {
        "currency": "EUR", "target": {"pour_cost_percent": "20"}, "tax": {"rate_percent": "20", "included": True},
    },
}  # fmt: skip


@pytest.fixture(scope="module")
def stocked(empty_bar: Bar) -> Bar:
    """The empty service with one rum, its price, and how the house prices."""
    for path, body in (
        ("/v1/ingredients/quay-rum-46", RUM), ("/v1/suppliers/quay", {"id": "quay", "name": "Example Quay Supply"}),
        ("/v1/offers/quay-rum", OFFER), ("/v1/venues/group", GROUP),
    ):  # fmt: skip
        empty_bar.ask("PUT", path, body)
    return empty_bar


def test_a_first_drink_from_an_empty_start_is_costed_and_priced_as_by_hand(stocked: Bar, empty: Browser) -> None:
    """All by arithmetic: 50 of 700 ml at 21.00 is 1.50; at 20 % pour cost 7.50 net, 9.00 with a tax of 20 %.

    50 ml of 46 % hold 23 ml of ethanol: 2.3 UK units of 10 ml (UK Chief Medical Officers' guidelines, 2016). Alone in
    the glass it keeps its 50 ml and 46 %.
    """
    empty.open()
    assert "Write a line" in empty.until(lambda: empty.seen("#answer"))
    empty.at("#method").send_keys("Mixed")
    empty.write("50 ml quay rum")
    answer = empty.answered("1.50 EUR")
    assert "46 % vol" in answer or "46.0 % vol" in answer
    assert "2.3 units" in answer
    assert re.search(r"Price to ask9\.00 EUR", answer)
    assert re.search(r"In the glass50(\.0)? ml", answer)
    assert "Quay rum, 46 %, catalogue: 50 ml" in empty.notes()[0]
    assert "costs 1.50 EUR" in empty.text("#summary")
    empty.at("#menu-price").send_keys("12,00")
    # 12.00 / 1.2 = 10.00 net; (10 - 1.50) / 10 = 85 %.
    assert "85.0 %" in empty.answered("On the menu12.00 EUR")


def test_a_line_that_is_not_understood_is_left_out_aloud(stocked: Bar, empty: Browser) -> None:
    empty.open()
    empty.write("50 ml quay rum", "20 ml lime", "10 ml rum")
    answer = empty.answered("not read yet")
    assert "Line 3 not read yet" in answer
    assert "whatever line 3 holds" in answer
    assert empty.text("#summary").startswith("Without line 3: ")
    assert empty.notes()[2].startswith("Which one?")
    empty.all("#lines .choice")[0].click()
    empty.until(lambda: "not read yet" not in empty.text("#answer") and "% vol" in empty.text("#answer"))


def test_a_fault_stands_at_its_line_and_no_older_figure_beside_it(stocked: Bar, empty: Browser) -> None:
    empty.open()
    empty.write("50 ml quay rum", "", "1 splash lime juice")
    empty.until(lambda: "No answer until line 3 can be read." in empty.text("#summary"))
    assert empty.seen("#answer").strip() == ""
    assert empty.notes()[2].startswith("Line not read: ")
    assert empty.notes()[0] == "Quay rum, 46 %"
    assert [one.get_attribute("aria-invalid") for one in empty.all("#lines input")] == [None, None, "true"]


def test_the_till_reads_a_stored_drink_with_its_cost(demo_bar: Bar, demo: Browser) -> None:
    """Fog Signal costs 2.154 by hand (tests/cases/demo_costs.toml: arithmetic, from the offers of the demo)."""
    demo.open(key=demo_bar.keys["till"])
    demo.at("#open").click()
    demo.until(lambda: demo.all(".choices button"))
    demo.button("Fog Signal", "#panel").click()
    answer = demo.answered("for what is poured")
    assert "2.15 EUR" in answer
    assert demo.at("#name").get_property("value") == "Fog Signal"
    assert len(demo.lines()) == len(demo_bar.ask("GET", "/v1/drinks/fog-signal", key="till")["lines"])
    assert "Price to ask" in answer
    held = demo_bar.ask("GET", "/v1/drinks/fog-signal/evaluation?jurisdiction=NL", key="till")
    assert held["allergens"]["declarations"][0]["statement"] in answer


def test_the_menu_designer_sees_labels_and_no_cost_at_all(demo_bar: Bar, demo: Browser) -> None:
    demo.open(key=demo_bar.keys["menu"])
    demo.write("50 ml aged rum 46", "1 each egg white")
    answer = demo.answered("% vol")
    assert "Contains eggs" in answer
    assert "Egg white" in answer
    assert "Cost and price" not in demo.text("body")
    demo.run("location.hash = '#menu'")
    demo.until(lambda: demo.all(".matrix tbody tr"))
    demo.choose("#menu-choice", "winter-harbour")
    demo.until(lambda: "Wickwarden Sour" in demo.text(".matrix"))
    heads = [head.text for head in demo.all(".matrix thead th")]
    rows = [[cell.text for cell in row.find_elements("css selector", "th, td")] for row in demo.all(".matrix tbody tr")]
    cells = {row[0]: dict(zip(heads, row, strict=True)) for row in rows}
    assert cells["Wickwarden Sour"]["eggs"] == "yes"  # it is made with egg white
    # Nobody says whether Ballast Line has nuts in it, so that nobody knows of almonds either: never an empty cell.
    assert (cells["Ballast Line"]["nuts"], cells["Ballast Line"]["almond"]) == ("?", "?")
    # Regulation (EU) 1169/2011, Annex II 1(d): the gluten of a distillate is exempt, which is not nothing; where no
    # cereal is named, wheat may be meant.
    assert (cells["Ballast Line"]["gluten"], cells["Almond Pier"]["wheat"]) == ("ex", "ex")
    assert "not to be read as free of it; empty: nothing declares it, which is no promise" in demo.text("#menu-answer")
    # The declaration of the rum in Lantern Flask is another supplier's, so that more may be in it.
    assert re.search(r"Lantern Flask[^.]* with something not known", demo.text("#menu-answer"))
    assert not re.search(r"\b(EUR|GBP|margin|cost)", demo.text("#menu-answer"), re.IGNORECASE)


def test_the_accountant_sees_margins_that_hold_by_hand(demo_bar: Bar, demo: Browser) -> None:
    """Net is the price over 1.21, what the demo's group says of its tax; the margin is (net - cost) / net."""
    demo.open("#menu", demo_bar.keys["books"])
    demo.until(lambda: demo.all("#menu-choice option"))
    demo.choose("#menu-choice", "winter-harbour")
    demo.until(lambda: "Wickwarden Sour" in demo.text("#menu-answer"))
    assert not demo.all(".matrix")
    rows = [[cell.text for cell in row.find_elements("css selector", "th, td")] for row in demo.all(".sums tbody tr")]
    assert len(rows) == 12
    fog = next(row for row in rows if row[0] == "Fog Signal")
    assert fog[1] == "13.00 EUR"
    for name, price, cost, margin, *_ in rows:
        net = Decimal(price.split()[0]) / Decimal("1.21")
        # A shown cost is within half a cent of the exact one, and the net within half a cent of the rounded.
        expected = (net - Decimal(cost.split()[0])) / net * 100
        assert abs(expected - Decimal(margin.split()[0])) < Decimal("0.2"), name


def test_a_price_list_is_tried_confirmed_and_taken_in(demo_bar: Bar, demo: Browser) -> None:
    """The list states the gin at 219.60 and, in one row, the price of a bottle for a case of six."""
    demo.open("#prices", demo_bar.keys["buyer"])
    demo.until(lambda: demo.all("#supplier option"))
    demo.at("#supplier").send_keys("Tarrick")
    demo.at("#file").send_keys(str(LISTS / "tarrick-wharf.csv"))
    demo.at("#read-list").click()
    demo.until(lambda: demo.all("#commit"))
    assert "Nothing is changed yet" in demo.text("#list-state")
    assert demo.run("return document.querySelector('#list-bar').value") == 11  # rows below the header of the file
    assert not demo.at("#commit").is_enabled()
    first = demo.all(".rows tbody tr")[0]
    assert "Irish pot still whiskey" in first.text
    assert "28.00 EUR" in first.text
    first.find_element("css selector", "input").click()
    demo.until(lambda: demo.at("#commit").is_enabled())
    held = demo_bar.ask("GET", "/v1/offers?item=skerrowmouth-gin-44", key="buyer")["entries"]
    assert held and "219.60" not in {row["body"]["price"]["amount"] for row in held}
    demo.at("#commit").click()
    demo.until(lambda: "taken in" in demo.text("#list-state"))
    held = demo_bar.ask("GET", "/v1/offers?item=skerrowmouth-gin-44", key="buyer")["entries"]
    assert "219.60" in {row["body"]["price"]["amount"] for row in held}


def test_a_key_without_prices_is_told_so_in_words(demo_bar: Bar, demo: Browser) -> None:
    demo.open("#prices", demo_bar.keys["menu"])
    demo.until(lambda: "This key takes in no price list" in demo.text("#list-state"))
    demo.open("#menu")
    demo.until(lambda: "needs a key" in demo.text("#menu-state"))


def test_the_developer_keeps_a_drink_and_no_change_of_another_is_lost(demo_bar: Bar, demo: Browser) -> None:
    demo.open(key=demo_bar.keys["maker"])
    demo.at("#name").send_keys("Gantry Light")
    demo.write("50 ml aged rum 46", "3/4 oz lime juice", "1/2 oz rich demerara")
    demo.answered("% vol")
    demo.at("#keep").click()
    demo.until(lambda: demo.text("#said") == "Kept in the catalogue as gantry-light.")
    kept = demo_bar.ask("GET", "/v1/drinks/gantry-light", key="maker")
    assert kept["name"] == "Gantry Light"
    assert [line["item"] for line in kept["lines"]] == ["rum-aged-46", "lime-juice", "rich-demerara"]
    assert [line["amount"] for line in kept["lines"]] == ["50 ml", "3/4 oz", "1/2 oz"]
    # Kept once more over itself.
    demo.at("#serves").send_keys("\b2")
    demo.answered("% vol")
    demo.at("#keep").click()
    demo.until(lambda: "is replaced" in demo.text("#said"))
    # Another changes it meanwhile.
    other = demo_bar.ask("GET", "/v1/drinks/gantry-light", key="maker") | {"name": "Of another"}
    tag = demo_bar.ask("GET", "/v1/drinks?text=gantry-light", key="maker")["entries"][0]["etag"]
    demo_bar.ask("PUT", "/v1/drinks/gantry-light", other, key="maker", If_Match=tag)
    demo.at("#keep").click()
    demo.until(lambda: "Somebody has changed this drink" in demo.text("#said"))
    assert demo_bar.ask("GET", "/v1/drinks/gantry-light", key="maker")["name"] == "Of another"
    demo.button("Put mine in its place").click()
    demo.until(lambda: "is replaced" in demo.text("#said"))
    assert demo_bar.ask("GET", "/v1/drinks/gantry-light", key="maker")["name"] == "Gantry Light"
    # A new drink under a name that is taken.
    demo.at("#new").click()
    demo.at("#name").send_keys("Gantry Light")
    demo.write("20 ml aged rum 46")
    demo.answered("% vol")
    demo.at("#keep").click()
    demo.until(lambda: "already holds a drink" in demo.text("#said"))
    assert len(demo_bar.ask("GET", "/v1/drinks/gantry-light", key="maker")["lines"]) == 3


def test_what_a_stored_drink_says_besides_survives_an_edit(demo_bar: Bar, demo: Browser) -> None:
    """Modifiers, till ids, the residue of a rinse and what is eaten have no field on the page and are kept."""
    before = demo_bar.ask("GET", "/v1/drinks/ballast-line", key="maker")
    assert before["modifiers"] and before["lines"][0]["residue_ml"] == 1
    demo.open(key=demo_bar.keys["maker"])
    demo.at("#open").click()
    demo.until(lambda: demo.all(".choices button"))
    demo.button("Ballast Line", "#panel").click()
    demo.answered("% vol")
    demo.all("#lines input")[1].clear()
    demo.all("#lines input")[1].send_keys("50 ml skerrowmouth gin 44")
    demo.until(lambda: "50 ml" in demo.notes()[1])
    demo.answered("% vol")
    demo.at("#keep").click()
    demo.until(lambda: "is replaced" in demo.text("#said"))
    after = demo_bar.ask("GET", "/v1/drinks/ballast-line", key="maker")
    assert after["lines"][1] == {"item": before["lines"][1]["item"], "amount": "50 ml"}
    assert after["lines"][0] == before["lines"][0] and after["lines"][2:] == before["lines"][2:]
    assert after["modifiers"] == before["modifiers"]
