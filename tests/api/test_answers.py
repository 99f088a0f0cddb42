"""Answers about stored things: equal to the same spec written out, replayed to the byte, by venue, menu and day."""

import itertools
import json
import os
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime
from typing import Any

import pytest
import time_machine

from service.settings import Settings
from tests.api.bar import entries, keep, write
from tests.api.conftest import Client
from tests.databases import BACKENDS

BACK_THEN, NOW = (datetime(2026, month, 25, 12, tzinfo=UTC) for month in (9, 11))


@pytest.fixture(scope="module", params=BACKENDS)
def priced(request: pytest.FixtureRequest, new_database: Callable[[str], str]) -> Iterator[Client]:
    """The bar with a history of prices: rum at 141.00 since September, 150.00 since October, 160.00 from January."""
    made = Client(Settings(database_url=new_database(request.param)))
    with time_machine.travel(BACK_THEN, tick=False):
        write(made)
    with time_machine.travel(NOW, tick=False):
        for day, amount in (("2026-10-10", "150.00"), ("2027-01-01", "160.00")):
            _priced(made, "rum-case", amount, day)
        yield made
    made.close()


def _priced(client: Client, offer: str, amount: str, day: str | None = None) -> None:
    query = "" if day is None else f"?valid_from={day}"
    body = {"price": {"amount": amount, "currency": "EUR"}}
    answer = client.ask("PATCH", f"/v1/offers/{offer}{query}", json=body, headers={"If-Match": "*"})
    assert answer.status_code == 200, answer.text


def _get(client: Client, address: str, **headers: str) -> Any:
    answer = client.get(address, headers=headers)
    assert answer.status_code == 200, answer.text
    return answer.json()


def _rum(client: Client, address: str) -> str:
    """The cost of the rum's line."""
    line: str = _get(client, address)["lines"][0]["cost"]
    return line


def _line(case: str, ml: int = 50) -> str:
    """50 ml of a case of 6 x 700 ml with 2.00 for delivery and 2 % off the price of the case (arithmetic)."""
    from decimal import Decimal

    case_cost = Decimal(case) * Decimal("0.98") + 2
    return str((case_cost * ml / 4200).quantize(Decimal("0.000001")))


def test_a_price_holds_from_its_day(priced: Client) -> None:
    for day, amount in (
        ("2026-09-25", "141.00"), ("2026-10-09", "141.00"), ("2026-10-10", "150.00"), ("2026-12-31", "150.00"),
        ("2027-01-01", "160.00"),
    ):  # fmt: skip
        assert _rum(priced, f"/v1/drinks/quay-sour/cost?as_of={day}") == _line(amount), day
    assert _rum(priced, "/v1/drinks/quay-sour/cost") == _line("150.00")


def test_an_answer_is_that_of_the_same_spec_written_out(priced: Client) -> None:
    held: dict[str, dict[str, Any]] = {}
    for kind, body in entries():
        held.setdefault(kind, {})[body["id"]] = body
    offers = [dict(body) for body in held["offers"].values() if "venue" not in body]
    for offer in offers:
        if offer["id"] == "rum-case":
            offer["price"] = {"amount": "150.00", "currency": "EUR"}
    group = held["venues"]["group"]

    def written(body: dict[str, Any]) -> dict[str, Any]:
        return {name: value for name, value in body.items() if name != "external_ids"}

    for drink in held["drinks"].values():
        for path, include in (
            ("cost", ["cost", "price"]), ("label", ["alcohol", "nutrition", "allergens", "balance"]),
            ("evaluation", ["cost", "price", "alcohol", "nutrition", "allergens", "balance"]),
        ):  # fmt: skip
            stored = _get(priced, f"/v1/drinks/{drink['id']}/{path}?menu=evening")
            price = next(
                row["menu_price"] for row in held["menus"]["evening"]["entries"] if row["drink"] == drink["id"]
            )
            request = {
                "drink": written(drink), "ingredients": [written(body) for body in held["ingredients"].values()],
                "preparations": [written(body) for body in held["preparations"].values()], "house": group["house"],
                "offers": offers, "jurisdictions": ["EU", "GB"], "include": include,
                "pricing": {**group["pricing"], "menu_price": price},
            }  # fmt: skip
            answer = priced.evaluate(request)
            assert answer.status_code == 200, answer.text
            mine = answer.json()
            if path == "label":  # It knows no pricing.
                mine["meta"]["rounding"] = stored["meta"]["rounding"]
            assert _plain(stored) == _plain(mine), (drink["id"], path)


