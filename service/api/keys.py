"""/v1/keys: make, list and end keys. A key's text is shown once and kept nowhere."""

import json
from typing import Annotated, Any

from fastapi import APIRouter, Path, Request, Response
from fastapi.concurrency import run_in_threadpool
from sqlalchemy import Connection

from schemas.catalogue import KeyRequest
from service.api.documentation import NOT_FOUND, REFUSALS, WRITE_REFUSALS, answered_with, json_body
from service.api.kept import today
from service.api.patience import in_time
from service.api.problems import Fault, Problem, of_faults
from service.api.validation import taken
from service.api.writes import ledger_of, written_document
from service.errors import NotFound
from service.store import keys
from service.store.held import current

router = APIRouter(prefix="/v1/keys", tags=["keys"])

KeyId = Annotated[str, Path(description="The key's id.")]


def view(key: keys.Key) -> dict[str, Any]:
    """A key without its secret."""
    return {
        "id": key.id, "prefix": key.prefix, "name": key.name, "scopes": sorted(key.scopes), "venue": key.venue,
        "created_at": key.created_at, "expires_at": key.expires_at, "revoked_at": key.revoked_at,
        "last_used_at": key.last_used_at,
    }  # fmt: skip


@router.get(
    "", operation_id="list_keys", summary="All keys", response_model=None,
    responses={200: answered_with("KeyList", "All keys.")},
)  # fmt: skip
async def list_keys(request: Request) -> Response:
    """Every key, the ended ones too, without their secrets."""

    def read() -> Response:
        with request.app.state.store.reading() as connection:
            found = [key for key in keys.all_keys(connection) if _known(request, key)]
            return _json({"keys": [view(key) for key in found]})

    return await in_time(request, read)


@router.post(
    "", operation_id="create_key", summary="Make a key", status_code=201, response_model=None,
    responses={201: answered_with("KeyMade", "The key; its text is shown this once."), **REFUSALS, **WRITE_REFUSALS},
    openapi_extra=json_body("KeyRequest"),
)  # fmt: skip
async def create_key(request: Request) -> Response:
    """A key with the scopes asked for. A lost answer is not given again: end that key and make another."""
    _, document = await written_document(request)
    asked = taken(KeyRequest, document)

    def write() -> Response:
        with request.app.state.store.writing() as connection:
            if request.state.principal.venue not in (None, asked.venue):
                raise Problem(403, "venue-only", "This key makes keys for its one venue, and no others.")
            _check_venue(connection, asked.venue)
            if asked.expires_on is not None and asked.expires_on < today():
                raise of_faults([Fault("/expires_on", "past", keys.PAST)])
            key, text = keys.new_key(connection, asked.name, asked.scopes, asked.venue, asked.expires_on)
            ledger = ledger_of(request, connection)
            ledger.note("create", "keys", key.id, None, json.dumps(view(key)))
            return _json({**view(key), "key": text}, 201)

    return await run_in_threadpool(write)


def _known(request: Request, key: keys.Key) -> bool:
    """Whether the caller may know of a key: one for a venue knows those of its venue alone."""
    return request.state.principal.venue in (None, key.venue)


def _key_of(request: Request, connection: Connection, key_id: str) -> keys.Key:
    key = keys.key_of_id(connection, key_id)
    if not _known(request, key):
        raise NotFound(keys.NO_KEY)
    return key


def _check_venue(connection: Connection, venue: str | None) -> None:
    if venue is not None and current(connection, "venues", venue) is None:
        raise of_faults([Fault("/venue", "unknown_venue", "There is no venue of this id; create it first.")])


@router.get(
    "/{key_id}", operation_id="read_key", summary="One key", response_model=None,
    responses={200: answered_with("KeyView", "The key."), **NOT_FOUND},
)  # fmt: skip
async def read_key(request: Request, key_id: KeyId) -> Response:
    """A key without its secret."""

    def read() -> Response:
        with request.app.state.store.reading() as connection:
            return _json(view(_key_of(request, connection, key_id)))

    return await in_time(request, read)


@router.delete(
    "/{key_id}", operation_id="revoke_key", summary="End a key at once", response_model=None,
    responses={200: answered_with("KeyView", "The ended key."), **WRITE_REFUSALS, **NOT_FOUND},
)  # fmt: skip
async def revoke_key(request: Request, key_id: KeyId) -> Response:
    """From the answer on, no worker takes it."""

    def write() -> Response:
        with request.app.state.store.writing() as connection:
            before = _key_of(request, connection, key_id)
            after = keys.revoke(connection, key_id)
            if before.revoked_at is None:
                ledger = ledger_of(request, connection)
                ledger.note("revoke", "keys", key_id, json.dumps(view(before)), json.dumps(view(after)))
            return _json(view(after))

    return await run_in_threadpool(write)


def _json(content: dict[str, Any], status: int = 200) -> Response:
    return Response(json.dumps(content, ensure_ascii=False).encode(), status, media_type="application/json")
