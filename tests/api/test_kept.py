"""An answer that is kept is sent again only to whoever may have it, and no longer than it is right."""

import json
from collections.abc import Iterator

import pytest

from service.settings import Settings
from service.store.keys import new_key
from tests.api.conftest import Client

LABEL = "/v1/drinks/house-gin/label"
COST = "/v1/drinks/house-gin/cost"


def offer(price: str) -> dict[str, object]:
    """The house's gin at a price for 700 ml."""
    return {
        "id": "gin", "item": "gin", "supplier": "quay", "pack": {"count": 1, "size": "700 ml"},
        "price": {"amount": price, "currency": "EUR"},
    }  # fmt: skip


@pytest.fixture
def bar() -> Iterator[Client]:
    """A service with one drink of 50 ml and its one offer."""
    made = Client(Settings())
    gin = {"id": "gin", "name": "Harbour gin", "kind": "spirit", "abv_percent": 40, "allergens_declared": "complete"}
    drink = {"id": "house-gin", "name": "House gin", "lines": [{"item": "gin", "amount": "50 ml"}]}
    for kind, body in (
        ("suppliers", {"id": "quay", "name": "Quay"}), ("ingredients", gin), ("offers", offer("14.00")),
        ("drinks", drink), ("venues", {"id": "group", "name": "Group", "pricing": {"currency": "EUR"}}),
    ):  # fmt: skip
        answer = made.ask("PUT", f"/v1/{kind}/{body['id']}", json=body)
        assert answer.status_code == 201, answer.text
    yield made
    made.close()
    made.app.state.store.close()


def key_with(bar: Client, *scopes: str) -> dict[str, str]:
    """The header of a new key."""
    with bar.app.state.store.writing() as connection:
        return {"Authorization": f"Bearer {new_key(connection, 'test', scopes, None, None)[1]}"}


def test_it_is_the_same_answer_with_its_tag(bar: Client) -> None:
    first, second = bar.get(LABEL), bar.get(LABEL)
    assert first.status_code == second.status_code == 200
    assert second.content == first.content
    named = ("etag", "content-type", "content-language", "vary", "cache-control")
    assert [second.headers[name] for name in named] == [first.headers[name] for name in named]
    held = bar.get(LABEL, headers={"If-None-Match": first.headers["etag"]})
    assert (held.status_code, held.content) == (304, b"")  # RFC 9110, 15.4.5
    assert held.headers["etag"] == first.headers["etag"]
    assert "content-type" not in held.headers
    assert bar.get(LABEL, headers={"If-None-Match": '"other"'}).content == first.content


def test_a_change_of_price_is_seen_in_the_cost(bar: Client) -> None:
    # Arithmetic: 50 of 700 ml at 14.00 is 1.00; at 28.00 it is 2.00.
    for price, pour_cost in (("14.00", "1.00"), ("28.00", "2.00")):
        etag = bar.get("/v1/offers/gin").headers["etag"]
        assert bar.ask("PUT", "/v1/offers/gin", json=offer(price), headers={"If-Match": etag}).status_code == 200
        for _ in range(2):
            assert float(bar.get(COST).json()["cost"]["pour_cost"]) == float(pour_cost)


def test_a_key_without_the_scope_is_refused_what_is_kept(bar: Client) -> None:
    allowed, other = key_with(bar, "costs:read"), key_with(bar, "labels:read")
    assert [bar.get(COST, headers=allowed).status_code for _ in range(2)] == [200, 200]
    assert bar.get(COST, headers=other).status_code == 403


def test_each_question_has_its_own_answer(bar: Client) -> None:
    languages = []
    for headers in ([("Accept-Language", "fr")], [("Accept-Language", "xx"), ("Accept-Language", "fr")], []):
        for _ in range(2):
            languages.append(bar.get(LABEL, headers=headers).headers["content-language"])
    assert languages == ["fr", "fr", "fr", "fr", "en", "en"]  # RFC 9110, 5.3: two lines are one list
    plain = bar.get(LABEL).json()
    assert bar.get(LABEL, params={"jurisdiction": "US"}).json() != plain
    assert bar.get(LABEL, params={"no_such": "1"}).status_code == 422
    assert json.loads(bar.get(LABEL).content) == plain
