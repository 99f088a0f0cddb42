"""Every refusal as application/problem+json (RFC 9457): a stable type, and one JSON Pointer per fault.

No value of the request is repeated; valid ids may be named. Which domain error becomes which status is decided here.
"""

import json
from collections.abc import Mapping, Sequence
from http import HTTPStatus

from msgspec import Struct
from starlette.responses import Response

from service.errors import Conflict, InputFault, InputFaults, InUse, NotFound, Stale, StoreFull, WashlineError

MEDIA_TYPE = "application/problem+json"
TYPES = "urn:washline:problem:"
TITLES = {413: "Content Too Large", 414: "URI Too Long", 422: "Unprocessable Content"}
"""Names of RFC 9110 that the standard library knows by an older word in some of its versions."""

MOST_ERRORS = 100
"""How many faults one answer lists at most."""


def title_of(status: int) -> str:
    """The name of a status by RFC 9110."""
    return TITLES.get(status) or HTTPStatus(status).phrase


class Fault(Struct, frozen=True):
    """One entry of ``errors``."""

    pointer: str
    code: str
    detail: str


class Problem(Exception):
    """A refusal with its status; ``slug`` ends its type. Made anew for each refusal, since raising marks it."""

    def __init__(
        self,
        status: int,
        slug: str,
        detail: str,
        errors: Sequence[Fault] = (),
        headers: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__(f"{status} {slug}")
        self.status = status
        self.slug = slug
        self.detail = detail
        self.errors = tuple(errors)
        self.headers = dict(headers or {})

    def body(self) -> dict[str, object]:
        """The object that is sent."""
        body: dict[str, object] = {
            "type": TYPES + self.slug,
            "title": title_of(self.status),
            "status": self.status,
            "detail": self.detail,
        }
        if self.errors:
            body["errors"] = [
                {"pointer": fault.pointer, "code": fault.code, "detail": fault.detail}
                for fault in self.errors[:MOST_ERRORS]
            ]
        return body

    def response(self, more_headers: Mapping[str, str] | None = None) -> Response:
        """The response that is sent."""
        headers = {**self.headers, **(more_headers or {})}
        content = json.dumps(self.body(), ensure_ascii=True, allow_nan=False).encode()
        return Response(content, self.status, headers, MEDIA_TYPE)


def of_faults(faults: Sequence[Fault]) -> Problem:
    """A body or query that was read and cannot be worked with: 422."""
    count = len(faults)
    detail = "The request has a fault; see errors." if count == 1 else f"The request has {count} faults; see errors."
    return Problem(422, "invalid-request", detail, faults)


def of_input(error: InputFault | InputFaults) -> Problem:
    """A domain fault as a problem."""
    faults = error.faults if isinstance(error, InputFaults) else (error,)
    return of_faults([Fault(fault.pointer, fault.code, fault.detail) for fault in faults])


def of_row(error: InputFault | InputFaults | NotFound) -> Problem:
    """What stands in the place of one drink in an answer about several."""
    return of_store(error) if isinstance(error, NotFound) else of_input(error)


def not_json(detail: str) -> Problem:
    """A body that is not RFC 8259 JSON as this service takes it: 400."""
    return Problem(400, "not-json", detail)


NOT_FOUND = (404, "not-found", "Nothing is served at this address.")
NO_VENUE = (404, "not-found", "There is no such venue.")
TOO_LARGE = (413, "body-too-large", "The body is larger than this service reads.")
BAD_REQUEST = (400, "not-http", "The request is not HTTP/1.1 as RFC 9112 has it.")
SLOW_HEAD = (408, "head-timeout", "The head of the request did not arrive in time.")
TOO_SLOW = (503, "answer-timeout", "The answer took too long to make; ask for less, or again later.")
SLOW_BODY = (408, "body-timeout", "The body did not arrive in time.")
URL_TOO_LONG = (414, "url-too-long", "The address is longer than 8 KiB.")
HEADERS_TOO_LARGE = (431, "headers-too-large", "There are more than 100 headers, or more than 64 KiB of them.")
MEDIA_NOT_TAKEN = (415, "media-type", "Send application/json in UTF-8, without content encoding.")
UNEXPECTED = (500, "unexpected", "Something went wrong here; the request id finds it in the log.")
"""Refusals of the request as a whole: status, end of the type, detail."""


def of_conflict(error: Conflict) -> Problem:
    """What does not fit what is stored; the users of something in use are named."""
    users = error.users if isinstance(error, InUse) else ()
    faults = [Fault("", "used_by", f"{kind}/{entry_id}") for kind, entry_id in users]
    return Problem(409, error.code.replace("_", "-"), error.detail, faults)


def of_store(error: WashlineError) -> Problem:
    """What the store says, as a problem."""
    if isinstance(error, NotFound):
        status, slug, detail = NOT_FOUND
        return Problem(status, slug, error.detail or detail)
    if isinstance(error, Stale):
        return Problem(412, "precondition-failed", "It has changed since that ETag; read it again.")
    if isinstance(error, Conflict):
        return of_conflict(error)
    if isinstance(error, StoreFull):
        return Problem(507, "store-full", "The store has no space left; nothing was changed.")
    return Problem(503, "store-busy", "The store cannot take this now; send it again.", headers={"Retry-After": "1"})
