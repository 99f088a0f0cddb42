"""A small bar worked by hand: gin at 20.00 a litre, tonic at 2.00, no tax.

Neat is 50 ml of gin, long that and 100 ml of tonic: 1.00 and 1.20 at list price. Arithmetic.
"""

from typing import Any

from service.settings import Settings
from tests.api.conftest import Client

ENTRIES: tuple[tuple[str, dict[str, Any]], ...] = (
    ("venues", {"id": "group", "name": "House", "pricing": {"currency": "EUR"}}),
    ("suppliers", {"id": "quay", "name": "Quay", "currency": "EUR"}),
    ("ingredients", {"id": "gin", "name": "Gin", "kind": "spirit", "abv_percent": "40"}),
    ("ingredients", {"id": "tonic", "name": "Tonic", "kind": "mixer"}),
    ("offers", {"id": "g", "item": "gin", "supplier": "quay", "pack": {"size": "1 l"},
                "price": {"amount": "20.00", "currency": "EUR"}}),
    ("offers", {"id": "t", "item": "tonic", "supplier": "quay", "pack": {"size": "1 l"},
                "price": {"amount": "2.00", "currency": "EUR"}}),
    ("drinks", {"id": "neat", "name": "Neat", "lines": [{"item": "gin", "amount": "50 ml"}]}),
    ("drinks", {"id": "long", "name": "Long", "lines": [
        {"item": "gin", "amount": "50 ml"}, {"item": "tonic", "amount": "100 ml"}]}),
)  # fmt: skip


def bar(*more: tuple[str, dict[str, Any]]) -> Client:
    """The bar, with more entries; the caller closes it."""
    made = Client(Settings())
    for kind, body in (*ENTRIES, *more):
        answer = made.ask("POST", f"/v1/{kind}", json=body)
        assert answer.status_code == 201, answer.text
    return made


def sold(drink: str, quantity: int, gross: str, day: str = "2026-11-25") -> dict[str, str]:
    """One row of sales."""
    return {"drink": drink, "day": day, "quantity": str(quantity), "gross": gross}
