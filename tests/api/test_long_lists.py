"""The memory that a price list takes does not grow with its rows, nor with the offers that its supplier has.

A list of a few pages and one of several times its rows are read and taken in, first as new offers, then with every
price changed; the peaks of what Python allocates are compared (tracemalloc). ``WASHLINE_ROUNDS`` multiplies the rows.
"""

import gc
import json
import os
import tracemalloc
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from schemas.price_list import ROWS
from service import temporary
from service.api import list_reading
from service.settings import Settings
from service.store import offer_batches, offers_then
from service.store.offer_batches import OfferBatches
from service.suppliers import price_list, spool, workings
from service.suppliers.judging import Judge
from tests.api.conftest import Client
from tests.databases import BACKENDS

FACTOR = int(os.environ.get("WASHLINE_ROUNDS", "1"))
FEW = 400
MANY = min(1600 * FACTOR, ROWS)
PAGE = 100
HELD_BYTES = 16_384
"""Rows that are held at once in this test, and bytes from which what waits does so on disk: short lists get there."""
A_ROW_BYTES = 40
"""Less than it takes to hold the code of each row: a text of 6 letters is 55 bytes (CPython, sys.getsizeof)."""
SUPPLIER = {
    "name": "Example Quay", "currency": "EUR",
    "price_list": {"mapping": {"code": "c", "gtin": "g", "name": "n", "item": "i", "pack": "k", "price": "p"}},
}  # fmt: skip


@pytest.fixture(params=BACKENDS if FACTOR > 1 else BACKENDS[:1])
def house(
    request: pytest.FixtureRequest, new_database: Callable[[str], str], monkeypatch: pytest.MonkeyPatch
) -> Iterator[Client]:
    """An empty house: in the file of its own, in the long form on each store."""
    monkeypatch.setattr(temporary, "_IN_MEMORY", HELD_BYTES)
    pages = {list_reading: "_PAGE", offer_batches: "_BATCH", offers_then: "_AT_ONCE", price_list: "_PAGE"}
    for module, name in (pages | {spool: "_BATCH", workings: "_BATCH"}).items():
        monkeypatch.setattr(module, name, PAGE)
    made = Client(Settings(demo=False, database_url=new_database(request.param)))
    for owner, name in ((Judge, "look_up"), (OfferBatches, "_put_batch")):
        monkeypatch.setattr(owner, name, after_collection(getattr(owner, name)))
    yield made
    made.close()


def after_collection(step: Callable[..., Any]) -> Callable[..., Any]:
    """The step of each page, garbage taken away before it: that is no memory that is held."""

    def collected(*given: Any) -> Any:
        gc.collect()
        return step(*given)

    return collected


def test_memory_does_not_grow_with_the_rows(house: Client) -> None:
    peaks_of(house, "lime", 100)  # What is made once, such as models and statements, is made.
    few, many = peaks_of(house, "raspberry", FEW), peaks_of(house, "white-sugar", MANY)
    grown = {step: round((many[step] - few[step]) / (MANY - FEW)) for step in few}
    assert all(one < A_ROW_BYTES for one in grown.values()), grown


def peaks_of(house: Client, item: str, rows: int) -> dict[str, int]:
    """The most bytes that each step held beside what was there before it; each item has a supplier of its own."""
    supplier = f"of-{item}"
    answer = house.ask("PUT", f"/v1/suppliers/{supplier}", json={"id": supplier, **SUPPLIER, "name": supplier})
    assert answer.status_code == 201, answer.text
    found = {}
    for what, cents, counts in (("new", 0, {"new": rows}), ("changed", 49, {"up": rows})):
        data = list_of(item, rows, cents)
        headers = {"Content-Type": "text/csv"}
        tracemalloc.start()
        try:
            read = house.ask("POST", "/v1/price-lists", params={"supplier": supplier}, content=data, headers=headers)
            found[f"{what}, read"] = tracemalloc.get_traced_memory()[1]
            told = json.loads(read.content)
            del read
        finally:
            tracemalloc.stop()
        assert {name: count for name, count in told["counts"].items() if count} == counts
        tracemalloc.start()
        try:
            done = house.ask("POST", f"/v1/price-lists/{told['id']}/commit", json={})
            found[f"{what}, taken in"] = tracemalloc.get_traced_memory()[1]
        finally:
            tracemalloc.stop()
        assert (done.status_code, done.json()["state"]) == (200, "committed")
    return found


def list_of(item: str, rows: int, cents: int) -> bytes:
    """A list whose prices other ``cents`` raise a little."""
    lines = ["c;g;n;i;k;p"]
    for number in range(rows):
        price = f"{20 + number % 80}.{cents + number % 50:02}"
        lines.append(f"A{number:05};{gtin_of(number)};Article {number};{item};1 x 5 kg;{price}")
    return "\n".join(lines).encode()


def gtin_of(number: int) -> str:
    """A GTIN-13 of the range for demonstrations, 952, with its check digit (GS1 General Specifications, 7.9: weights 3
    and 1 in turn from the right)."""
    digits = f"952{number:09}"
    total = sum(int(digit) * (3 if place % 2 == 0 else 1) for place, digit in enumerate(reversed(digits)))
    return f"{digits}{-total % 10}"
