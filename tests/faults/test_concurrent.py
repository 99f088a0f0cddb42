"""Many at once: no update is lost, nothing is made twice, no cycle slips in, no old price is read (P3-P5, F25)."""

import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from decimal import Decimal
from functools import partial
from typing import Any

import pytest

from service.store import keys
from service.store.engine import engine_of, writing
from tests.faults.postgres import Postgres
from tests.faults.rounds import FACTOR, LONG
from tests.faults.rows import check_whole, prices_in, suppliers_in
from tests.faults.running import Client, Forked, Forks, Told
from tests.faults.writing import offer, prepare

TALL = {"name": "Tall", "lines": [{"item": "water", "amount": "100 ml"}], "method": {"kind": "built"}}


@pytest.fixture
def service(url: str, forks: Forks) -> Iterator[Forked]:
    """Two workers on one store."""
    group = forks.start(url, workers="2", drain_s="0")
    yield group
    group.kill()
    check_whole(url)


def _patiently(client: Client, *request: Any, **headers: str) -> Told:
    """An answer other than "the store is busy, send it again", for which the client does as it is told."""
    begun = time.monotonic()
    while (told := client.ask(*request, **headers)).status == 503:
        assert "retry-after" in told.headers
        assert time.monotonic() - begun < 60
    return told


def _at_once(calls: list[Callable[[], Any]]) -> list[Any]:
    """Results of calls that begin together."""
    gate = threading.Barrier(len(calls))

    def run(call: Callable[[], Any]) -> Any:
        gate.wait()
        return call()

    with ThreadPoolExecutor(len(calls)) as pool:
        return list(pool.map(run, calls))


def test_no_update_is_lost(service: Forked, url: str) -> None:
    """32 clients raise one price by 1, each from what it read: it rises by the number of successes, the rest is 412."""
    prepare(service.port, ["counter"])

    def client_raises() -> list[int]:
        client, statuses = Client(service.port), []
        for _ in range(3 * FACTOR):
            read = client.ask("GET", "/v1/offers/counter")
            price = int(Decimal(read.json["price"]["amount"])) + 1
            sent = offer("counter", price)
            statuses.append(_patiently(client, "PUT", "/v1/offers/counter", sent, If_Match=read.headers["etag"]).status)
        client.close()
        return statuses

    statuses = [status for row in _at_once([client_raises] * 32) for status in row]
    successes = statuses.count(200)
    assert set(statuses) <= {200, 412}
    assert prices_in(url)["counter"] == successes
    assert successes >= 3, "too few succeeded to prove anything"
    assert statuses.count(412) >= 10, "too few met another to prove anything"


def test_a_creation_that_is_sent_many_times_at_once_is_one(service: Forked, url: str) -> None:
    """100 of the same key: one row, and the same bytes for all."""
    for round_ in range(FACTOR):
        body = {"id": f"once-{round_}", "name": f"Once {round_}"}

        def create(body: dict[str, str] = body, round_: int = round_) -> Told:
            client = Client(service.port)
            told = _patiently(client, "POST", "/v1/suppliers", body, Idempotency_Key=f"k{round_}")
            client.close()
            return told

        told = _at_once([create] * 100)
        assert {one.status for one in told} <= {201, 409}
        assert len({one.body for one in told if one.status == 201}) == 1
        assert sum(one.status == 201 for one in told) >= 1
    assert suppliers_in(url) == {f"once-{round_}" for round_ in range(FACTOR)}


