"""How each item is sold, as far as a label rests on it: in which bases, by whom and where, never at which price."""

import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import groupby
from typing import Any, Final

from sqlalchemy import ColumnElement, Select, select

from service.amounts import Measures
from service.line import amount_of
from service.store.bulk import one_of
from service.store.held import Held, held_of
from service.store.kinds import Body
from service.store.standing import Stretch, day_after, stretches, with_later
from service.store.tables import REVISIONS, USES
from service.store.transaction import Transaction

_MEASURES: Final = Measures()
_VOLUME: Final = "volume"
_KEPT: Final = 3
"""Offers that are kept of each way of selling: enough to find one besides the offer that is written."""
_ITEMS: Final = 2000
"""Items that are kept at once."""

Fact = tuple[str, str | None, str, str]
"""Item, venue, ``base`` or ``supplier``, and which."""
Days = tuple[str, str | None]
"""First day, and the day after the last one; ``None`` is for good."""


@dataclass(slots=True)
class _Item:
    """The offers of one item: those that say a fact for good, and those that sell by something else than volume."""

    endless: dict[Fact, list[tuple[str, str]]] = field(default_factory=dict)
    unlike: set[str] = field(default_factory=set)
    many_unlike: bool = False

    def drop(self, offer: str) -> None:
        """Forgets what an offer said. What was left out before does not come back: that counts as a move."""
        for rows in self.endless.values():
            rows[:] = [row for row in rows if row[1] != offer]
        self.unlike.discard(offer)

    def add(self, offer: str, facts: Iterable[tuple[Fact, Days]]) -> None:
        """Takes up what an offer says."""
        for fact, (first, end) in facts:
            if fact[2] == "base" and fact[3] != _VOLUME and offer not in self.unlike:
                self.many_unlike |= len(self.unlike) == _KEPT
                if len(self.unlike) < _KEPT:
                    self.unlike.add(offer)
            if end is None:
                rows = self.endless.setdefault(fact, [])
                rows.append((first, offer))
                rows.sort()
                del rows[_KEPT:]

    def says(self, fact: Fact, days: Days, but: str) -> bool:
        """Whether another offer says the same on all of these days."""
        return any(first <= days[0] and offer != but for first, offer in self.endless.get(fact, ()))

    def sells_unlike(self, but: str) -> bool:
        """Whether another offer sells by something else than volume."""
        return self.many_unlike or any(offer != but for offer in self.unlike)


