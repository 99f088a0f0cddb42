"""Killed at any moment, a served group loses nothing that it acknowledged, and keeps nothing in halves (F1, P1, P4).

Price lists are taken in meanwhile, and read: all of a list is there, or nothing of it (P2, F25).
"""

import json
import random
import socket
import threading
import time
from pathlib import Path

from tests.faults.importing import FIRST, ROWS, Imported, Importer, Reader, prepare_lists
from tests.faults.rounds import FACTOR, LONG
from tests.faults.rows import check_whole, prices_in, suppliers_in
from tests.faults.running import Client, Forks, Group
from tests.faults.writing import Noted, Writer, prepare, wait_for

ROUNDS = 20 * FACTOR
WRITERS = 6
ACKS_A_ROUND = 26 if LONG else 10
LEAST_ACKS = 5000 if LONG else 200
LEAST_KILLS_IN_FLIGHT = 20 if LONG else 10
LEAST_LISTS = ROUNDS // 2
LEAST_LISTS_IN_FLIGHT = 20 if LONG else 3
READY_S = 5.0


def test_no_acknowledged_write_is_lost(url: str, forks: Forks, tmp_path: Path) -> None:
    """Rounds of writes and imports, each ended by SIGKILL to the group; one start in twenty is one of a new
    interpreter."""
    chance = random.Random(7)
    noted, lists, lock = Noted(), Imported(), threading.Lock()
    offers = [f"offer-w{number}" for number in range(WRITERS)]
    in_flight = lists_in_flight = 0
    slowest = 0.0
    for round_ in range(ROUNDS):
        group = Group(url, tmp_path) if LONG and round_ % 20 == 19 else forks.start(url)
        slowest = max(slowest, group.ready_s)
        if round_ == 0:
            prepare(group.port, offers)
            prepare_lists(group.port)
        _retry(group.port, noted)
        _check(url, noted, resolved=True)
        importer, reader = Importer(group.port, lists), Reader(group.port, lists)
        writers = [Writer(group.port, f"w{number}-{round_}", noted, lock) for number in range(WRITERS)]
        acks, taken_in = noted.acks, lists.acks
        for thread in (*writers, importer, reader):
            thread.start()
        wait_for(noted, acks + ACKS_A_ROUND)
        if round_ % 2:
            wait_for(lists, taken_in + 1)
            importer.wait_for_commit()  # The kill meets a list.
            time.sleep(chance.uniform(0.0, 0.02))
        else:
            time.sleep(chance.uniform(0.0, 0.5 if LONG else 0.2))
        group.kill()
        for thread in (*writers, importer, reader):
            thread.join(timeout=40)
        in_flight += any(writer.lost for writer in writers)
        lists_in_flight += importer.lost
        _check(url, noted, resolved=False)
        _check_lists(url, lists)
    group = forks.start(url)
    _retry(group.port, noted)
    _check(url, noted, resolved=True)
    check_whole(url)
    group.stop()
    assert set(noted.refused) <= {503}  # Where the lock is waited for too long, as a slow disk makes it be.
    assert lists.wrong == []
    assert slowest <= READY_S
    assert noted.acks >= LEAST_ACKS, "too few writes were acknowledged to prove anything"
    assert in_flight >= LEAST_KILLS_IN_FLIGHT, "too few kills met a write to prove anything"
    assert lists.acks >= LEAST_LISTS, "too few lists were taken in to prove anything"
    assert lists_in_flight >= LEAST_LISTS_IN_FLIGHT, "too few kills met a list to prove anything"
    assert lists.pages >= ROUNDS and len(lists.seen) >= ROUNDS // 4, "too little was read to prove anything"


def test_what_was_committed_and_not_answered_is_answered_when_it_is_sent_again(url: str, forks: Forks) -> None:
    """The reply never arrives, the group is killed once the row is there: the same key gives the same thing once."""
    for round_ in range(3 * FACTOR):
        group = forks.start(url)
        body = json.dumps({"id": f"lost-{round_}", "name": f"Lost {round_}"}).encode()
        with socket.create_connection(("127.0.0.1", group.port), timeout=10) as connection:
            connection.sendall(
                b"POST /v1/suppliers HTTP/1.1\r\nHost: a\r\nContent-Type: application/json\r\n"
                b"Idempotency-Key: lost-%d\r\nContent-Length: %d\r\n\r\n%b" % (round_, len(body), body)
            )
            begun = time.monotonic()
            while f"lost-{round_}" not in suppliers_in(url):
                assert time.monotonic() - begun < 20
            group.kill()
        group = forks.start(url)
        client = Client(group.port)
        told = [
            client.ask("POST", "/v1/suppliers", json.loads(body), Idempotency_Key=f"lost-{round_}") for _ in range(2)
        ]
        assert [one.status for one in told] == [201, 201]
        assert {one.json["id"] for one in told} == {f"lost-{round_}"}
        assert told[0].headers["location"] == f"/v1/suppliers/lost-{round_}"
        history = client.ask("GET", f"/v1/suppliers/lost-{round_}/revisions").json["revisions"]
        assert [row["revision"] for row in history] == [1]
        group.kill()
    check_whole(url)


def _retry(port: int, noted: Noted) -> None:
    """What got no answer is sent again with its Idempotency-Key, twice: one row, and the same bytes both times."""
    client = Client(port)
    for supplier, key in list(noted.unknown.items()):
        body = {"id": supplier, "name": supplier}
        first = client.ask("POST", "/v1/suppliers", body, Idempotency_Key=key)
        again = client.ask("POST", "/v1/suppliers", body, Idempotency_Key=key)
        assert (first.status, again.status) == (201, 201)
        assert first.body == again.body
        noted.created.add(supplier)
        del noted.unknown[supplier]
    client.close()


def _check(url: str, noted: Noted, *, resolved: bool) -> None:
    found = suppliers_in(url) - {"quay", "pier"}
    assert noted.created <= found, "an acknowledged creation is lost"
    assert found <= noted.created | set(noted.unknown), "a row that nobody sent"
    assert not resolved or found == noted.created
    prices = prices_in(url)
    for offer, price in noted.price.items():
        assert price <= prices[offer] <= noted.tried[offer], "an acknowledged price is lost"


def _check_lists(url: str, lists: Imported) -> None:
    """Every offer has the one price of one list, which is no older than the last one acknowledged."""
    prices = [price for offer, price in prices_in(url).items() if offer.startswith("pier-")]
    assert len(prices) in (0, ROWS)
    assert prices or lists.price < FIRST, "an acknowledged list is lost"
    assert len(set(prices)) <= 1, "half of a list is there"
    assert all(lists.price <= price <= lists.tried for price in prices), "an acknowledged list is lost"
