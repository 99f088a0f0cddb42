"""The audit trail: who changed what."""

import json
from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request, Response

from schemas.questions import AuditQuery
from service.api.documentation import QUERY_REFUSALS, answered_with
from service.api.parameters import each_once
from service.api.patience import in_time
from service.api.scopes import Principal
from service.api.visibility import visible
from service.store.kinds import KINDS
from service.store.listing import Audited, audit_after

router = APIRouter(tags=["history"], dependencies=[Depends(each_once(AuditQuery))])


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
