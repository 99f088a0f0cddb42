"""Stored drinks and menus in every printed type and language: well-formed, lawful, with no cost that is not shown."""

import csv
import io
import itertools
import json
import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from typing import Any

import httpx
import pytest

from schemas.answer import Answer
from schemas.stored import MenuLabel
from service.api.negotiation import CSV, HTML, JSON, JSON_LD, MENU_OFFERED, OFFERED, SVG
from service.language import languages
from service.renderers.page import POLICY
from service.settings import Settings
from service.store.keys import new_key
from tests.api.conftest import Client
from tests.renderers.answers import DRINKS
from tests.renderers.test_browser import CORPUS
from tests.renderers.test_sheet import flat
from tests.test_language import WRITTEN_OUT

DAY = "2026-11-25"
MENUS = ("winter-harbour", "last-ferry")
LANGUAGES = sorted(languages())
COMMA = set(LANGUAGES) - {"en", "ja"}
"""Languages whose decimal sign is a comma (CLDR)."""

H = "{http://www.w3.org/1999/xhtml}"


def key_of(client: Client, *scopes: str, venue: str | None = None) -> dict[str, str]:
    """The header of a new key."""
    with client.app.state.store.writing() as connection:
        _, text = new_key(connection, "of a test", scopes, venue, None)
    return {"Authorization": f"Bearer {text}"}


@pytest.fixture(scope="module")
def bar() -> Iterator[Client]:
    """The demo bar in a store of its own, in which tests change prices and names."""
    made = Client(Settings(demo=True))
    yield made
    made.close()


def asked(client: Client, path: str, media_type: str, **more: Any) -> httpx.Response:
    """One representation as of the day of the tests."""
    headers = {"Accept": media_type, **more.pop("headers", {})}
    return client.get(path, params={"as_of": DAY, **more}, headers=headers)


def read(answer: httpx.Response) -> Any:
    """The representation, parsed by what parses its type strictly."""
    assert answer.status_code == 200, answer.text
    kind = answer.headers["content-type"].partition(";")[0]
    if kind in (JSON, JSON_LD):
        return json.loads(answer.text, parse_constant=pytest.fail)
    if kind == CSV:
        rows = list(csv.reader(io.StringIO(answer.text, newline=""), strict=True))
        assert len({len(row) for row in rows}) == 1
        return rows
    return ET.fromstring(answer.text)


@pytest.mark.parametrize("what", ["label", "evaluation"])
@pytest.mark.parametrize("drink", DRINKS)
def test_every_demo_drink_comes_in_every_type(bar: Client, drink: str, what: str) -> None:
    for media_type in OFFERED:
        found = asked(bar, f"/v1/drinks/{drink}/{what}", media_type, bands="true", serves="12")
        read(found)
        assert found.headers["content-type"].startswith(media_type)
        assert found.headers["vary"] == "Accept, Accept-Language, Authorization"
        assert found.headers["content-language"] == "en"
        assert found.headers.get("content-security-policy") == (POLICY if media_type in (HTML, SVG) else None)
    body = asked(bar, f"/v1/drinks/{drink}/{what}", JSON).json()
    body["meta"] = {name: value for name, value in body["meta"].items() if not name.endswith("a_version")}
    body["meta"].pop("cost_version", None)  # stamps of the catalogue, which the whole answer's model does not have
    Answer.model_validate(body)


@pytest.mark.parametrize("menu", MENUS)
def test_a_menu_has_its_lines_in_their_order_in_every_type(bar: Client, menu: str) -> None:
    body = asked(bar, f"/v1/menus/{menu}/label", JSON)
    MenuLabel.model_validate_json(body.content)
    stored = bar.get(f"/v1/menus/{menu}").json()
    rows = body.json()["drinks"]
    assert [row["drink"] for row in rows] == [entry["drink"] for entry in stored["entries"]]
    assert [row["section"] for row in rows] == [entry["section"] for entry in stored["entries"]]
    assert [row["menu_price"] for row in rows] == [entry["menu_price"] for entry in stored["entries"]]
    names = [row["name"] for row in rows]
    page = read(asked(bar, f"/v1/menus/{menu}/label", HTML))
    assert "".join(page.find(f".//{H}h1").itertext()) == stored["name"]
    # Sections come in the order in which they first stand.
    heads = ["".join(one.itertext()) for one in page.iter(f"{H}h2")][:-2]  # then the matrix and the staff's annex
    assert heads == list(dict.fromkeys(entry["section"] for entry in stored["entries"]))
    assert sorted("".join(one.itertext()) for one in page.iter(f"{H}h3")) == sorted(names)
    linked = read(asked(bar, f"/v1/menus/{menu}/label", JSON_LD))
    assert linked["@type"] == "Menu" and linked["name"] == stored["name"]
    items = [item["name"] for part in linked["hasMenuSection"] for item in part["hasMenuItem"]]
    assert sorted(items) == sorted(names)
    assert [row[1] for row in read(asked(bar, f"/v1/menus/{menu}/label", CSV))[1:]] == names


