"""What an entry says from which day on: the revisions that hold today or on a later day."""

from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from itertools import pairwise
from typing import NamedTuple

from sqlalchemy import Connection, select

from service.store.held import Held, held_of
from service.store.kinds import is_id
from service.store.tables import REVISIONS

Holding = Mapping[str, Held]
"""The revision that holds from each day on, until the next of these days."""


class Stretch(NamedTuple):
    """A revision with the days on which it holds: from ``first`` until before ``end``; ``None`` is for good."""

    held: Held
    first: str
    end: str | None

    @property
    def live(self) -> bool:
        """Whether it is in use."""
        return self.held.state == "live"


def holding(connection: Connection, kind: str, entry_id: str) -> dict[str, Held]:
    """The revisions of an entry that none of the same day and no deletion has replaced, by their first days."""
    found: dict[str, Held] = {}
    for held in _revisions(connection, kind, entry_id):
        found = with_later(found, held)
    return found


def _revisions(connection: Connection, kind: str, entry_id: str) -> Iterator[Held]:
    query = select(REVISIONS).where(REVISIONS.c.kind == kind, REVISIONS.c.id == entry_id).order_by(REVISIONS.c.revision)
    return map(held_of, connection.execute(query))


def with_later(known: Holding, written: Held) -> dict[str, Held]:
    """What holds once another revision is written; a deletion ends what begins on its day or later."""
    if written.state == "gone":
        return {day: held for day, held in known.items() if day < written.valid_from}
    return {**known, written.valid_from: written}


def stretches(held: Holding, today: str) -> Iterator[Stretch]:
    """The stretches of days from today on, in their order; from ever on where ``today`` is empty."""
    days = sorted(held)
    for day, end in pairwise([*days, None]):
        assert day is not None
        if end is None or end > today:
            yield Stretch(held[day], max(day, today), end)


def holds_on(held: Holding, day: str) -> Stretch | None:
    """What holds on a day, until the next revision begins."""
    begun = max((one for one in held if one <= day), default=None)
    if begun is None:
        return None
    return Stretch(held[begun], day, next_after(held, day))


def day_after(day: str | None, days: int = 1) -> str | None:
    """The day so many days after one; ``None`` after the last that can be written, and where there is none."""
    try:
        return None if day is None else (date.fromisoformat(day) + timedelta(days=days)).isoformat()
    except OverflowError:
        return None


def said_on(connection: Connection, kind: str, entry_id: str, day: str) -> Held | None:
    """What an entry says on a day, whatever became of it later; ``None`` too for what is no id."""
    if not is_id(entry_id):
        return None
    found: dict[str, Held] = {}
    for held in _revisions(connection, kind, entry_id):
        found = with_later(found, held)
        if held.state == "gone":
            found[held.valid_from] = held
    said = holds_on(found, day)
    return None if said is None or said.held.state == "gone" else said.held


def next_after(held: Holding, day: str) -> str | None:
    """The first later day on which a revision begins."""
    return min((one for one in held if one > day), default=None)
