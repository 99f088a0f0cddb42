"""GET /v1/costs/history: what drinks cost over a stretch of days at every venue, as periods, with its progress."""

import asyncio
import json
from collections.abc import Iterator, Mapping
from datetime import date
from decimal import Decimal
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Query, Request, Response
from msgspec import Struct
from pydantic_core import to_json
from starlette.types import Receive

from schemas.bulk import HistoryQuery
from schemas.catalogue import Menu
from service.api.documentation import NOT_FOUND, QUERY_REFUSALS, lines_answered
from service.api.parameters import each_once
from service.api.patience import BOOKS_S, in_time
from service.api.scopes import Principal
from service.api.stored_question import Asked, request_of, settings_of, venue_of
from service.api.streams import LineResponse, Writer
from service.api.visibility import visible
from service.bulk.rows import Row, row_of
from service.bulk.year import History, Period, change_days
from service.choosing import Offer, Terms
from service.errors import InputFault, InputFaults, NotFound
from service.evaluate import Evaluation, evaluate, measures_of
from service.lookup import Catalogue
from service.money import half_up, minor_unit_digits
from service.quote import terms_of
from service.store.kinds import GROUP
from service.store.snapshot import Snapshot
from service.venue import Settled, on_menu

router = APIRouter(tags=["answers"], dependencies=[Depends(each_once(HistoryQuery))])


@router.get(
    "/v1/costs/history", operation_id="read_cost_history", summary="What drinks cost over a stretch of days",
    response_model=None,
    responses={200: lines_answered("HistoryRecord", "Periods, progress, and a last line that counts."), **NOT_FOUND,
               **QUERY_REFUSALS},
)  # fmt: skip
async def read_cost_history(request: Request, query: Annotated[HistoryQuery, Query()]) -> Response:
    """Pour cost by venue and drink, one line for each period in which it stays the same, as prices and specs were.

    Drinks as written, without modifiers. Lines with `progress` stand between; the last line counts. It is charged with
    each drink at each venue once, however many days.
    """
    state = request.app.state
    versions = request.state.versions
    venue = venue_of(request.state.principal, query.venue)
    await request.state.spend("work", 1)
    snapshots = await in_time(request, state.snapshots.through, versions.cost, query.from_, query.to, seconds=BOOKS_S)
    for kind, asked in (("venues", venue), ("menus", query.menu)):
        if asked is not None and not _may_know(snapshots, kind, asked, request.state.principal):
            raise NotFound(f"There is no {kind.removesuffix('s')} of this id on any of these days.")
    venues = _venues(snapshots, venue)
    drinks = len({drink for snapshot in snapshots for drink in _sold(snapshot, query)})
    if (more := len(venues) * drinks - 1) > 0:
        await request.state.spend("work", more)
    made = _Answer(request, query, snapshots, venues)
    return LineResponse(made.told, state.settings.reader_timeout_s, {"Vary": "Authorization"})


def _venues(snapshots: list[Snapshot], venue: str | None) -> list[str]:
    if venue is not None:
        return [venue]
    found = {one for snapshot in snapshots for one in snapshot.rows["venues"] if one != GROUP}
    return sorted(found) or [GROUP]


def _may_know(snapshots: list[Snapshot], kind: str, asked: str, principal: Principal) -> bool:
    """Whether a venue or a menu is there on any of the days, and on none of them another venue's than the key's."""
    held = [one for snapshot in snapshots if (one := snapshot.held(kind, asked)) is not None]
    return bool(held) and all(visible(kind, json.loads(one.text), principal) for one in held)


def _sold(snapshot: Snapshot, query: HistoryQuery) -> set[str]:
    """The drinks that are told of in a state: of the menu whatever its days, or all that are in use."""
    if query.menu is None:
        return {drink for drink, held in snapshot.rows["drinks"].items() if held.state == "live"}
    if snapshot.held("menus", query.menu) is None:
        return set()
    menu: Menu = snapshot.model("menus", query.menu)
    return {entry.drink for entry in menu.entries}


