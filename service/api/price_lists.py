"""/v1/price-lists: a supplier's list is read and told row by row first, then taken in whole or not at all."""

import hashlib
import json
from collections.abc import Iterator, Mapping
from datetime import UTC, datetime
from typing import IO, Annotated, Any

from fastapi import APIRouter, Depends, Path, Query, Request, Response
from fastapi.concurrency import iterate_in_threadpool, run_in_threadpool
from sqlalchemy import Connection
from starlette.responses import StreamingResponse

from schemas.price_lists import CommitRequest, ListQueryIn
from service.api.body import spooled_file_of
from service.api.documentation import NOT_FOUND, REFUSALS, WRITE_REFUSALS, answered_with, json_body
from service.api.kept import today
from service.api.list_reading import (
    LIST_BODY,
    bodies_of,
    day_of,
    head_of,
    offers_then,
    options_of,
    price_list_of,
    without_offers,
)
from service.api.parameters import each_once
from service.api.patience import BOOKS_S, in_time
from service.api.problems import Fault, Problem, of_input
from service.api.validation import taken
from service.api.writes import ledger_of, once, written_document
from service.errors import Conflict, InputFault, InputFaults
from service.store.held import Held
from service.store.price_lists import (
    KeptList,
    drop_list,
    keep_list,
    kept_file,
    kept_list,
    mark_committed,
    new_list_id,
    offers_changed_since,
)
from service.suppliers.price_list import FORMATS, PriceList
from service.suppliers.reporting import row_report
from service.suppliers.spool import Spool

router = APIRouter(prefix="/v1/price-lists", tags=["price lists"], dependencies=[Depends(each_once(ListQueryIn))])

ListId = Annotated[str, Path(description="The list's id.")]


@router.post(
    "", operation_id="create_price_list", summary="Read a supplier's price list and tell what it would change",
    status_code=201, response_model=None,
    responses={201: answered_with("KeptPriceList", "What it would change."), **REFUSALS, **WRITE_REFUSALS},
    openapi_extra={"requestBody": LIST_BODY},
)  # fmt: skip
async def create_price_list(request: Request, query: Annotated[ListQueryIn, Query()]) -> Response:
    """A dry run: nothing is changed. The columns are those kept with the supplier."""
    state = request.app.state
    file, media_type = await spooled_file_of(
        request, tuple(FORMATS), state.settings.max_import_bytes, state.settings.body_timeout_s
    )
    with file:
        return await run_in_threadpool(_read_list, request, query, file, media_type)


@router.get(
    "/{list_id}", operation_id="read_price_list", summary="One price list", response_model=None,
    responses={200: answered_with("KeptPriceList", "What it would change, or changed."), **NOT_FOUND},
)  # fmt: skip
async def read_price_list(request: Request, list_id: ListId) -> Response:
    """The list's state, counts and the rows that need a look."""

    def read() -> Response:
        with request.app.state.store.reading() as connection:
            kept = kept_list(connection, list_id)
        return _json(_view(kept))

    return await in_time(request, read)


@router.get(
    "/{list_id}/rows", operation_id="list_price_list_rows", summary="Every row of a list with what it would change",
    response_model=None,
    responses={200: {"description": "One row a line.", "content": {"application/x-ndjson": {}}}, **NOT_FOUND},
)  # fmt: skip
async def list_price_list_rows(request: Request, list_id: ListId) -> Response:
    """Row by row in the order of the file, one JSON object a line; the last line counts them."""

    def read() -> Iterator[bytes]:
        with request.app.state.store.reading() as connection:
            kept, file = kept_list(connection, list_id), kept_file(connection, list_id)
        with file:
            snapshot = without_offers(request, day_of(kept.options), kept.base_version)
            return _lines(price_list_of(request, snapshot, kept.supplier, kept.media_type, file, kept.options))

    lines = await in_time(request, read, seconds=BOOKS_S)
    return StreamingResponse(iterate_in_threadpool(lines), media_type="application/x-ndjson")


@router.post(
    "/{list_id}/commit", operation_id="commit_price_list", summary="Take a list in: all of its rows or none",
    response_model=None,
    responses={200: answered_with("KeptPriceList", "It was taken in."), **REFUSALS, **WRITE_REFUSALS, **NOT_FOUND},
    openapi_extra=json_body("CommitRequest"),
)  # fmt: skip
async def commit_price_list(request: Request, list_id: ListId) -> Response:
    """Takes in every row but those left out by name. Refused where a doubtful change is not confirmed by its row."""
    raw, document = await written_document(request)
    asked = taken(CommitRequest, document)

    return await run_in_threadpool(_commit, request, list_id, asked, hashlib.sha256(raw).hexdigest())


