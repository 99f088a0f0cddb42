"""What happened: the feeds of what moved, and the audit trail."""

import json
from datetime import date
from typing import Annotated, Any, Final

from fastapi import APIRouter, Depends, Query, Request, Response

from schemas.evaluation import Section
from schemas.stored import AuditQuery, FeedQuery
from service.api.answers import COST, LABEL, Asked, answered, snapshot_of
from service.api.documentation import QUERY_REFUSALS, answered_with
from service.api.parameters import each_once
from service.api.patience import in_time
from service.api.problems import Fault, of_faults
from service.api.scopes import Principal
from service.api.stored import visible
from service.errors import InputFault, InputFaults, NotFound
from service.store.changes import Change, changes_after
from service.store.held import EVER
from service.store.kinds import KINDS
from service.store.listing import Audited, audit_after

router = APIRouter(tags=["history"], dependencies=[Depends(each_once(FeedQuery, AuditQuery))])

_FEEDS: Final[dict[str, tuple[Section, ...]]] = {"costs": COST, "labels": LABEL}


@router.get(
    "/v1/changes/costs", operation_id="list_cost_changes", summary="Drinks whose cost or price moved",
    response_model=None, responses={200: answered_with("Feed", "The next changes."), **QUERY_REFUSALS},
)  # fmt: skip
async def list_cost_changes(request: Request, query: Annotated[FeedQuery, Query()]) -> Response:
    """Which drinks moved, since when, and why: a price, a spec or the rules."""
    return await in_time(request, _feed, request, "costs", query)


@router.get(
    "/v1/changes/labels", operation_id="list_label_changes", summary="Drinks whose label moved",
    response_model=None, responses={200: answered_with("Feed", "The next changes."), **QUERY_REFUSALS},
)  # fmt: skip
async def list_label_changes(request: Request, query: Annotated[FeedQuery, Query()]) -> Response:
    """Which drinks moved, since when, and why; a price never moves a label."""
    return await in_time(request, _feed, request, "labels", query)


def _feed(request: Request, feed: str, query: FeedQuery) -> Response:
    position, drink = _place(query.cursor)
    with request.app.state.store.reading() as connection:
        rows = changes_after(connection, feed, position, drink, query.page_size + 1)
    page = rows[: query.page_size]
    moved = [made for row in page if (made := _moved(request, feed, row)) is not None]
    last = page[-1] if page else None
    cursor = (query.cursor or "0.") if last is None else f"{last.position}.{last.drink}"
    content = {"changes": moved, "next_cursor": cursor, "more": len(rows) > len(page)}
    return Response(json.dumps(content, ensure_ascii=False).encode(), media_type="application/json")


def _place(cursor: str | None) -> tuple[int, str]:
    if cursor is None:
        return 0, ""
    position, dot, drink = cursor.partition(".")
    if not dot or not (position.isascii() and position.isdigit()) or len(position) > 15:
        raise of_faults([Fault("/cursor", "cursor", "Send the next_cursor of an earlier answer.")])
    return int(position), drink


def _moved(request: Request, feed: str, change: Change) -> dict[str, Any] | None:
    """A change with what was answered before and since; ``None`` where that is the same."""
    day = date.fromisoformat(change.recorded_at[:10] if change.since == EVER else change.since)
    before, after = (
        _told(request, feed, change.drink, day, version) for version in (change.version - 1, change.version)
    )
    if change.why != "rules" and _compared(feed, before) == _compared(feed, after):
        return None
    shown = _cost_shown if feed == "costs" else _label_shown
    return {
        "drink": change.drink, "why": change.why, "since": change.since, "recorded_at": change.recorded_at,
        "before": shown(before), "after": shown(after),
    }  # fmt: skip


def _told(request: Request, feed: str, drink: str, day: date, version: int) -> dict[str, Any] | None:
    """The answer about a drink as it was known at a version; ``None`` where it was not there."""
    asked = Asked(drink, request.state.principal.venue, None, (), None, None, day, _FEEDS[feed])
    try:
        body = answered(request, snapshot_of(request, day, version), asked)
    except NotFound:
        return None
    except (InputFault, InputFaults) as fault:
        return {"fault": str(fault)}
    body.pop("meta")
    return body


def _compared(feed: str, body: dict[str, Any] | None) -> object:
    """What has to differ for a drink to have moved: of costs the sums, not the offers that were passed over."""
    if body is None or "fault" in body or feed == "labels":
        return body
    sums = {name: value for name, value in body["cost"].items() if name != "choices"}
    return sums, body["price"], [(line["item"], line.get("cost")) for line in body["lines"]]


def _cost_shown(body: dict[str, Any] | None) -> dict[str, Any] | None:
    if body is None or "fault" in body:
        return None
    price = body["price"] or {}
    cost = body["cost"]
    return {
        "currency": cost["currency"], "complete": cost["complete"], "pour_cost": cost["pour_cost"],
        "serve_cost": cost["serve_cost"], "suggested": price.get("suggested"),
    }  # fmt: skip


def _label_shown(body: dict[str, Any] | None) -> dict[str, Any] | None:
    if body is None or "fault" in body:
        return None
    return {
        "abv_percent": body["alcohol"]["abv_percent"],
        "energy_kcal": body["nutrition"]["per_serve"]["energy_kcal"],
        "allergens": [
            {"jurisdiction": row["jurisdiction"], "contains": row["contains"], "may_contain": row["may_contain"],
             "unknown": row["unknown"]}
            for row in body["allergens"]["declarations"]
        ],
    }  # fmt: skip


@router.get(
    "/v1/audit", operation_id="list_audit", summary="Who changed what",
    response_model=None, responses={200: answered_with("AuditPage", "A part of the trail."), **QUERY_REFUSALS},
)  # fmt: skip
async def list_audit(request: Request, query: Annotated[AuditQuery, Query()]) -> Response:
    """Key, action, before and after of every change, the oldest first; rows are only ever added."""
    return await in_time(request, _audit, request, query)


def _may_read(row: Audited, principal: Principal) -> bool:
    """Whether a key may know of a change: one for a venue reads nothing of other venues, nor of keys and lists."""
    if principal.venue is None:
        return True
    bodies = [json.loads(text) for text in (row.before, row.after) if text is not None]
    return row.kind in KINDS and all(visible(row.kind, body, principal) for body in bodies)


def _audit(request: Request, query: AuditQuery) -> Response:
    rows: list[Audited] = []
    after, more = query.after, True
    with request.app.state.store.reading() as connection:
        while more and len(rows) <= query.page_size:  # What a key may not know of is passed over, so pages stay full.
            found = audit_after(connection, after, query.page_size + 1, query.kind, query.id)
            more = len(found) > query.page_size
            rows += [row for row in found if _may_read(row, request.state.principal)]
            after = found[-1].sequence if found else after
    more, page = len(rows) > query.page_size, rows[: query.page_size]
    content = {
        "rows": [
            {"sequence": row.sequence, "recorded_at": row.recorded_at, "key_id": row.key_id,
             "request_id": row.request_id, "action": row.action, "kind": row.kind, "id": row.id,
             "cost_version": row.version, "before": None if row.before is None else json.loads(row.before),
             "after": None if row.after is None else json.loads(row.after)}
            for row in page
        ],
        "next_after": page[-1].sequence if more else None,
    }  # fmt: skip
    return Response(json.dumps(content, ensure_ascii=False).encode(), media_type="application/json")