class _Answer:
    """One answer, told line by line."""

    def __init__(self, request: Request, query: HistoryQuery, snapshots: list[Snapshot], venues: list[str]) -> None:
        self._request = request
        self._query = query
        self._snapshots = snapshots
        self._venues = venues
        self._kitchen = Kitchen(request.app.state.settings.jurisdictions, request.app.state.reference)
        self._periods = 0
        self._drink_days = 0

    async def told(self, _: Receive, writer: Writer) -> None:
        """Computes and tells venue by venue; others have their turn after each step and each spec that is read."""
        turn = self._request.app.state.turn
        lines = self._lines()
        while True:
            async with turn:
                line = next(lines, None)
                await asyncio.sleep(0)
            if line is None:
                return
            if line:
                await writer.write(line)

    def _lines(self) -> Iterator[bytes]:
        """The lines; an empty one is a place to pause."""
        done = 0
        plans = [(venue, self._kitchen.plan(self._snapshots, venue, self._query)) for venue in self._venues]
        of = sum(len(plan) for _, plan in plans)
        for venue, plan in plans:
            history = History()
            for day, snapshot in plan:
                state = VenueState(self._kitchen, snapshot, venue, day, self._query.menu)
                for _ in state.read():
                    yield b""
                yield from (self._line(venue, period) for period in history.step(state))
                done += 1
                if done % 8 == 0 or day == plan[-1][0]:
                    yield to_json({"progress": {"venue": venue, "done": done, "of": of}}) + b"\n"
                yield b""
            yield from (self._line(venue, period) for period in history.end(self._query.to))
        yield self._last()

    def _line(self, venue: str, period: Period) -> bytes:
        self._periods += 1
        self._drink_days += (period.last - period.first).days + 1
        cost = None if period.cost is None else format(period.cost, "f")
        return to_json(
            {"venue": venue, "drink": period.drink, "from": period.first.isoformat(), "to": period.last.isoformat(),
             "currency": period.currency, "pour_cost": cost}
        ) + b"\n"  # fmt: skip

    def _last(self) -> bytes:
        first = self._snapshots[0]
        meta = {"from": self._query.from_.isoformat(), "to": self._query.to.isoformat(), "cost_version": first.version}
        return to_json({"end": True, "periods": self._periods, "drink_days": self._drink_days, "meta": meta}) + b"\n"


class _Spec(Struct, frozen=True):
    """A row with what it was read from: the settings, and each name in it with its revision and its offers' bases."""

    row: Row | None
    names: tuple[tuple[str, str], ...]
    seen: tuple[object, ...]


class Kitchen:
    """Reads specs as rows, each once for all venues that pour alike."""

    def __init__(self, jurisdictions: tuple[str, ...], reference: Any) -> None:
        self._jurisdictions = jurisdictions
        self._reference = reference
        self._specs: dict[tuple[str, str], _Spec] = {}

    def plan(self, snapshots: list[Snapshot], venue: str, query: HistoryQuery) -> list[tuple[date, Snapshot]]:
        """The days on which something may change at a venue, each with the state that holds from it on."""
        begins: set[date | None] = {date.fromisoformat(snapshot.day) for snapshot in snapshots}
        ends: set[date | None] = set()
        seen: set[int] = set()
        for snapshot in snapshots:
            kinds = ("offers", "menus") if query.menu else ("offers",)
            for kind in kinds:
                for held in snapshot.rows[kind].values():
                    if id(held) in seen:
                        continue
                    seen.add(id(held))
                    model = snapshot.model(kind, held.id)
                    for one in (model, *getattr(model, "entries", ())):
                        begins.add(one.valid_from)
                        ends.add(one.valid_to)
            if snapshot.held("venues", venue) is not None or venue == GROUP:
                pricing = settings_of(snapshot, venue, priced=True).pricing
                begins |= {rate.as_of for rate in (pricing.rates if pricing else ())}
        days = change_days(query.from_, query.to, begins, ends)
        plan, place = [], 0
        for day in days:
            while place + 1 < len(snapshots) and snapshots[place + 1].day <= day.isoformat():
                place += 1
            plan.append((day, snapshots[place]))
        return plan

    def evaluated(self, snapshot: Snapshot, venue: str, drink: str, day: date) -> Evaluation:
        """The single evaluation of a stored drink's cost. Raises its faults."""
        body, held = request_of(snapshot, Asked(drink, venue, None, (), None, None, day, ("cost",)))
        catalogue = snapshot.catalogue(venue, measures_of(held.measures))
        return evaluate(body, day, self._jurisdictions, self._reference, catalogue)

    def row(self, snapshot: Snapshot, venue: str, drink: str, day: date, settings: str, catalogue: Catalogue) -> Any:
        """The row of a drink; the very one of before where nothing that it was read from has changed."""
        known = self._specs.get((settings, drink))
        if known is not None and known.seen == _seen(snapshot, catalogue, drink, known.names):
            return known.row
        try:
            found = self.evaluated(snapshot, venue, drink, day)
        except (InputFault, InputFaults):
            return None
        row = row_of(found)
        names = tuple(
            (kind, name)
            for kind, group in (("ingredients", found.resolved.items), ("preparations", found.resolved.preparations))
            for name in group
        )
        self._specs[settings, drink] = _Spec(row, names, _seen(snapshot, catalogue, drink, names))
        return row


