"""Every drink of a menu at once, or every stored drink: costs, labels, and what to ask suppliers about allergens."""

from collections.abc import Callable, Iterable
from datetime import date
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Query, Request, Response
from msgspec.json import encode

from schemas.catalogue import StoredDrink
from schemas.evaluation import Section
from schemas.questions import BulkQuery
from service.api.answers import told
from service.api.documentation import NOT_FOUND, QUERY_REFUSALS, answered_with
from service.api.kept import KeptRoute
from service.api.languages import wording_of
from service.api.parameters import each_once
from service.api.problems import Fault, of_faults, of_row
from service.api.stored_question import (
    COST,
    LABEL,
    Asked,
    answered,
    evaluated,
    menu_at,
    settings_of,
    venue_asked,
)
from service.bringing import with_bringers
from service.errors import InputFault, InputFaults, NotFound
from service.evidence import STALE, UNVERIFIED, MenuDrink, questions, work_to_do
from service.store.snapshot import Snapshot
from service.venue import on_menu

router = APIRouter(tags=["answers"], dependencies=[Depends(each_once(BulkQuery))], route_class=KeptRoute)

Row = tuple[str, tuple[str, ...]]
"""A drink and the modifiers it is sold with."""


def _bulk(
    request: Request, query: BulkQuery, sections: tuple[Section, ...], wanted: tuple[str, ...]
) -> Callable[..., bytes]:
    """One page of the drinks of a menu, or of all drinks, each with its answer or the problem with it."""

    def make(snapshot: Snapshot, day: date) -> bytes:
        principal = request.state.principal
        venue = venue_asked(snapshot, principal, query.venue, query.menu)
        settings_of(snapshot, venue)
        rows = _rows(snapshot, query, day, venue)
        start = _start(query)
        page = rows[start : start + query.page_size]
        drinks = []
        for drink, with_ in page:
            asked = Asked(
                drink, venue, query.menu, with_, query.currency, query.jurisdiction or None, day, sections
            )  # fmt: skip
            row: dict[str, Any] = {"drink": drink, "with": list(with_)}
            try:
                body = answered(request, snapshot, asked, wording_of(request))
                row |= {name: body[name] for name in wanted if name in body}
            except (InputFault, InputFaults, NotFound) as fault:
                row["problem"] = of_row(fault).body()
            drinks.append(row)
        following = start + len(page)
        token = _token_at(following) if following < len(rows) else None
        meta: dict[str, Any] = {"as_of": day.isoformat(), "data_version": snapshot.data_version}
        if "cost" in sections:
            meta["cost_version"] = snapshot.version
        return encode({"drinks": drinks, "next_page_token": token, "meta": meta})

    return make


def _rows(snapshot: Snapshot, query: BulkQuery, day: date, venue: str | None) -> list[Row]:
    if query.menu is None:
        live = (held.id for held in snapshot.rows["drinks"].values() if held.state == "live")
        return [(drink, ()) for drink in sorted(live)]
    menu = menu_at(snapshot, query.menu, venue)
    return [(entry.drink, entry.with_) for _, entry in on_menu(menu, day)]


def _asked_for(snapshot: Snapshot, rows: Iterable[Row]) -> list[Row]:
    """Lines of a menu, and each drink with every one of its modifiers that brings another item, behind those that
    it needs; each of them once."""
    found: dict[Row, None] = {}
    for drink, with_ in rows:
        found[drink, with_] = None
        if snapshot.held("drinks", drink) is None:
            continue
        written: StoredDrink = snapshot.model("drinks", drink)
        found |= {(drink, with_bringers(written, one)): None for one in written.modifiers if one.add or one.replace}
    return list(found)


def _start(query: BulkQuery) -> int:
    return 0 if query.page_token is None else _place_of(query.page_token)


