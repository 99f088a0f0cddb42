"""Whether the process lives, and whether it can answer."""

import asyncio
from typing import Final

from anyio import to_thread
from fastapi import APIRouter, Request

from schemas.health import Health, Readiness
from service.api.problems import Problem
from service.errors import StoreBusy, StoreFault
from service.rules import rules

router = APIRouter(tags=["health"])

_PATIENCE_S: Final = 1.0
"""How long a store may take to answer before the service is not ready."""


@router.get("/livez", operation_id="live", summary="Whether the process lives", response_model=Health)
async def live() -> Health:
    """Touches nothing outside the process."""
    return Health(status="ok")


@router.get("/readyz", operation_id="ready", summary="Whether the service can answer", response_model=Readiness)
async def ready(request: Request) -> Readiness:
    """The store answers, is at this program's schema, flushes what it acknowledges and has space; data is loaded."""
    state = request.app.state
    if getattr(state, "draining", False):
        raise Problem(503, "draining", "The service is stopping.", headers={"Retry-After": "5"})
    try:
        async with asyncio.timeout(_PATIENCE_S):
            store = await to_thread.run_sync(state.store.check, abandon_on_cancel=True)
    except (StoreFault, StoreBusy) as fault:
        raise Problem(503, "not-ready", str(fault), headers={"Retry-After": "5"}) from None
    except TimeoutError:
        raise Problem(503, "not-ready", "The store does not answer.", headers={"Retry-After": "5"}) from None
    reference = request.app.state.reference
    return Readiness(
        status="ok",
        database=store.database,
        disk="not_known" if store.has_room is None else "ok",
        rules_version=rules().version,
        reference_version=reference.version,
        reference_items=len(reference.items),
        jurisdictions=len(rules().jurisdictions),
    )