@pytest.mark.parametrize("lang", LANGUAGES)
@pytest.mark.parametrize("drink", ["wickwarden-sour", "lantern-flask", "sober-tide"])
def test_every_type_comes_in_every_language(bar: Client, drink: str, lang: str) -> None:
    plain = asked(bar, f"/v1/drinks/{drink}/evaluation", JSON).json()
    for media_type in OFFERED:
        found = asked(bar, f"/v1/drinks/{drink}/evaluation", media_type, lang=lang, bands="true", serves="12")
        made = read(found)
        assert found.headers["content-language"] == lang
        strength = str(plain["alcohol"]["abv_percent"])
        if media_type == HTML:
            assert made.get("lang") == lang
            # Of our own words none is missing, so that what is in English says so.
            heads = {"".join(one.itertext()) for one in made.iter(f"{H}h2")}
            assert languages()[lang].text("print.allergens").text in heads
            unit = languages()[lang].text("unit.percent_vol").text
            assert (strength.replace(".", ",") if lang in COMMA else strength) + f" {unit}" in flat(found.text)
            english = {one.get("lang") for one in made.iter(f"{H}span") if one.get("lang")}
            assert english == (set() if lang == "en" else {"en"})
        if media_type == CSV:
            assert made[1][made[0].index("abv_percent")] == strength
        if media_type == JSON_LD:
            assert str(made["hasMenuItem"][0].get("gs1:percentageOfAlcoholByVolume", strength)) == strength
            assert made["inLanguage"] == lang


# Regulation (EU) 1169/2011, Annex II, 3 and 7, in each version; the English words of a jurisdiction's own rules.
EGGS_AND_MILK = {
    "fr": ("œufs", "lait"), "de": ("Eier", "Milch"), "es": ("huevos", "leche"), "it": ("uova", "latte"),
    "nl": ("eieren", "melk"), "pt": ("ovos", "leite"), "pl": ("jaja", "mleko"), "sv": ("ägg", "mjölk"),
}  # fmt: skip


@pytest.mark.parametrize("lang", sorted(EGGS_AND_MILK))
def test_the_matrix_and_the_sheet_name_allergens_as_the_law_does_in_that_language(bar: Client, lang: str) -> None:
    page = read(asked(bar, "/v1/menus/winter-harbour/label", HTML, lang=lang))
    heads = ["".join(one.itertext()) for one in page.find(f".//{H}table").iterfind(f"{H}thead/{H}tr/{H}th")]
    assert set(EGGS_AND_MILK[lang]) <= set(heads)
    sheet = asked(bar, "/v1/drinks/wickwarden-sour/label", HTML, lang=lang)
    assert EGGS_AND_MILK[lang][0] in flat(sheet.text)
    table = read(asked(bar, "/v1/drinks/wickwarden-sour/label", CSV, lang=lang))
    assert EGGS_AND_MILK[lang][0] in table[1][table[0].index("allergens_contains_NL")]


def test_a_language_that_is_not_held_is_english_and_says_so(bar: Client) -> None:
    found = bar.get("/v1/menus/winter-harbour/label", headers={"Accept": HTML, "Accept-Language": "da"})
    assert found.headers["content-language"] == "en" and read(found).get("lang") == "en"
    wanted = bar.get("/v1/menus/winter-harbour/label", headers={"Accept": HTML, "Accept-Language": "da, fr;q=0.5"})
    assert wanted.headers["content-language"] == "fr" and read(wanted).get("lang") == "fr"


