"""POST /v1/evaluations: in order, with the caller's marks, whatever fails, however the body arrives."""

import json
import socket
import struct
import threading
import time
from collections.abc import Iterator
from typing import Any

import pytest

from service.api import body, bulk
from service.api.app import create_app
from service.settings import Settings
from service.store.keys import new_key
from tests.api.conftest import Client
from tests.api.served import Served, served
from tests.api.streamed import Body, chunked_lines, drink, head, in_process, ndjson, records, streamed

NDJSON = {"Content-Type": "application/x-ndjson"}


@pytest.fixture(scope="module")
def bar() -> Iterator[Served]:
    """The service as it is served, with the demo; a reader that stops is cut after half a second."""
    with served(demo="1", reader_timeout_s="0.5", body_timeout_s="2") as process:
        yield process


def ask(client: Client, rows: list[object]) -> list[Body]:
    """The records of the answer to rows."""
    answer = client.ask("POST", "/v1/evaluations", content=ndjson(rows), headers=NDJSON)
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "application/x-ndjson"
    return records(answer.content)


def test_each_line_has_its_record_in_order_and_the_last_one_counts(demo_client: Client) -> None:
    rows: list[object] = [
        {"ref": "first", **drink()}, "{broken", {"ref": 7, "drink": "almond-pier"}, "", {"ref": "x", "drink": "nope"},
        "[]", {"ref": ["no"], **drink()}, '{"ref": "twice", "ref": "twice"}', drink(), {"ref": "d", "drinks": 1},
    ]  # fmt: skip
    found = ask(demo_client, rows)
    assert [row.get("ref") for row in found] == ["first", None, 7, "x", None, None, None, None, "d", None]
    statuses = [row["problem"]["status"] if "problem" in row else 200 for row in found[:-1]]
    assert statuses == [200, 400, 200, 404, 422, 422, 400, 200, 422]
    assert [row["line"] for row in found[:-1]] == [1, 2, 3, 4, 5, 6, 7, 8, 9]
    assert found[-1] == {"end": True, "results": 3, "problems": 6}
    assert found[5]["problem"]["errors"][0]["pointer"] == "/ref"


def test_a_line_is_answered_as_the_single_routes_answer(demo_client: Client) -> None:
    """The oracle is the other route."""
    single = [demo_client.evaluate(drink(number)).json() for number in range(7)]
    stored = demo_client.get("/v1/drinks/almond-pier/evaluation?venue=ferry-landing&lang=fr").json()
    found = ask(
        demo_client,
        [*(drink(number) for number in range(7)), {"drink": "almond-pier", "venue": "ferry-landing", "lang": "fr"}],
    )
    assert [row["result"] for row in found[:7]] == single
    assert found[7]["result"] == stored


def test_every_stored_drink_is_the_single_answer(demo_client: Client) -> None:
    drinks = [row["drink"] for row in demo_client.get("/v1/costs?page_size=100").json()["drinks"]]
    found = ask(demo_client, [{"ref": one, "drink": one, "include": ["cost", "price"]} for one in drinks])
    for one, row in zip(drinks, found, strict=False):
        assert row["result"] == demo_client.get(f"/v1/drinks/{one}/cost").json()


def test_faults_of_a_stored_line_point_into_it(demo_client: Client) -> None:
    found = ask(demo_client, [{"drink": "almond-pier", "as_of": "never"}, {"drink": "almond-pier", "color": 1}])
    pointers = [row["problem"]["errors"][0]["pointer"] for row in found[:-1]]
    assert pointers == ["/as_of", ""]
    assert found[-1] == {"end": True, "results": 0, "problems": 2}


@pytest.mark.parametrize("more", [{"Content-Encoding": "gzip"}, {"Content-Type": "application/json"}])
def test_other_bodies_are_refused_as_a_whole(demo_client: Client, more: dict[str, str]) -> None:
    answer = demo_client.ask("POST", "/v1/evaluations", content=b"{}\n", headers={**NDJSON, **more})
    assert answer.status_code == 415
    assert answer.json()["type"] == "urn:washline:problem:media-type"


def test_a_line_over_a_mebibyte_is_a_problem_of_its_own(demo_client: Client) -> None:
    found = ask(demo_client, [drink(), '{"ref":"' + "x" * 1024 * 1024 + '"}', {"ref": "after", **drink()}])
    assert found[1]["problem"]["status"] == 413
    assert found[2]["ref"] == "after"
    assert found[3] == {"end": True, "results": 2, "problems": 1}


def test_an_empty_body_counts_nothing(demo_client: Client) -> None:
    assert ask(demo_client, []) == [{"end": True, "results": 0, "problems": 0}]