def _counted(request: Request, query: BulkQuery, *, work: bool = False) -> Callable[[Snapshot, date], int]:
    """How many drinks a page holds; for ``work`` the whole menu with what modifiers make of it."""

    def count(snapshot: Snapshot, day: date) -> int:
        rows = _rows(snapshot, query, day, venue_asked(snapshot, request.state.principal, query.venue, query.menu))
        if work:
            return len(_asked_for(snapshot, rows))
        return max(0, min(len(rows) - _start(query), query.page_size))

    return count


def _token_at(place: int) -> str:
    return f"n{place}"


def _place_of(token: str) -> int:
    if token[:1] == "n" and token[1:].isascii() and token[1:].isdigit() and len(token) < 9:
        return int(token[1:])
    raise of_faults([Fault("/page_token", "page_token", "Send the next_page_token of an earlier answer.")])


@router.get(
    "/v1/costs", operation_id="list_costs", summary="Costs of a menu's drinks, or of all drinks", response_model=None,
    responses={200: answered_with("BulkPage", "One page."), **NOT_FOUND, **QUERY_REFUSALS},
)  # fmt: skip
async def list_costs(request: Request, query: Annotated[BulkQuery, Query()]) -> Response:
    """Cost and price of each drink, page by page."""
    return await told(
        request,
        query,
        _bulk(request, query, COST, ("delta", "cost", "price", "warnings")),
        drinks=_counted(request, query),
    )


@router.get(
    "/v1/labels", operation_id="list_labels", summary="Labels of a menu's drinks, or of all drinks",
    response_model=None,
    responses={200: answered_with("BulkPage", "One page."), **NOT_FOUND, **QUERY_REFUSALS},
)  # fmt: skip
async def list_labels(request: Request, query: Annotated[BulkQuery, Query()]) -> Response:
    """Strength, standard drinks, nutrition and allergens of each drink, page by page."""
    wanted = ("delta", "serve", "alcohol", "nutrition", "allergens", "advisories", "use_by", "warnings")
    return await told(request, query, _bulk(request, query, LABEL, wanted), drinks=_counted(request, query))


@router.get(
    "/v1/allergen-work", operation_id="list_allergen_work", summary="What to ask suppliers about allergens",
    response_model=None,
    responses={200: answered_with("AllergenWork", "Once per item."), **NOT_FOUND, **QUERY_REFUSALS},
)  # fmt: skip
async def list_allergen_work(request: Request, query: Annotated[BulkQuery, Query()]) -> Response:
    """Declarations to renew, and every unknown of a menu once per item with what one answer would clear.

    A drink counts with each of its modifiers that brings another item as well.
    """

    def make(snapshot: Snapshot, day: date) -> bytes:
        venue = venue_asked(snapshot, request.state.principal, query.venue, query.menu)
        settings_of(snapshot, venue)
        menu, problems = [], []
        for drink, with_ in _asked_for(snapshot, _rows(snapshot, query, day, venue)):
            asked = Asked(drink, venue, query.menu, with_, None, query.jurisdiction or None, day, ("allergens",))
            name = "+".join((drink, *with_))
            try:
                found = evaluated(request, snapshot, asked)
            except (InputFault, InputFaults, NotFound) as fault:
                problems.append({"drink": name, "problem": of_row(fault).body()})
                continue
            menu.append(MenuDrink(name, found.declarations or (), found.standings or ()))
        states = (STALE, UNVERIFIED)
        body = {
            "declarations": [
                {"item": row.standing.item, "name": row.standing.name, "state": row.standing.state,
                 "why": row.standing.why, "review_by": row.standing.review_by, "drinks": row.drinks}
                for row in work_to_do(menu, states)
            ],
            "questions": [
                {"item": row.item, "allergens": row.allergens, "drinks": row.drinks, "settled": row.settled,
                 "clears": [{"drink": drink, "allergen": allergen} for drink, allergen in row.clears]}
                for row in questions(menu)
            ],
            "problems": problems,
            "meta": {"as_of": day.isoformat(), "data_version": snapshot.data_version},
        }  # fmt: skip
        return encode(body)

    return await told(request, query, make, drinks=_counted(request, query, work=True))
