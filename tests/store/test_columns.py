"""Exact decimals come back digit for digit from both databases."""

from decimal import Decimal

import pytest
from sqlalchemy import select

from service.store.store import Store
from service.store.tables import REVISIONS
from tests.store.written import offer, put

# NUMERIC(27, 12): 15 digits before the point, 12 after it. Neither fits a binary double of 53 bits (IEEE 754).
EXACT = ("12345678.123456789012", "999999999999999.999999999999", "0.000000000001", "0.10", "100", "1E+3", "0")


@pytest.mark.parametrize("text", EXACT)
def test_a_price_comes_back_exactly(store: Store, text: str) -> None:
    put(store, "suppliers", {"id": "quay", "name": "Quay"})
    put(store, "offers", offer("o", "water", text))
    with store.reading() as connection:
        found = connection.execute(select(REVISIONS.c.price).where(REVISIONS.c.kind == "offers")).scalar_one()
    assert isinstance(found, Decimal)
    assert found == Decimal(text)


def test_no_price_stays_no_price(store: Store) -> None:
    put(store, "suppliers", {"id": "quay", "name": "Quay"})
    with store.reading() as connection:
        assert connection.execute(select(REVISIONS.c.price)).scalar_one() is None
