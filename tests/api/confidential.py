"""Two stores that differ only in prices, and everything that a key for labels can ask of them."""

import itertools
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

import httpx
import time_machine

from service.settings import Settings
from tests.api.bar import Money, write
from tests.api.conftest import Client

SECRET = {"secret": "A" * 43, "prefix": "0123456789ab"}
WRITTEN, CHANGED, ASKED = (datetime(2026, 11, day, 12, tzinfo=UTC) for day in (20, 23, 25))
DEAR = Money(
    factor=7, currency="USD", margin="61", choose="preferred",
    terrace_target={"cash_margin": {"amount": "9.00", "currency": "USD"}},
)  # fmt: skip
"""Other sums, another currency, another choice, and a target that does not even fit the group's currency."""


@dataclass(frozen=True)
class Question:
    """One request; ``again``: asked once more with the ETag of the first answer."""

    method: str
    path: str
    content: bytes | None = None
    headers: tuple[tuple[str, str], ...] = ()


class Twins:
    """A store with low prices that stay, and one with high prices that go on changing."""

    def __init__(self) -> None:
        with time_machine.travel(WRITTEN, tick=False):
            self.one, self.other = Client(Settings()), Client(Settings())
            write(self.one)
            write(self.other, DEAR)
            for client in (self.one, self.other):  # A board with prices for everyone, where the other's pricing is odd.
                entries = [{"drink": drink, "menu_price": "9.00", "section": "All"} for drink in DRINKS[:3]]
                board = {"name": "Chalk", "venue": "terrace", "entries": entries, "prices_public": True}
                _written(client, "PUT", "/v1/menus/chalk", board, status=201)
            self.key = self.one.key("labels:read", **SECRET)
            assert self.other.key("labels:read", **SECRET) == self.key
        with time_machine.travel(CHANGED, tick=False):
            change_prices(self.other)

    def difference(self, asked: Question) -> str | None:
        """What tells the two apart; ``None`` where nothing does."""
        return self.compared(asked)[1]

    def compared(self, asked: Question) -> tuple[httpx.Response, str | None]:
        """The answer of the first store, and what tells it from the other's."""
        one, other = (told(client, self.key, asked) for client in (self.one, self.other))
        if _seen(one) == _seen(other):
            return one, None
        here, there = (str(_seen(one)), str(_seen(other))) if one.content == other.content else (one.text, other.text)
        at = next((place for place, pair in enumerate(zip(here, there, strict=False)) if pair[0] != pair[1]), 0)
        return one, f"{asked}: {here[max(0, at - 80) : at + 80]} / {there[max(0, at - 80) : at + 80]}"

    def move(self, number: int) -> None:
        """Changes prices of the other store alone, between two questions."""
        price = {"price": {"amount": f"{300 + number}.00", "currency": "USD"}}
        _written(self.other, "PATCH", "/v1/offers/rum-case", price)
        entries = self.other.get("/v1/menus/evening").json()["entries"]
        entries = [{**entry, "menu_price": f"{40 + number}.00"} for entry in entries]
        _written(self.other, "PATCH", "/v1/menus/evening", {"entries": entries})

    def close(self) -> None:
        """Ends both."""
        self.one.close()
        self.other.close()


def change_prices(client: Client) -> None:
    """Prices, menu prices and pricing of a store are changed, several times and in several ways."""
    for number in range(3):
        for offer in ("rum-case", "sugar", "fizz", "cordial", "rum-cellar"):
            patch = {"price": {"amount": f"{200 + number}.50", "currency": "EUR"}, "delivery": f"{number}.25",
                     "discount_percent": str(number), "rebate": "0.10", "deposit": None, "preferred": number == 1,
                     "duty": "suspended" if number == 2 else "paid"}  # fmt: skip
            day = "?valid_from=2027-01-01" if number == 2 else ""
            _written(client, "PATCH", f"/v1/offers/{offer}", patch, day)
        for menu in ("evening", "deck"):
            body = client.get(f"/v1/menus/{menu}").json()
            entries = [{**entry, "menu_price": f"{30 + number}.00"} for entry in body["entries"]]
            _written(client, "PATCH", f"/v1/menus/{menu}", {"entries": entries})
        pricing = {
            "allowances": {"over_pour_percent": str(number), "spillage_percent": "2"}, "target": None,
            "tax": {"rate_percent": str(10 + number)}, "labour": {"minutes": 3, "rate_per_hour": "20"},
        }  # fmt: skip
        _written(client, "PATCH", "/v1/venues/group", {"pricing": pricing})
    _written(client, "POST", "/v1/offers/fizz/archive", None)
    _written(client, "POST", "/v1/offers/fizz/reinstate", None)


def _written(client: Client, method: str, path: str, body: Any, query: str = "", *, status: int = 200) -> None:
    headers = {"If-Match": "*"} if method == "PATCH" else {}
    answer = client.ask(method, path + query, headers=headers, **({} if body is None else {"json": body}))
    assert answer.status_code == status, answer.text


