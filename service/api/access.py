"""GET /v1/access: what the key that asks may do, so that a page offers nothing that would be refused."""

from fastapi import APIRouter, Request

from schemas.keys import Access
from service.api.documentation import answered_with

router = APIRouter(tags=["keys"])


@router.get(
    "/v1/access",
    operation_id="read_access",
    summary="What this key may do",
    response_model=None,
    responses={200: answered_with("Access", "The scopes of the key that asks.")},
)
async def read_access(request: Request) -> dict[str, object]:
    """The scopes and the venue of the key that asks; of everyone, where the service is open."""
    principal = request.state.principal
    return Access(scopes=tuple(sorted(principal.scopes)), venue=principal.venue).model_dump()
