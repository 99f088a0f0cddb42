"""Limits on the wire, against a served process: sizes, times, heads, and requests that can be read in two ways."""

import json
import socket
import time
from collections.abc import Iterator
from contextlib import suppress

import pytest

from tests.api.bodies import raw, small
from tests.api.conftest import Client
from tests.api.served import Served, answers, everything, one_answer, served

MIB = 1024 * 1024
HEAD = b"POST /v1/evaluate HTTP/1.1\r\nHost: bar.test\r\nContent-Type: application/json\r\n"
GET = b"GET /livez HTTP/1.1\r\nHost: bar.test\r\n"
CHUNK = b"10000\r\n" + b" " * 65536 + b"\r\n"


@pytest.fixture(scope="module")
def service() -> Iterator[Served]:
    """A service with short times."""
    with served(body_timeout_s="0.6", head_timeout_s="0.6") as running:
        yield running


def test_a_body_of_the_limit_is_answered(service: Served) -> None:
    body = raw(small()).ljust(MIB)
    (answer,) = service.asked(HEAD + b"Connection: close\r\nContent-Length: %d\r\n\r\n" % len(body) + body)
    assert answer.status == 200


def test_a_chunked_body_is_answered(service: Served) -> None:
    body = raw(small())
    chunks = b"".join(b"%x\r\n%b\r\n" % (1, body[index : index + 1]) for index in range(len(body)))
    (answer,) = service.asked(HEAD + b"Connection: close\r\nTransfer-Encoding: chunked\r\n\r\n" + chunks + b"0\r\n\r\n")
    assert answer.status == 200


def test_a_stated_length_over_the_limit_is_413_before_any_of_the_body(service: Served) -> None:
    with service.connected() as connection:
        connection.sendall(HEAD + b"Content-Length: %d\r\n\r\n" % (MIB + 1))
        begun = time.monotonic()
        answer = one_answer(connection)
        assert time.monotonic() - begun < 1.0
        _is_too_large(answer.status, answer.headers["content-type"], answer.body)
        connection.sendall(b" " * (MIB + 1))
        assert everything(connection) == b""


def test_what_is_announced_with_expect_is_refused_without_being_asked_for(service: Served) -> None:
    with service.connected() as connection:
        connection.sendall(HEAD + b"Expect: 100-continue\r\nContent-Length: 50000000\r\n\r\n")
        assert one_answer(connection).status == 413


def test_an_endless_chunked_body_is_413_once_it_is_over_the_limit(service: Served) -> None:
    with service.connected() as connection:
        connection.sendall(HEAD + b"Transfer-Encoding: chunked\r\n\r\n" + CHUNK * 17)
        begun = time.monotonic()
        answer = one_answer(connection)
        assert time.monotonic() - begun < 1.0
        _is_too_large(answer.status, answer.headers["content-type"], answer.body)


@pytest.mark.parametrize("mebibytes", [2, 3, 4])
def test_a_client_that_sends_up_to_four_mebibytes_first_still_reads_the_413(service: Served, mebibytes: int) -> None:
    body = b" " * (mebibytes * MIB)
    (answer,) = service.asked(HEAD + b"Content-Length: %d\r\n\r\n" % len(body) + body)
    _is_too_large(answer.status, answer.headers["content-type"], answer.body)


def test_much_more_is_cut_off_and_not_kept(service: Served) -> None:
    before = service.rss_kib()
    with service.connected() as connection:
        try:
            connection.sendall(HEAD + b"Transfer-Encoding: chunked\r\n\r\n")
            for _ in range(800):
                connection.sendall(CHUNK)
        except (BrokenPipeError, ConnectionResetError):
            pass
        else:
            pytest.fail("50 MiB were taken")
    assert service.rss_kib() - before < 10 * 1024


def test_draining_a_large_body_ends_after_two_seconds(service: Served) -> None:
    with service.connected() as connection:
        connection.sendall(HEAD + b"Content-Length: %d\r\n\r\n" % (3 * MIB))
        begun = time.monotonic()
        assert [answer.status for answer in answers(everything(connection))] == [413]
        assert 1.5 < time.monotonic() - begun < 4.0


def _is_too_large(status: int, media_type: str, body: bytes) -> None:
    assert status == 413
    assert media_type == "application/problem+json"
    assert json.loads(body)["type"] == "urn:washline:problem:body-too-large"


@pytest.mark.parametrize("sent", [b"", b'{"drink"'])
def test_a_body_that_does_not_arrive_is_408(service: Served, sent: bytes) -> None:
    begun = time.monotonic()
    (answer,) = service.asked(HEAD + b"Content-Length: 100\r\n\r\n" + sent)
    assert 0.4 < time.monotonic() - begun < 3.0
    assert answer.status == 408
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.headers["connection"] == "close"
    assert json.loads(answer.body)["type"] == "urn:washline:problem:body-timeout"


