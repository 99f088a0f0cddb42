"""GET /v1/reference/...: search, pages, one item, measures, jurisdictions with their dated rules and sources."""

import json
from datetime import date
from decimal import Decimal
from urllib.parse import urlencode

import pytest

from service.reference import reference
from service.rules import rules
from service.units import TABLE
from tests.api.conftest import Client

ITEMS = "/v1/reference/items"
STANDINGS = {"confirmed", "secondary", "memory"}


def _pages(client: Client, **query: str) -> list[list[str]]:
    """The ids of each page, following the Link header to the end."""
    address = f"{ITEMS}?{urlencode(query)}"
    pages = []
    while address:
        answer = client.get(address)
        assert answer.status_code == 200, answer.text
        body = answer.json()
        pages.append([row["id"] for row in body["items"]])
        link = answer.links.get("next")
        assert (link is None) is (body["next_page_token"] is None)
        address = "" if link is None else link["url"]
        assert address == "" or address.startswith(ITEMS), "the link names a host"
        assert len(pages) < 2000
    return pages


def test_all_items_are_listed_once_in_the_order_of_their_ids(client: Client) -> None:
    for size in ("100", "37", "1000000"[:3]):
        pages = _pages(client, page_size=size)
        ids = [item for page in pages for item in page]
        assert ids == sorted(reference().items)
        assert {len(page) for page in pages[:-1]} <= {int(size)}
        assert 0 < len(pages[-1]) <= int(size)


def test_a_page_has_fifty_items_unless_asked(client: Client) -> None:
    assert len(client.get(ITEMS).json()["items"]) == 50


def test_conditions_are_kept_from_page_to_page(client: Client) -> None:
    pages = _pages(client, kind="spirit", page_size="7", text="rum")
    ids = [item for page in pages for item in page]
    assert len(pages) > 1
    assert ids == [item.id for item in reference().search("rum", "spirit", None)]
    assert all(reference().items[item].kind == "spirit" for item in ids)


def test_search_by_allergen_finds_what_contains_may_contain_or_is_not_known(client: Client) -> None:
    ids = {item for page in _pages(client, allergen="milk", page_size="100") for item in page}
    assert "whole-milk" in ids
    assert "water" not in ids


def test_search_finds_words_without_accents_and_by_their_beginning(client: Client) -> None:
    assert "lime-juice" in [row["id"] for row in client.get(f"{ITEMS}?text=LIME+JUI").json()["items"]]
    assert client.get(f"{ITEMS}?text=nothinglikethis").json() == {"items": [], "next_page_token": None}


def test_a_page_stays_the_same_when_an_item_before_it_comes_or_goes(client: Client) -> None:
    """The token holds the last id seen, not a count."""
    first = client.get(f"{ITEMS}?page_size=3").json()
    ids = sorted(reference().items)
    second = client.get(f"{ITEMS}?page_size=3&page_token={first['next_page_token']}").json()
    assert [row["id"] for row in second["items"]] == ids[3:6]
    past_the_end = "enp6eg"  # base64 of zzzz
    assert client.get(f"{ITEMS}?page_token={past_the_end}").json() == {"items": [], "next_page_token": None}


@pytest.mark.parametrize(
    "token", ["", "!", "a", "%00", "%C3%A9", "YQ%3D%3D%3D", "w6k", "Li4v", "QQ", "x" * 201, "IA", "____"]
)
def test_a_token_that_was_not_given_out_is_refused(client: Client, token: str) -> None:
    answer = client.get(f"{ITEMS}?page_token={token}")
    assert answer.status_code == 422
    assert [fault["pointer"] for fault in answer.json()["errors"]] == ["/page_token"]


@pytest.mark.parametrize(
    ("query", "pointer"),
    [
        ("page_size=0", "/page_size"),
        ("page_size=101", "/page_size"),
        ("page_size=-1", "/page_size"),
        ("page_size=1.5", "/page_size"),
        ("page_size=ten", "/page_size"),
        ("page_size=", "/page_size"),
        ("page_size=1_0", "/page_size"),
        ("page_size=%2B5", "/page_size"),
        ("page_size=%D9%A1%D9%A2", "/page_size"),
        ("page_size=" + "9" * 5000, "/page_size"),
        ("page_size=5&page_size=5", "/page_size"),
        ("kind=vodka", "/kind"),
        ("kind=spirit&kind=wine", "/kind"),
        ("allergen=Milk", "/allergen"),
        ("text=", "/text"),
        ("text=+", "/text"),
        ("text=%00", "/text"),
        ("text=%E2%80%AE", "/text"),
        ("text=" + "a" * 201, "/text"),
        ("sort=price", ""),
        ("Kind=spirit", ""),
    ],
)
def test_a_parameter_that_cannot_be_worked_with(client: Client, query: str, pointer: str) -> None:
    answer = client.get(f"{ITEMS}?{query}")
    assert answer.status_code == 422, answer.text
    assert [fault["pointer"] for fault in answer.json()["errors"]] == [pointer]


def test_every_item_is_shown_with_a_source_for_its_values(client: Client) -> None:
    for item_id in reference().items:
        item = client.get(f"{ITEMS}/{item_id}").json()
        assert item["id"] == item_id
        assert item["facts"], item_id
        for fact in item["facts"]:
            assert fact["source"]
            assert fact["standing"] in STANDINGS
            assert date.fromisoformat(fact["checked"]) <= date.today()