def told(client: Client, key: dict[str, str], asked: Question) -> httpx.Response:
    """One store's answer."""
    headers = [*key.items(), ("X-Request-Id", "same"), *asked.headers]
    return client.ask(asked.method, asked.path, content=asked.content, headers=headers)


def _seen(answer: httpx.Response) -> tuple[int, list[tuple[str, str]], bytes]:
    return answer.status_code, sorted(answer.headers.multi_items()), answer.content


DRINKS = ("quay-sour", "pier-punch", "almond-light", "none")
VENUES = ("", "venue=group", "venue=terrace", "venue=cellar", "venue=none")
MENUS = ("", "menu=evening", "menu=deck", "menu=board", "menu=none")
ACCEPTED = ("application/json", "application/ld+json", "text/html", "image/svg+xml", "text/csv", "text/plain")
DAYS = ("", "as_of=2026-11-19", "as_of=2026-11-22", "as_of=2026-11-24", "as_of=2027-02-01", "as_of=2025-01-01")
OTHERS = ("", "currency=EUR", "currency=USD", "currency=ZZZ", "jurisdiction=US", "jurisdiction=EU,GB", "data_version=3",
          "data_version=99", "data_version=0", "cost_version=1", "cost_version=99",
          "with=double", "price=1")  # fmt: skip


def questions() -> Iterator[Question]:
    """Well over two thousand requests that a key for labels may send."""
    yield from (Question("GET", path) for path in _addresses())
    yield from (Question("HEAD", path) for path in itertools.islice(_addresses(), 0, None, 7))
    yield from _evaluations()
    yield from _printed()
    yield from _lines()
    for method, path in itertools.product(("POST", "PUT", "PATCH", "DELETE"), _entries()):
        yield Question(method, path, b"{}" if method != "DELETE" else None, (("If-Match", "*"),))
    for method in ("TRACE", "OPTIONS", "POST"):
        yield from (Question(method, path) for path in ("/v1/labels", "/v1/drinks/quay-sour/label", "/metrics", "/"))


def _addresses() -> Iterator[str]:
    for drink, what in itertools.product(DRINKS, ("label", "evaluation")):
        for venue, menu, day in itertools.islice(itertools.product(VENUES, MENUS, DAYS), 0, None, 3):
            yield _with(f"/v1/drinks/{drink}/{what}", venue, menu, day)
        for other, day in itertools.product(OTHERS, DAYS):
            yield _with(f"/v1/drinks/{drink}/{what}", other, day)
    for venue, menu, other in itertools.product(VENUES, MENUS, OTHERS):
        yield _with("/v1/labels", venue, menu, other)
    for size, day in itertools.product((1, 2, 100, 0), DAYS):
        yield _with("/v1/labels", f"page_size={size}", day)
    for path in _entries():
        yield from (path, path + "/revisions", path + "?fields=price")
    for kind in KINDS:
        for query in ("page_size=1", "page_size=2", "kind=spirit", "text=e", "text=12.00", "text=84", "item=pier-rum",
                      "supplier=quay", "external_id=PLU:1", "archived=only", "archived=include", "sort=price",
                      "page_token=cXVheS1zb3Vy", "page_token=x", "text=currency"):  # fmt: skip
            yield f"/v1/{kind}?{query}"
    for menu, venue, day in itertools.product(("", "menu=deck", "menu=chalk"), VENUES, DAYS):
        yield _with("/v1/allergen-work", menu, venue, day)
    for size, cursor in itertools.product((1, 2, 3, 50, 100, 0), ("", "0.", "3.", "5.quay-sour", "9.x", "99.", "x")):
        yield _with("/v1/changes/labels", f"page_size={size}", cursor and f"cursor={cursor}")
    for path in (
        "/openapi.json", "/docs", "/livez", "/readyz", "/metrics", "/v1/reference/items?text=lime",
        "/v1/reference/items/lime-juice", "/v1/reference/measures", "/v1/reference/jurisdictions",
        "/v1/reference/jurisdictions/EU", "/v1/costs", "/v1/costs?menu=evening", "/v1/changes/costs", "/v1/audit",
        "/v1/access", "/v1/keys", "/v1/keys/none", "/nothing", "/", "/page/page.js", "/page/none.js",
        "/v1/physics/proof?us_proof=80", "/v1/physics/ethanol-density?abv_percent=40&t_c=20",
        "/v1/physics/sucrose-density?brix=50&t_c=20", "/v1/physics/dilution?method=stirred&abv_percent=30",
        "/v1/physics/freezing-point?abv_percent=30&sugars_g_per_100_ml=10", "/v1/price-lists", "/v1/margins",
        "/v1/menus/evening/margins", "/v1/costs/history?from=2026-01-01&to=2026-01-02",
    ):  # fmt: skip
        yield path
    for drink, what in itertools.product(DRINKS, ("cost", "margin", "price", "costs")):
        yield f"/v1/drinks/{drink}/{what}"


KINDS = ("drinks", "menus", "venues", "ingredients", "preparations", "offers", "suppliers")


