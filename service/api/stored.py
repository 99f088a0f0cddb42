"""The stored resources under /v1: list, create, read, replace, patch, delete, archive, history, for all kinds."""

import hashlib
import json
from collections.abc import Callable
from datetime import date
from enum import Enum
from typing import Annotated, Any, Final

from fastapi import APIRouter, Depends, Path, Query, Request, Response
from fastapi.concurrency import run_in_threadpool
from sqlalchemy import Connection

from schemas.catalogue import HistoryQuery, ListQuery, ReadQuery, WriteQuery
from service.api.conditional import check_match, etag_of, tagged
from service.api.documentation import NOT_FOUND, QUERY_REFUSALS, REFUSALS, WRITE_REFUSALS, answered_with, json_body
from service.api.kept import today
from service.api.paging import next_link, token_of, token_read
from service.api.parameters import each_once
from service.api.patience import in_time
from service.api.visibility import may_see, may_write, shown, visible
from service.api.writes import answered_before, checked, ledger_of, merged, once, written_document
from service.errors import Conflict, NotFound
from service.store.held import Held, current, day_of
from service.store.kinds import KINDS, Kind, name_key
from service.store.listing import Filters, entries_after, history_of
from service.store.standing import said_on

router = APIRouter(dependencies=[Depends(each_once(ListQuery, ReadQuery, WriteQuery, HistoryQuery))])

EntryId = Annotated[str, Path(description="The entry's id.")]


def _add(kind: Kind) -> None:
    base = f"/v1/{kind.name}"
    tags: list[str | Enum] = [kind.name]
    entry = (
        f"Stored{kind.one.capitalize()}"
        if kind.name in ("ingredients", "preparations", "drinks", "offers")
        else kind.model.__name__
    )
    body = json_body(entry)
    one = answered_with(entry, f"The {kind.one}.")

    @router.get(
        base, operation_id=f"list_{kind.name}", summary=f"The {kind.name}", response_model=None,
        responses={200: answered_with("EntryPage", "One page."), **QUERY_REFUSALS}, tags=tags,
    )  # fmt: skip
    async def list_entries(request: Request, query: Annotated[ListQuery, Query()]) -> Response:
        """Entries in the order of their ids, page by page; each with its ETag and the body as one is read alone."""
        return await in_time(request, _page, request, kind, query)

    @router.post(
        base, operation_id=f"create_{kind.one}", summary=f"Create a {kind.one}", status_code=201, response_model=None,
        responses={201: one, **REFUSALS, **WRITE_REFUSALS}, openapi_extra=body, tags=tags,
    )  # fmt: skip
    async def create(request: Request, query: Annotated[WriteQuery, Query()]) -> Response:
        """A new entry. Sent again with the same Idempotency-Key within a day it gets the same answer."""
        raw, document = await written_document(request)
        return await run_in_threadpool(_created, request, kind, raw, document, query.valid_from)

    @router.get(
        base + "/{entry_id}", operation_id=f"read_{kind.one}", summary=f"One {kind.one}", response_model=None,
        responses={200: one, **NOT_FOUND, **QUERY_REFUSALS}, tags=tags,
    )  # fmt: skip
    async def read(request: Request, entry_id: EntryId, query: Annotated[ReadQuery, Query()]) -> Response:
        """The entry as last written with its ETag, which If-Match takes; 304 where If-None-Match has it.

        What was last written may hold from a later day: `as_of` asks for what holds on a day.
        """
        return await in_time(request, _read, request, kind, entry_id, query.as_of)

    @router.put(
        base + "/{entry_id}", operation_id=f"put_{kind.one}", summary=f"Create or replace a {kind.one}",
        response_model=None, responses={200: one, 201: one, **REFUSALS, **WRITE_REFUSALS}, openapi_extra=body,
        tags=tags,
    )  # fmt: skip
    async def put(request: Request, entry_id: EntryId, query: Annotated[WriteQuery, Query()]) -> Response:
        """Creates the entry with the id in the address, or replaces it: then If-Match has to name its ETag.

        Sent again as it is held, nothing is changed: no revision, no version, the same ETag.
        """
        _, document = await written_document(request)
        return await run_in_threadpool(_replaced, request, kind, entry_id, document, query.valid_from)

    @router.patch(
        base + "/{entry_id}", operation_id=f"patch_{kind.one}",
        summary=f"Change parts of a {kind.one} (RFC 7396 merge patch)", response_model=None,
        responses={200: one, **REFUSALS, **WRITE_REFUSALS, **NOT_FOUND},
        openapi_extra={"requestBody": {"required": True, "content": {
            "application/merge-patch+json": {"schema": {"type": "object"}}}}}, tags=tags,
    )  # fmt: skip
    async def patch(request: Request, entry_id: EntryId, query: Annotated[WriteQuery, Query()]) -> Response:
        """Members of the patch replace those that hold on its day, null takes them away; If-Match has to name the ETag.

        What is written for later days stays as it is: give `valid_from` to change that.
        """
        _, document = await written_document(request)
        return await run_in_threadpool(_patched, request, kind, entry_id, document, query.valid_from)

    @router.delete(
        base + "/{entry_id}", operation_id=f"delete_{kind.one}", summary=f"Delete a {kind.one} that nothing uses",
        status_code=204, response_model=None, responses={**WRITE_REFUSALS, **NOT_FOUND}, tags=tags,
    )  # fmt: skip
    async def delete(request: Request, entry_id: EntryId) -> Response:
        """If-Match has to name its ETag. Refused while others name it: they are listed, and it can be archived."""
        return await run_in_threadpool(_deleted, request, kind, entry_id)

    for verb, state in (("archive", "archived"), ("reinstate", "live")):
        said = "Take out of lists, kept for what uses it" if verb == "archive" else "Take back into use"

        async def set_state(request: Request, entry_id: EntryId, *, state: str) -> Response:
            return await run_in_threadpool(_set_state, request, kind, entry_id, state)

        router.add_api_route(
            base + "/{entry_id}/" + verb, _bound(set_state, state), methods=["POST"],
            operation_id=f"{verb}_{kind.one}", summary=said, description=_ABOUT[verb], response_model=None,
            responses={200: one, **WRITE_REFUSALS, **NOT_FOUND}, tags=tags,
        )  # fmt: skip

    @router.get(
        base + "/{entry_id}/revisions", operation_id=f"history_{kind.one}", summary=f"Every revision of a {kind.one}",
        response_model=None, responses={200: answered_with("RevisionPage", "One page."), **NOT_FOUND, **QUERY_REFUSALS},
        tags=tags,
    )  # fmt: skip
    async def history(request: Request, entry_id: EntryId, query: Annotated[HistoryQuery, Query()]) -> Response:
        """Each state that was ever written, the first one first: nothing is overwritten."""
        return await in_time(request, _history, request, kind, entry_id, query)