def test_an_item_shows_what_the_reference_holds(client: Client) -> None:
    """USDA SR24, 09160 lime juice, raw: sugars 1.69 g, protein 0.42 g in 100 g."""
    item = client.get(f"{ITEMS}/lime-juice").json()
    by_mass = next(row for row in item["per_100"] if row["basis"] == "g")
    assert (by_mass["sugars_g"], by_mass["protein_g"]) == (1.69, 0.42)
    assert item["kind"] == "juice"
    assert item["squeezed_from"]["item"] == "lime"


@pytest.mark.parametrize(
    "address",
    [
        f"{ITEMS}/nothing",
        f"{ITEMS}/Lime-Juice",
        f"{ITEMS}/%00",
        f"{ITEMS}/..%2f..%2fetc",
        f"{ITEMS}/{'a' * 5000}",
        f"{ITEMS}/lime-juice/more",
        "/v1/reference/jurisdictions/UK",
        "/v1/reference/jurisdictions/eu",
        "/v1/reference/jurisdictions/%C3%89U",
        "/v1/reference/nothing",
    ],
)
def test_what_is_not_there_is_one_and_the_same_404(client: Client, address: str) -> None:
    answer = client.get(address)
    assert answer.status_code == 404
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.content == client.get("/nowhere").content


def test_measures_are_exact_and_sourced(client: Client) -> None:
    """27 CFR and NIST Handbook 44: the US fluid ounce is 29.5735295625 ml, the imperial 28.4130625 ml."""
    body = client.get("/v1/reference/measures").json()
    rows = {row["name"]: row for row in body["measures"]}
    assert rows["us fl oz"]["ml"] == "29.5735295625"
    assert len(rows) == len(TABLE.units)
    for row in rows.values():
        assert (row["ml"] is None) is not (row["g"] is None)
        assert Decimal(row["ml"] or row["g"]) > 0
        assert row["source"]
        assert row["standing"] in STANDINGS
        assert row["words"]
    assert {row["word"]: row for row in body["by_ounce"]}["fl oz"]["imperial"] == "28.4130625"
    assert body["house"]["dash"] == "0.8"
    assert body["refused"]["shot"]


def test_every_measure_shown_reads_in_an_amount(client: Client) -> None:
    for row in client.get("/v1/reference/measures").json()["measures"]:
        for word in row["words"]:
            body = {"drink": {"id": "a", "name": "A", "lines": [{"item": "water", "amount": f"0.01 {word}"}]}}
            answer = client.evaluate(body)
            assert answer.status_code == 200, (word, answer.text)


def test_every_jurisdiction_is_listed_and_can_be_asked_for(client: Client) -> None:
    rows = client.get("/v1/reference/jurisdictions").json()["jurisdictions"]
    assert [row["code"] for row in rows] == list(rules().jurisdictions)
    body = {"drink": {"id": "a", "name": "A", "lines": [{"item": "water", "amount": "1 ml"}]}}
    for row in rows:
        assert client.evaluate(body | {"jurisdictions": [row["code"]]}).status_code == 200
    by_code = {row["code"]: row for row in rows}
    assert by_code["GB-SCT"]["extends"] == "GB"
    assert by_code["EU"]["standard_drink"] is None
    assert by_code["US"]["standard_drink"] == "standard drink, 14 g"


def test_every_jurisdiction_shows_its_dated_rules_with_sources(client: Client) -> None:
    for code in rules().jurisdictions:
        answer = client.get(f"/v1/reference/jurisdictions/{code}")
        assert answer.status_code == 200, (code, answer.text)
        detail = answer.json()
        assert detail["code"] == code
        for kind, rows in detail["rules"].items():
            assert rows, (code, kind)
            for row in rows:
                assert row["source"], (code, kind)
                assert row["standing"] in STANDINGS
                assert date.fromisoformat(row["since"])
                assert date.fromisoformat(row["checked"])
                assert row["until"] is None or date.fromisoformat(row["until"]) >= date.fromisoformat(row["since"])
                assert row["status"]


def test_a_jurisdictions_figures_are_those_of_the_law(client: Client) -> None:
    """Alcohol (Minimum Pricing) (Scotland): 0.50 a unit from 2018-05-01, 0.65 from 2024-09-30."""
    rows = client.get("/v1/reference/jurisdictions/GB-SCT").json()["rules"]["price_floor"]
    assert [row["since"] for row in rows] == ["2018-05-01", "2024-09-30"]
    assert "0.5" in json.dumps(rows[0])
    assert "0.65" in json.dumps(rows[1])


def test_the_list_is_that_of_a_day(client: Client) -> None:
    """Regulation (EU) 1169/2011 applies from 2014-12-13: before, no rule of energy is held."""
    assert client.get("/v1/reference/jurisdictions?as_of=2026-11-25").status_code == 200
    answer = client.get("/v1/reference/jurisdictions?as_of=2014-01-01")
    assert answer.status_code == 422
    assert [(fault["pointer"], fault["code"]) for fault in answer.json()["errors"]] == [("/as_of", "rules_not_held")]


@pytest.mark.parametrize("day", ["2026-02-30", "today", "", "26-01-01", "2026-1-1", "20260101", "2026-01-01T00:00"])
def test_a_day_that_is_none_is_refused(client: Client, day: str) -> None:
    answer = client.get(f"/v1/reference/jurisdictions?as_of={day}")
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["pointer"] == "/as_of"