def _plain(answer: dict[str, Any]) -> str:
    """Without where a thing was found and what the question's digest is."""
    text = json.dumps({key: value for key, value in answer.items() if key != "meta"}, sort_keys=True)
    return text.replace('"source": "catalogue"', '"source": "request"') + json.dumps(answer["meta"]["rounding"])


def test_a_venues_own_offers_and_taxes_stand_over_the_groups(priced: Client) -> None:
    group = _get(priced, "/v1/drinks/quay-sour/cost")
    terrace = _get(priced, "/v1/drinks/quay-sour/cost?venue=terrace")
    cellar = _get(priced, "/v1/drinks/quay-sour/cost?venue=cellar")
    assert terrace["lines"] == group["lines"]
    assert cellar["lines"][0]["offer"] == "rum-cellar"
    assert cellar["lines"][0]["cost"] == "2.142857"  # 30.00 for 700 ml, 50 ml of it (arithmetic)
    # The same net price at 21 % and at 9 % of tax: unrounded / 1.21 = unrounded / 1.09.
    net = [float(answer["price"]["unrounded"]) / rate for answer, rate in ((group, 1.21), (terrace, 1.09))]
    assert net[0] == pytest.approx(net[1], abs=1e-5)
    label = _get(priced, "/v1/drinks/quay-sour/label?venue=terrace")
    assert [row["jurisdiction"] for row in label["alcohol"]["standard_drinks"]] == ["US"]
    chosen = _get(priced, "/v1/drinks/quay-sour/label?venue=terrace&jurisdiction=AU,GB")
    assert [row["jurisdiction"] for row in chosen["alcohol"]["standard_drinks"]] == ["AU", "GB"]
    assert _get(priced, "/v1/drinks/quay-sour/cost?menu=deck")["price"] == {
        **terrace["price"], "at_menu_price": _get(priced, "/v1/drinks/quay-sour/margin?menu=deck")["at_menu_price"]
    }  # fmt: skip


def test_a_margin_is_that_of_the_menu_price(priced: Client) -> None:
    margin = _get(priced, "/v1/drinks/quay-sour/margin?menu=evening")
    cost = _get(priced, "/v1/drinks/quay-sour/cost?menu=evening")
    assert (margin["menu"], margin["currency"]) == ("evening", "EUR")
    assert margin["at_menu_price"]["menu_price"] == "12.00"
    assert margin["at_menu_price"]["net"] == "9.92"  # 12.00 / 1.21 = 9.917 (arithmetic)
    assert margin["pour_cost"] == cost["cost"]["pour_cost"]
    assert margin["at_menu_price"] == cost["price"]["at_menu_price"]
    assert "cost_version" in margin["meta"]
    key = priced.key("margins:read")
    assert "cost_version" not in _get(priced, "/v1/drinks/quay-sour/margin?menu=evening", **key)["meta"]


def test_another_currency_is_costed_by_the_rates_or_refused(priced: Client) -> None:
    answer = priced.get("/v1/drinks/quay-sour/cost?currency=USD")
    assert answer.status_code == 422
    assert [fault["code"] for fault in answer.json()["errors"]] == ["rate_missing"]


def test_bulk_answers_are_those_of_each_drink(priced: Client) -> None:
    for path, sections in (("cost", ("cost", "price", "warnings")), ("label", ("alcohol", "nutrition", "allergens"))):
        for query in ("menu=evening", "menu=deck", "venue=cellar", "as_of=2026-09-25", "jurisdiction=US"):
            rows = _get(priced, f"/v1/{path}s?{query}")["drinks"]
            assert len(rows) == 3
            for row in rows:
                alone = _get(priced, f"/v1/drinks/{row['drink']}/{path}?{query}")
                assert {name: row[name] for name in sections} == {name: alone[name] for name in sections}
    assert [row["drink"] for row in _get(priced, "/v1/costs?menu=deck")["drinks"]] == [
        "quay-sour", "pier-punch", "almond-light",
    ]  # fmt: skip
    seen, token = [], ""
    while token is not None:
        page = _get(priced, f"/v1/labels?page_size=2{token and f'&page_token={token}'}")
        seen += [row["drink"] for row in page["drinks"]]
        token = page["next_page_token"]
    assert seen == ["almond-light", "pier-punch", "quay-sour"]


