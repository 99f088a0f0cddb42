"""Answers about one stored drink: its cost and margin, and what every answer about stored things is made of.

An answer is computed from one snapshot of the catalogue and kept by what it depends on (:mod:`service.api.kept`).
"""

import hashlib
import json
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Annotated, Any, Final

from fastapi import APIRouter, Depends, Path, Query, Request, Response
from pydantic_core import to_json

from schemas._base import Input
from schemas.catalogue import (
    Menu,
    MenuEntry,
    StoredDrink,
    StoredIngredient,
    StoredOffer,
    StoredPreparation,
    Venue,
)
from schemas.evaluation import EvaluationRequest, Section
from schemas.stored import BulkQuery, DrinkQuery, MenuQuery
from service.amounts import Measures
from service.api.conditional import marked, matched
from service.api.documentation import NOT_FOUND, QUERY_REFUSALS, answered_with
from service.api.kept import KeptRoute, key_of, priced, today
from service.api.languages import headers_of, wording_of
from service.api.parameters import each_once
from service.api.patience import in_time
from service.api.problems import Fault, Problem, of_faults, of_input
from service.api.scopes import Principal, operation_of
from service.errors import InputFault, InputFaults, NotFound
from service.evaluate import Evaluation, evaluate, measures_of
from service.lookup import outputs_of
from service.offers import offers_by_item
from service.report import answer
from service.report.delta import answer_with_delta
from service.report.wording import Wording
from service.store.kinds import GROUP
from service.store.snapshot import Snapshot
from service.variation import variation
from service.venue import Settled, on_menu, settled

router = APIRouter(tags=["answers"], dependencies=[Depends(each_once(DrinkQuery))], route_class=KeptRoute)

LABEL: Final[tuple[Section, ...]] = ("alcohol", "nutrition", "allergens", "balance")
COST: Final[tuple[Section, ...]] = ("cost", "price")


@dataclass(frozen=True, slots=True)
class Asked:
    """One question about a stored drink."""

    drink: str
    venue: str | None
    menu: str | None
    with_: tuple[str, ...]
    currency: str | None
    jurisdictions: tuple[str, ...] | None
    day: date
    sections: tuple[Section, ...]
    bands: bool = False


def snapshot_of(request: Request, day: date, version: int) -> Snapshot:
    """The catalogue as of a day, as known at a version."""
    snapshots = request.app.state.snapshots
    found: Snapshot = snapshots.known(version, day) or snapshots.at(version, day)
    return found


def venue_of(principal: Principal, asked: str | None) -> str | None:
    """The venue that is asked about; a key for one venue asks about no other. Raises :class:`NotFound`."""
    if principal.venue is None:
        return asked
    if asked not in (None, principal.venue):
        raise NotFound
    return principal.venue


def settings_of(
    snapshot: Snapshot, venue: str | None, currency: str | None = None, price: Decimal | None = None,
    *, priced: bool = False,
) -> Settled:  # fmt: skip
    """What holds at a venue; without ``priced`` as if no pricing were set, which a label does not know.

    Raises :class:`NotFound` where there is no such venue, :class:`InputFault` where its pricing does not fit together.
    """
    group: Venue | None = None if snapshot.held("venues", GROUP) is None else snapshot.model("venues", GROUP)
    own: Venue | None = None
    if venue is not None and venue != GROUP:
        if snapshot.held("venues", venue) is None:
            raise NotFound
        own = snapshot.model("venues", venue)
    return settled(group, own, currency, price, priced=priced)


def line_of(snapshot: Snapshot, asked: Asked) -> tuple[str, MenuEntry] | None:
    """The line of a menu that sells the drink on the day: of the menu named, else of the venue's first by its id."""
    if asked.menu is not None:
        menu_at(snapshot, asked.menu, asked.venue)
        ids = [asked.menu]
    else:
        ids = sorted(held.id for held in snapshot.rows["menus"].values() if held.state == "live")
    plain: tuple[str, MenuEntry] | None = None
    for menu_id in ids:
        menu: Menu = snapshot.model("menus", menu_id)
        if asked.menu is None and menu.venue not in (None, asked.venue):
            continue
        for _, entry in on_menu(menu, asked.day):
            if entry.drink == asked.drink and entry.with_ == asked.with_:
                return menu_id, entry
            if entry.drink == asked.drink and not entry.with_ and plain is None:
                plain = (menu_id, entry)
    return plain


def menu_at(snapshot: Snapshot, menu_id: str, venue: str | None) -> Menu:
    """A menu that is asked about at a venue. Raises :class:`NotFound` where it is none or another venue's."""
    if snapshot.held("menus", menu_id) is None:
        raise NotFound
    menu: Menu = snapshot.model("menus", menu_id)
    if menu.venue is not None and venue is not None and menu.venue != venue:
        raise NotFound
    return menu


def venue_asked(snapshot: Snapshot, principal: Principal, venue: str | None, menu: str | None) -> str | None:
    """The venue of an answer: the one asked about, else the menu's. Raises :class:`NotFound`."""
    found = venue_of(principal, venue)
    return found if menu is None else found or menu_at(snapshot, menu, found).venue


def price_of(drink: StoredDrink, asked: Asked, line: tuple[str, MenuEntry] | None) -> Decimal | None:
    """The menu price before what modifiers add to it; a line that is sold with them states its price with them."""
    if line is None or line[1].menu_price is None:
        return None
    added = Decimal(0)
    if line[1].with_:
        deltas = {modifier.id: modifier.price_delta for modifier in drink.modifiers}
        added = sum((deltas.get(one) or Decimal(0) for one in asked.with_), Decimal(0))
    return line[1].menu_price - added