def _entries() -> Iterator[str]:
    ids = (
        "quay-sour",
        "evening",
        "deck",
        "board",
        "group",
        "terrace",
        "pier-rum",
        "tea-syrup",
        "rum-case",
        "quay",
        "none",
    )
    yield from (f"/v1/{kind}" for kind in KINDS)
    yield from (f"/v1/{kind}/{entry_id}" for kind, entry_id in itertools.product(KINDS, ids))


def _evaluations() -> Iterator[Question]:
    lines = ("pier-rum", "tea-syrup", "odd-cordial", "lime-juice", "none", "sparkling-wine-dry", "rum-cas")
    own = {"id": "rum-case", "item": "pier-rum", "supplier": "Own", "pack": {"size": "700 ml"},
           "price": {"amount": "1.00", "currency": "EUR"}}  # fmt: skip
    variants: tuple[dict[str, Any], ...] = (
        {}, {"include": ["cost", "price"]}, {"include": ["alcohol"]}, {"trace": True}, {"offers": [own]},
        {"pricing": {"currency": "JPY", "menu_price": "9"}},
        {"pricing": {"currency": "EUR", "choose": {"pier-rum": "rum-case"}}},
        {"as_of": "2026-11-19"}, {"offers": [{**own, "price": {"amount": "x", "currency": "EUR"}}]},
    )  # fmt: skip
    for item, more in itertools.product(lines, variants):
        for amount in ("40 ml", "1 oz", "10 g"):
            body: Any = {"drink": {"id": "mine", "name": "Mine", "lines": [{"item": item, "amount": amount}]}, **more}
            yield Question("POST", "/v1/evaluate", _json(body), (("Content-Type", "application/json"),))
    yield from _housed()
    for raw in (b"", b"{", b"[]", b'{"drink": 1}', b"\xff", b'{"a": 1, "a": 2}'):
        yield Question("POST", "/v1/evaluate", raw)


def _printed() -> Iterator[Question]:
    """Labels of drinks and menus in every type that is printed, and the whole menu as one."""
    menus = ("evening", "deck", "board", "chalk", "none")
    for kind, venue, day in itertools.product(ACCEPTED, VENUES[:3], DAYS[::3]):
        accept = (("Accept", kind),)
        yield from (Question("GET", _with(f"/v1/menus/{menu}/label", venue, day), None, accept) for menu in menus)
        yield Question("GET", _with("/v1/drinks/quay-sour/label", venue, day, "serves=4"), None, accept)
        yield Question("GET", _with("/v1/drinks/pier-punch/evaluation", venue, day), None, accept)


def _lines() -> Iterator[Question]:
    """Drinks as lines, and parts to be made."""
    kind = (("Content-Type", "application/x-ndjson"),)
    lines = [{"item": item, "amount": "40 ml"} for item in ("pier-rum", "tea-syrup")]
    for venue in ("group", "terrace", "none"):
        body = {"drink": {"id": "mine", "name": "Mine", "lines": lines}, "venue": venue, "ref": venue}
        yield Question("POST", "/v1/evaluations", _json(body) + b"\n" + _json({**body, "ref": 2}) + b"\n", kind)
        acid = {"kind": "acid_solution", "like": "lime-juice", "acids": [{"item": "citric-acid", "share": 1}]}
        made = {"id": "mine", "name": "Mine", "part": {**acid, "make_ml": 1000}, "venue": venue}
        yield Question("POST", "/v1/make-part", _json(made), (("Content-Type", "application/json"),))


def _housed() -> Iterator[Question]:
    """Specs with a venue on every route that takes one, some with pricing of their own that need not fit it."""
    kind = (("Content-Type", "application/json"),)
    stated: tuple[dict[str, Any], ...] = ({}, {"pricing": {"currency": "USD"}}, {"as_of": "2026-11-19"})
    for drink, venue, more in itertools.product(DRINKS[:3], ("group", "terrace", "cellar", "none"), stated):
        lines = [{"item": item, "amount": "40 ml"} for item in ("pier-rum", "tea-syrup")]
        body: Any = {"drink": {"id": drink, "name": "Mine", "lines": lines}, "venue": venue, **more}
        yield Question("POST", "/v1/evaluate", _json(body), kind)
        if drink == DRINKS[0]:
            swap = {**body, "item": "pier-rum", "by": "vodka-40", "hold": ["ethanol"]}
            goals = {"goals": [{"figure": "sugars_g", "max": 10}], "free": [{"line": 0, "max": 60, "step": 10}]}
            yield Question("POST", "/v1/compare", _json({"drinks": [body, body]}), kind)
            yield Question("POST", "/v1/scale", _json({**body, "to": {"serves": 9}}), kind)
            yield Question("POST", "/v1/substitute", _json(swap), kind)
            if not more:
                yield Question("POST", "/v1/reformulate", _json({**body, **goals}), kind)


def _json(body: object) -> bytes:
    return httpx.Request("POST", "http://bar.test", json=body).content


def _with(path: str, *queries: str) -> str:
    query = "&".join(part for part in queries if part)
    return f"{path}?{query}" if query else path