def test_a_fault_of_ours_is_one_line_s_problem(
    demo_client: Client, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    sound = body.document_of

    def breaks_on_two(raw: bytes) -> Any:
        if b'"two"' in raw:
            raise ZeroDivisionError
        return sound(raw)

    monkeypatch.setattr(bulk, "document_of", breaks_on_two)
    found = ask(demo_client, [{"ref": "one", **drink()}, {"ref": "two", **drink()}, {"ref": "three", **drink()}])
    assert [row.get("problem", {}).get("status") for row in found[:3]] == [None, 500, None]
    assert [record.getMessage() for record in caplog.records if record.name == "washline"] == ["unexpected fault"]
    caplog.clear()


def test_a_key_without_costs_sees_none_and_its_work_is_counted() -> None:
    client = Client(Settings(demo=True, work_per_minute=3))
    with client.app.state.store.writing() as connection:
        _, text = new_key(connection, "till", ("labels:read",), None, None)
    headers = {**NDJSON, "Authorization": f"Bearer {text}"}
    asked: list[Body] = [{"drink": "almond-pier"}, {"drink": "almond-pier", "include": ["cost"]}, drink(), drink()]
    rows = ndjson(asked)
    *found, last = records(client.ask("POST", "/v1/evaluations", content=rows, headers=headers).content)
    client.close()
    assert all("cost" not in row["result"] and "price" not in row["result"] for row in found[:3])
    assert "cost_version" not in found[0]["result"]["meta"]
    assert found[3]["problem"]["status"] == 429
    assert last == {"end": True, "results": 3, "problems": 1}


def test_the_body_may_be_cut_at_any_byte() -> None:
    app = create_app(Settings(demo=True))
    body = ndjson([{"ref": "é", "drink": "nope"}, {"ref": 2, "drink": "nope"}])[:-1]
    whole = in_process(app, [body])
    assert [row.get("ref") for row in whole] == ["é", 2, None]
    for place in range(len(body) + 1):
        assert in_process(app, [body[:place], body[place:]]) == whole
    assert in_process(app, [body[place : place + 1] for place in range(len(body))]) == whole


def test_no_line_of_ten_thousand_is_lost(bar: Served) -> None:
    rows: list[Body] = [
        {"ref": number, "drink": "nope" if number % 10 else "almond-pier", "include": []} for number in range(10_000)
    ]
    found = [json.loads(line) for line in streamed(bar, ndjson(rows))]
    assert [row["ref"] for row in found[:-1]] == list(range(10_000))
    assert found[-1] == {"end": True, "results": 1000, "problems": 9000}


def test_memory_stays_flat_over_twenty_thousand_lines(bar: Served) -> None:
    """One line in five is computed, since it is the number of lines that memory must not grow with."""
    one: Body = {"drink": "almond-pier", "include": []}
    other: Body = {"drink": "nope"}
    rows = ndjson([one, other, other, other, other] * 200)
    for _ in streamed(bar, rows):
        pass
    before = bar.rss_kib()
    count = sum(1 for _ in streamed(bar, rows * 20))
    assert count == 20_001
    assert bar.rss_kib() - before < 20 * 1024  # the goal of the service: 20 MB at most


def test_a_slow_reader_slows_its_own_stream_alone_and_one_that_stops_is_cut(bar: Served) -> None:
    body = ndjson([{"drink": "almond-pier"}] * 3000)
    with bar.connected() as connection:
        connection.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 65536)
        sent = threading.Event()

        def send() -> None:
            try:
                connection.sendall(head(len(body)) + body)
            except OSError:
                sent.set()

        threading.Thread(target=send, daemon=True).start()
        waits = []
        until = time.monotonic() + 3
        while time.monotonic() < until:
            begun = time.monotonic()
            assert bar.asked(b"GET /livez HTTP/1.1\r\nHost: a.test\r\nConnection: close\r\n\r\n")[0].status == 200
            waits.append(time.monotonic() - begun)
            time.sleep(0.02)
        assert sorted(waits)[len(waits) // 2] < 0.25
        with pytest.raises((AssertionError, OSError, ValueError)):  # the answer breaks off before its last chunk
            for _ in chunked_lines(connection):
                pass


def test_a_client_that_leaves_ends_its_stream(bar: Served) -> None:
    body = ndjson([{"drink": "almond-pier"}] * 2000)
    with bar.connected() as connection:
        connection.sendall(head(len(body) * 10) + body[:60_000])
        connection.recv(1000)
        connection.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))  # leave with a reset
    assert bar.asked(b"GET /livez HTTP/1.1\r\nHost: a.test\r\nConnection: close\r\n\r\n")[0].status == 200


def test_a_body_that_stops_is_told_and_not_called_whole(bar: Served) -> None:
    body = ndjson([{"ref": 1, "drink": "almond-pier", "include": []}])
    with bar.connected() as connection:
        connection.sendall(head(len(body) + 10) + body)
        *answered, last = (json.loads(line) for line in chunked_lines(connection))
    assert [row["ref"] for row in answered] == [1]
    assert (last["end"], last["results"], last["problem"]["status"]) == (False, 1, 408)
