"""What may come between the reading of a price list and its commit, and lists that would give one id twice."""

from collections.abc import Callable, Iterator
from typing import Any

import httpx
import pytest

from service.settings import Settings
from tests.api.bar import write
from tests.api.conftest import Client

LIST = "Code,Name,Pack,Price,Item\nG1,Pier rum,6x70cl,{price},pier-rum\n"
MAPPING = {"code": "Code", "name": "Name", "pack": "Pack", "price": "Price", "item": "Item"}
SETTINGS = {"currency": "EUR", "price_list": {"mapping": MAPPING, "offer_prefix": "xy"}}
"""Of two suppliers: their offers would be called alike."""


@pytest.fixture(params=["sqlite", "postgresql"])
def shared(request: pytest.FixtureRequest, new_database: Callable[[str], str]) -> Iterator[Client]:
    """Two suppliers that ask for the same ids, on each store."""
    made = Client(Settings(database_url=new_database(request.param)))
    write(made)
    for supplier in ("quay", "pier"):
        answer = made.ask("PATCH", f"/v1/suppliers/{supplier}", json=SETTINGS, headers={"If-Match": "*"})
        assert answer.status_code == 200, answer.text
    yield made
    made.close()


def _sent(client: Client, supplier: str, price: str, key: str | None = None, **query: str) -> httpx.Response:
    headers = {"Content-Type": "text/csv"} | ({} if key is None else {"Idempotency-Key": key})
    asked, text = {"supplier": supplier, **query}, LIST.format(price=price)
    return client.ask("POST", "/v1/price-lists", params=asked, content=text.encode(), headers=headers)


def _read(client: Client, supplier: str, price: str) -> str:
    answer = _sent(client, supplier, price)
    assert answer.status_code == 201, answer.text
    return str(answer.json()["id"])


def _committed(client: Client, list_id: str) -> tuple[int, str]:
    answer = client.ask("POST", f"/v1/price-lists/{list_id}/commit", json={})
    return answer.status_code, answer.json().get("type", answer.json().get("state"))


def _offer(client: Client) -> tuple[str, str]:
    body: dict[str, Any] = client.get("/v1/offers/xy-g1").json()
    return body["supplier"], body["price"]["amount"]


def test_a_list_never_takes_another_suppliers_offer(shared: Client) -> None:
    first, second = _read(shared, "pier", "100.00"), _read(shared, "quay", "200.00")
    assert _committed(shared, first) == (200, "committed")
    assert _committed(shared, second) == (409, "urn:washline:problem:id-taken")
    assert _offer(shared) == ("pier", "100.00")
    assert _committed(shared, _read(shared, "quay", "200.00")) == (200, "committed")  # Now under an id of its own.
    assert _offer(shared) == ("pier", "100.00")


def test_a_list_is_stale_once_an_offer_of_its_supplier_has_become_anothers(shared: Client) -> None:
    assert _committed(shared, _read(shared, "quay", "100.00")) == (200, "committed")
    dearer = _read(shared, "quay", "105.00")
    moved = shared.ask("PATCH", "/v1/offers/xy-g1", json={"supplier": "pier"}, headers={"If-Match": "*"})
    assert moved.status_code == 200, moved.text
    assert _committed(shared, dearer) == (409, "urn:washline:problem:changed-meanwhile")
    assert _offer(shared) == ("pier", "100.00")


def test_a_list_that_is_sent_again_is_the_same_and_one_that_is_read_otherwise_is_refused(shared: Client) -> None:
    first, again = (_sent(shared, "quay", "100.00", "k", valid_from="2027-01-01") for _ in range(2))
    assert (first.status_code, again.content) == (201, first.content)
    other = _sent(shared, "quay", "100.00", "k", valid_from="2027-05-01")
    assert (other.status_code, other.json()["type"]) == (422, "urn:washline:problem:idempotency-key-reused")
