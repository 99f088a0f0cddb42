"""Answers about one stored drink: its cost and margin, and what every answer about stored things is made of.

An answer is computed from one snapshot of the catalogue and kept by what it depends on (:mod:`service.api.kept`).
"""

from collections.abc import Callable
from datetime import date
from typing import Annotated, Any, Final

from fastapi import APIRouter, Depends, Path, Query, Request, Response
from msgspec.json import encode

from schemas.evaluation import Section
from schemas.questions import BulkQuery, DrinkQuery, MenuQuery
from service.api.conditional import marked, matched
from service.api.documentation import NOT_FOUND, QUERY_REFUSALS, answered_with
from service.api.kept import KeptRoute, key_of, priced, today
from service.api.languages import headers_of, wording_of
from service.api.parameters import each_once
from service.api.patience import in_time
from service.api.problems import Fault, Problem, of_faults, of_input
from service.api.scopes import Principal, operation_of
from service.api.stored_question import COST, Asked, answered, line_of, venue_asked
from service.errors import InputFault, InputFaults
from service.store.snapshot import Snapshot

router = APIRouter(tags=["answers"], dependencies=[Depends(each_once(DrinkQuery))], route_class=KeptRoute)


def stamped(body: dict[str, Any], snapshot: Snapshot, principal: Principal, asked: Asked) -> dict[str, Any]:
    """The answer with the versions that it was made from; the cost version only for keys that see costs."""
    meta = body["meta"]
    meta["data_version"] = snapshot.data_version
    if principal.sees_costs and set(asked.sections) & {"cost", "price"}:
        meta["cost_version"] = snapshot.version
    return body


async def told(
    request: Request,
    query: DrinkQuery | BulkQuery | MenuQuery,
    make: Callable[[Snapshot, date], bytes],
    *,
    media_type: str = "application/json",
    headers: dict[str, str] | None = None,
    apart: bool = False,
    drinks: Callable[[Snapshot, date], int] | None = None,
) -> Response:
    """An answer made now and kept, for :class:`KeptRoute` to send again; ``apart``: made in another thread.

    ``drinks`` counts what is computed for it, which is the work it is charged with; one unless given.
    """
    state = request.app.state
    operation = operation_of(request.scope["route"])
    key = key_of(request, operation)  # taken before anything is read: what is announced meanwhile has another key
    day = query.as_of or today()
    version = request.state.versions.cost
    if query.cost_version is not None or query.data_version is not None:
        version = await in_time(request, version_asked, request, query, priced(operation, request.state.principal))
    await request.state.spend("work", 1)
    snapshot = state.snapshots.known(version, day)
    if snapshot is None:
        snapshot = await in_time(request, state.snapshots.at, version, day)
    if drinks is not None and (more := drinks(snapshot, day) - 1) > 0:
        await request.state.spend("work", more)
    content = await in_time(request, make, snapshot, day) if apart else make(snapshot, day)
    said = {**headers_of(wording_of(request)), "Vary": "Authorization, Accept-Language", **(headers or {})}
    made = marked(request, content, said, media_type=media_type)
    state.answers.keep(key, made)
    return matched(request, made)


def version_asked(request: Request, query: DrinkQuery | BulkQuery | MenuQuery, priced: bool) -> int:
    """The cost version behind the stamp that is asked for. Raises :class:`Problem` 403 or 422."""
    versions = request.state.versions
    if query.cost_version is not None:
        if not priced or not request.state.principal.sees_costs:
            raise Problem(403, "scope-missing", "Cost versions are shown to keys with costs:read alone.")
        if query.cost_version > versions.cost:
            raise of_faults([Fault("/cost_version", "version_unknown", "No such version was announced.")])
        return query.cost_version
    assert query.data_version is not None
    found = request.app.state.snapshots.version_of_data(query.data_version)
    if found is None:
        raise of_faults([Fault("/data_version", "version_unknown", "No such version was announced.")])
    version: int = found
    return version


def asked_of(
    request: Request, query: DrinkQuery, drink: str, day: date, sections: tuple[Section, ...], snapshot: Snapshot
) -> Asked:
    """The question in a query."""
    venue = venue_asked(snapshot, request.state.principal, query.venue, query.menu)
    places = query.jurisdiction or None
    return Asked(drink, venue, query.menu, query.with_ or (), query.currency, places, day, sections, query.bands)


def _one(request: Request, query: DrinkQuery, drink: str, sections: tuple[Section, ...]) -> Callable[..., bytes]:
    def make(snapshot: Snapshot, day: date) -> bytes:
        asked = asked_of(request, query, drink, day, sections, snapshot)
        try:
            body = answered(request, snapshot, asked, wording_of(request))
        except (InputFault, InputFaults) as fault:
            raise of_input(fault) from None
        return encode(stamped(body, snapshot, request.state.principal, asked))

    return make


DrinkId = Annotated[str, Path(description="A stored drink's id.")]
_ANSWERS: Final = {200: answered_with("Answer", "The sections asked for."), **NOT_FOUND, **QUERY_REFUSALS}


@router.get(
    "/v1/drinks/{drink_id}/cost", operation_id="read_drink_cost", summary="What a stored drink costs",
    response_model=None, responses=_ANSWERS,
)  # fmt: skip
async def read_drink_cost(request: Request, drink_id: DrinkId, query: Annotated[DrinkQuery, Query()]) -> Response:
    """Cost and price as of a day, at a venue."""
    return await told(request, query, _one(request, query, drink_id, COST))


@router.get(
    "/v1/drinks/{drink_id}/margin", operation_id="read_drink_margin", summary="The margin of a stored drink",
    response_model=None, responses={200: answered_with("Margin", "At its menu price."), **NOT_FOUND, **QUERY_REFUSALS},
)  # fmt: skip
async def read_drink_margin(request: Request, drink_id: DrinkId, query: Annotated[DrinkQuery, Query()]) -> Response:
    """Menu price, net, pour cost and margin as of a day, at a venue."""

    def make(snapshot: Snapshot, day: date) -> bytes:
        asked = asked_of(request, query, drink_id, day, COST, snapshot)
        try:
            body = answered(request, snapshot, asked, wording_of(request))
        except (InputFault, InputFaults) as fault:
            raise of_input(fault) from None
        body = stamped(body, snapshot, request.state.principal, asked)
        found = line_of(snapshot, asked)
        price = body.get("price") or {}
        made = {
            "drink": body["drink"], "menu": None if found is None else found[0],
            "currency": body["cost"]["currency"] or None, "pour_cost": body["cost"]["pour_cost"],
            "complete": body["cost"]["complete"], "missing": body["cost"]["missing"],
            "at_menu_price": price.get("at_menu_price"), "suggested": price.get("suggested"), "meta": body["meta"],
        }  # fmt: skip
        return encode(made)

    return await told(request, query, make)
