"""Keys alone, undo, links, slow and late answers: what the page does with a person's time and work."""

import base64
import json

import pytest
from selenium.webdriver.common.keys import Keys

from tests.browsing import Browser
from tests.page.conftest import Bar

pytestmark = [pytest.mark.browser, pytest.mark.filterwarnings("ignore::ResourceWarning")]


def test_a_drink_is_written_kept_and_opened_by_keys_alone(demo_bar: Bar, demo: Browser) -> None:
    demo.open(key=demo_bar.keys["maker"])

    demo.reach("Drink")
    demo.press("Key Only")
    demo.reach("Line 1")
    demo.press("50 ml rum ag")
    demo.until(lambda: demo.all("[role=option]"))
    demo.press(Keys.ARROW_DOWN)
    chosen = demo.run(
        "return document.getElementById(document.activeElement.getAttribute('aria-activedescendant')).textContent"
    )
    demo.press(Keys.ENTER)
    name = chosen.split(" spirit")[0]
    assert demo.lines() == [f"50 ml {name}"]
    demo.press(Keys.ENTER)
    demo.press("2 dashes aromatic bitters")
    demo.press(Keys.ESCAPE)
    demo.chord(Keys.ALT, Keys.ARROW_UP)
    assert demo.lines() == ["2 dashes aromatic bitters", f"50 ml {name}"]
    demo.press(Keys.ARROW_DOWN)
    demo.press(Keys.ENTER)
    assert len(demo.lines()) == 3
    demo.press(Keys.BACKSPACE)
    assert len(demo.lines()) == 2
    demo.answered("% vol")
    demo.reach("Keep")
    demo.press(Keys.ENTER)
    demo.until(lambda: demo.text("#said") == "Kept in the catalogue as key-only.")


def test_undo_goes_back_by_bursts_and_redo_forth(demo_bar: Bar, demo: Browser) -> None:
    demo.open(key=demo_bar.keys["menu"])
    demo.write("50 ml gin", "20 ml lime juice")
    demo.press(Keys.ENTER)
    demo.press("1 wheel lime, garnish")
    assert len(demo.lines()) == 3
    demo.chord(Keys.CONTROL, "z")
    assert demo.lines() == ["50 ml gin", "20 ml lime juice"]
    demo.chord(Keys.CONTROL, "z")
    assert demo.lines() == ["50 ml gin"]
    for _ in range(2):
        demo.chord(Keys.CONTROL, "y")
    assert demo.lines() == ["50 ml gin", "20 ml lime juice", "1 wheel lime, garnish"]
    demo.all(".drop")[1].click()
    assert len(demo.lines()) == 2
    demo.at("#undo").click()
    assert demo.lines() == ["50 ml gin", "20 ml lime juice", "1 wheel lime, garnish"]
    demo.at("#redo").click()
    assert len(demo.lines()) == 2


def test_a_link_brings_the_same_drink_and_holds_no_price_and_no_key(demo_bar: Bar, demo: Browser) -> None:
    demo.open(key=demo_bar.keys["buyer"])
    demo.at("#open").click()
    demo.until(lambda: demo.all(".choices button"))
    demo.button("Almond Pier", "#panel").click()  # its "large" modifier has a price of its own
    demo.answered("Cost and price")
    demo.at("#menu-price").send_keys("13.37")
    demo.answered("13.37 EUR")
    before, lines = demo.text("#summary"), demo.lines()
    demo.at("#share").click()
    link = str(demo.at("#link").get_property("value"))
    text = link.split("#d=")[1]
    spec = base64.urlsafe_b64decode(text + "=" * (-len(text) % 4)).decode()
    assert json.loads(spec)["name"] == "Almond Pier"
    for held in ("13.37", "2.50", "price", "EUR", demo_bar.keys["buyer"]):
        assert held not in spec and held not in link
    demo.open("#" + link.split("#")[1], demo_bar.keys["buyer"])
    demo.answered("Cost and price")
    assert demo.lines() == lines
    assert demo.text("#summary") == before
    demo.open("#" + link.split("#")[1], demo_bar.keys["menu"])
    demo.answered("% vol")
    assert "Cost and price" not in demo.text("#answer")


@pytest.mark.parametrize("fragment", ["#d=", "#d=%%%", "#d=bm90IGpzb24", "#d=eyJ2IjoxfQ", "#nothing", "#__proto__"])
def test_a_broken_link_opens_an_empty_desk(empty: Browser, fragment: str) -> None:
    empty.open(fragment)
    empty.until(lambda: "Write a line" in empty.text("#answer"))
    assert empty.lines() == [""]