def test_a_body_that_drips_is_408(service: Served) -> None:
    with service.connected() as connection:
        connection.sendall(HEAD + b"Content-Length: 100\r\n\r\n")
        begun = time.monotonic()
        connection.settimeout(0.1)
        received = b""
        while not received and time.monotonic() - begun < 5:
            connection.sendall(b" ")
            try:
                received = connection.recv(65536)
            except TimeoutError:
                continue
        assert answers(received)[0].status == 408
        assert time.monotonic() - begun < 3.0


@pytest.mark.parametrize("sent", [b"", b"GET", GET, GET + b"X-A: "])
def test_a_head_that_does_not_arrive_is_408(service: Served, sent: bytes) -> None:
    begun = time.monotonic()
    (answer,) = service.asked(sent)
    assert 0.4 < time.monotonic() - begun < 3.0
    assert answer.status == 408
    assert json.loads(answer.body)["type"] == "urn:washline:problem:head-timeout"


def test_a_connection_is_kept_for_the_next_request(service: Served) -> None:
    with service.connected() as connection:
        for _ in range(3):
            connection.sendall(GET + b"\r\n")
            assert one_answer(connection).status == 200
            time.sleep(0.3)
        connection.sendall(GET)  # The head of the fourth is left open.
        time.sleep(0.3)
        connection.sendall(b"\r\n")
        assert one_answer(connection).status == 200


def test_pipelined_requests_are_each_answered_in_turn(service: Served) -> None:
    raw_requests = GET + b"X-Request-Id: a\r\n\r\n" + GET + b"X-Request-Id: b\r\nConnection: close\r\n\r\n"
    assert [answer.headers["x-request-id"] for answer in service.asked(raw_requests)] == ["a", "b"]


def test_a_head_over_64_kib_is_431_while_it_still_arrives(service: Served) -> None:
    before = service.rss_kib()
    with service.connected() as connection:
        received = b""
        try:
            connection.sendall(GET + b"X-A: ")
            for _ in range(500):
                connection.sendall(b"a" * 100_000)
        except (BrokenPipeError, ConnectionResetError):
            pass
        else:
            pytest.fail("50 MB of a header were taken")
        with suppress(ConnectionResetError):
            received = connection.recv(65536)
    assert not received or answers(received)[0].status == 431
    assert service.rss_kib() - before < 10 * 1024


@pytest.mark.parametrize(
    ("request_line_and_headers", "status"),
    [
        (b"GET /%b HTTP/1.1\r\nHost: a\r\n" % (b"a" * (8 * 1024 - 1)), 404),
        (b"GET /%b HTTP/1.1\r\nHost: a\r\n" % (b"a" * (8 * 1024)), 414),
        (b"GET /livez?%b HTTP/1.1\r\nHost: a\r\n" % (b"a" * (8 * 1024)), 414),
        (GET + b"".join(b"X-%d: a\r\n" % number for number in range(98)), 200),
        (GET + b"".join(b"X-%d: a\r\n" % number for number in range(99)), 431),
        (GET + b"".join(b"X-%d: a\r\n" % number for number in range(5000)), 431),
        (GET + b"X-A: " + b"a" * 60_000 + b"\r\n", 200),
        (GET + b"X-A: " + b"a" * 66_000 + b"\r\n", 431),
    ],
)
def test_limits_of_the_head(service: Served, request_line_and_headers: bytes, status: int) -> None:
    (answer,) = service.asked(request_line_and_headers + b"Connection: close\r\n\r\n")
    assert answer.status == status
    if status != 200:
        assert answer.headers["content-type"] == "application/problem+json"
        assert json.loads(answer.body)["status"] == status


SMUGGLED = GET + b"X-Request-Id: smuggled\r\n\r\n"