def _seen(snapshot: Snapshot, catalogue: Catalogue, drink: str, names: tuple[tuple[str, str], ...]) -> tuple[Any, ...]:
    """What a row hangs on besides prices: revisions, and in which bases each item is offered."""
    rows = snapshot.rows
    seen: list[Any] = [rows["drinks"][drink].revision]
    for kind, name in names:
        held = rows[kind].get(name)
        other = rows["ingredients" if kind == "preparations" else "preparations"].get(name)
        seen.append((held and held.revision, other and other.revision))
        if kind == "ingredients":
            seen.append(frozenset(offer.base for offer in catalogue.offers.get(name, ())))
    return tuple(seen)


class VenueState:
    """One venue from a day on, as :class:`service.bulk.year.State` has it; ``read`` first."""

    def __init__(self, kitchen: Kitchen, snapshot: Snapshot, venue: str, day: date, menu: str | None) -> None:
        self._kitchen = kitchen
        self._snapshot = snapshot
        self._venue = venue
        self._menu = menu
        self.day = day
        self.rows: dict[str, Row | None] = {}
        self.offers: Mapping[str, tuple[Offer, ...]] = {}
        self.terms: Terms | None = None
        self.places = 2

    def read(self) -> Iterator[None]:
        """Reads the specs; pauses after each that had to be evaluated or looked at."""
        try:
            held = settings_of(self._snapshot, self._venue, priced=True)
        except NotFound:
            return
        catalogue = self._snapshot.catalogue(self._venue, measures_of(held.measures))
        self.offers = catalogue.offers
        if held.pricing is not None:
            self.terms = terms_of(held.pricing, self.day)
            self.places = minor_unit_digits(held.pricing.currency)
        settings = _settings_text(held)
        for drink in self._drinks():
            if held.pricing is None:
                self.rows[drink] = None
                continue
            self.rows[drink] = self._kitchen.row(self._snapshot, self._venue, drink, self.day, settings, catalogue)
            yield

    def _drinks(self) -> list[str]:
        rows = self._snapshot.rows
        if self._menu is None:
            return sorted(drink for drink, held in rows["drinks"].items() if held.state == "live")
        if self._menu not in rows["menus"]:
            return []
        menu: Menu = self._snapshot.model("menus", self._menu)
        return sorted({entry.drink for _, entry in on_menu(menu, self.day) if entry.drink in rows["drinks"]})

    def single(self, drink: str) -> Decimal | None:
        """The pour cost by the single evaluation."""
        try:
            cost = self._kitchen.evaluated(self._snapshot, self._venue, drink, self.day).cost
        except (InputFault, InputFaults):
            return None
        assert cost is not None
        return None if cost.serve.pour_cost is None else half_up(cost.serve.pour_cost, self.places)


def _settings_text(held: Settled) -> str:
    """What of a venue's settings a row hangs on, as a text to compare."""
    parts = (held.measures, held.house, None if held.pricing is None else held.pricing.allowances)
    return "|".join("" if part is None else part.model_dump_json() for part in parts)
