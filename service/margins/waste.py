"""What is thrown away of what is kept: batches of parts and opened packs that are not used up within their life."""

from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal, localcontext
from graphlib import CycleError, TopologicalSorter
from typing import NamedTuple

from msgspec import Struct, field

from service.errors import InputFault
from service.margins.bought import Part, Used
from service.margins.perishing import sold_of_batch
from service.money import EXACT, ONE, ZERO

Place = tuple[str, str]
"""What is kept, and its base: ml, g or each."""


class Stored(NamedTuple):
    """Something that is made or opened and then kept: an output of a part, or a bought item once its pack is open.

    ``batch`` is what is made or opened at once, in ``base``; ``unit_cost`` is of one base unit. What is not known is
    ``None``. ``part`` makes it; a bought item has none.
    """

    ref: str
    base: str
    batch: Decimal | None
    life_days: int | None
    unit_cost: Decimal | None
    part: str | None = None


class Taken(Struct):
    """What was taken of one stored thing, as it stood last: by serves that sold, and by batches of parts it goes into.

    ``worth`` is what that cost, ``None`` where it is not known; ``lacks`` names a part of which it is not known how
    much of it was made.
    """

    stored: Stored
    times: Decimal = ZERO
    used: Decimal = ZERO
    worth: Decimal | None = ZERO
    lacks: str | None = None

    def add(self, stored: Stored, times: Decimal, each: Decimal) -> None:
        """Counts takes of ``each`` base units."""
        with localcontext(EXACT):
            self.stored = stored
            self.times += times
            self.used += times * each
            if self.worth is not None:
                self.worth = None if stored.unit_cost is None else self.worth + times * each * stored.unit_cost


class Wasted(Struct, frozen=True):
    """What of one stored thing is thrown away in base units and money; ``lacks`` names what would tell it."""

    taken: Taken
    thrown: Decimal | None
    money: Decimal | None
    lacks: str | None = None


class Recipe(Struct):
    """What goes into a batch of a part, and the serves that sold with the part made so."""

    lines: tuple[Used, ...]
    serves: Decimal = ZERO


class Shelf(Struct):
    """What is kept at one venue, filled by what sold in the order of the days."""

    takes: dict[Place, Taken] = field(default_factory=dict)
    parts: dict[str, Part] = field(default_factory=dict)
    recipes: dict[str, list[Recipe]] = field(default_factory=dict)
    stored: dict[Place, Stored] = field(default_factory=dict)

    def sold(self, serves: Decimal, uses: Iterable[Used], parts: Iterable[Part], stored: Iterable[Stored]) -> None:
        """Counts serves of a drink: what one takes, the parts behind it and what of all that is kept."""
        for part in parts:
            self.parts[part.id] = part
            rows = self.recipes.setdefault(part.id, [])
            held = next((one for one in rows if one.lines == part.lines), None)
            if held is None:
                held = Recipe(part.lines)
                rows.append(held)
            held.serves += serves
        self.stored |= {(one.ref, one.base): one for one in stored}
        self._take(serves, uses, None)

    def _take(self, times: Decimal, uses: Iterable[Used], lacks: str | None) -> None:
        for use in uses:
            held = self.stored.get((use.ref, use.base))
            if held is not None:  # Water, and what is opened for one serve, are not kept.
                taken = self.takes.setdefault((use.ref, use.base), Taken(held))
                taken.add(held, times, use.quantity)
                taken.lacks = taken.lacks or lacks

    def wasted(self, days: int) -> Iterator[Wasted]:
        """The waste over a period of ``days``, by the model of :mod:`service.margins.perishing`.

        One take is used / times; a batch holds batch / that many takes, of which ``sold_of_batch`` are asked for over
        its life; a batch that is used up is followed by the next at once, so times / sold are made. thrown = made x
        batch - used. Joint products come out of one batch: as many are made as the product that needs most asks for.
        A batch of a part is one take of each thing that goes into it; where the part was revised, its batches are
        shared out by the serves that sold with each recipe. Reference: arithmetic on the Poisson
        distribution (renewal reward).
        """
        makers = {output: part.id for part in self.parts.values() for output in part.outputs}
        for part_id in self._order(makers):
            part = self.parts[part_id]
            rows = [one for (ref, _), one in self.takes.items() if ref in part.outputs]
            made, found = _of_batch(rows, days)
            yield from found
            known = all(one.lacks is None or one.lacks == "offer" for one in found)
            for share, lines in self._shares(part):
                self._take(EXACT.multiply(made, share), lines, None if known else f"use in {part_id}")
        for (ref, _), taken in self.takes.items():
            if ref not in makers:
                yield from _of_batch([taken], days)[1]

    def _order(self, makers: Mapping[str, str]) -> list[str]:
        """Each part before what it is made of, by all of its recipes, or the last ones where these turned about."""
        every = {name: [line for one in rows for line in one.lines] for name, rows in self.recipes.items()}
        last = {name: list(part.lines) for name, part in self.parts.items()}
        for lines in (every, last):
            needs = {name: {makers[line.ref] for line in rows if line.ref in makers} for name, rows in lines.items()}
            try:
                return list(TopologicalSorter(needs).static_order())[::-1]
            except CycleError:
                continue
        raise AssertionError("The recipes of one day cannot go round.")

    def _shares(self, part: Part) -> Iterator[tuple[Decimal, tuple[Used, ...]]]:
        """Each recipe of a part with its share of the batches."""
        rows = [one for one in self.recipes[part.id] if one.serves > 0]
        whole = sum((one.serves for one in rows), ZERO)
        if not rows:
            yield ONE, part.lines
        for one in rows:
            yield EXACT.divide(one.serves, whole), one.lines

    def idle(self) -> list[str]:
        """Joint products that nothing takes."""
        taken = {ref for ref, _ in self.takes}
        return sorted({one for part in self.parts.values() for one in part.outputs if len(part.outputs) > 1} - taken)


def _of_batch(rows: Iterable[Taken], days: int) -> tuple[Decimal, list[Wasted]]:
    """How many batches are made of what comes out of one, at least; and what of each product is thrown away."""
    lacks: Mapping[str, str] = {}
    made = ZERO
    held = [one for one in rows if one.used > 0 and one.times > 0]
    for one in held:
        try:
            least, why = _made(one, days)
        except InputFault as fault:
            least, why = ZERO, fault.code
        made = max(made, least)
        if why is not None:
            lacks = {**lacks, one.stored.ref: why}
    found = []
    for one in held:
        why = lacks.get(one.stored.ref) or next(iter(lacks.values()), None)
        if why is not None or one.stored.batch is None:
            found.append(Wasted(one, None, None, why))
            continue
        with localcontext(EXACT):
            thrown = max(made * one.stored.batch - one.used, ZERO)
            money = None if one.worth is None else thrown * one.worth / one.used
        found.append(Wasted(one, thrown, money, None if money is not None else "offer"))
    return made, found


def _made(one: Taken, days: int) -> tuple[Decimal, str | None]:
    """How many batches are made or opened; a life of 0 days is the day itself. Without a life: those that are used."""
    batch, life_days = one.stored.batch, one.stored.life_days
    if not batch or batch < 0:
        return ZERO, "pack" if one.stored.part is None else "yield"
    with localcontext(EXACT):
        if life_days is None:
            return one.used / batch, "open_life_days" if one.stored.part is None else "shelf_life_days"
        capacity = batch * one.times / one.used
        mean = one.times / days * max(Decimal(life_days), ONE)
        return one.times / sold_of_batch(mean, capacity), one.lacks
