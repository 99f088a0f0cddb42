"""H26: the same random writes give the same answers on both stores, and those that a dict would give."""

import itertools
import json
from collections.abc import Callable
from contextlib import suppress
from decimal import Decimal
from typing import Any

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, rule, run_state_machine_as_test
from sqlalchemy import delete, update

from service.settings import Settings
from service.store.tables import ENTRIES, STATE
from tests.api.conftest import Client
from tests.campaign import DERANDOMIZED, EXAMPLES
from tests.databases import BACKENDS

IDS = st.sampled_from(["a", "b", "c"])
NAMES = st.sampled_from(["Caf\u00e9", "CAFE\u0301", "Rum", "rum ", "\u0130", "x" * 190, "100 %_\\"])


BASE: dict[str, dict[str, Any]] = {
    "suppliers/base": {"name": "Base"}, "venues/group": {"name": "All", "pricing": {"currency": "EUR"}},
}  # fmt: skip


class _Crash(Exception):
    """The end of a service while it writes."""


def test_both_stores_answer_as_a_dict_would(new_database: Callable[[str], str]) -> None:
    urls = [new_database(backend) for backend in BACKENDS]
    clients = [Client(Settings(database_url=url)) for url in urls]
    for client in clients:
        for path, body in BASE.items():
            assert client.ask("PUT", f"/v1/{path}", json=body).status_code == 201
    abandoned: list[Client] = []
    runs = itertools.count()

    class Machine(RuleBasedStateMachine):
        """Suppliers of one run, under ids and names of its own."""

        def __init__(self) -> None:
            super().__init__()
            self.mark = f"r{next(runs)}"
            self.model: dict[str, dict[str, Any]] = {}
            self.prices: dict[str, int] = {}

        def ask(
            self, method: str, entry: str, body: Any = None, suffix: str = "", kind: str = "suppliers"
        ) -> tuple[int, Any]:
            headers = {"If-Match": "*"} if method in ("PATCH", "DELETE") else {}
            sent = {} if body is None else {"json": body}
            path = f"/v1/{kind}/{self.mark}-{entry}{suffix}"
            answers = [client.ask(method, path, headers=headers, **sent) for client in clients]
            one, other = ((answer.status_code, answer.content, answer.headers.get("etag")) for answer in answers)
            assert one == other, (method, path)
            return one[0], json.loads(one[1]) if one[1] else None

        @rule(entry=IDS, name=NAMES)
        def put(self, entry: str, name: str) -> None:
            body = {"id": f"{self.mark}-{entry}", "name": f"{self.mark} {name}"}
            status, told = self.ask("PUT", entry, body)
            if entry in self.model:
                assert status == 428
            elif status == 201:
                self.model[entry] = told
            else:
                assert status == 409
                assert self.model

        @rule(entry=IDS, currency=st.sampled_from(["EUR", "USD", None]))
        def patch(self, entry: str, currency: str | None) -> None:
            status, told = self.ask("PATCH", entry, {"currency": currency})
            assert status == (200 if entry in self.model else 404)
            if entry in self.model:
                self.model[entry] = {key: value for key, value in self.model[entry].items() if key != "currency"}
                if currency is not None:
                    self.model[entry]["currency"] = currency
                assert told == self.model[entry]

        @rule(entry=IDS)
        def delete(self, entry: str) -> None:
            status, _ = self.ask("DELETE", entry)
            assert status == (204 if self.model.pop(entry, None) is not None else 404)

        @rule(entry=IDS, price=st.integers(1, 900))
        def price(self, entry: str, price: int) -> None:
            """A drink of 100 ml of something sold by the litre at this price."""
            money = {"price": {"amount": f"{price}.00", "currency": "EUR"}}
            if entry in self.prices:
                status, _ = self.ask("PATCH", entry, money, kind="offers")
                assert status == 200
            else:
                item = {"name": f"{self.mark} {entry}"}
                offer = {"item": f"{self.mark}-{entry}", "supplier": "base", "pack": {"size": "1 l"}, **money}
                lines = [{"item": f"{self.mark}-{entry}", "amount": "100 ml"}]
                for kind, body in (("ingredients", item), ("offers", offer), ("drinks", {**item, "lines": lines})):
                    status, _ = self.ask("PUT", entry, body, kind=kind)
                    assert status == 201
            self.prices[entry] = price

        @rule(entry=IDS)
        def cost(self, entry: str) -> None:
            status, told = self.ask("GET", entry, suffix="/cost", kind="drinks")
            assert status == (200 if entry in self.prices else 404)
            if entry in self.prices:
                assert Decimal(told["cost"]["pour_cost"]) == Decimal(self.prices[entry]) / 10

        @rule(entry=IDS, verb=st.sampled_from(["archive", "reinstate"]))
        def set_state(self, entry: str, verb: str) -> None:
            status, _ = self.ask("POST", entry, suffix=f"/{verb}")
            assert status == (200 if entry in self.model else 404)

        @rule(entry=IDS)
        def read(self, entry: str) -> None:
            status, told = self.ask("GET", entry)
            assert (status, told if status == 200 else None) == (
                (200, self.model[entry]) if entry in self.model else (404, None)
            )

        @rule(text=st.sampled_from(["CAF\u00c9", "rum", "%", "_"]))
        def search(self, text: str) -> None:
            pages = [
                client.get("/v1/suppliers", params={"text": text, "page_size": "100", "archived": "include"}).content
                for client in clients
            ]
            assert pages[0] == pages[1]

        @rule(entry=IDS)
        def crash(self, entry: str) -> None:
            """A service ends in the middle of a write, unannounced; another one goes on with what was committed."""
            for place, url in enumerate(urls):
                with suppress(_Crash), clients[place].app.state.store.writing() as connection:
                    connection.execute(delete(ENTRIES))
                    connection.execute(update(STATE).values(cost_version=STATE.c.cost_version + 100))
                    raise _Crash
                if len(abandoned) < 4:  # Each holds its connections until the end.
                    abandoned.append(clients[place])
                    clients[place] = Client(Settings(database_url=url))
            self.read(entry)

    run_state_machine_as_test(
        Machine,
        settings=settings(
            max_examples=10 if DERANDOMIZED else EXAMPLES // 20, stateful_step_count=15, derandomize=DERANDOMIZED,
            database=None, deadline=None, suppress_health_check=list(HealthCheck),
        ),
    )  # fmt: skip
    assert len(clients[0].get("/v1/audit?page_size=100").json()["rows"]) > 5
    assert abandoned, "no run crashed"
    for client in (*clients, *abandoned):
        client.close()