@router.delete(
    "/{list_id}", operation_id="drop_price_list", summary="Drop a list that was not taken in", status_code=204,
    response_model=None, responses={**WRITE_REFUSALS, **NOT_FOUND},
)  # fmt: skip
async def drop_price_list(request: Request, list_id: ListId) -> Response:
    """The list can no longer be taken in; what it would have changed can still be read."""

    def write() -> Response:
        with request.app.state.store.writing() as connection:
            kept = kept_list(connection, list_id)
            if kept.state == "committed":
                raise Conflict("committed", "The list was taken in; correct the offers instead.")
            drop_list(connection, list_id)
        return Response(status_code=204)

    return await run_in_threadpool(write)


def _read_list(request: Request, query: ListQueryIn, file: IO[bytes], media_type: str) -> Response:
    version = request.state.versions.cost
    snapshot = without_offers(request, query.valid_from or today(), version)
    options = options_of(snapshot, query)
    received_at = _now()
    price_list = price_list_of(request, snapshot, query.supplier, media_type, file, options)
    made = KeptList(
        new_list_id(), query.supplier, "read", version, received_at, None, price_list.sha256, media_type, options,
        head_of(price_list),
    )  # fmt: skip

    def write(connection: Connection) -> Response:
        keep_list(connection, made, request.state.principal.key_id, file)
        return _json(_view(made), 201, {"Location": f"/v1/price-lists/{made.id}"})

    sent = f"{made.file_sha256} {media_type} {request.query_params}"
    return once(request, "create price-lists", hashlib.sha256(sent.encode()).hexdigest(), write)


def _lines(price_list: PriceList) -> Iterator[bytes]:
    count = 0
    for judged in price_list.judged():
        count += 1
        yield row_report(judged, price_list.options).model_dump_json().encode() + b"\n"
    yield json.dumps({"rows": count, "end": True}).encode() + b"\n"


def _commit(request: Request, list_id: str, asked: CommitRequest, request_sha256: str) -> Response:
    """Judges the list before the write lock is taken, so that others wait for the writing alone."""
    with request.app.state.store.reading() as connection:
        kept, file = kept_list(connection, list_id), kept_file(connection, list_id)
    options = {**kept.options, "confirm": list(asked.confirm), "leave_out": list(asked.leave_out)}
    if asked.items:
        options["items"] = {**options.get("items", {}), **asked.items}
    with file:
        snapshot = without_offers(request, day_of(options), kept.base_version)
        price_list = price_list_of(request, snapshot, kept.supplier, kept.media_type, file, options)
    offers = Spool()

    def write(connection: Connection) -> Response:
        now = kept_list(connection, list_id)
        if now.state != "read":
            raise Conflict(now.state, f"The list was {now.state} before.")
        if offers_changed_since(connection, kept.supplier, kept.base_version):
            raise Conflict("changed_meanwhile", "Offers of this supplier changed since it was read; send it again.")
        if not head["committable"]:
            raise _not_committable(head)
        return _written(
            request, connection, kept, options, head, bodies_of(connection, offers_then(request, snapshot), offers)
        )

    try:
        head = head_of(price_list, offers.take)
        return once(request, f"commit {list_id}", request_sha256, write)
    finally:
        offers.close()


def _written(
    request: Request,
    connection: Connection,
    kept: KeptList,
    options: dict[str, Any],
    head: dict[str, Any],
    bodies: Iterator[tuple[dict[str, Any], Held | None, str | None]],
) -> Response:
    """Writes every offer of the list, with what the trail says of it, in the transaction at hand."""
    ledger = ledger_of(request, connection)
    try:
        ledger.put_offers(bodies)
    except (InputFault, InputFaults) as fault:
        raise of_input(fault) from None
    at = _now()
    ledger.note("commit", "price_lists", kept.id, None, json.dumps({"file_sha256": kept.file_sha256, **head["counts"]}))
    ledger.close()
    mark_committed(connection, kept.id, at, options, head)
    done = KeptList(
        kept.id, kept.supplier, "committed", kept.base_version, kept.received_at, at, kept.file_sha256, kept.media_type,
        options, head,
    )  # fmt: skip
    return _json(_view(done))


def _not_committable(head: Mapping[str, Any]) -> Problem:
    faults = [
        Fault(f"/rows/{row['row']}", reason["code"], reason["detail"])
        for row in head["to_look_at"]
        for reason in (*row["reasons"], *(() if row["confirmed"] else row["must_confirm"]))
    ]
    detail = (
        "Rows are refused or not confirmed; nothing of the list was taken in. Each pointer names a row of the file."
    )
    return Problem(422, "list-not-committable", detail, faults)


def _view(kept: KeptList) -> dict[str, Any]:
    return {
        "id": kept.id, "supplier": kept.supplier, "state": kept.state, "received_at": kept.received_at,
        "committed_at": kept.committed_at, "file_sha256": kept.file_sha256, **kept.head,
    }  # fmt: skip


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="microseconds")


def _json(content: dict[str, Any], status: int = 200, headers: dict[str, str] | None = None) -> Response:
    return Response(json.dumps(content, ensure_ascii=False).encode(), status, headers, "application/json")