def test_one_of_two_that_would_be_made_of_each_other_is_refused(service: Forked) -> None:
    """50 rounds: exactly one of the two writes wins, the other one is told the cycle."""
    clients = [Client(service.port) for _ in range(2)]
    for round_ in range(50 if LONG else 25):
        ids = [f"{letter}-{round_}" for letter in "ab"]
        for one in ids:
            body = {"name": one, "lines": [{"item": "water", "amount": "1 l"}]}
            assert clients[0].ask("PUT", f"/v1/preparations/{one}", body).status == 201

        def point(place: int, ids: list[str] = ids) -> Told:
            body = {"name": ids[place], "lines": [{"item": ids[1 - place], "amount": "1 l"}]}
            return _patiently(clients[place], "PUT", f"/v1/preparations/{ids[place]}", body, If_Match="*")

        told = _at_once([lambda: point(0), lambda: point(1)])
        assert sorted(one.status for one in told) == [200, 422]
        (error,) = next(one for one in told if one.status == 422).json["errors"]
        assert error["code"] == "cycle"
        assert all(one in error["detail"] for one in ids)


def test_once_a_price_is_acknowledged_no_process_answers_from_an_older_one(postgres: Postgres, forks: Forks) -> None:
    """Four processes on one PostgreSQL: each answer has the price acknowledged before it was asked for, or a later one.

    The drink is 100 ml of something sold by the litre: its cost is a tenth of the price (arithmetic).
    """
    url = postgres.database()
    groups = [forks.start(url, drain_s="0", workers=workers) for workers in ("1", "1", "2")]
    writer = Client(groups[0].port)
    for path, body in (
        ("suppliers/quay", {"name": "Quay"}),
        ("venues/group", {"name": "All", "pricing": {"currency": "EUR"}}),
        ("offers/base", offer("base", 10)),
        ("drinks/tall", TALL),
    ):  # fmt: skip
        told = writer.ask("PUT", f"/v1/{path}", body)
        assert told.status == 201, told.body
    acknowledged = 10
    ends = threading.Event()
    seen: dict[int, int] = {}

    def read(port: int) -> int:
        client, last, count = Client(port), 0, 0
        while not ends.is_set():
            least = acknowledged
            told = client.ask("GET", "/v1/drinks/tall/cost")
            assert told.status == 200, told.body
            answer = told.json
            price = int(Decimal(answer["cost"]["pour_cost"]) * 10)
            version = answer["meta"]["cost_version"]
            assert price >= least
            assert version >= last
            assert seen.setdefault(version, price) == price
            last, count = version, count + 1
            if count % 7 == 0:
                client.close()  # The next connection may be another worker's.
        client.close()
        return count

    with ThreadPoolExecutor(6) as pool:
        readers = [pool.submit(read, group.port) for group in groups for _ in range(2)]
        for price in range(11, 11 + 60 * FACTOR):
            assert writer.ask("PUT", "/v1/offers/base", offer("base", price), If_Match="*").status == 200
            acknowledged = price
            if any(reader.done() for reader in readers):
                break
        time.sleep(0.3)
        ends.set()
        counts = [reader.result() for reader in readers]
    for group in groups:
        group.kill()
    assert [price for _, price in sorted(seen.items())] == sorted(set(seen.values()))
    assert min(counts) >= 5 and sum(counts) >= 60, "too few answers to prove anything"
    assert len(seen) >= 10, "too few prices were seen to prove anything"


def test_a_quota_is_one_for_all_processes(postgres: Postgres, forks: Forks) -> None:
    """Three processes let a key have its 40 requests a minute once, not each."""
    url = postgres.database()
    groups = [forks.start(url, drain_s="0", requests_per_minute="40") for _ in range(3)]
    engine = engine_of(url)
    with writing(engine) as connection:
        _, key = keys.new_key(connection, "Till", ("costs:read",), None, None)
    engine.dispose()
    time.sleep(max(0.0, time.time() % 60 - 45) and 60 - time.time() % 60)  # The minute lasts until the end of this.

    def ask(place: int) -> list[Told]:
        client = Client(groups[place % 3].port, key)
        return [client.ask("GET", "/v1/costs") for _ in range(10)]

    told = [one for row in _at_once([partial(ask, place) for place in range(9)]) for one in row]
    assert {one.status for one in told} == {200, 429}
    assert sum(one.status == 200 for one in told) == 40
    assert all(1 <= int(one.headers["retry-after"]) <= 60 for one in told if one.status == 429)
    for group in groups:
        group.kill()