MONEY = {
    "cost", "price", "cost_per_ml", "offer", "priced_from", "cost_share_percent", "choice", "cost_version", "trace",
    "offers", "menu_price", "currency",
}  # fmt: skip


def keys_in(value: Any) -> Iterator[str]:
    """Every name in a document that says something; `meta.rounding.price` is there as null in each answer."""
    if isinstance(value, dict):
        yield from (name for name, inner in value.items() if inner is not None)
        for inner in value.values():
            yield from keys_in(inner)
    if isinstance(value, list):
        for inner in value:
            yield from keys_in(inner)


def test_without_costs_read_no_output_holds_a_cost(bar: Client) -> None:
    """Every drink, every type, and the menu whose prices are not public, walked with a key for labels alone."""
    header = key_of(bar, "labels:read")
    paths = [f"/v1/drinks/{drink}/{what}" for drink in DRINKS for what in ("label", "evaluation")]
    for path, media_type in itertools.product([*paths, "/v1/menus/winter-harbour/label"], OFFERED):
        if media_type == SVG and "menus" in path:
            continue
        more = {} if "menus" in path else {"serves": "8", "bands": "true"}
        found = asked(bar, path, media_type, headers=header, **more)
        made = read(found)
        if media_type in (JSON, JSON_LD):
            assert MONEY.isdisjoint(keys_in(made)), path
        elif media_type == CSV:
            assert not [name for name in made[0] if name.startswith(("cost_", "price_"))], path
        else:
            text = re.sub(r"<style>.*?</style>", "", found.text, flags=re.S)
            assert not re.search(r"\b(EUR|GBP|USD|Cost|Pour cost|Margin|Suggested|Share)\b", text), path
    sheet = asked(bar, "/v1/drinks/fog-signal/evaluation", HTML, headers=key_of(bar, "costs:read"))
    assert "Pour cost" in flat(sheet.text) and "EUR" in flat(sheet.text)
    label = asked(bar, "/v1/drinks/fog-signal/label", HTML, headers=key_of(bar, "labels:read", "costs:read"))
    assert "Pour cost" not in flat(label.text)


def test_menu_prices_are_for_keys_that_see_prices_or_public(bar: Client) -> None:
    labels, margins = key_of(bar, "labels:read"), key_of(bar, "labels:read", "margins:read")
    assert "13.00 EUR" in flat(asked(bar, "/v1/menus/winter-harbour/label", HTML, headers=margins).text)
    assert "13.00" not in flat(asked(bar, "/v1/menus/winter-harbour/label", HTML, headers=labels).text)
    public = asked(bar, "/v1/menus/last-ferry/label", JSON_LD, headers=labels)
    offers = [item["offers"] for part in read(public)["hasMenuSection"] for item in part["hasMenuItem"]]
    assert offers[0] == {"@type": "Offer", "price": "11.00", "priceCurrency": "GBP"}
    french = flat(asked(bar, "/v1/menus/last-ferry/label", HTML, headers=labels, lang="fr").text)
    assert "11,00 GBP" in french


def test_a_price_moves_no_tag_of_a_key_that_does_not_see_it(bar: Client) -> None:
    labels, margins = key_of(bar, "labels:read"), key_of(bar, "labels:read", "margins:read", "costs:read")
    places = [*(("/v1/drinks/fog-signal/label", one) for one in OFFERED),
              *(("/v1/drinks/fog-signal/evaluation", one) for one in OFFERED),
              *(("/v1/menus/winter-harbour/label", one) for one in MENU_OFFERED)]  # fmt: skip
    since = {"valid_from": DAY}
    before = [asked(bar, path, one, headers=labels).headers["etag"] for path, one in places]
    seen = asked(bar, "/v1/menus/winter-harbour/label", HTML, headers=margins).headers["etag"]
    menu = bar.get("/v1/menus/winter-harbour")
    entries = [{**entry, "menu_price": "99.00"} for entry in menu.json()["entries"]]
    patch = {"Content-Type": "application/merge-patch+json", "If-Match": menu.headers["etag"]}
    changed = bar.ask("PATCH", "/v1/menus/winter-harbour", json={"entries": entries}, headers=patch, params=since)
    assert changed.status_code == 200, changed.text
    offer = bar.get("/v1/offers", params={"page_size": 100}).json()["entries"]
    for row in offer:
        if row["body"].get("price") is not None:
            price = {**row["body"]["price"], "amount": "99.00"}
            patch["If-Match"] = row["etag"]
            done = bar.ask("PATCH", f"/v1/offers/{row['id']}", json={"price": price}, headers=patch, params=since)
            assert done.status_code == 200, done.text
    assert [asked(bar, path, one, headers=labels).headers["etag"] for path, one in places] == before
    assert asked(bar, "/v1/menus/winter-harbour/label", HTML, headers=margins).headers["etag"] != seen


