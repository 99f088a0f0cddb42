"""Whether the process lives, and whether it can answer."""

from fastapi import APIRouter, Request

from schemas.health import Health, Readiness
from service.rules import rules

router = APIRouter(tags=["health"])


@router.get("/livez", operation_id="live", summary="Whether the process lives", response_model=Health)
async def live() -> Health:
    """Touches nothing outside the process."""
    return Health(status="ok")


@router.get("/readyz", operation_id="ready", summary="Whether the service can answer", response_model=Readiness)
async def ready(request: Request) -> Readiness:
    """The reference and the rules are loaded, with the versions that answers are stamped with."""
    reference = request.app.state.reference
    return Readiness(
        status="ok",
        rules_version=rules().version,
        reference_version=reference.version,
        reference_items=len(reference.items),
        jurisdictions=len(rules().jurisdictions),
    )