@pytest.mark.parametrize(
    "request_bytes",
    [
        HEAD + b"Content-Length: 4\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n" + SMUGGLED,
        HEAD + b"Transfer-Encoding: chunked\r\nContent-Length: 4\r\n\r\n0\r\n\r\n" + SMUGGLED,
        HEAD + b"Content-Length: 2\r\nContent-Length: 3\r\n\r\n{}x" + SMUGGLED,
        HEAD + b"Content-Length: 2\r\nContent-Length: 2\r\n\r\n{}" + SMUGGLED,
        HEAD + b"Content-Length: 2, 2\r\n\r\n{}" + SMUGGLED,
        HEAD + b"Content-Length: +2\r\n\r\n{}" + SMUGGLED,
        HEAD + b"Content-Length: -1\r\n\r\n" + SMUGGLED,
        HEAD + b"Content-Length: 0x2\r\n\r\n{}" + SMUGGLED,
        HEAD + b"Content-Length: 2 2\r\n\r\n{}" + SMUGGLED,
        HEAD + b"Content-Length: 99999999999999999999999\r\n\r\n{}" + SMUGGLED,
        HEAD + b"Transfer-Encoding: xchunked\r\n\r\n0\r\n\r\n" + SMUGGLED,
        HEAD + b"Transfer-Encoding: chunked, identity\r\n\r\n0\r\n\r\n" + SMUGGLED,
        HEAD + b"Transfer-Encoding : chunked\r\n\r\n0\r\n\r\n" + SMUGGLED,
        HEAD + b"Transfer-Encoding: chunked\r\n\r\nZZ\r\n{}\r\n0\r\n\r\n" + SMUGGLED,
        HEAD + b"Transfer-Encoding: chunked\r\n\r\nFFFFFFFFFFFFFFFFF\r\n{}\r\n0\r\n\r\n" + SMUGGLED,
        HEAD + b"Transfer-Encoding: chunked\r\n\r\n-2\r\n{}\r\n0\r\n\r\n" + SMUGGLED,
        HEAD + b"Transfer-Encoding: chunked\n\n2\n{}\n0\n\n" + SMUGGLED,
        b"GET /livez HTTP/1.1\nHost: a\n\n" + SMUGGLED,
        GET + b"X-A: b\r\n c\r\n\r\n" + SMUGGLED,
        GET + b"X-A : b\r\n\r\n" + SMUGGLED,
        GET + b" X-A: b\r\n\r\n" + SMUGGLED,
        GET + b"X-A: b\x00c\r\n\r\n" + SMUGGLED,
        GET + b"X-A: b\rc\r\n\r\n" + SMUGGLED,
        GET + b": b\r\n\r\n" + SMUGGLED,
        GET + b"Host: elsewhere.test\r\n\r\n",
        b"GET /livez HTTP/1.1\r\n\r\n",
        b"GET /li vez HTTP/1.1\r\nHost: a\r\n\r\n" + SMUGGLED,
        b"GET /%b HTTP/1.1\r\nHost: a\r\n\r\n" % (b"a" * 70_000) + SMUGGLED,
        b"GET /\xff HTTP/1.1\r\nHost: a\r\n\r\n" + SMUGGLED,
        b"get /livez HTTP/1.1\r\nHost: a\r\n\r\n" + SMUGGLED,
        b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n",
        b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03",
    ],
)
def test_what_two_readers_could_read_in_two_ways_has_one_answer_and_the_connection_ends(
    service: Served, request_bytes: bytes
) -> None:
    with service.connected() as connection:
        connection.sendall(request_bytes)
        found = answers(everything(connection))
    assert [answer.status for answer in found] == [400]
    assert found[0].headers["connection"] == "close"
    assert found[0].headers["content-type"] == "application/problem+json"
    assert b"smuggled" not in str(found).encode()


def test_a_websocket_is_not_offered(service: Served) -> None:
    key = b"Sec-WebSocket-Version: 13\r\nSec-WebSocket-Key: AAAAAAAAAAAAAAAAAAAAAA==\r\n"
    upgrade = b"Upgrade: websocket\r\nConnection: Upgrade\r\n" + key + b"\r\n"
    with service.connected() as connection:
        connection.sendall(GET + upgrade)
        assert one_answer(connection).status == 200


def test_the_server_does_not_say_what_it_is(service: Served) -> None:
    (answer,) = service.asked(GET + b"Connection: close\r\n\r\n")
    assert "server" not in answer.headers
    assert answer.headers["x-content-type-options"] == "nosniff"


def test_many_slow_heads_do_not_keep_others_waiting(service: Served) -> None:
    slow = [service.connected() for _ in range(100)]
    for connection in slow:
        connection.sendall(b"GET /livez HTTP/1.1\r\n")
    begun = time.monotonic()
    (answer,) = service.asked(GET + b"Connection: close\r\n\r\n")
    assert answer.status == 200
    assert time.monotonic() - begun < 1.0
    for connection in slow:
        assert answers(everything(connection))[0].status == 408
        connection.close()
    assert time.monotonic() - begun < 5.0


def test_a_client_that_leaves_does_no_harm(service: Served) -> None:
    for sent in (b"G", GET, HEAD + b"Content-Length: 50\r\n\r\n{", HEAD + b"Content-Length: 5000000\r\n\r\n{"):
        connection = service.connected()
        connection.sendall(sent)
        connection.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, b"\x01\x00\x00\x00\x00\x00\x00\x00")
        connection.close()
    assert service.asked(GET + b"Connection: close\r\n\r\n")[0].status == 200


@pytest.mark.parametrize("length", ["\u00b2", "abc", "1e3", ""])
def test_a_length_that_is_no_number_does_not_pass_for_one(client: Client, length: str) -> None:
    """A server refuses these; behind another one the application has to stand them as well."""
    headers = {"Content-Type": "application/json", "Content-Length": length.encode("latin-1")}
    answer = client.ask("POST", "/v1/evaluate", content=raw(small()), headers=headers)
    assert answer.status_code == 200
