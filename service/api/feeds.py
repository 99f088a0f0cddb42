"""The feeds of what moved: each announced change with the days from which on a drink is answered otherwise."""

import json
from collections.abc import Iterator
from datetime import date
from heapq import merge
from itertools import chain, groupby
from typing import Annotated, Any, Final, NamedTuple

from fastapi import APIRouter, Depends, Query, Request, Response

from schemas.evaluation import Section
from schemas.questions import FeedQuery
from service.api.coming import Coming
from service.api.documentation import QUERY_REFUSALS, answered_with
from service.api.parameters import each_once
from service.api.patience import in_time
from service.api.problems import Fault, of_faults
from service.api.stored_question import COST, LABEL, Asked, answered, snapshot_of
from service.errors import InputFault, InputFaults, NotFound
from service.housecautions import PAST_USE
from service.store.changes import Change, changes_from
from service.store.course import Course, Planned, planned
from service.store.held import EVER
from service.useby import MADE_LATER

router = APIRouter(tags=["history"], dependencies=[Depends(each_once(FeedQuery))])

Body = dict[str, Any]

_FEEDS: Final[dict[str, tuple[Section, ...]]] = {"costs": COST, "labels": LABEL}

_ASKED: Final = 200
"""Answers after which a page ends, so that it comes in time however many days are looked at."""

_ABOUT: Final = """From `since` on the drink is answered as in `after`. A row stands in place of all that earlier rows
of its drink say of that day and of later ones, and holds until the `since` of the next row.

A `since` in the future is told ahead: prices, specs, declarations and rules that begin or end on a day move a drink
then, and on that day nothing more is announced. Keep such rows and apply each on its day.

What counts down from one day to the next is not told: the days of use that are left, and the day to which a pack keeps
while nobody states when it was made. That something is past its life is told, with the day."""


@router.get(
    "/v1/changes/costs", operation_id="list_cost_changes", summary="Drinks whose cost or price moves",
    description=f"Which drinks move, since when, and why: a price, a spec or the rules.\n\n{_ABOUT}",
    response_model=None, responses={200: answered_with("Feed", "The next changes."), **QUERY_REFUSALS},
)  # fmt: skip
async def list_cost_changes(request: Request, query: Annotated[FeedQuery, Query()]) -> Response:
    """The feed of costs."""
    return await _feed(request, "costs", query)


@router.get(
    "/v1/changes/labels", operation_id="list_label_changes", summary="Drinks whose label moves",
    description=f"Which drinks move, since when, and why; a price never moves a label.\n\n{_ABOUT}",
    response_model=None, responses={200: answered_with("Feed", "The next changes."), **QUERY_REFUSALS},
)  # fmt: skip
async def list_label_changes(request: Request, query: Annotated[FeedQuery, Query()]) -> Response:
    """The feed of labels."""
    return await _feed(request, "labels", query)


class Place(NamedTuple):
    """A place in a feed: after all of a drink at a position, or after the row of one of its days."""

    position: int
    drink: str
    since: str | None = None

    def text(self) -> str:
        """The cursor that stands for it."""
        return ".".join((str(self.position), self.drink, *([] if self.since is None else [self.since])))


async def _feed(request: Request, feed: str, query: FeedQuery) -> Response:
    """One page; it is charged with the drinks that it looks at."""
    place = _place(query.cursor)

    def read() -> list[Change]:
        with request.app.state.store.reading() as connection:
            return changes_from(connection, feed, *place, query.page_size + 1)

    rows = await in_time(request, read)
    await request.state.spend("work", max(1, min(len(rows), query.page_size)))
    content = await in_time(request, _page, request, feed, query.page_size, place, rows)
    return Response(json.dumps(content, ensure_ascii=False).encode(), media_type="application/json")


def _place(cursor: str | None) -> Place:
    if cursor is None:
        return Place(0, "")
    position, dot, rest = cursor.partition(".")
    drink, dotted, since = rest.partition(".")
    try:
        if not dot or not (position.isascii() and position.isdigit()) or len(position) > 15:
            raise ValueError
        return Place(int(position), drink, date.fromisoformat(since).isoformat() if dotted else None)
    except ValueError:
        raise of_faults([Fault("/cursor", "cursor", "Send the next_cursor of an earlier answer.")]) from None


def _page(request: Request, feed: str, size: int, place: Place, rows: list[Change]) -> Body:
    """The changes of a page: as many as fit, whole drinks or a drink's first days; fewer where days are many."""
    walk = _Walk(request, feed, rows[:size])
    found: list[Body] = []
    for row in rows[:size]:
        goes_on = (row.position, row.drink) == place[:2]
        for change in walk.changes(row, place.since if goes_on else None):
            if len(found) == size or (found and walk.asked > _ASKED):
                return {"changes": found, "next_cursor": place.text(), "more": True}
            found.append(change)
            place = Place(row.position, row.drink, change["since"])
        place = Place(row.position, row.drink)
        if walk.asked > _ASKED and row is not rows[-1]:
            return {"changes": found, "next_cursor": place.text(), "more": True}
    return {"changes": found, "next_cursor": place.text(), "more": len(rows) > size}


