"""Offers, kept items and the choice between offers, as the tests of choosing and costing want them."""

from datetime import date
from decimal import Decimal
from typing import Any

from hypothesis import settings
from hypothesis import strategies as st
from msgspec.structs import replace

from service.choosing import Choice, KeptItem, Offer, Terms, chosen_offer
from tests.campaign import DERANDOMIZED, EXAMPLES

DAY = date(2026, 11, 25)
TERMS = Terms("EUR", DAY)
GATE = settings(max_examples=EXAMPLES, derandomize=DERANDOMIZED, deadline=None)

prices = st.decimals(Decimal("0.01"), 5000, places=2)
percents = st.decimals(0, 99, places=3)
counts = st.integers(1, 24)
sizes = st.decimals(Decimal("0.5"), 20000, places=1)


def offer(
    price: str = "141.00",
    count: str = "6",
    size: str = "700",
    base: str = "ml",
    currency: str = "EUR",
    **more: Any,
) -> Offer:
    """An offer of rum: six bottles of 700 ml at 141.00 EUR unless stated otherwise."""
    facts = {"id": "q1", "item": "rum", "supplier": "Example Quay Supply", **more}
    return Offer(units=Decimal(count), size=Decimal(size), base=base, price=Decimal(price), currency=currency, **facts)


def kept(base: str = "ml", residue_ml: str = "0", **per_base: str) -> KeptItem:
    """Rum as the bar keeps it."""
    factors = {name: Decimal(text) for name, text in per_base.items()}
    return KeptItem("rum", base, factors, Decimal(residue_ml))


def picked(offers: list[Offer], choose: Any = "cheapest", item: KeptItem | None = None) -> Choice:
    """The offer chosen among those of rum."""
    return chosen_offer(offers, item or kept(), replace(TERMS, choose=choose))