def request_of(snapshot: Snapshot, asked: Asked) -> tuple[EvaluationRequest, Settled]:
    """A question about a stored drink in the form of POST /v1/evaluate. Raises :class:`NotFound`."""
    if snapshot.held("drinks", asked.drink) is None:
        raise NotFound
    drink: StoredDrink = snapshot.model("drinks", asked.drink)
    price = price_of(drink, asked, line_of(snapshot, asked))
    priced = bool(set(asked.sections) & set(COST))
    held = settings_of(snapshot, asked.venue, asked.currency, price, priced=priced)
    body = EvaluationRequest.model_construct(
        _fields_set=None, drink=drink, ingredients=(), preparations=(), offers=(),
        pricing=held.pricing,
        measures=held.measures, house=held.house, jurisdictions=asked.jurisdictions or held.jurisdictions,
        as_of=asked.day, include=asked.sections, trace=False, bands=asked.bands, with_=asked.with_,
    )  # fmt: skip
    return body, held


def evaluated(request: Request, snapshot: Snapshot, asked: Asked) -> Evaluation:
    """The evaluation of a stored drink as it is written. Raises the faults of its spec, or :class:`NotFound`."""
    body, held = request_of(snapshot, asked)
    return _evaluated(request, body, asked.day, snapshot, held.measures, asked.venue)


def answered(request: Request, snapshot: Snapshot, asked: Asked, wording: Wording | None = None) -> dict[str, Any]:
    """The answer about a stored drink, with what its modifiers change. Raises as :func:`evaluated` does."""
    body, held = request_of(snapshot, asked)
    digest = question_of(asked)
    if asked.with_:
        state = request.app.state
        catalogue = snapshot.catalogue(asked.venue, measures_of(held.measures))
        both = variation(body, asked.day, state.settings.jurisdictions, state.reference, catalogue)
        return answer_with_delta(both, digest, wording)
    return answer(_evaluated(request, body, asked.day, snapshot, held.measures, asked.venue), digest, wording)


def _evaluated(
    request: Request, body: EvaluationRequest, day: date, snapshot: Snapshot, measures: Any, venue: str | None
) -> Evaluation:
    state = request.app.state
    house: Measures = measures_of(measures)
    catalogue = snapshot.catalogue(venue, house)
    return evaluate(body, day, state.settings.jurisdictions, state.reference, catalogue)


def try_out(request: Request, model: Input) -> None:
    """Works with what is to be written, without its money, so that what cannot be worked with is refused.

    Raises :class:`Problem` 422 with pointers into the body. Names that are not known are told by the store.
    """
    if isinstance(model, StoredOffer):
        _refuse(lambda: offers_by_item([model], Measures()), "/offers/0")
        return
    ingredients = (model,) if isinstance(model, StoredIngredient) else ()
    preparations = (model,) if isinstance(model, StoredPreparation) else ()
    named = model.id if isinstance(model, StoredIngredient) else None
    if isinstance(model, StoredPreparation):
        outputs = outputs_of(model)
        named = outputs[0].id if outputs else model.id
    if isinstance(model, StoredDrink):
        drink, place = model, "/drink"
    elif named is not None:
        lines = [{"item": named, "amount": "1 ml"}]
        drink = StoredDrink.model_validate({"id": "tried-out", "name": "Tried out", "lines": lines})
        place = "/ingredients/0" if ingredients else "/preparations/0"
    else:
        return
    day = today()
    snapshot = snapshot_of(request, day, request.state.versions.cost)
    held = settings_of(snapshot, None)
    body = EvaluationRequest.model_construct(
        _fields_set=None, drink=drink, ingredients=ingredients, preparations=preparations, offers=(), pricing=None,
        measures=held.measures, house=held.house, jurisdictions=held.jurisdictions, as_of=day, include=LABEL,
        trace=False,
    )  # fmt: skip
    _refuse(lambda: _evaluated(request, body, day, snapshot, held.measures, None), place)


def _refuse(work: Callable[[], object], place: str) -> None:
    """Does some work; its faults at or below a place are refused with the pointers from there on."""
    try:
        work()
    except (InputFault, InputFaults) as fault:
        rows = fault.faults if isinstance(fault, InputFaults) else (fault,)
        own = [row for row in rows if row.pointer.startswith(place) and row.code != "item_unknown"]
        if own:
            faults = [Fault(row.pointer.removeprefix(place), row.code, row.detail) for row in own]
            raise of_faults(faults) from None


def stamped(body: dict[str, Any], snapshot: Snapshot, principal: Principal, asked: Asked) -> dict[str, Any]:
    """The answer with the versions that it was made from; the cost version only for keys that see costs."""
    meta = body["meta"]
    meta["data_version"] = snapshot.data_version
    if principal.sees_costs and set(asked.sections) & {"cost", "price"}:
        meta["cost_version"] = snapshot.version
    return body


def question_of(asked: Asked) -> str:
    """The digest that stands for a question about a stored drink in its answer."""
    rows = [
        asked.drink, asked.venue, asked.menu, list(asked.with_), asked.currency,
        None if asked.jurisdictions is None else list(asked.jurisdictions), asked.day.isoformat(), list(asked.sections),
        *(["bands"] if asked.bands else []),
    ]  # fmt: skip
    return hashlib.sha256(json.dumps(rows, separators=(",", ":")).encode()).hexdigest()


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
        return to_json(stamped(body, snapshot, request.state.principal, asked))

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
        return to_json(made)

    return await told(request, query, make)
