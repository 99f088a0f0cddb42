"""50,000 rows within a minute in memory that does not grow with them."""

import json
import time
import tracemalloc
from collections.abc import Iterator
from decimal import Decimal

import pytest

from schemas.price_list import ROWS
from service.suppliers.current import CurrentOffer
from service.suppliers.price_list import PriceList, Tally
from tests.suppliers.lists import CSV, HEADER, ITEMS, JSON, XLSX, options, xlsx_of

COUNT = 50_000


def rows(count: int = COUNT) -> Iterator[tuple[str, str, str, str, str]]:
    for number in range(count):
        yield f"A-{number}", "", f"Gin of pier {number}", "6x70cl", f"{100 + number % 7}.50"


def offers() -> Iterator[CurrentOffer]:
    """An offer for every second row."""
    for number in range(0, COUNT, 2):
        yield CurrentOffer(f"a-{number}", "gin", f"A-{number}", None, None, 6, "70 cl", Decimal("101.50"), "EUR")


def as_csv(count: int = COUNT) -> bytes:
    return "\n".join(",".join(row) for row in (HEADER, *rows(count))).encode()


def as_json() -> bytes:
    return json.dumps([dict(zip(HEADER, row, strict=True)) for row in rows()]).encode()


def read(data: bytes, media_type: str) -> Tally:
    found = PriceList(data, media_type, options(items={}), offers(), ITEMS.get, {"gin": "Gin of the pier"})
    tally = Tally()
    for judged in found.judged():
        tally.add(judged)
    return tally


@pytest.mark.parametrize(
    ("make", "media_type"),
    [(as_csv, CSV), (as_json, JSON), (lambda: xlsx_of(HEADER, *rows()), XLSX)],
    ids=["csv", "json", "xlsx"],
)
def test_a_list_of_the_largest_size_is_read_within_a_minute(make: object, media_type: str) -> None:
    assert COUNT == ROWS
    data = make()  # type: ignore[operator]  # one of the three above
    start = time.perf_counter()
    tally = read(data, media_type)
    assert time.perf_counter() - start < 60
    # Prices are 100.50 to 106.50 in turn and the offers 101.50: even numbers are offers, odd ones unknown articles.
    changed = [(100 + number % 7) - 101 for number in range(0, COUNT, 2)]
    assert tally.counts["refused"] == COUNT // 2
    assert tally.counts["unchanged"] == sum(step == 0 for step in changed)
    assert tally.counts["down"] == sum(step < 0 for step in changed)
    assert tally.counts["up"] == sum(step > 0 for step in changed)


def test_judging_keeps_no_row() -> None:
    """Only ids of offers that were met stay: 10,000 of at most 200 bytes, where the rows themselves are 20 MB."""
    found = PriceList(as_csv(20_000), CSV, options(items={}), offers(), ITEMS.get)
    tracemalloc.start()
    try:
        for _ in found.judged():
            pass
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert peak < 5_000_000


def test_the_first_pass_keeps_codes_alone() -> None:
    """A list of 40 MB whose names are long takes what its 10,000 codes take, at most 400 bytes each, and one row."""
    name = "x" * 4_000
    data = "\n".join([",".join(HEADER), *(f"A-{number},,{name},6x70cl,100.50" for number in range(10_000))]).encode()
    tracemalloc.start()
    try:
        PriceList(data, CSV, options(items={}), (), ITEMS.get)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert len(data) > 40_000_000
    assert peak < 6_000_000
