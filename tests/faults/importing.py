"""A client that takes in price lists without pause, and one that reads: every list has one price for all its offers."""

import threading
import time
from dataclasses import dataclass, field
from decimal import Decimal

from tests.faults.running import Client, Lost

ROWS = 20
FIRST = 1000
ITEMS = ("soda-water", "lime-juice")
"""Sold in turns by the litre, so that 100 ml of either costs a tenth of the one price."""


@dataclass
class Imported:
    """What is known of the lists."""

    tried: int = FIRST - 1
    """The last price that was sent to be taken in."""
    price: int = FIRST - 1
    """The last price whose list was acknowledged."""
    acks: int = 0
    pages: int = 0
    seen: set[int] = field(default_factory=set)
    wrong: list[str] = field(default_factory=list)


def list_of(price: int, rows: int = ROWS) -> bytes:
    """A supplier's list in which everything costs the same."""
    lines = ["code;article;item;pack;price"]
    lines += [f"A{number};Article {number};{ITEMS[number % 2]};1 l;{price}.00" for number in range(rows)]
    return "\n".join(lines).encode()


def prepare_lists(port: int) -> None:
    """The supplier, and two drinks of what its lists sell."""
    client = Client(port)
    columns = {"code": "code", "name": "article", "item": "item", "pack": "pack", "price": "price"}
    bodies = {
        "suppliers/pier": {"name": "Pier", "currency": "EUR", "price_list": {"mapping": columns}},
        "venues/group": {"name": "All", "pricing": {"currency": "EUR"}},
    } | {
        f"drinks/tall-{item}": {
            "name": item,
            "lines": [{"item": item, "amount": "100 ml"}],
            "method": {"kind": "built"},
        }
        for item in ITEMS
    }
    for path, body in bodies.items():
        told = client.ask("PUT", f"/v1/{path}", body)
        assert told.status == 201, told.body
    client.close()


class Importer(threading.Thread):
    """Sends a list and takes it in, again and again until the service is gone."""

    def __init__(self, port: int, noted: Imported) -> None:
        super().__init__(daemon=True)
        self._client = Client(port)
        self._noted = noted
        self._commits = threading.Event()
        self.lost = False
        """Whether the service went while a list was being taken in."""

    def wait_for_commit(self) -> None:
        """Returns while a list is being taken in."""
        assert self._commits.wait(timeout=20)

    def run(self) -> None:
        """Takes lists in."""
        try:
            while True:
                price = self._noted.tried + 1
                self._commits.clear()
                sent = self._client.send("/v1/price-lists?supplier=pier", list_of(price), "text/csv")
                if sent.status != 201:
                    self._refused(sent.status, sent.body)
                    continue
                self._noted.tried = price
                self._commits.set()
                told = self._client.ask("POST", f"/v1/price-lists/{sent.json['id']}/commit", {})
                if told.status == 200:
                    self._noted.price = price
                    self._noted.acks += 1
                else:
                    self._refused(told.status, told.body)
        except Lost:
            self.lost = self._commits.is_set()
        finally:
            self._client.close()

    def _refused(self, status: int, body: bytes) -> None:
        if status != 503:  # The store was busy, and says so: nothing of this list is there, the next one is sent.
            self._noted.wrong.append(f"{status} {body[:300]!r}")
        time.sleep(0.05)


class Reader(threading.Thread):
    """Reads offers and costs meanwhile: all of one list, or all of the one before it."""

    def __init__(self, port: int, noted: Imported) -> None:
        super().__init__(daemon=True)
        self._client = Client(port)
        self._noted = noted

    def run(self) -> None:
        """Reads until the service is gone."""
        try:
            while True:
                least = self._noted.price
                for prices in (self._offers(), self._costs()):
                    if prices is None or not prices:
                        continue
                    self._noted.pages += 1
                    self._noted.seen |= prices
                    if len(prices) != 1 or min(prices) < least:
                        self._noted.wrong.append(f"{sorted(prices)} at once, {least} was acknowledged")
        except Lost:
            pass
        finally:
            self._client.close()

    def _offers(self) -> set[int] | None:
        told = self._client.ask("GET", "/v1/offers?supplier=pier&page_size=100")
        if told.status != 200:
            return None
        entries = told.json["entries"]
        if len(entries) not in (0, ROWS):
            self._noted.wrong.append(f"{len(entries)} offers of a list")
        return {int(Decimal(entry["body"]["price"]["amount"])) for entry in entries}

    def _costs(self) -> set[int] | None:
        told = self._client.ask("GET", "/v1/costs")
        if told.status != 200:
            return None
        costs = [row["cost"]["pour_cost"] for row in told.json["drinks"]]
        if None in costs:
            return set() if set(costs) == {None} else {0}  # Before the first list neither is known.
        return {int(Decimal(cost) * 10) for cost in costs}