class Shelf:
    """How items are sold as one transaction finds them and changes them."""

    def __init__(self, write: Transaction) -> None:
        self._write = write
        self._items: dict[str, _Item] = {}
        self._supplied: dict[str, bool] = {}

    def put(self, offer: str, before: Sequence[Stretch], after: Sequence[Stretch]) -> None:
        """Keeps up with an offer that is written."""
        if _by_fact(before) == _by_fact(after):
            return  # What it said before goes on.
        for item in {str(stretch.held.item) for stretch in (*before, *after)} & self._items.keys():
            self._items[item].drop(offer)
            self._items[item].add(offer, (row for row in _facts(after) if row[0][0] == item))

    def settle(self) -> None:
        """Lets go of what was read once it is much; it is read again where it is needed."""
        if len(self._items) > _ITEMS:
            self._items.clear()
            self._supplied.clear()

    def moved_by(self, offer: str, before: Sequence[Stretch], after: Sequence[Stretch]) -> bool:
        """Whether an offer changes what a label rests on: the bases its item is sold in, and who sells it where.

        An ounce is read by the bases of all offers, whatever their days; a declaration goes stale with who sells on
        the day. No price is looked at: another offer of the same kind that stands beside it changes nothing.
        """
        old, new = _by_fact(before), _by_fact(after)
        changed = [fact for fact in old.keys() | new.keys() if old.get(fact) != new.get(fact)]
        if not changed:
            return False
        bases = {fact[3] for fact in (*old, *new) if fact[2] == "base"}
        for fact in changed:
            item = fact[0]
            if fact[2] == "supplier" and not self._names_supplier(item):
                continue
            if fact[2] == "base" and bases == {_VOLUME} and not self._of(item).sells_unlike(offer):
                continue  # What is sold by volume alone is kept as what is not sold at all.
            if not self._of(item).says(fact, _between(old.get(fact), new.get(fact)), offer):
                return True
        return False

    def read(self, items: Iterable[str]) -> None:
        """Reads the offers and declarations of many items at once, rather than one by one as they are asked for."""
        wanted = [item for item in dict.fromkeys(items) if item not in self._items]
        for start in range(0, len(wanted), 500):
            self._read_offers(wanted[start : start + 500])
            self._read_suppliers(wanted[start : start + 500])

    def _names_supplier(self, item: str) -> bool:
        """Whether a declaration of the item is about the product of one supplier, and goes stale with another."""
        if item not in self._supplied:
            self._read_suppliers((item,))
        return self._supplied[item]

    def _of(self, item: str) -> _Item:
        """The offers of an item as they stand, read once and kept up with what this transaction writes."""
        if item not in self._items:
            self._read_offers((item,))
        return self._items[item]

    def _read_suppliers(self, items: Sequence[str]) -> None:
        self._supplied |= dict.fromkeys(items, False)
        rows = _written(REVISIONS.c.kind == "ingredients", one_of(self._write.connection, REVISIONS.c.id, items))
        for item, held in self._standing(rows):
            evidence = (json.loads(one.held.text).get("evidence") or {} for one in stretches(held, self._write.today))
            self._supplied[item] = any(one.get("supplier") is not None for one in evidence)

    def _read_offers(self, items: Sequence[str]) -> None:
        self._items |= {item: _Item() for item in items}
        of_items = select(USES.c.id).where(
            USES.c.kind == "offers",
            USES.c.used_kind == "item",
            one_of(self._write.connection, USES.c.used_id, items),
        )
        rows = _written(REVISIONS.c.kind == "offers", REVISIONS.c.id.in_(of_items))
        for offer, held in self._standing(rows):
            said: dict[str, list[tuple[Fact, Days]]] = {}
            for fact, days in _by_fact(stretches(held, "")).items():
                said.setdefault(fact[0], []).extend((fact, one) for one in days)
            for item in said.keys() & set(items):
                self._items[item].add(offer, said[item])

    def _standing(self, rows: Select[Any]) -> Iterator[tuple[str, dict[str, Held]]]:
        """What each of some entries of one kind says from which day on."""
        written = (held_of(row) for row in self._write.connection.execute(rows.execution_options(yield_per=500)))
        for entry_id, revisions in groupby(written, key=lambda held: held.id):
            held: dict[str, Held] = {}
            for one in revisions:
                held = with_later(held, one)
            yield entry_id, held


def _written(*where: ColumnElement[bool]) -> Select[Any]:
    return select(REVISIONS).where(*where).order_by(REVISIONS.c.id, REVISIONS.c.revision)


def _facts(rows: Iterable[Stretch]) -> Iterator[tuple[Fact, Days]]:
    """What offers in use say: their base for as long as they stand, their supplier on the days of their prices."""
    for stretch in rows:
        if not stretch.live:
            continue
        body: Body = json.loads(stretch.held.text)
        item, venue = body["item"], body.get("venue")
        yield (item, venue, "base", _base(json.dumps(body["pack"]["size"], sort_keys=True))), stretch[1:]
        first = max(stretch.first, body.get("valid_from") or stretch.first)
        end = min((day for day in (stretch.end, day_after(body.get("valid_to"))) if day is not None), default=None)
        if end is None or first < end:
            yield (item, venue, "supplier", body["supplier"]), (first, end)


def _by_fact(rows: Iterable[Stretch]) -> dict[Fact, list[Days]]:
    """What offers say on which days; a revision that goes on saying it is no new beginning."""
    found: dict[Fact, list[Days]] = {}
    for fact, (first, end) in _facts(rows):
        said = found.setdefault(fact, [])
        if said and said[-1][1] == first:
            said[-1] = said[-1][0], end
        else:
            said.append((first, end))
    return found


def _between(old: Sequence[Days] | None, new: Sequence[Days] | None) -> Days:
    """Days that hold all on which two lists of them differ."""
    rows = (*(old or ()), *(new or ()))
    ends = [end for _, end in rows]
    last = None if None in ends else max(end for end in ends if end is not None)
    if old and new and len(rows) == 2 and old[0][0] == new[0][0]:
        return min(end for end in ends if end is not None), last
    return min(first for first, _ in rows), last


@lru_cache(maxsize=4096)
def _base(size: str) -> str:
    """In which base a pack size is; an ounce, which the item's kind decides, is a base of its own."""
    written = json.loads(size)
    bases = {amount_of(written, _MEASURES, by_mass=by_mass, pieces=()).dimension for by_mass in (False, True)}
    return "+".join(sorted(bases))