def test_each_representation_has_a_tag_of_its_own(bar: Client) -> None:
    for path, offered in (("/v1/drinks/long-jetty/label", OFFERED), ("/v1/menus/last-ferry/label", MENU_OFFERED)):
        tags = {one: asked(bar, path, one).headers["etag"] for one in offered}
        tags["fr"] = asked(bar, path, HTML, lang="fr").headers["etag"]
        assert len(set(tags.values())) == len(tags)
        for one in offered:
            same = asked(bar, path, one, headers={"If-None-Match": tags[one]})
            assert (same.status_code, same.content) == (304, b"")
            assert same.headers["vary"] == "Accept, Accept-Language, Authorization"
            others = ", ".join(tag for name, tag in tags.items() if name != one)
            assert asked(bar, path, one, headers={"If-None-Match": others}).status_code == 200


def test_a_type_that_is_not_offered_is_refused(bar: Client) -> None:
    for path, media_type in (
        ("/v1/menus/winter-harbour/label", SVG),
        ("/v1/menus/winter-harbour/label", "application/pdf"),
        ("/v1/drinks/fog-signal/label", "application/pdf"),
        ("/v1/drinks/fog-signal/evaluation", "text/plain"),
    ):
        found = asked(bar, path, media_type)
        assert (found.status_code, found.headers["vary"]) == (406, "Accept")


@pytest.mark.parametrize(
    ("path", "query", "pointer"),
    [
        ("/v1/drinks/fog-signal/label", {"serves": "0"}, "/serves"),
        ("/v1/drinks/fog-signal/label", {"serves": "1.5"}, "/serves"),
        ("/v1/drinks/fog-signal/label", {"bands": "yes"}, "/bands"),
        ("/v1/drinks/fog-signal/label", {"lot": "x" * 201}, "/lot"),
        ("/v1/drinks/fog-signal/label", {"net_ml": "about 90"}, "/net_ml"),
        ("/v1/drinks/fog-signal/evaluation", {"made_on": "yesterday"}, "/made_on"),
        # What a question does not know is a fault of the whole.
        ("/v1/drinks/fog-signal/cost", {"serves": "8"}, ""),
        ("/v1/menus/winter-harbour/label", {"menu": "last-ferry"}, ""),
        ("/v1/menus/winter-harbour/label", {"lang": "?"}, "/lang"),
    ],
)
def test_a_parameter_that_cannot_be_worked_with_is_refused(
    bar: Client, path: str, query: dict[str, str], pointer: str
) -> None:
    found = bar.get(path, params=query)
    assert found.status_code == 422
    assert [row["pointer"] for row in found.json()["errors"]] == [pointer]


def test_who_may_ask_for_a_menu(bar: Client) -> None:
    path = "/v1/menus/winter-harbour/label"
    assert bar.get(path, headers=key_of(bar, "costs:read")).status_code == 403
    assert bar.get("/v1/menus/no-such-menu/label").status_code == 404
    assert bar.get(path, headers=key_of(bar, "labels:read", venue="ferry-landing")).status_code == 404
    assert bar.get(path, headers=key_of(bar, "labels:read", venue="slack-warp")).status_code == 200
    assert bar.get(path, params={"venue": "ferry-landing"}).status_code == 404


def test_a_line_without_an_answer_is_told_and_stops_what_is_printed(bar: Client) -> None:
    found = asked(bar, "/v1/menus/last-ferry/label", JSON, jurisdiction="QQ")
    MenuLabel.model_validate_json(found.content)
    assert all(row["problem"]["status"] == 422 for row in found.json()["drinks"])
    page = asked(bar, "/v1/menus/last-ferry/label", HTML, jurisdiction="QQ")
    assert page.status_code == 422
    assert page.json()["errors"][0]["detail"].startswith("fog-signal: ")


