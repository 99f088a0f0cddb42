"""GET /v1/demo/...: the demo bar's drinks as bodies that are ready to be evaluated."""

from typing import Annotated, Any

from fastapi import APIRouter, Path

from schemas.demo import DemoDrink, DemoDrinks
from service.api.documentation import NOT_FOUND
from service.api.problems import NOT_FOUND as NO_SUCH
from service.api.problems import Problem
from service.demo import demo

router = APIRouter(prefix="/v1/demo", tags=["demo"])


@router.get("/drinks", operation_id="list_demo_drinks", summary="The demo bar's drinks")
async def list_demo_drinks() -> DemoDrinks:
    """Ids and names of an invented bar's drinks."""
    rows = [DemoDrink(id=drink_id, name=body["drink"]["name"]) for drink_id, body in demo().drinks.items()]
    return DemoDrinks(drinks=rows)


@router.get(
    "/drinks/{drink_id}",
    operation_id="read_demo_drink",
    summary="One demo drink, ready to evaluate",
    responses=NOT_FOUND,
)
async def read_demo_drink(
    drink_id: Annotated[str, Path(description="Id as `/v1/demo/drinks` lists it.")],
) -> dict[str, Any]:
    """A body for POST /v1/evaluate; its parts and offers come from the demo's catalogue."""
    body = demo().drinks.get(drink_id)
    if body is None:
        raise Problem(*NO_SUCH)
    return dict(body)