def test_a_replay_by_its_stamp_gives_the_same_bytes_after_later_changes(priced: Client) -> None:
    before = {}
    for address, stamp in (
        ("/v1/drinks/quay-sour/cost?as_of=2026-11-25", "cost_version"),
        ("/v1/drinks/quay-sour/margin?as_of=2026-11-25&menu=evening", "cost_version"),
        ("/v1/costs?as_of=2026-11-25", "cost_version"),
        ("/v1/drinks/quay-sour/label?as_of=2026-11-25", "data_version"),
        ("/v1/labels?as_of=2026-11-25", "data_version"),
    ):
        answer = priced.get(address)
        before[f"{address}&{stamp}={answer.json()['meta'][stamp]}"] = answer.content
    costs = priced.get("/v1/drinks/quay-sour/cost?as_of=2026-11-25").content
    _priced(priced, "rum-case", "190.00", "2026-11-01")
    spec = _get(priced, "/v1/drinks/quay-sour")
    changed = {**spec, "lines": [{**spec["lines"][0], "amount": "60 ml"}, *spec["lines"][1:]]}
    for body in (changed, spec):
        answer = priced.ask("PUT", "/v1/drinks/quay-sour", json=body, headers={"If-Match": "*"})
        assert answer.status_code == 200
        for address, content in before.items():
            assert priced.get(address).content == content, address
    assert priced.get("/v1/drinks/quay-sour/cost?as_of=2026-11-25").content != costs
    _priced(priced, "rum-case", "150.00", "2026-11-01")
    for query in ("cost_version=9999", "data_version=9999", "cost_version=x", "data_version=-1"):
        assert priced.get(f"/v1/drinks/quay-sour/cost?{query}").status_code == 422
    assert priced.get("/v1/drinks/quay-sour/cost?cost_version=0").status_code == 404
    assert priced.get("/v1/drinks/quay-sour/label?cost_version=1").status_code == 403


def test_costs_are_never_kept_by_caches_and_differ_by_key(priced: Client) -> None:
    for address in ("/v1/drinks/quay-sour/cost", "/v1/costs", "/v1/offers/rum-case", "/v1/drinks/quay-sour/evaluation"):
        answer = priced.get(address)
        assert answer.headers["cache-control"] == "no-store"
        assert "Authorization" in answer.headers["vary"].split(", ")
        again = priced.get(address, headers={"If-None-Match": answer.headers["etag"]})
        assert (again.status_code, again.content) == (304, b"")
        head = priced.ask("HEAD", address)
        assert (head.status_code, head.content, head.headers["etag"]) == (200, b"", answer.headers["etag"])


def test_a_key_of_one_venue_asks_about_no_other(priced: Client) -> None:
    key = priced.key("costs:read", "labels:read", "margins:read", "catalogue:write", venue="cellar")
    for address in (
        "/v1/drinks/quay-sour/cost?venue=terrace", "/v1/drinks/quay-sour/label?venue=group", "/v1/venues/terrace",
        "/v1/drinks/quay-sour/cost?menu=deck", "/v1/drinks/quay-sour/margin?menu=deck", "/v1/costs?menu=deck",
        "/v1/labels?venue=terrace", "/v1/labels?menu=deck", "/v1/menus/deck", "/v1/menus/deck/revisions",
    ):  # fmt: skip
        answer = priced.get(address, headers=key)
        nothing = priced.get(re.sub("terrace|group|deck", "random-id", address), headers=key)
        assert (answer.status_code, answer.content) == (404, nothing.content), address
    own = _get(priced, "/v1/drinks/quay-sour/cost", **key)
    assert own["lines"][0]["offer"] == "rum-cellar"
    listed = {entry["id"] for entry in _get(priced, "/v1/menus", **key)["entries"]}
    assert listed == {"evening", "board"}
    assert {entry["id"] for entry in _get(priced, "/v1/venues", **key)["entries"]} == {"cellar", "group"}
    for method, address, body in (
        ("PATCH", "/v1/drinks/quay-sour", {"name": "Mine"}), ("PATCH", "/v1/offers/rum-case", {"code": "X"}),
        ("PATCH", "/v1/venues/group", {"name": "Mine"}), ("DELETE", "/v1/menus/evening", None),
        ("POST", "/v1/ingredients", {"id": "mine", "name": "Mine"}), ("POST", "/v1/offers/rum-case/archive", None),
    ):  # fmt: skip
        sent = {} if body is None else {"json": body}
        assert priced.ask(method, address, headers={**key, "If-Match": "*"}, **sent).status_code == 403, address
    here = {"If-Match": "*", **key}
    assert priced.ask("PATCH", "/v1/offers/rum-cellar", json={"code": "X"}, headers=here).status_code == 200
    away = priced.ask("PATCH", "/v1/offers/rum-cellar", json={"venue": "terrace"}, headers=here)
    assert away.status_code == 403
    trail = _get(priced, "/v1/audit?page_size=100", **key)["rows"]
    assert len(trail) > 15
    assert not [row for row in trail if '"terrace"' in json.dumps(row) or row["kind"] == "keys"]