def test_a_batch_is_each_amount_times_the_serves(bar: Client) -> None:
    """Arithmetic by hand: 8 x 1 1/2 oz (45 ml) is 12 oz (360 ml), 8 x 1/2 oz 4 oz, 8 dashes of 0.8 ml 6.4 ml."""
    text = flat(asked(bar, "/v1/drinks/breakwater-froth/label", HTML, serves="8").text)
    batch = text.partition("Batch for 8 serves")[2]
    for row in ("aged, 43 % 12 oz (360 ml)", "Lime juice, fresh 4 oz (120 ml)", "Aromatic bitters 8 dashes (6.4 ml)"):
        assert row in batch
    # The bowl is written for 8: of 12 serves half as much again, of 10 oz 15 oz, of 8 wheels 12.
    bowl = flat(asked(bar, "/v1/drinks/pilots-bowl/label", HTML, serves="12").text).partition("Batch for 12")[2]
    assert "15 oz (450 ml)" in bowl and "12 wheels" in bowl and "300 ml" in bowl and "6 blocks" in bowl
    assert " fill" in flat(asked(bar, "/v1/drinks/regatta-morning/label", HTML, serves="8").text).partition("Batch")[2]
    assert "No batch was asked for." in flat(asked(bar, "/v1/drinks/pilots-bowl/label", HTML).text)


def test_the_band_is_there_where_it_is_asked_for(bar: Client) -> None:
    path = "/v1/drinks/breakwater-froth/label"
    assert "band" not in asked(bar, path, JSON).json()["alcohol"]
    band = asked(bar, path, JSON, bands="true").json()["alcohol"]["band"]["abv_percent"]
    text = flat(asked(bar, path, HTML, bands="true").text)
    assert f"Band: between {band['low']} and {band['high']} % vol, widest by the water from ice" in text
    assert "The band was not asked for." in flat(asked(bar, path, HTML).text)
    menu = "/v1/menus/winter-harbour/label"
    assert "Band: between" in flat(asked(bar, menu, HTML, bands="true").text)
    assert "Band:" not in flat(asked(bar, menu, HTML).text)


def test_the_sheet_has_the_recipes_of_the_parts_as_they_are_stored(bar: Client) -> None:
    text = flat(asked(bar, "/v1/drinks/breakwater-froth/label", HTML).text)
    stored = bar.get("/v1/preparations/house-ginger-syrup").json()
    recipe = text.partition(f"{stored['name']} Item Amount")[2]
    for line in stored["lines"]:
        assert line["amount"] in recipe
    assert "Ginger, fresh" in recipe and "strained out" in recipe
    assert "Keeps 14 days" in recipe and "Storage chilled" in recipe


@pytest.fixture(scope="module")
def shop(bar: Client) -> str:
    """A venue that sells in packages."""
    body = {"id": "shop", "name": "The shop", "house": {"sold_as": "prepacked"}}
    assert bar.ask("POST", "/v1/venues", json=body).status_code == 201
    return "shop"


def test_one_drink_under_two_jurisdictions_has_each_ones_lawful_text(bar: Client, shop: str) -> None:
    """27 CFR 16.21 prescribes the statement, 27 CFR 5.65 the form of a strength; Annex XII of Regulation (EU)
    1169/2011 the symbol "% vol", Annex II and 21 USC 321(qq) the names of nuts (from memory)."""
    panels = {
        code: " ".join(" ".join(read(asked(bar, "/v1/drinks/wickwarden-sour/label", SVG, venue=shop, jurisdiction=code))
                                .itertext()).split())
        for code in ("NL", "US")
    }  # fmt: skip
    assert "GOVERNMENT WARNING: (1) According to the Surgeon General" in panels["US"]
    assert "GOVERNMENT WARNING" not in panels["NL"]
    assert re.search(r"\d % vol", panels["NL"]) and "alc" not in panels["NL"].lower().partition("allergens")[0]
    assert re.search(r"alc(\.|ohol)?[ /]", panels["US"].lower())
    assert "tree nuts" in panels["US"] and "tree nuts" not in panels["NL"]