def test_a_draft_outlives_a_reload_and_the_key_stays_in_the_tab(demo_bar: Bar, demo: Browser) -> None:
    demo.open(key=demo_bar.keys["menu"])
    demo.write("50 ml gin 47")
    demo.until(lambda: demo.notes()[0])
    demo.driver.refresh()
    demo.until(lambda: demo.lines() == ["50 ml gin 47"])
    assert demo.run("return localStorage.length") == 0
    assert demo.run("return document.cookie") == ""
    assert demo_bar.keys["menu"] not in demo.run("return document.documentElement.outerHTML + location.href")
    sent = [
        row
        for row in demo_bar.between.seen
        if demo_bar.keys["menu"] in row[1] or demo_bar.keys["menu"].encode() in row[2]
    ]
    assert sent == []
    demo.at("#key-state").click()
    demo.at("#key-off").click()
    demo.until(lambda: "needs a key" in demo.text("#summary"))


def test_a_late_answer_never_takes_the_place_of_a_newer_one(empty_bar: Bar, empty: Browser) -> None:
    """The first question is held back for three seconds, and what would stop it is taken away.

    Arithmetic: 25 ml alone and without ice are 25 ml in the glass.
    """
    empty_bar.between.delay = lambda path, body: 3.0 if path == "/v1/evaluate" and b'"50 ml"' in body else 0.0
    empty.open()
    empty.run("AbortController.prototype.abort = () => {}")
    empty.at("#method").send_keys("Mixed")
    front = empty_bar.between
    begun, since = len(front.seen), len(front.sent)
    empty.write("50 ml aged rum 46")
    empty.until(lambda: any(b'"50 ml"' in row[2] for row in front.seen[begun:] if row[1] == "/v1/evaluate"))
    empty.at("#lines input").send_keys(Keys.HOME, Keys.DELETE, Keys.DELETE, "25")
    answer = empty.answered("In the glass25 ml")
    assert not any(b'"50 ml"' in body for _, body in front.sent[since:])
    already = int(empty.run("return window.__answers"))
    empty.until(lambda: any(b'"50 ml"' in body for _, body in front.sent[since:]))
    empty.until(lambda: empty.run("return window.__answers") > already)
    empty.run("return new Promise((done) => setTimeout(done, 300))")
    assert empty.text("#answer") == answer
    assert "25 ml" in empty.notes()[0] and "50 ml" not in empty.notes()[0]


def test_a_slow_network_loses_no_keystroke_and_says_that_it_waits(empty: Browser) -> None:
    empty.open()
    empty.until(lambda: "Write a line" in empty.text("#answer"))
    empty.driver.execute_cdp_cmd("Network.enable", {})
    slow = {"offline": False, "latency": 350, "downloadThroughput": 20_000, "uploadThroughput": 10_000}
    empty.driver.execute_cdp_cmd("Network.emulateNetworkConditions", slow)
    try:
        empty.write("50 ml aged rum 46", "20 ml lime juice")
        assert empty.lines() == ["50 ml aged rum 46", "20 ml lime juice"]
        empty.until(lambda: empty.all("#answer[aria-busy=true]"))
        empty.answered("% vol")
        assert empty.lines() == ["50 ml aged rum 46", "20 ml lime juice"]
        assert all(empty.notes())
    finally:
        free = {"offline": False, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1}
        empty.driver.execute_cdp_cmd("Network.emulateNetworkConditions", free)


def test_an_unreachable_service_is_said_and_tried_again(empty_bar: Bar, empty: Browser) -> None:
    empty.open()
    empty.until(lambda: "Write a line" in empty.text("#answer"))
    empty_bar.between.instead = lambda method, path, body: (
        (502, "text/html", b"<b>bad</b>") if method == "POST" else None
    )
    empty.write("50 ml aged rum 46")
    empty.until(lambda: "refused" in empty.text("#summary"))
    empty_bar.between.instead = lambda method, path, body: None
    empty.button("Try again").click()
    empty.answered("% vol")
    assert empty.lines() == ["50 ml aged rum 46"]


