"""The days on which what is answered of a stored drink can change by itself, as one version knows them.

A day too many costs an evaluation that finds nothing; a day too few would leave a change untold. So whatever bears on
an answer is taken, the offers that are passed over too.
"""

import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from service.item import Item
from service.ruledays import rule_days
from service.store.course import Course
from service.store.held import Held
from service.store.kinds import GROUP, KINDS, products_named
from service.store.snapshot import Snapshot
from service.store.standing import day_after

Why = str
"""``price``, ``spec`` or ``rules``."""

_RANK: Final = {"price": 0, "rules": 1, "spec": 2}
"""Where several things change on one day, the last of these is told."""

_OF_LABELS: Final = ("item", "supplier", "venue", "pack", "valid_from", "valid_to")
"""Fields of an offer that a label can rest on."""


class Coming:
    """The days to come of one drink at one venue, for the feed of costs or that of labels."""

    def __init__(
        self, feed: str, drink: str, venue: str | None, codes: Sequence[str], embedded: Mapping[str, Item]
    ) -> None:
        """``codes`` are the jurisdictions where a venue states none; ``embedded`` the items of the reference."""
        self._costs = feed == "costs"
        self._drink = drink
        self._venues = (GROUP,) if venue is None else (GROUP, venue)
        self._codes = tuple(codes)
        self._embedded = embedded

    def days(self, course: Course, day: str) -> Iterator[tuple[str, Why]]:
        """Later days in their order, each with what can change the answer on it."""
        while True:
            state = course.at(day)
            names = self._names(state)
            turn = self._turn(course, day, state, names)
            own = self._own(state, names)
            yield from ((one, own[one]) for one in sorted(own) if day < one and (turn is None or one < turn[0]))
            if turn is None:
                return
            day, why = turn
            yield day, _stronger(why, own.get(day))

    def _names(self, state: Snapshot) -> set[str]:
        """The items and parts that the drink is made of, however deep, with what they are priced from."""
        if state.held("drinks", self._drink) is None:
            return set()
        makers = state.makers()
        found: set[str] = set()
        left = [used for _, used, _ in KINDS["drinks"].uses(state.body("drinks", self._drink))]
        while left:
            name = left.pop()
            if name in found:
                continue
            found.add(name)
            fruit = self._embedded[name].squeezed_from if name in self._embedded else None
            if fruit is not None:
                left.append(fruit.item)
            if name in makers:
                left.append(makers[name])
            if state.held("preparations", name) is not None:
                left += (used for _, used, _ in KINDS["preparations"].uses(state.body("preparations", name)))
        return found

    def _turn(self, course: Course, day: str, state: Snapshot, names: set[str]) -> tuple[str, Why] | None:
        """The next day on which a revision begins that the drink rests on."""
        for turn in course.turns_after(day):
            found = [why for held in turn.others if (why := self._rests_on(held, names)) is not None]
            rows = (held for name in names for held in turn.offers.get(name, ()))
            found += [why for held in rows if (why := self._rests_on_offer(held, state)) is not None]
            if found:
                return turn.day, max(found, key=_RANK.__getitem__)
        return None

    def _rests_on(self, held: Held, names: set[str]) -> Why | None:
        """Why the drink can change with a revision; ``None`` where it does not rest on it."""
        if held.kind == "drinks":
            return "spec" if held.id == self._drink else None
        if held.kind == "ingredients":
            return "spec" if held.id in names else None
        if held.kind == "preparations":
            given = (held.id, *products_named(_body(held))) if '"outputs"' in held.text else (held.id,)
            return "spec" if names.intersection(given) else None
        if held.kind == "venues":
            return "spec" if held.id in self._venues else None
        return "price" if held.kind == "menus" and self._costs else None

    def _rests_on_offer(self, held: Held, state: Snapshot) -> Why | None:
        if self._costs:
            return "price"
        before = state.held("offers", held.id)
        if before is not None and before.state == held.state:
            old, new = _body(before), _body(held)
            if all(old.get(one) == new.get(one) for one in _OF_LABELS):
                return None
        return "spec"

    def _own(self, state: Snapshot, names: set[str]) -> dict[str, Why]:
        """The days that are written in what holds now: of offers, rates, menus, evidence, parts and rules."""
        found: dict[str, Why] = {}
        for why, one in self._stated(state, names):
            found[one] = _stronger(why, found.get(one))
        return found

    def _stated(self, state: Snapshot, names: set[str]) -> Iterator[tuple[Why, str]]:
        for name in names:
            evidence = {} if state.held("ingredients", name) is None else _evidence(state, name)
            if self._costs or evidence.get("supplier") is not None:
                for held in (one for one in state.offers_of(name) if '"valid_' in one.text):
                    yield from (("price" if self._costs else "spec", one) for one in _span(_body(held)))
            if not self._costs:
                yield from (("spec", one) for one in _span(evidence, "dated", "review_by"))
        if not self._costs:
            yield from (("spec", one) for one in self._lives(state, names))
        codes = self._codes
        for venue in self._venues:
            if state.held("venues", venue) is None:
                continue
            body = state.body("venues", venue)
            codes = tuple(body.get("jurisdictions") or codes)
            if self._costs:
                rates = (body.get("pricing") or {}).get("rates") or ()
                yield from (("price", one) for rate in rates for one in _span(rate, "as_of"))
        if self._costs:
            for menu in state.rows["menus"].values():
                if f'"{self._drink}"' in menu.text:
                    body = state.body("menus", menu.id)
                    yield from (("price", one) for part in (body, *body.get("entries", ())) for one in _span(part))
        for code in codes:
            yield from (("rules", one) for one in rule_days(code, floors_alone=self._costs))

    def _lives(self, state: Snapshot, names: set[str]) -> Iterator[str]:
        """The days on which something was made, and those after the last of each life from then on."""
        if state.held("drinks", self._drink) is None:
            return
        parts = [state.model("preparations", name) for name in names if state.held("preparations", name) is not None]
        made = {one.made_on.isoformat() for one in (state.model("drinks", self._drink), *parts) if one.made_on}
        if not made:
            return
        lives = {one.shelf_life_days for one in parts}
        for name in names:
            if state.held("ingredients", name) is not None:
                lives.add(state.model("ingredients", name).open_life_days)
            elif name in self._embedded:
                lives.add(self._embedded[name].open_life_days)
        for day in made:
            ends = (day_after(day, life + 1) for life in lives if life is not None)
            yield from (one for one in (day, *ends) if one is not None)


def _stronger(why: Why, other: Why | None) -> Why:
    return why if other is None else max(why, other, key=_RANK.__getitem__)


def _body(held: Held) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(held.text)
    return found


def _evidence(state: Snapshot, name: str) -> dict[str, Any]:
    return state.body("ingredients", name).get("evidence") or {}


def _span(stated: Mapping[str, Any], first: str = "valid_from", last: str = "valid_to") -> Iterator[str]:
    """The day on which something begins, and the day after its last one."""
    if stated.get(first) is not None:
        yield stated[first]
    end = day_after(stated.get(last))
    if end is not None:
        yield end
