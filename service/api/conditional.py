"""ETags and what depends on them (RFC 9110, section 13). Tags are made of the bytes that the caller sees."""

import hashlib
import re
from typing import Final

from starlette.requests import Request
from starlette.responses import Response

from service.api.problems import Problem
from service.errors import Stale

_TAGS: Final = re.compile(r'\s*(?:W/)?"[\x21\x23-\x7e]{0,100}"\s*(?:,\s*(?:W/)?"[\x21\x23-\x7e]{0,100}"\s*){0,50}\Z')


def etag_of(content: bytes) -> str:
    """A strong tag of a representation."""
    return f'"{hashlib.sha256(content).hexdigest()[:32]}"'


def tagged(
    request: Request,
    content: bytes,
    headers: dict[str, str] | None = None,
    tag: str | None = None,
    media_type: str = "application/json",
) -> Response:
    """The representation with its tag, or 304 where the caller has it."""
    return matched(request, marked(request, content, headers, tag, media_type))


def marked(
    request: Request,
    content: bytes,
    headers: dict[str, str] | None = None,
    tag: str | None = None,
    media_type: str = "application/json",
) -> Response:
    """The representation with its tag; what a key sees that sees prices is stored nowhere on its way."""
    # Pages that hold no data are sent before anybody asks who it is.
    principal = getattr(request.state, "principal", None)
    kept = "no-store" if principal is not None and principal.sees_prices else "private, no-cache"
    more = {"ETag": tag or etag_of(content), "Cache-Control": kept, "Vary": "Authorization", **(headers or {})}
    return Response(content, 200, more, media_type)


def matched(request: Request, answer: Response) -> Response:
    """The tagged answer, or 304 where the caller has it."""
    wanted = request.headers.get("if-none-match")
    if wanted is None or (wanted.strip() != "*" and answer.headers["etag"] not in _tags(wanted)):
        return answer
    kept = {name: value for name, value in answer.headers.items() if not name.startswith("content-l")}
    return Response(b"", 304, {name: value for name, value in kept.items() if name != "content-type"})


def check_match(request: Request, current: str | None, *, required: bool = True) -> None:
    """Refuses a write whose If-Match or If-None-Match does not hold of the current tag (``None``: nothing is there).

    Raises :class:`Problem` 428 where a replacement names no tag, :class:`Stale` where it names another.
    """
    wanted = request.headers.get("if-match")
    absent = request.headers.get("if-none-match")
    if absent is not None and absent.strip() == "*" and current is not None:
        raise Stale
    if wanted is None:
        if current is not None and required:
            raise Problem(428, "precondition-required", "Send If-Match with the ETag of what is replaced.")
        return
    if current is None or not (wanted.strip() == "*" or current in _tags(wanted, strong=True)):
        raise Stale


def _tags(header: str, *, strong: bool = False) -> set[str]:
    if not _TAGS.match(header):
        return set()
    tags = {tag.strip() for tag in header.split(",")}
    return tags if strong else {tag.removeprefix("W/") for tag in tags}
