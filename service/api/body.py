"""Reads a JSON body: bounded in size and time, strict as RFC 8259, no duplicate keys.

What is not JSON is 400; everything else that is wrong in a body is found later and is 422.
"""

import asyncio
import json
import re
from collections.abc import Callable
from typing import IO, Any, NoReturn

from starlette.requests import Request
from starlette.responses import Response
from starlette.types import Receive, Scope, Send

from service.api.problems import MEDIA_NOT_TAKEN, SLOW_BODY, TOO_LARGE, Fault, Problem, not_json, of_faults
from service.temporary import temporary_file

DEEPEST = 64
"""How deep arrays and objects may nest."""

MOST_KEYS = 1000
"""How many keys one object may have."""

MOST_OBJECTS = 60_000
"""How many objects a body may hold; the shortest lines that the contract allows come to some 42,000 in a mebibyte."""

DRAINED_BYTES = 4 * 1024 * 1024
DRAINED_SECONDS = 2.0
"""What is read and dropped of a body that is too large, so that the refusal arrives."""

_JSON_TYPE = re.compile(
    r"application/(?:json|[a-z0-9.+-]{1,60}\+json)\s*(?:;\s*charset=\"?utf-8\"?\s*)?\Z", re.IGNORECASE
)
_LONG_NUMBER = 20
"""Digits from which an integer is read as a float, where a body has one so long that Python refuses to read it."""


class DuplicateKey(ValueError):
    """An object has a key twice."""


class TooMany(ValueError):
    """A body has more objects, or an object more keys, than any of the contract."""


async def body_of(request: Request, limit: int, timeout_s: float) -> bytes:
    """The raw body. Raises :class:`Problem`: 408, 413 or 415."""
    headers = request.headers
    media_type = headers.get("content-type")
    if (media_type is not None and not _JSON_TYPE.match(media_type)) or "content-encoding" in headers:
        raise Problem(*MEDIA_NOT_TAKEN)
    return await _bytes_of(request, limit, timeout_s)


async def _bytes_of(request: Request, limit: int, timeout_s: float) -> bytes:
    chunks: list[bytes] = []
    await _received(request, limit, timeout_s, chunks.append)
    return b"".join(chunks)


async def _received(request: Request, limit: int, timeout_s: float, take: Callable[[bytes], object]) -> None:
    headers = request.headers
    length = headers.get("content-length")
    if length is not None and length.isascii() and length.isdigit() and int(length[:20]) > limit:
        raise Problem(*TOO_LARGE)
    size = 0
    try:
        async with asyncio.timeout(timeout_s):
            async for chunk in request.stream():
                size += len(chunk)
                if size > limit:
                    raise Problem(*TOO_LARGE)
                take(chunk)
    except TimeoutError:
        raise Problem(*SLOW_BODY, headers={"Connection": "close"}) from None


async def file_of(request: Request, taken: tuple[str, ...], limit: int, timeout_s: float) -> tuple[bytes, str]:
    """The raw bytes of a file with its media type, one of ``taken``. Raises :class:`Problem`: 408, 413 or 415."""
    media_type = _media_type_of(request, taken)
    return await _bytes_of(request, limit, timeout_s), media_type


async def spooled_file_of(
    request: Request, taken: tuple[str, ...], limit: int, timeout_s: float
) -> tuple[IO[bytes], str]:
    """The same as a file, on disk where it is long, for whoever closes it."""
    media_type = _media_type_of(request, taken)
    file = temporary_file()
    try:
        await _received(request, limit, timeout_s, file.write)
    except BaseException:
        file.close()
        raise
    return file, media_type


def _media_type_of(request: Request, taken: tuple[str, ...]) -> str:
    media_type = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if media_type not in taken or "content-encoding" in request.headers:
        detail = f"Send one of {', '.join(taken)}, without content encoding."
        raise Problem(415, "media-type", detail)
    return media_type


class Drained(Response):
    """A refusal that is sent at once, after which some of the body is read and dropped so that the client reads it."""

    def __init__(self, problem: Problem) -> None:
        response = problem.response({"Connection": "close"})
        super().__init__(response.body, response.status_code, dict(response.headers), response.media_type)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Sends, drains, then ends the response."""
        await send({"type": "http.response.start", "status": self.status_code, "headers": self.raw_headers})
        await send({"type": "http.response.body", "body": self.body, "more_body": True})
        dropped = 0
        try:
            async with asyncio.timeout(DRAINED_SECONDS):
                while dropped < DRAINED_BYTES:
                    message = await receive()
                    dropped += len(message.get("body", b""))
                    if message["type"] != "http.request" or not message.get("more_body", False):
                        break
        except TimeoutError:
            pass
        await send({"type": "http.response.body", "body": b"", "more_body": False})


def _unique(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise DuplicateKey
    if len(found) > MOST_KEYS:
        raise TooMany
    return found


def _no_constant(_: str) -> NoReturn:
    raise json.JSONDecodeError("not a number of RFC 8259", "", 0)


def _whole(digits: str) -> int | float:
    """A long run of digits is read as a float, which the schemas then bound."""
    return int(digits) if len(digits) <= _LONG_NUMBER else float(digits)


_DECODER = json.JSONDecoder(object_pairs_hook=_unique, parse_constant=_no_constant)


def _careful() -> json.JSONDecoder:
    """A slower decoder for unlikely bodies: it counts the objects, and reads integers of any length."""
    left = MOST_OBJECTS

    def counted(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        nonlocal left
        left -= 1
        if left < 0:
            raise TooMany
        return _unique(pairs)

    return json.JSONDecoder(object_pairs_hook=counted, parse_constant=_no_constant, parse_int=_whole)


def document_of(raw: bytes) -> Any:
    """The document in a body. Raises :class:`Problem`: 400 for what is not JSON, 422 for more than can be used."""
    try:
        text = raw.decode("utf-8")
        if raw.count(b"{") > MOST_OBJECTS:
            return _careful().decode(text)
        try:
            return _DECODER.decode(text)
        except (json.JSONDecodeError, DuplicateKey, TooMany):
            raise
        except ValueError:  # An integer of over 4,300 digits, which is JSON all the same.
            return _careful().decode(text)
    except UnicodeDecodeError:
        raise not_json("The body is not UTF-8.") from None
    except DuplicateKey:
        raise not_json("An object has a key twice.") from None
    except TooMany:
        detail = f"The body has over {MOST_OBJECTS:,} objects, or an object over {MOST_KEYS:,} fields."
        raise of_faults([Fault("", "too_many", detail)]) from None
    except RecursionError:
        raise too_deep() from None
    except json.JSONDecodeError:
        raise not_json(
            "The body is not JSON (RFC 8259): no comments, no NaN, no byte order mark, nothing after the end."
        ) from None


def refuse_depth(document: Any) -> None:
    """Raises :class:`Problem` 400 where the document nests deeper than any of the contract.

    Whatever the schemas accept nests less, so this is asked only of what they refused.
    """
    level = [document]
    for _ in range(DEEPEST):
        level = [
            child
            for node in level
            if isinstance(node, dict | list)
            for child in (node.values() if isinstance(node, dict) else node)
            if isinstance(child, dict | list)
        ]
        if not level:
            return
    raise too_deep()


def too_deep() -> Problem:
    """The refusal of a document that nests deeper than any of the contract."""
    return not_json(f"Arrays and objects nest deeper than {DEEPEST} levels.")
