"""The states of the catalogue from a day on, as known at one version, each made when it is first asked for."""

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from itertools import groupby
from typing import NamedTuple

from sqlalchemy import Connection, select

from service.store.held import Held, held_of
from service.store.snapshot import Snapshot
from service.store.tables import REVISIONS

Place = tuple[str, str]
"""Kind and id of an entry."""


class _End(NamedTuple):
    """A deletion: which revisions it ended, and at which version."""

    revision: int
    valid_from: str
    version: int


class Planned:
    """Every revision that begins after a day, as known at a version and at those before it."""

    def __init__(self, rows: Sequence[Held], ends: Mapping[Place, Sequence[_End]]) -> None:
        self._rows = rows
        self._ends = ends

    def after(self, day: str, version: int) -> list[Held]:
        """Those that begin after a day and that no deletion had ended at a version, in the order of their days."""
        return [
            held
            for held in self._rows
            if held.valid_from > day and held.version <= version and not self._ended(held, version)
        ]

    def _ended(self, held: Held, version: int) -> bool:
        return any(
            end.version <= version and end.revision > held.revision and end.valid_from <= held.valid_from
            for end in self._ends.get((held.kind, held.id), ())
        )


def planned(connection: Connection, day: str, version: int) -> Planned:
    """Reads what begins after a day and was known at a version."""
    later = (
        select(REVISIONS)
        .where(REVISIONS.c.version <= version, REVISIONS.c.valid_from > day)
        .order_by(REVISIONS.c.valid_from, REVISIONS.c.revision)
    )
    rows = [held_of(row) for row in connection.execute(later)]
    ends: dict[Place, list[_End]] = {}
    if rows:
        gone = select(
            REVISIONS.c.kind, REVISIONS.c.id, REVISIONS.c.revision, REVISIONS.c.valid_from, REVISIONS.c.version
        ).where(REVISIONS.c.state == "gone", REVISIONS.c.version <= version)
        for row in connection.execute(gone):
            ends.setdefault((row.kind, row.id), []).append(_End(row.revision, row.valid_from, row.version))
    return Planned(rows, ends)


class Turn(NamedTuple):
    """A day on which revisions begin: offers by each item that they sell or sold, and whatever else."""

    day: str
    offers: Mapping[str, Sequence[Held]]
    others: Sequence[Held]


class Course:
    """What holds on each day from the first one on, as known at one version."""

    def __init__(self, first: Snapshot, later: Sequence[Held]) -> None:
        """``later`` is what begins after the first day, in the order of its days."""
        self._states = [first.apart()]
        items: dict[str, set[str]] = {}
        for held in later:
            before = first.held("offers", held.id) if held.kind == "offers" else None
            items.setdefault(held.id, set()).update(one.item for one in (before, held) if one and one.item)
        self._begun = [(day, tuple(rows)) for day, rows in groupby(later, key=lambda held: held.valid_from)]
        self._turns = [_turn(day, rows, items) for day, rows in self._begun]
        self._days = [first.day, *(turn.day for turn in self._turns)]

    def at(self, day: str) -> Snapshot:
        """The state on a day, which is the first one or a later one."""
        place = bisect_right(self._days, day) - 1
        while len(self._states) <= place:
            self._states.append(self._states[-1].after(*self._begun[len(self._states) - 1]))
        return self._states[place]

    def turns_after(self, day: str) -> Sequence[Turn]:
        """The later days on which a revision begins, with what begins on them."""
        return self._turns[bisect_right(self._days, day) - 1 :]


def _turn(day: str, rows: Sequence[Held], items: Mapping[str, set[str]]) -> Turn:
    offers: dict[str, list[Held]] = {}
    for held in rows:
        if held.kind == "offers":
            for item in items[held.id]:
                offers.setdefault(item, []).append(held)
    return Turn(day, offers, [held for held in rows if held.kind != "offers"])
