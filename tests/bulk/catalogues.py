"""Random catalogues and drinks: items of the reference, parts of parts, packs, offers in other bases, gaps."""

import random
from datetime import date
from typing import Any

from msgspec.structs import replace

from schemas.evaluation import EvaluationRequest
from schemas.offer import Offer
from schemas.preparation import Preparation
from service.amounts import Measures
from service.evaluate import Evaluation, evaluate
from service.lookup import Catalogue
from service.offers import offers_by_item
from service.reference import reference

DAY = date(2026, 11, 25)
SPIRITS = ("gin-47", "bourbon-45", "white-rum-40", "vodka-40", "sweet-vermouth", "dry-vermouth")
ITEMS = ("lime-juice", "lemon-juice", "white-sugar", "egg-white", "sparkling-wine-dry", "gin-47", "mint-syrup",
         "bourbon-45", "black-tea-leaf", "citric-acid", "raspberry", "white-wine-vinegar", "water", "mint")  # fmt: skip
POURED = (
    "lime-juice",
    "lemon-juice",
    "gin-47",
    "bourbon-45",
    "sparkling-wine-dry",
    "mint-syrup",
    "egg-white",
    "water",
)
FRUIT = ("lime", "lemon")
SIZES = ("700 ml", "750 ml", "1 l", "500 ml", "330 ml", "19.5 l", "70 cl")
MASSES = ("1 kg", "500 g", "250 g", "2.5 kg")
AMOUNTS = ("20 ml", "22.5 ml", "45 ml", "60 ml", "1 oz", "3/4 oz", "2 dashes", "1 barspoon", "7 ml", "33.3 ml")


def offer(chance: random.Random, number: int, item: str) -> dict[str, Any]:
    """An offer of an item, by volume, mass or piece as it is sold."""
    size = chance.choice(SIZES if item in POURED else ("1 each", "10 each") if item in FRUIT else MASSES)
    currency = chance.choice(("EUR", "EUR", "GBP"))
    body: dict[str, Any] = {
        "id": f"q{number}", "item": item, "supplier": chance.choice(("Pier Supply", "Quay Supply")),
        "pack": {"count": chance.choice((1, 6, 12, 24)), "size": size},
        "price": {"amount": f"{chance.randrange(100, 40_000) / 100:.2f}", "currency": currency},
        "preferred": chance.random() < 0.2,
    }  # fmt: skip
    if chance.random() < 0.2:
        body |= {"tax_included": True, "tax_rate_percent": chance.choice(("20", "19", "5.5", "25.5"))}
    if chance.random() < 0.2:
        body["discount_percent"] = chance.choice(("2", "3.5", "12.5"))
    if chance.random() < 0.1:
        body["free_units"] = 1
    if chance.random() < 0.03:
        body["duty"] = "suspended"
    if chance.random() < 0.2:
        body["valid_from"] = chance.choice(("2026-01-01", "2026-12-01"))
    return body


def offers(chance: random.Random) -> list[Offer]:
    """None to three offers of each item."""
    rows = [item for item in (*ITEMS, *FRUIT) for _ in range(chance.choice((1, 1, 1, 1, 2, 2, 2, 3, 3, 0)))]
    return [Offer.model_validate(offer(chance, number, item)) for number, item in enumerate(rows)]


def parts(chance: random.Random) -> dict[str, Preparation]:
    """Parts in two levels, with a measured or a computed yield."""
    made = {}
    for number in range(8):
        lines: list[dict[str, Any]] = [
            {"item": "white-sugar", "amount": f"{chance.randrange(200, 700)} g"},
            {"item": "water", "amount": f"{chance.randrange(200, 700)} g"},
            {"item": chance.choice(("lime-juice", "gin-47", "mint-syrup")), "amount": "2 oz"},
        ]  # fmt: skip
        if number > 3:
            lines.append({"item": f"part-{chance.randrange(4)}", "amount": "120 ml"})
        body: dict[str, Any] = {"id": f"part-{number}", "name": f"Part {number}", "lines": lines}
        if chance.random() < 0.5:
            body["yield"] = {"loss_percent": "4"}
        made[f"part-{number}"] = Preparation.model_validate(body)
    return made


def catalogue(made: dict[str, Preparation], priced: list[Offer]) -> Catalogue:
    """Parts and offers as a store holds them."""
    read = offers_by_item(priced, Measures())
    return Catalogue({}, made, {item: tuple(replace(row, pointer="") for row in rows) for item, rows in read.items()})


def drink(chance: random.Random, number: int, choose: Any = "cheapest") -> EvaluationRequest:
    """A drink of up to eight lines with its pricing, whose sections are its cost alone."""
    lines = []
    for _ in range(chance.randrange(1, 8)):
        ref = f"part-{chance.randrange(8)}" if chance.random() < 0.3 else chance.choice(POURED)
        lines.append({"item": ref, "amount": chance.choice(AMOUNTS)})
    if chance.random() < 0.3:
        lines.append({"item": chance.choice(("mint", "raspberry", "lime")), "amount": "3 g", "role": "garnish"})
    if chance.random() < 0.1:
        lines.append({"item": "sparkling-wine-dry", "amount": "200 ml", "charge": "whole_unit"})
    pricing = {
        "currency": "EUR", "choose": choose, "rates": [{"from": "GBP", "to": "EUR", "rate": "1.1523"}],
        "allowances": {"over_pour_percent": chance.choice(("0", "2", "3.5")), "spillage_percent": "1"},
    }  # fmt: skip
    body = {
        "drink": {"id": f"d{number}", "name": "D", "serves": chance.choice((1, 1, 1, 4)), "lines": lines,
                  "method": {"kind": chance.choice(("shaken", "stirred", "built"))}},
        "pricing": pricing, "include": ["cost"], "jurisdictions": ["EU"],
    }  # fmt: skip
    return EvaluationRequest.model_validate(body)


def evaluated(request: EvaluationRequest, held: Catalogue) -> Evaluation:
    """The single evaluation."""
    return evaluate(request, DAY, ["EU"], reference(), held)
