"""What every write of an entry goes through: the body read and tried out, done once for one Idempotency-Key."""

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

from fastapi import Request, Response
from sqlalchemy import Connection

from service.api.body import body_of, document_of, refuse_depth
from service.api.problems import Fault, Problem, of_faults
from service.api.trial import try_out
from service.api.validation import taken
from service.api.visibility import may_write
from service.store import idempotency
from service.store.kinds import Kind, normalised
from service.store.ledger import Ledger
from service.store.transaction import Actor


def ledger_of(request: Request, connection: Connection) -> Ledger:
    """The writes of one request."""
    state = request.app.state
    actor = Actor(request.state.principal.key_id, request.scope.get("washline_request_id", ""))
    return Ledger(connection, actor, datetime.now(UTC), state.embedded)


async def written_document(request: Request) -> tuple[bytes, dict[str, Any]]:
    """The raw body and the object in it, its text in NFC."""
    state = request.app.state
    raw = await body_of(request, state.settings.max_body_bytes, state.settings.body_timeout_s)
    document = document_of(raw)
    if not isinstance(document, dict):
        raise of_faults([Fault("", "wrong_type", "Expected an object.")])
    refuse_depth(document)
    return raw, normalised(document)


def checked(request: Request, kind: Kind, body: dict[str, Any], entry_id: str | None) -> dict[str, Any]:
    """A body that its model takes, that the key may write, and that can be worked with, in this order: the trial tells
    of what else is held. Raises :class:`Problem`, with a pointer for each fault."""
    if entry_id is not None:
        body = {"id": entry_id, **body}
        if body["id"] != entry_id:
            raise of_faults(
                [Fault("/id", "id_differs", "The id is the one in the address; leave it out or repeat it.")]
            )
    model = taken(kind.model, body)
    may_write(kind.name, body, request.state.principal)
    try_out(request, model)
    return body


def once(request: Request, route: str, request_sha256: str, write: Callable[[Connection], Response]) -> Response:
    """Runs a creation in one transaction, or gives the answer that its Idempotency-Key was given before."""
    key = idempotency_key(request)
    with request.app.state.store.writing() as connection:
        before = answered_before(connection, request, route, request_sha256)
        if before is not None:
            return before
        response = write(connection)
        if key is not None:
            headers = {name: value for name, value in response.headers.items() if name in ("etag", "location")}
            given = idempotency.Answered(request_sha256, response.status_code, headers, bytes(response.body).decode())
            idempotency.keep(connection, request.state.principal.key_id, route, key, given)
    return response


def idempotency_key(request: Request) -> str | None:
    """The Idempotency-Key of a request. Raises :class:`Problem` 400 for what is none."""
    key = request.headers.get("idempotency-key")
    if key is not None and not (0 < len(key) <= 255 and key.isascii() and key.isprintable()):
        raise Problem(400, "idempotency-key", "An Idempotency-Key is 1 to 255 printable ASCII characters.")
    return key


def answered_before(connection: Connection, request: Request, route: str, request_sha256: str) -> Response | None:
    """The answer that this Idempotency-Key of this caller was given. Raises :class:`Problem` 422 for another body."""
    key = idempotency_key(request)
    before = None if key is None else idempotency.answered(connection, request.state.principal.key_id, route, key)
    if before is None:
        return None
    if before.request_sha256 != request_sha256:
        raise Problem(422, "idempotency-key-reused", "This Idempotency-Key was used with another request.")
    return Response(before.body.encode(), before.status, dict(before.headers), "application/json")


def merged(target: Any, patch: Any) -> Any:
    """A JSON merge patch (RFC 7396, section 2) applied: ``null`` takes a member away."""
    if not isinstance(patch, dict):
        return patch
    result = dict(target) if isinstance(target, dict) else {}
    for name, value in patch.items():
        if value is None:
            result.pop(name, None)
        else:
            result[name] = merged(result.get(name), value)
    return result