def test_what_a_pack_states_is_on_its_panel_and_what_is_missing_is_named(bar: Client, shop: str) -> None:
    path = "/v1/drinks/still-water-punch/label"
    stated = {"net_ml": "90", "lot": "L 7", "made_on": DAY, "storage": "Keep below 5", "responsible": "The bar, 1 Quay"}
    text = " ".join(read(asked(bar, path, SVG, venue=shop, **stated)).itertext())
    for words in ("90 ml", "L 7", WRITTEN_OUT["en"].format(2026), "Keep below 5", "The bar, 1 Quay"):
        assert words in text
    bare = " ".join(" ".join(read(asked(bar, path, SVG, venue=shop)).itertext()).split())
    assert "NOT READY" in bare and "Net quantity" in bare and "Lot" in bare
    assert "PAS PRÊT" in " ".join(read(asked(bar, path, SVG, venue=shop, lang="fr")).itertext())


@pytest.mark.parametrize("lang", LANGUAGES)
def test_the_bottled_drink_is_ready_and_printed_in_every_type_and_language(bar: Client, lang: str) -> None:
    """What the demo writes of its pack stands in each output; 2027-11-25 is 365 days after the day of bottling."""
    words = {key: languages()[lang].text(f"print.{key}").text for key in ("pack_ready", "not_ready", "net_quantity")}
    days = (WRITTEN_OUT[lang].format(year) for year in (2026, 2027))
    path, stated = "/v1/drinks/lantern-flask/label", ("L26-329", *days, "Skerrowmouth")
    panel = " ".join(" ".join(read(asked(bar, path, SVG, lang=lang)).itertext()).split())
    sheet = flat(asked(bar, path, HTML, lang=lang).text)
    table = read(asked(bar, path, CSV, lang=lang))
    row = dict(zip(*table, strict=True))
    assert all(one in text for one in (*stated, "100 ml") for text in (panel, sheet))
    assert words["not_ready"] not in panel and words["net_quantity"] in panel
    assert sheet.count(words["pack_ready"]) == 3
    assert [row[f"pack_label_{code}"] for code in ("NL", "GB", "US")] == [words["pack_ready"]] * 3
    assert (row["pack_net_ml"], row["pack_use_by"]) == ("100", "2027-11-25")
    linked = read(asked(bar, path, JSON_LD, lang=lang))["hasMenuItem"][0]
    assert linked["gs1:netContent"]["gs1:value"] == "100.0" and linked["gs1:netContent"]["gs1:unitCode"] == "MLT"
    menu = flat(asked(bar, "/v1/menus/winter-harbour/label", HTML, lang=lang).text)
    assert "100 ml" in menu and words["net_quantity"] in menu


def test_without_storage_the_bottled_drink_is_not_ready_in_any_type(bar: Client) -> None:
    held = bar.get("/v1/drinks/lantern-flask").json()
    body = {key: one for key, one in held.items() if key not in ("storage", "external_ids")}
    assert bar.ask("POST", "/v1/drinks", json=body | {"id": "bare-flask", "name": "Bare Flask"}).status_code == 201
    path = "/v1/drinks/bare-flask/label"
    panels = asked(bar, path, JSON).json()["pack"]["panels"]
    assert [(row["ready"], row["missing"]) for row in panels] == [(False, ["storage"])] * 3
    said = "Not ready. Missing: Storage."
    assert said in " ".join(" ".join(read(asked(bar, path, SVG)).itertext()).split())
    assert said in flat(asked(bar, path, HTML).text)
    table = read(asked(bar, path, CSV))
    assert table[1][table[0].index("pack_label_US")] == said
    # What is asked stands instead; a venue's own would too.
    assert asked(bar, path, JSON, storage="Keep cool").json()["pack"]["panels"][0]["ready"]
    poured = asked(bar, path, JSON, sold_as="poured").json()
    assert "pack" not in poured and poured["alcohol"]["label"] == [] and poured["alcohol"]["menu_text"]


WRITABLE = [text for text in CORPUS if text.isprintable()]
"""What the catalogue takes as a name at all; control characters are refused."""