_ABOUT: Final = {
    "archive": "It leaves the lists and takes no new users; what names it goes on. Takes no body.",
    "reinstate": "It stands in the lists again and may be named. Takes no body.",
}


def _bound(handler: Callable[..., Any], state: str) -> Callable[..., Any]:
    """A handler for one state, with a signature of its own for the framework to read."""

    async def bound(request: Request, entry_id: EntryId) -> Response:
        made: Response = await handler(request, entry_id, state=state)
        return made

    return bound


def _page(request: Request, kind: Kind, query: ListQuery) -> Response:
    principal = request.state.principal
    after = "" if query.page_token is None else token_read(query.page_token)
    filters = Filters(
        query.text, query.kind, query.item, query.supplier, query.external_id, query.archived,
        _embedded_named(request, query.text) if kind.name == "offers" and query.text is not None else (),
    )  # fmt: skip
    found: list[Held] = []
    more = True
    with request.app.state.store.reading() as connection:
        while more and len(found) <= query.page_size:  # What a key may not know of is passed over, so pages stay full.
            rows = entries_after(connection, kind.name, after, query.page_size + 1, filters)
            more = len(rows) > query.page_size
            for held in rows:
                after = held.id
                try:
                    found.append(may_see(kind.name, held, principal))
                except NotFound:
                    continue
    page = found[: query.page_size]
    token = token_of(page[-1].id) if len(found) > query.page_size else None
    entries = []
    for held in page:
        content = shown(kind.name, held.text, principal)
        entries.append({"id": held.id, "state": held.state, "etag": etag_of(content), "body": json.loads(content)})
    answer = {"entries": entries, "next_page_token": token}
    return tagged(request, json.dumps(answer, ensure_ascii=False).encode(), next_link(request, token))


def _embedded_named(request: Request, text: str) -> tuple[str, ...]:
    """The embedded items whose name holds a text, compared as stored names are."""
    wanted = name_key(text)
    return tuple(item.id for item in request.app.state.reference.items.values() if wanted in name_key(item.name))


def _read(request: Request, kind: Kind, entry_id: str, day: date | None) -> Response:
    principal = request.state.principal
    with request.app.state.store.reading() as connection:
        if day is None:
            found = current(connection, kind.name, entry_id)
        else:
            found = said_on(connection, kind.name, entry_id, day.isoformat())
        held = may_see(kind.name, found, principal)
    return tagged(request, shown(kind.name, held.text, principal))


def _answer(request: Request, kind: Kind, held: Held, status: int) -> Response:
    content = shown(kind.name, held.text, request.state.principal)
    headers = {"ETag": etag_of(content)}
    if status == 201:
        headers["Location"] = f"/v1/{kind.name}/{held.id}"
    return Response(content, status, headers, "application/json")