def test_comparing_and_swapping_are_offered_only_where_they_are_answered(empty_bar: Bar, empty: Browser) -> None:
    """Answers as the contract has them, given in the place of the service, with a figure that is not known in them.

    What the service itself answers is walked through in test_empty_start.py.
    """
    document = empty_bar.ask("GET", "/openapi.json")
    offered = {"compare": "/v1/compare" in document["paths"], "swap": "/v1/substitute" in document["paths"]}
    empty.open()
    empty.write("50 ml aged rum 46", "20 ml lime juice")
    empty.answered("% vol")
    empty.until(lambda: empty.all("#place option"))
    for name, there in offered.items():
        assert empty.at(f"#{name}").is_displayed() is there

    row = {
        "id": "a", "name": "Row A", "abv_percent": 20.0, "ethanol_g": 9.0, "undiluted_ml": 70.0, "water_added_ml": None,
        "liquid_ml": 90.0, "sugars_g": 1.0, "acid_g": 1.2, "energy_kcal": 120, "minutes": None, "use_by_days": 1,
        "allergens": [
            {
                "jurisdiction": "EU", "contains": ["eggs"], "may_contain": [], "unknown": [], "gained": ["eggs"],
                "lost": [],
            },
        ],
    }  # fmt: skip
    swap = {
        "item": "lime-juice", "by": "lemon-juice", "solved": True, "unmet": [],
        "held": [{"figure": "acid", "unit": "mmol", "before": 19.0, "after": 19.0, "held": True}],
        "amounts": [{"item": "lemon-juice", "role": "pour", "unit": "ml", "before": 0.0, "after": 21.5}],
        "compared": [row, row], "notes": ["Equal titration."],
        "drink": {"id": "drink", "name": "x", "lines": [
            {"item": "rum-aged-46", "amount": "50 ml"}, {"item": "lemon-juice", "amount": "21.5 ml"},
        ]},
    }  # fmt: skip
    asked: list[dict[str, object]] = []

    def instead(method: str, path: str, body: bytes) -> tuple[int, str, bytes] | None:
        if path == "/openapi.json":
            made = {**document, "paths": {**document["paths"], "/v1/compare": {}, "/v1/substitute": {}}}
            return 200, "application/json", json.dumps(made).encode()
        if path in ("/v1/compare", "/v1/substitute"):
            asked.append(json.loads(body))
            told = {"drinks": [row, row], "notes": []} if path == "/v1/compare" else swap
            return 200, "application/json", json.dumps(told).encode()
        return None

    empty_bar.between.instead = instead
    spec = {"id": "held", "name": "Held Drink", "lines": [{"item": "lime-juice", "amount": "20 ml"}]}
    if not any(one["id"] == "held" for one in empty_bar.ask("GET", "/v1/drinks")["entries"]):
        empty_bar.ask("PUT", "/v1/drinks/held", spec)
    empty.open()
    empty.write("50 ml aged rum 46", "20 ml lime juice")
    empty.answered("% vol")
    empty.until(lambda: empty.at("#compare").is_displayed())
    empty.at("#compare").click()
    empty.until(lambda: empty.all("#other"))
    empty.button("Show both").click()
    empty.until(lambda: "Side by side" in empty.text("#panel"))
    assert "Water from ice, mlnot knownnot known" in empty.text("#panel")
    drinks = asked[0]["drinks"]
    assert isinstance(drinks, list) and [len(one["drink"]["lines"]) for one in drinks] == [2, 1]
    empty.at("#swap").click()
    empty.at("#swap-item").send_keys("Lime")
    empty.at("#swap-by").send_keys("lemon juice")
    empty.button("Solve").click()
    empty.until(lambda: "Equal titration." in empty.text("#panel"))
    assert (asked[-1]["item"], asked[-1]["by"], asked[-1]["hold"]) == ("lime-juice", "lemon-juice", ["ethanol"])
    empty.button("Take it over").click()
    empty.until(lambda: "21.5 ml" in " ".join(empty.lines()))
    empty.at("#undo").click()
    assert empty.lines() == ["50 ml aged rum 46", "20 ml lime juice"]


def test_a_bottled_drink_is_asked_about_with_all_that_its_pack_states(demo_bar: Bar, demo: Browser) -> None:
    """Its printed panel would call itself not ready for want of what the drink says."""
    demo.open(key=demo_bar.keys["menu"])
    begun = len(demo_bar.between.seen)
    demo.at("#open").click()
    demo.until(lambda: demo.all(".choices button"))
    demo.button("Lantern Flask", "#panel").click()
    demo.answered("% vol")
    bodies = [json.loads(row[2]) for row in demo_bar.between.seen[begun:] if row[:2] == ("POST", "/v1/evaluate")]
    held = demo_bar.ask("GET", "/v1/drinks/lantern-flask", key="menu")
    stated = {name: held[name] for name in ("sold_as", "net_ml", "lot", "made_on", "storage")}
    assert bodies and all(stated.items() <= body["drink"].items() for body in bodies)
