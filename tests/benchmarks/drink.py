"""Request bodies of the benches: invented drinks of generic items, whose items are in the embedded reference."""

import json
from collections.abc import Sequence
from datetime import date
from typing import Any

DAY = date(2026, 11, 25)
"""The day of every body, so that the same body has the same answer."""

SUPPLIER = "Example Quay Supply"
PACKS = {
    "aromatic-bitters": ("200 ml", "14.20"),
    "black-tea-leaf": ("1 kg", "28.00"),
    "cask-gin-44": ("700 ml", "22.40"),
    "citric-acid": ("1 kg", "9.75"),
    "lime": ("1 each", "0.32"),
    "raspberry": ("500 g", "6.10"),
    "soda-water": ("200 ml", "0.42"),
    "vermouth-sweet": ("750 ml", "8.90"),
    "white-sugar": ("1 kg", "1.15"),
    "white-wine-vinegar": ("1 l", "3.05"),
}
PRICING = {
    "currency": "EUR",
    "target": {"gross_margin_percent": "78"},
    "tax": {"rate_percent": "21", "included": True},
    "round": {"to": "0.50", "mode": "up"},
    "allowances": {"over_pour_percent": "3", "spillage_percent": "1"},
    "labour": {"minutes": "2.5", "rate_per_hour": "16.00"},
    "menu_price": "13.00",
}
SECTIONS = ("cost", "price", "alcohol", "nutrition", "allergens", "balance")


VARIANTS = 16
"""Bodies that are asked for in turns, so that nothing kept from the last answer makes the next one cheap."""


def bench_drinks() -> tuple[bytes, ...]:
    """The drink that the goals are stated for, in :data:`VARIANTS` that differ in amounts and prices."""
    return tuple(bench_drink(variant) for variant in range(VARIANTS))


def bench_drink(variant: int = 0) -> bytes:
    """The drink that the goals are stated for.

    3.4 kB: 8 lines, 2 parts of 5 lines, 10 offers, two jurisdictions, everything included, no trace.
    """
    lines = [
        {"item": "cask-gin-44", "amount": f"{40 + variant} ml"},
        {"item": "vermouth-sweet", "amount": "20 ml"},
        {"item": "tea-cordial", "amount": "15 ml"},
        {"item": "berry-shrub", "amount": "10 ml"},
        {"item": "lime-juice", "amount": "3/4 oz (22.5 ml)"},
        {"item": "aromatic-bitters", "amount": {"value": "2", "unit": "dash"}},
        {"item": "soda-water", "amount": "60 ml", "role": "top"},
        {"item": "lime", "amount": "1 wheel", "role": "garnish"},
    ]
    cordial = [
        {"item": "white-sugar", "amount": f"{500 + variant} g"},
        {"item": "water", "amount": "500 g"},
        {"item": "black-tea-leaf", "amount": "20 g", "strained_out": True, "absorbs_ml": 40},
        {"item": "citric-acid", "amount": "8 g"},
        {"item": "lime-juice", "amount": "30 ml"},
    ]
    shrub = [
        {"item": "raspberry", "amount": f"{300 + variant} g", "strained_out": True},
        {"item": "white-sugar", "amount": "300 g"},
        {"item": "white-wine-vinegar", "amount": "200 ml"},
        {"item": "water", "amount": "150 g"},
        {"item": "cask-gin-44", "amount": "30 ml"},
    ]
    gin = {
        "id": "cask-gin-44", "name": "Cask-rested gin, 44 %", "kind": "spirit", "abv_percent": 44,
        "process": ["distilled"], "allergens": {}, "allergens_declared": "complete",
    }  # fmt: skip
    parts = [part("tea-cordial", "Tea cordial", cordial), part("berry-shrub", "Berry shrub", shrub)]
    offers = [
        offer(number, item, size, f"{price}{variant:02}") for number, (item, (size, price)) in enumerate(PACKS.items())
    ]
    return body(lines, parts, offers, [gin])


def part(part_id: str, name: str, lines: Sequence[Any]) -> dict[str, Any]:
    """A house-made part with a loss and a shelf life."""
    return {
        "id": part_id, "name": name, "lines": lines, "yield": {"loss_percent": "4"}, "shelf_life_days": 14,
        "storage": "chilled",
    }  # fmt: skip


def offer(number: int, item: str, size: str, price: str) -> dict[str, Any]:
    """An offer for one unit of ``size``."""
    return {
        "id": f"q{number}", "item": item, "supplier": SUPPLIER, "code": f"A{number}",
        "pack": {"count": 1, "size": size}, "price": {"amount": price, "currency": "EUR"},
    }  # fmt: skip


def body(lines: Sequence[Any], parts: Sequence[Any], offers: Sequence[Any], ingredients: Sequence[Any] = ()) -> bytes:
    """A body with everything included, in two jurisdictions, on a fixed day."""
    document = {
        "drink": {
            "id": "bench-drink", "name": "Signal lamp", "serves": 1, "lines": lines, "method": {"kind": "shaken"},
            "serve": {"glass_ml": 400, "ice": {"kind": "cubes", "ice_g": 120}},
        },
        "ingredients": ingredients, "preparations": parts, "offers": offers, "pricing": PRICING,
        "measures": {"ounce": "us"}, "jurisdictions": ["EU", "US"], "as_of": DAY.isoformat(), "include": SECTIONS,
        "trace": False,
    }  # fmt: skip
    return json.dumps(document, ensure_ascii=False, separators=(",", ":")).encode()