def _created(request: Request, kind: Kind, raw: bytes, document: dict[str, Any], day: date | None) -> Response:
    """Creates once: the same Idempotency-Key gives the same answer, written with what it created."""
    route, sent = f"create {kind.name}", raw + b"\n" + str(request.query_params).encode()
    digest = hashlib.sha256(sent).hexdigest()
    with request.app.state.store.reading() as connection:
        before = answered_before(connection, request, route, digest)
    if before is not None:  # Looked up first: what was taken once need not be taken again as the catalogue is now.
        return before
    body = checked(request, kind, document, None)

    def write(connection: Connection) -> Response:
        if current(connection, kind.name, body["id"]) is not None:
            raise Conflict("exists", f"There is a {kind.one} of this id; replace it with PUT and If-Match.")
        ledger = ledger_of(request, connection)
        held = ledger.put(kind.name, body, day)
        ledger.close()
        return _answer(request, kind, held, 201)

    return once(request, route, digest, write)


def _replaced(request: Request, kind: Kind, entry_id: str, document: dict[str, Any], day: date | None) -> Response:
    body = checked(request, kind, document, entry_id)
    with request.app.state.store.writing() as connection:
        known = current(connection, kind.name, entry_id)
        _check_known(request, kind, known)
        ledger = ledger_of(request, connection)
        held = ledger.put(kind.name, body, day, known)
        ledger.close()
    return _answer(request, kind, held, 201 if known is None else 200)


def _check_known(request: Request, kind: Kind, known: Held | None) -> None:
    """The preconditions of a write on what is there, which the key has to be allowed to write, too."""
    principal = request.state.principal
    if known is not None:
        may_write(kind.name, json.loads(known.text), principal)
    check_match(request, None if known is None else etag_of(shown(kind.name, known.text, principal)))


def _patched(request: Request, kind: Kind, entry_id: str, patch: dict[str, Any], day: date | None) -> Response:
    principal = request.state.principal
    with request.app.state.store.reading() as connection:
        known = may_see(kind.name, current(connection, kind.name, entry_id), principal)
        asked = merged(json.loads(known.text), patch)
        written = day_of(asked, known, today().isoformat()) if day is None else day.isoformat()
        base = may_see(kind.name, said_on(connection, kind.name, entry_id, written) or known, principal)
    body = checked(request, kind, merged(json.loads(base.text), patch), entry_id)
    with request.app.state.store.writing() as connection:
        now = current(connection, kind.name, entry_id)
        _check_known(request, kind, now)
        if now is None or now.revision != known.revision:
            raise Conflict("changed_meanwhile", "It changed while this was read; send it again.")
        ledger = ledger_of(request, connection)
        held = ledger.put(kind.name, body, date.fromisoformat(written), now)
        ledger.close()
    return _answer(request, kind, held, 200)


def _deleted(request: Request, kind: Kind, entry_id: str) -> Response:
    principal = request.state.principal
    with request.app.state.store.writing() as connection:
        known = may_see(kind.name, current(connection, kind.name, entry_id), principal)
        _check_known(request, kind, known)
        ledger = ledger_of(request, connection)
        ledger.remove(known, json.loads(known.text))
        ledger.close()
    return Response(status_code=204)


def _set_state(request: Request, kind: Kind, entry_id: str, state: str) -> Response:
    principal = request.state.principal
    with request.app.state.store.writing() as connection:
        known = may_see(kind.name, current(connection, kind.name, entry_id), principal)
        may_write(kind.name, json.loads(known.text), principal)
        check_match(request, etag_of(shown(kind.name, known.text, principal)), required=False)
        held = known
        if known.state != state:
            ledger = ledger_of(request, connection)
            held = ledger.set_state(known, json.loads(known.text), state)
            ledger.close()
    return _answer(request, kind, held, 200)


def _history(request: Request, kind: Kind, entry_id: str, query: HistoryQuery) -> Response:
    """Revisions with their stamps."""
    principal = request.state.principal
    with request.app.state.store.reading() as connection:
        may_see(kind.name, current(connection, kind.name, entry_id), principal)
        rows = history_of(connection, kind.name, entry_id, query.after, query.page_size + 1)
    page = rows[: query.page_size]
    revisions = [
        {"revision": held.revision, "valid_from": held.valid_from, "recorded_at": held.recorded_at,
         "cost_version": held.version, "state": held.state, "body": json.loads(held.text)}
        for held in page
        if visible(kind.name, json.loads(held.text), principal)
    ]  # fmt: skip
    answer = {"revisions": revisions, "next_after": page[-1].revision if len(rows) > len(page) else None}
    return Response(json.dumps(answer, ensure_ascii=False).encode(), media_type="application/json")


for _kind in KINDS.values():
    _add(_kind)
