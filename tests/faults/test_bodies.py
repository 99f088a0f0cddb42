"""Bodies and heads on the routes that write: what is too large, endless, encoded or ambiguous (F11, F12, F18)."""

import gzip
import json
import time
import zlib
from collections.abc import Iterator
from contextlib import suppress

import pytest

from tests.api.served import Answer, Served, answers, everything, one_answer, served

MIB = 1024 * 1024
ROUTES = (
    b"POST /v1/suppliers",
    b"PUT /v1/suppliers/quay",
    b"PATCH /v1/suppliers/quay",
    b"POST /v1/drinks",
    b"PUT /v1/offers/a",
    b"PATCH /v1/menus/a",
)
QUAY = b'{"id":"quay","name":"Quay"}'


@pytest.fixture(scope="module")
def service() -> Iterator[Served]:
    """A service with short times and one supplier."""
    with served(body_timeout_s="0.6", head_timeout_s="0.6", drain_s="0") as running:
        request = _head(ROUTES[0]) + b"Connection: close\r\nContent-Length: %d\r\n\r\n" % len(QUAY)
        assert running.asked(request + QUAY)[0].status == 201
        yield running


@pytest.fixture(autouse=True)
def _nothing_is_written(service: Served) -> Iterator[None]:
    yield
    request = b"GET /v1/suppliers HTTP/1.1\r\nHost: bar.test\r\nConnection: close\r\n\r\n"
    (answer,) = service.asked(request)
    assert [row["body"] for row in json.loads(answer.body)["entries"]] == [json.loads(QUAY)]


def _head(route: bytes) -> bytes:
    return route + b" HTTP/1.1\r\nHost: bar.test\r\nContent-Type: application/json\r\nIf-Match: *\r\n"


def _is(answer: Answer, status: int, problem: str) -> None:
    assert answer.status == status
    assert answer.headers["content-type"] == "application/problem+json"
    assert json.loads(answer.body)["type"] == f"urn:washline:problem:{problem}"


@pytest.mark.parametrize("route", ROUTES)
def test_a_byte_over_the_limit_is_413(service: Served, route: bytes) -> None:
    with service.connected() as connection:
        connection.sendall(_head(route) + b"Content-Length: %d\r\n\r\n" % (MIB + 1))
        begun = time.monotonic()
        _is(one_answer(connection), 413, "body-too-large")
        assert time.monotonic() - begun < 1.0


@pytest.mark.parametrize("route", ROUTES)
def test_an_endless_body_is_413_and_not_kept(service: Served, route: bytes) -> None:
    before = service.rss_kib()
    chunk = b"10000\r\n" + b" " * 65536 + b"\r\n"
    with service.connected() as connection:
        connection.sendall(_head(route) + b"Transfer-Encoding: chunked\r\n\r\n" + chunk * 17)
        _is(one_answer(connection), 413, "body-too-large")
        with suppress(BrokenPipeError, ConnectionResetError):
            for _ in range(800):
                connection.sendall(chunk)
            pytest.fail("50 MiB were taken")
    assert service.rss_kib() - before < 10 * 1024


@pytest.mark.parametrize("route", ROUTES)
@pytest.mark.parametrize("stated", [b"gzip", b"deflate", b"br", b"identity", b"gzip, gzip"])
def test_an_encoded_body_is_415_and_never_unpacked(service: Served, route: bytes, stated: bytes) -> None:
    """10 MiB of spaces are 10 kB when packed."""
    body = zlib.compress(b" " * 10 * MIB) if stated == b"deflate" else gzip.compress(b" " * 10 * MIB)
    before = service.rss_kib()
    sent = _head(route) + b"Content-Encoding: %b\r\nConnection: close\r\nContent-Length: %d\r\n\r\n"
    (answer,) = service.asked(sent % (stated, len(body)) + body)
    _is(answer, 415, "media-type")
    assert service.rss_kib() - before < 8 * 1024


@pytest.mark.parametrize("route", ROUTES)
def test_packed_bytes_without_a_word_are_not_json(service: Served, route: bytes) -> None:
    body = gzip.compress(QUAY)
    sent = _head(route) + b"Connection: close\r\nContent-Length: %d\r\n\r\n" % len(body) + body
    _is(service.asked(sent)[0], 400, "not-json")


@pytest.mark.parametrize("route", ROUTES)
@pytest.mark.parametrize("sent", [b"", b'{"id"'])
def test_a_body_that_does_not_come_is_408(service: Served, route: bytes, sent: bytes) -> None:
    begun = time.monotonic()
    (answer,) = service.asked(_head(route) + b"Content-Length: 100\r\n\r\n" + sent)
    _is(answer, 408, "body-timeout")
    assert time.monotonic() - begun < 3.0


SMUGGLED = b'PUT /v1/suppliers/smuggled HTTP/1.1\r\nHost: a\r\nContent-Length: 15\r\n\r\n{"name":"Smug"}'


@pytest.mark.parametrize("route", ROUTES)
@pytest.mark.parametrize(
    "framing",
    [
        b"Content-Length: 5\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n",
        b'Content-Length: 5\r\nContent-Length: 6\r\n\r\n{"a":',
        b"Transfer-Encoding: xchunked\r\n\r\n0\r\n\r\n",
        b"Transfer-Encoding : chunked\r\n\r\n0\r\n\r\n",
        b"X: a\r\n b\r\nContent-Length : 2\r\n\r\n{}",
        b"Host: b\r\nContent-Length: 2\r\n\r\n{}",
        b"Content-Length: +2\r\n\r\n{}",
        b"Content-Length: 0x2\r\n\r\n{}",
        b"Transfer-Encoding: chunked\r\n\r\n-1\r\n\r\n",
        b"Transfer-Encoding: chunked\r\n\r\n2;\n{}\r\n0\r\n\r\n",
    ],
)
def test_what_two_readers_could_read_in_two_ways_is_refused_once(service: Served, route: bytes, framing: bytes) -> None:
    """RFC 9112, sections 2.2, 5.1, 6.1, 6.3, 7.1 and 3.2: one 4xx, the connection closed, nothing written."""
    with service.connected() as connection:
        with suppress(BrokenPipeError, ConnectionResetError):
            connection.sendall(_head(route) + framing + SMUGGLED)
        found = answers(everything(connection))
    assert len(found) == 1
    assert 400 <= found[0].status < 500


@pytest.mark.parametrize("route", ROUTES)
def test_a_head_that_is_too_much_is_refused(service: Served, route: bytes) -> None:
    long = route + b"?text=" + b"a" * 70_000 + b" HTTP/1.1\r\nHost: a\r\n\r\n"
    many = _head(route) + b"".join(b"X-%d: a\r\n" % number for number in range(5000)) + b"\r\n"
    for sent, status in ((long, 400), (many, 431)):  # The server reads no address of over 64 KiB as HTTP.
        with service.connected() as connection:
            with suppress(BrokenPipeError, ConnectionResetError):
                connection.sendall(sent)
            found = answers(everything(connection))
        assert [answer.status for answer in found] == [status]