class _Walk:
    """Walks the days of drinks, before each change and since."""

    def __init__(self, request: Request, feed: str, rows: list[Change]) -> None:
        self._request = request
        self._feed = feed
        self._venue: str | None = request.state.principal.venue
        self.asked = 0
        self._courses: dict[tuple[int, str], Course] = {}
        self._planned = Planned((), {})
        if rows:
            with request.app.state.store.reading() as connection:
                self._planned = planned(connection, min(map(_first_day, rows)), max(row.version for row in rows))

    def changes(self, row: Change, told: str | None) -> Iterator[Body]:
        """What is answered otherwise since a change: from the first day on which the version before it knew another
        answer, then of each later day on which the answer becomes another. ``told``: only what is after this day.
        """
        first = _first_day(row)
        coming = self._coming(row.drink)
        since = self._course(row.version, first)
        if told is None:
            begun = self._begun(row, first, since, coming)
            if begun is None:
                return
            day, was, last = begun
            yield self._change(row, row.since if day == first else day, row.why, was, last)
        else:
            day = max(first, told)
            last = self._told(row.drink, since, day)
        for later, why in coming.days(since, day):
            now = self._told(row.drink, since, later)
            if _over_days(self._feed, last) != _over_days(self._feed, now):
                yield self._change(row, later, why, last, now)
                last = now

    def _begun(self, row: Change, first: str, since: Course, coming: Coming) -> tuple[str, "Told", "Told"] | None:
        """The first day on which two versions answer otherwise, with both answers; ``None`` where there is none."""
        before = self._course(row.version - 1, first)
        days = merge(*(coming.days(course, first) for course in (before, since)))
        for day, _ in groupby(chain([first], (day for day, _ in days))):
            was, now = (self._told(row.drink, course, day) for course in (before, since))
            if row.why == "rules" or _compared(self._feed, was) != _compared(self._feed, now):
                return day, was, now
        return None

    def _change(self, row: Change, since: str, why: str, before: "Told", after: "Told") -> Body:
        shown = _cost_shown if self._feed == "costs" else _label_shown
        return {
            "drink": row.drink, "why": why, "since": since, "recorded_at": row.recorded_at, "state": after.state,
            "before": shown(before.body), "after": shown(after.body),
        }  # fmt: skip

    def _coming(self, drink: str) -> Coming:
        state = self._request.app.state
        return Coming(self._feed, drink, self._venue, state.settings.jurisdictions, state.reference.items)

    def _course(self, version: int, first: str) -> Course:
        found = self._courses.get((version, first))
        if found is None:
            for old in [key for key in self._courses if key[0] < version - 1]:
                del self._courses[old]
            begin = snapshot_of(self._request, date.fromisoformat(first), version)
            found = self._courses[version, first] = Course(begin, self._planned.after(first, version))
        return found

    def _told(self, drink: str, course: Course, day: str) -> "Told":
        """The answer about a drink on a day, with what it is then."""
        self.asked += 1
        held = course.at(day).held("drinks", drink)
        if held is None:
            return Told("gone", None)
        asked = Asked(drink, self._venue, None, (), None, None, date.fromisoformat(day), _FEEDS[self._feed])
        try:
            body = answered(self._request, course.at(day), asked)
        except NotFound:
            return Told(held.state, None)
        except (InputFault, InputFaults) as fault:
            return Told(held.state, {"fault": str(fault)})
        body.pop("meta")
        return Told(held.state, body)


class Told(NamedTuple):
    """A drink on a day: live, archived or gone, and what is answered of it; ``None`` where it is not there."""

    state: str
    body: Body | None


def _first_day(row: Change) -> str:
    """The first day that is looked at: of what holds since ever, the day on which it was written."""
    return row.recorded_at[:10] if row.since == EVER else row.since


def _compared(feed: str, told: Told) -> object:
    """What has to differ for a drink to have moved: of costs the sums, not the offers that were passed over."""
    return told.state, _answered(feed, told.body)


def _answered(feed: str, body: Body | None) -> object:
    if body is None or "fault" in body or feed == "labels":
        return body
    sums = {name: value for name, value in body["cost"].items() if name != "choices"}
    return sums, body["price"], [(line["item"], line.get("cost")) for line in body["lines"]]


def _over_days(feed: str, told: Told) -> object:
    """The same between two days: that there is one day less to use something by moves nothing, until it is past."""
    body = told.body
    if body is None or "fault" in body or feed == "costs":
        return _compared(feed, told)
    counted: Body = {"use_by": None, "preparations": [{**part, "use_by": None} for part in body["preparations"]]}
    for rows in ("warnings", "advisories"):
        counted[rows] = [row["code"] if row["code"] in (MADE_LATER, PAST_USE) else row for row in body[rows]]
    if "pack" in body:
        counted["pack"] = {**body["pack"], "use_by": None}
    return told.state, {**body, **counted}


def _cost_shown(body: Body | None) -> Body | None:
    if body is None or "fault" in body:
        return None
    price = body["price"] or {}
    cost = body["cost"]
    return {
        "currency": cost["currency"], "complete": cost["complete"], "pour_cost": cost["pour_cost"],
        "serve_cost": cost["serve_cost"], "suggested": price.get("suggested"),
        "menu_price": (price.get("at_menu_price") or {}).get("menu_price"),
    }  # fmt: skip


def _label_shown(body: Body | None) -> Body | None:
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
        "past_use_by": any(row["code"] == PAST_USE for row in body["advisories"]),
    }  # fmt: skip