PLAIN = {
    "html", "head", "meta", "title", "style", "body", "main", "header", "footer", "section", "div", "p", "h1", "h2",
    "h3", "dl", "dt", "dd", "ul", "li", "strong", "span", "br", "table", "caption", "thead", "tbody", "tr", "th", "td",
    "svg", "desc", "defs", "pattern", "path", "rect", "circle", "text", "tspan", "g", "aside", "q",
}  # fmt: skip
"""Elements of the templates."""

SCRIPTED = re.compile(r"\bon\w+$", re.ASCII)


@pytest.mark.parametrize("number", range(len(WRITABLE)))
def test_no_stored_name_becomes_an_element(bar: Client, number: int) -> None:
    """Drink, item, part, menu and section bear the text; it stands there as text alone."""
    text = f"{number} {WRITABLE[number]}"  # names are told apart by it
    ids = {kind: f"odd-{kind}-{number}" for kind in ("item", "part", "drink", "menu")}
    bodies = {
        "ingredients": {"id": ids["item"], "name": text, "kind": "syrup", "abv_percent": "0"},
        "preparations": {"id": ids["part"], "name": text, "lines": [{"item": ids["item"], "amount": "100 ml"}]},
        "drinks": {"id": ids["drink"], "name": text, "lines": [{"item": ids["part"], "amount": "50 ml"}],
                   "method": {"kind": "built"}, "serve": {"glass_ml": 180}},
        "menus": {"id": ids["menu"], "name": text, "entries": [{"drink": ids["drink"], "section": text}]},
    }  # fmt: skip
    for kind, body in bodies.items():
        made = bar.ask("POST", f"/v1/{kind}", json=body)
        assert made.status_code == 201, made.text
    for path, media_type in (
        (f"/v1/drinks/{ids['drink']}/label", HTML),
        (f"/v1/drinks/{ids['drink']}/label", SVG),
        (f"/v1/menus/{ids['menu']}/label", HTML),
    ):
        page = read(asked(bar, path, media_type, lot=text) if media_type == SVG else asked(bar, path, media_type))
        assert {one.tag.rpartition("}")[2] for one in page.iter()} <= PLAIN
        assert not [name for one in page.iter() for name in one.attrib if SCRIPTED.match(name)]
        assert " ".join(text.split()) in " ".join(" ".join(page.itertext()).split()) or media_type == SVG
    linked = asked(bar, f"/v1/menus/{ids['menu']}/label", JSON_LD)
    assert read(linked)["name"] == bar.get(f"/v1/menus/{ids['menu']}").json()["name"]
    assert "<" not in linked.text


def test_a_packed_drinks_panel_takes_what_the_drink_and_the_venue_carry() -> None:
    """Net quantity, storage and name are stored; lot and day of making are of the day, and missed until asked for."""
    client = Client(Settings(demo=True))
    try:
        house = {"sold_as": "prepacked", "storage": "Keep cool.", "responsible": "Harbour Bar, 1 Quay"}
        line = {"item": "gin-london-dry-40", "amount": "50 ml"}
        drink = {"id": "flask", "name": "Flask", "lines": [line], "net_ml": "100", "storage": "Keep at 4 C."}
        for kind, body in (
            ("venues", {"id": "shop", "name": "Shop", "jurisdictions": ["EU"], "house": house}),
            ("drinks", drink),
            ("drinks", drink | {"id": "bare", "name": "Bare", "net_ml": None, "storage": None}),
        ):
            made = client.ask("POST", f"/v1/{kind}", json={name: one for name, one in body.items() if one is not None})
            assert made.status_code == 201, made.text
        texts = {
            (drink_id, lot): " ".join(read(
                asked(client, f"/v1/drinks/{drink_id}/label", SVG, venue="shop", **({"lot": lot} if lot else {}))
            ).itertext())
            for drink_id in ("flask", "bare") for lot in ("", "L7")
        }  # fmt: skip
    finally:
        client.close()
    first = " ".join(texts["flask", ""].split())
    assert "100 ml" in first and "Keep at 4 C." in first and "Harbour Bar, 1 Quay" in first
    assert "NOT READY" in first and "Not ready. Missing: Lot, Made on" in first
    assert "Missing: Made on" in " ".join(texts["flask", "L7"].split()) and "L7" in texts["flask", "L7"]
    bare = " ".join(texts["bare", ""].split())
    assert "Missing: Net quantity, Lot" in bare and "Keep cool." in bare
