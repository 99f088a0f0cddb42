"""The days on which the rules of a jurisdiction become others, found by holding each day against the one before."""

from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from functools import cache

from msgspec.structs import replace

from service.errors import InputFault
from service.nutrition import ENERGY_BASIS, basis_on
from service.ruleentry import Dated
from service.rules import Jurisdiction, advisories_on, jurisdiction, rules


@cache
def rule_days(code: str, *, floors_alone: bool = False) -> tuple[str, ...]:
    """The days, in their order, from which on a jurisdiction holds something else; of the past and to come.

    ``floors_alone``: only where its least price is another one, which is all that a cost rests on.
    """
    written = sorted({day for day in _days_of(_entries(jurisdiction(code))) if date.min < day})
    return tuple(
        day.isoformat()
        for day in written
        if _held(code, day - timedelta(days=1), floors_alone) != _held(code, day, floors_alone)
    )


def _entries(place: Jurisdiction) -> Iterator[Dated]:
    """Every dated entry that a jurisdiction can hold: its own, inherited ones, and what is true of all."""
    left, seen = [place, jurisdiction(ENERGY_BASIS)], set()
    while left:
        here = left.pop()
        if here.code in seen:
            continue
        seen.add(here.code)
        left += [other for other in (here.extends, here.fallback) if other is not None]
        for entries in here.entries.values():
            yield from entries
        for tables in here.tables.values():
            yield from tables
    yield from rules().advisories


def _days_of(entries: Iterable[Dated]) -> Iterator[date]:
    for entry in entries:
        yield entry.since
        if entry.until is not None and entry.until < date.max:
            yield entry.until + timedelta(days=1)
        adopted: date | None = getattr(entry, "adopted", None)
        if adopted is not None:
            yield adopted


def _held(code: str, day: date, floors_alone: bool) -> object:
    """All that a jurisdiction holds on a day, to compare."""
    try:
        held = jurisdiction(code).on(day)
    except InputFault:
        return None
    if floors_alone:
        return held.price_floor
    return replace(held, day=date.min), advisories_on(code, day), basis_on(day).energy
