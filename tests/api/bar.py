"""An invented bar as bodies of the stored resources; ``Money`` is all that two of its stores may differ in."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from service.store.ledger import Ledger
from service.store.transaction import Actor
from tests.api.conftest import Client

Body = dict[str, Any]


@dataclass(frozen=True)
class Money:
    """Every sum, rate and choice of the bar that only money depends on."""

    factor: int = 1
    currency: str = "EUR"
    margin: str = "78"
    terrace_target: Any = None
    choose: str = "cheapest"

    def sum(self, units: int) -> Body:
        """A sum of so many units, times the factor."""
        return {"amount": f"{units * self.factor}.00", "currency": self.currency}

    def text(self, units: int) -> str:
        """The same as text."""
        return f"{units * self.factor}.00"


def entries(money: Money = Money()) -> Iterator[tuple[str, Body]]:
    """Kind and body of each entry, in an order in which all of them can be written."""
    yield from _venues(money)
    for supplier in ("quay", "pier"):
        yield "suppliers", {"id": supplier, "name": f"Example {supplier.title()} Supply"}
    yield "ingredients", {
        "id": "pier-rum", "name": "Pier rum", "kind": "spirit", "abv_percent": "46", "process": ["distilled"],
        "allergens": {}, "allergens_declared": "complete", "external_ids": ["PLU:46"],
    }  # fmt: skip
    yield "ingredients", {"id": "odd-cordial", "name": "Odd cordial", "kind": "syrup"}
    yield "preparations", {
        "id": "tea-syrup", "name": "Tea syrup", "lines": [
            {"item": "white-sugar", "amount": "500 g"}, {"item": "water", "amount": "500 g"},
            {"item": "black-tea-leaf", "amount": "20 g", "strained_out": True, "absorbs_ml": 40}],
        "yield": {"loss_percent": "4"}, "shelf_life_days": 14, "storage": "chilled",
    }  # fmt: skip
    yield from _offers(money)
    yield "drinks", _drink("quay-sour", "Quay Sour", "pier-rum", "tea-syrup", "lime-juice", external_ids=["PLU:1"])
    yield "drinks", _drink("pier-punch", "Pier Punch", "pier-rum", "odd-cordial", "sparkling-wine-dry")
    yield "drinks", _drink("almond-light", "Almond Light", "orgeat", "lime-juice", "egg-white")
    for menu, venue, public in (("evening", None, False), ("deck", "terrace", False), ("board", "cellar", True)):
        lines = [
            {"drink": drink, "section": "All", **({} if public else {"menu_price": money.text(12 + number)})}
            for number, drink in enumerate(("quay-sour", "pier-punch", "almond-light"))
        ]
        where = {} if venue is None else {"venue": venue}
        yield "menus", {"id": menu, "name": menu.title(), "entries": lines, "prices_public": public, **where}


def _venues(money: Money) -> Iterator[tuple[str, Body]]:
    yield "venues", {
        "id": "group", "name": "All houses", "jurisdictions": ["EU", "GB"],
        "pricing": {
            "currency": "EUR", "target": {"gross_margin_percent": money.margin}, "choose": money.choose,
            "tax": {"rate_percent": "21", "included": True}, "round": {"to": "0.50", "mode": "up"},
            "allowances": {"over_pour_percent": "3", "spillage_percent": "1"},
            "rates": [{"from": "USD", "to": "EUR", "rate": "0.9"}],
        },
        "house": {"sold_as": "poured", "max_standard_drinks": 3},
    }  # fmt: skip
    terrace: Body = {"tax": {"rate_percent": "9", "included": True}}
    if money.terrace_target is not None:
        terrace["target"] = money.terrace_target
    yield "venues", {"id": "terrace", "name": "Terrace", "jurisdictions": ["US"], "pricing": terrace}
    yield "venues", {"id": "cellar", "name": "Cellar", "measures": {"ounce": "imperial"}}


def _offers(money: Money) -> Iterator[tuple[str, Body]]:
    def offer(entry_id: str, item: str, units: int, size: str, **more: Any) -> tuple[str, Body]:
        return "offers", {
            "id": entry_id, "item": item, "supplier": "quay", "pack": {"size": size}, "price": money.sum(units), **more
        }  # fmt: skip

    yield offer(
        "rum-case", "pier-rum", 141, "700 ml", pack={"count": 6, "size": "700 ml"}, delivery=money.text(2),
        discount_percent=str(2 * money.factor), gtin="9520123456788", code="R-46",
    )  # fmt: skip
    yield offer("rum-cellar", "pier-rum", 30, "700 ml", venue="cellar", supplier="pier")
    yield offer("sugar", "white-sugar", 2, "1 kg", deposit=money.text(1), rebate=money.text(1))
    yield offer("tea", "black-tea-leaf", 30, "1 kg")
    yield offer("lime", "lime", 1, "1 each")
    yield offer("cordial", "odd-cordial", 7, "1 l")
    yield offer("fizz", "sparkling-wine-dry", 9, "750 ml", valid_from="2026-01-01", valid_to="2027-12-31")


def _drink(entry_id: str, name: str, *items: str, **more: Any) -> Body:
    amounts = ("50 ml", "15 ml", "20 ml")
    lines = [{"item": item, "amount": amount} for item, amount in zip(items, amounts, strict=True)]
    return {"id": entry_id, "name": name, "lines": lines, "method": {"kind": "shaken"},
            "serve": {"glass_ml": 180, "ice": {"kind": "none"}}, **more}  # fmt: skip


def write(client: Client, money: Money = Money()) -> None:
    """Writes the whole bar; a venue whose target does not fit is kept as before writes were tried out."""
    for kind, body in entries(money):
        if body["id"] == "terrace" and money.terrace_target is not None:
            keep(client, kind, body)
            continue
        answer = client.ask("POST", f"/v1/{kind}", json=body)
        assert answer.status_code == 201, (kind, body["id"], answer.text)


def keep(client: Client, kind: str, body: Body) -> None:
    """Puts an entry into the store without trying it out."""
    state = client.app.state
    with state.store.writing() as connection:
        ledger = Ledger(connection, Actor("of a test", "of a test"), datetime.now(UTC), state.embedded)
        ledger.put(kind, body)
        ledger.close()