def test_a_key_of_one_venue_makes_and_sees_keys_of_that_venue_alone(priced: Client) -> None:
    key, free = priced.key("keys:admin", venue="cellar"), priced.key("keys:admin")
    all_ = _get(priced, "/v1/keys", **free)["keys"]
    own = _get(priced, "/v1/keys", **key)["keys"]
    assert {row["venue"] for row in own} == {"cellar"}
    other = next(row["id"] for row in all_ if row["venue"] is None)
    assert priced.get(f"/v1/keys/{other}", headers=key).status_code == 404
    assert priced.ask("DELETE", f"/v1/keys/{other}", headers=key).status_code == 404
    for venue, status in ((None, 403), ("terrace", 403), ("cellar", 201)):
        body = {"name": "More", "scopes": ["costs:read"], "venue": venue}
        assert priced.ask("POST", "/v1/keys", json=body, headers=key).status_code == status


_REPLAY = """
import sys, time_machine, json
from datetime import UTC, datetime
sys.path.insert(0, ".")
from service.settings import Settings
from tests.api.bar import write
from tests.api.conftest import Client
with time_machine.travel(datetime(2026, 11, 25, 12, tzinfo=UTC), tick=False):
    client = Client(Settings(database_url=sys.argv[1]))
    write(client)
    for path in ("/v1/costs?menu=deck", "/v1/labels", "/v1/drinks/quay-sour/evaluation?jurisdiction=EU,GB,US,AU",
                 "/v1/changes/costs", "/v1/changes/labels", "/v1/offers", "/v1/drinks", "/v1/menus/evening"):
        answer = client.get(path)
        print(path, answer.status_code, answer.headers.get("etag"), answer.text)
    client.close()
"""


def test_the_same_bytes_with_every_hash_seed_on_each_backend(new_database: Callable[[str], str]) -> None:
    told = set()
    for seed, backend in itertools.product((1, 2, 3), BACKENDS):
        done = subprocess.run(
            [sys.executable, "-c", _REPLAY, new_database(backend)],
            env={**os.environ, "PYTHONHASHSEED": str(seed)}, capture_output=True, text=True, check=False, timeout=120,
        )  # fmt: skip
        assert done.returncode == 0, done.stderr
        assert done.stdout.count(" 200 ") >= 8
        told.add(done.stdout)
    assert len(told) == 1


def test_a_pricing_that_does_not_fit_the_groups_is_told_and_leaves_labels_alone(priced: Client) -> None:
    pricing = {"target": {"cash_margin": {"amount": "9.00", "currency": "USD"}}}
    body = {"id": "odd-house", "name": "Odd house", "pricing": pricing}
    refused = priced.ask("POST", "/v1/venues", json=body)
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (422, "/pricing")
    keep(priced, "venues", body)  # As before writes were tried out.
    answer = priced.get("/v1/drinks/quay-sour/cost?venue=odd-house")
    assert answer.status_code == 422
    assert [fault["code"] for fault in answer.json()["errors"]] == ["pricing_mixed"]
    assert _get(priced, "/v1/drinks/quay-sour/label?venue=odd-house")["drink"]["id"] == "quay-sour"


def test_the_day_of_an_answer_is_stamped(priced: Client) -> None:
    assert _get(priced, "/v1/drinks/quay-sour/cost")["meta"]["as_of"] == date(2026, 11, 25).isoformat()
    assert priced.get("/v1/drinks/quay-sour/cost?as_of=2026-13-01").status_code == 422
