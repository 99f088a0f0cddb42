"""The worked cases of tests/cases/margins.toml, and rows of what sold for tests."""

import tomllib
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

from service.margins.sales import Key, NetSale, Sale, net_sale
from service.margins.statement import Figures
from service.money import ZERO
from service.pricing import NO_TAX

DAY = date(2026, 11, 14)
_FILE = Path(__file__).parents[1] / "cases" / "margins.toml"
CASES: dict[str, list[dict[str, Any]]] = tomllib.loads(_FILE.read_text(encoding="utf-8"))


def of(kind: str) -> list[Any]:
    """The cases of one kind, with their names as ids of the test."""
    import pytest

    return [pytest.param(case, id=case["name"]) for case in CASES[kind]]


def sale(drink: str, quantity: str, gross: str, day: date = DAY, **more: Any) -> Sale:
    """One row of what sold."""
    words = ("channel", "tax_class", "with_")
    figures: dict[str, Any] = {name: one if name in words else Decimal(one) for name, one in more.items()}
    return Sale(1, day, drink, Decimal(quantity), Decimal(gross), **figures)


def net(row: Sale) -> NetSale:
    """The row in net money, where there is no tax and no channel."""
    return net_sale(row, {None: NO_TAX}, {})


def key(drink: str) -> Key:
    """A drink without modifiers."""
    return drink, ()


def figures(quantity: str, net_: str, cost: str) -> Figures:
    """Figures of a drink of which nothing but these is known."""
    return Figures(quantity=Decimal(quantity), net=Decimal(net_), pour_cost=Decimal(cost), gross=ZERO)
