"""Clients that write without pause and note what was acknowledged and what became of the rest is not known."""

import threading
import time
from dataclasses import dataclass, field
from typing import Any, Protocol

from tests.faults.running import Client, Lost


def offer(offer_id: str, price: int) -> dict[str, Any]:
    """An offer of a litre of water at a price."""
    return {
        "id": offer_id, "item": "water", "supplier": "quay", "pack": {"size": "1 l"},
        "price": {"amount": str(price), "currency": "EUR"},
    }  # fmt: skip


@dataclass
class Noted:
    """What clients know of their writes."""

    created: set[str] = field(default_factory=set)
    unknown: dict[str, str] = field(default_factory=dict)
    """Suppliers whose creation got no answer, with the Idempotency-Key that they were sent with."""
    price: dict[str, int] = field(default_factory=dict)
    """The last price of each offer that was acknowledged."""
    tried: dict[str, int] = field(default_factory=dict)
    """The last price of each offer that was sent."""
    acks: int = 0
    refused: list[int] = field(default_factory=list)


class Writer(threading.Thread):
    """Creates suppliers and replaces an offer's price in turn until it is told to end or the service is gone."""

    def __init__(self, port: int, name: str, noted: Noted, lock: threading.Lock) -> None:
        super().__init__(daemon=True)
        self.name = name
        self._client = Client(port)
        self._noted = noted
        self._lock = lock
        self.ends = threading.Event()
        self.lost = False
        """Whether it ended with a request that got no answer."""

    def run(self) -> None:
        """Writes."""
        number = 0
        try:
            while not self.ends.is_set():
                number += 1
                self._create(f"{self.name}-{number}")
                self._reprice()
        except Lost:
            self.lost = True
        finally:
            self._client.close()

    def _create(self, supplier: str) -> None:
        body = {"id": supplier, "name": supplier}
        with self._lock:
            self._noted.unknown[supplier] = f"key-{supplier}"
        told = self._client.ask("POST", "/v1/suppliers", body, Idempotency_Key=f"key-{supplier}")
        with self._lock:
            if told.status == 201:
                self._noted.created.add(supplier)
                self._noted.acks += 1
                del self._noted.unknown[supplier]
            else:
                self._noted.refused.append(told.status)

    def _reprice(self) -> None:
        mine = f"offer-{self.name.split('-')[0]}"
        with self._lock:
            price = self._noted.tried.get(mine, 0) + 1
            self._noted.tried[mine] = price
        told = self._client.ask("PUT", f"/v1/offers/{mine}", offer(mine, price), If_Match="*")
        with self._lock:
            if told.status in (200, 201):
                self._noted.price[mine] = price
                self._noted.acks += 1
            else:
                self._noted.refused.append(told.status)


def prepare(port: int, offers: list[str]) -> None:
    """A supplier and the offers that writers replace."""
    client = Client(port)
    assert client.ask("PUT", "/v1/suppliers/quay", {"name": "Quay"}).status == 201
    for one in offers:
        assert client.ask("PUT", f"/v1/offers/{one}", offer(one, 0)).status == 201
    client.close()


class Counted(Protocol):
    """What counts its acknowledged writes."""

    acks: int


def wait_for(noted: Counted, acks: int, most_s: float = 30.0) -> None:
    """Returns once so many writes are acknowledged."""
    begun = time.monotonic()
    while noted.acks < acks:
        assert time.monotonic() - begun < most_s, f"{noted.acks} acknowledged in {most_s} s, {noted}"
        time.sleep(0.005)
