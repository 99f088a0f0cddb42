"""How long parts keep: the earliest of each component's remaining life and the part's own, with its path.

The life of an opened item counts from the day it was opened. What is in a part was opened no later than the day
the part was made, so the age of the innermost part with ``made_on`` is taken off it.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import NamedTuple

from msgspec import Struct
from msgspec.structs import replace

from service.item import Item
from service.line import ResolvedLine
from service.preparation import Prepared, Warn
from service.recipe import PreparationSpec

MADE_LATER = "made_on_in_future"
"""The warning that a part is stated as made after the day asked for."""


class UseBy(Struct, frozen=True):
    """Days left on the day asked for, the ids that lead to what ends first, and which life that is, in words."""

    days: int
    path: tuple[str, ...]
    reason: str


class Lives(NamedTuple):
    """What ends first of a part: by a day on which it was made, and of what no such day is known."""

    dated: UseBy | None
    undated: UseBy | None

    @property
    def earliest(self) -> UseBy | None:
        """The one that ends first of both."""
        return _earliest(self)


UNKNOWN = Lives(None, None)


def lives(
    preparations: Mapping[str, Prepared],
    preparation_lines: Mapping[str, Sequence[ResolvedLine]],
    items: Mapping[str, Item],
    day: date,
) -> dict[str, UseBy]:
    """Remaining life of each preparation and its products; what is strained out no longer counts."""
    found: dict[str, Lives] = {}
    for prep_id, made in preparations.items():
        part = _of_part(made.spec, preparation_lines[prep_id], found, items, day)
        found[prep_id] = part
        for product in made.spec.products:
            found[product] = Lives(*(_within(product, life) for life in part))
    return {ref: earliest for ref, part in found.items() if (earliest := part.earliest) is not None}


def use_by(
    drink_id: str, lines: Sequence[ResolvedLine], prepared_lives: Mapping[str, UseBy], items: Mapping[str, Item]
) -> UseBy | None:
    """The earliest end among the drink's parts and what may stand for them; ``None`` where no life is known."""
    candidates = []
    for line in lines:
        if line.role != "consumable":
            for ref in _refs(line):
                candidates.append(_within(drink_id, prepared_lives.get(ref) or _opened(ref, items)))
    return _earliest(candidates)


def made_later(preparations: Mapping[str, Prepared], day: date) -> list[Warn]:
    """A warning for each part that was made after the day asked for, so that its age counts as nothing."""
    late = [(prep_id, made.spec.made_on) for prep_id, made in preparations.items()]
    return [
        Warn(MADE_LATER, f"{prep_id} is stated as made on {made_on}, after {day}; check made_on.", prep_id)
        for prep_id, made_on in late
        if made_on is not None and made_on > day
    ]


def _refs(line: ResolvedLine) -> tuple[str, ...]:
    """What stands on a line and what may stand there instead."""
    return line.ref, *(made.id for made in line.alternatives)


def _of_part(
    spec: PreparationSpec,
    lines: Sequence[ResolvedLine],
    found: Mapping[str, Lives],
    items: Mapping[str, Item],
    day: date,
) -> Lives:
    """What ends first of one part, its own shelf life and its components' lives alike."""
    undated: list[UseBy | None] = []
    dated: list[UseBy | None] = []
    if spec.shelf_life_days is not None:
        undated.append(UseBy(spec.shelf_life_days, (spec.id,), f"{spec.id}, {_days(spec.shelf_life_days)} once made"))
    for ref in dict.fromkeys(ref for line in lines if not line.strained_out for ref in _refs(line)):
        part = found.get(ref, UNKNOWN)
        dated.append(_within(spec.id, part.dated))
        undated.append(_within(spec.id, part.undated if part.earliest is not None else _opened(ref, items)))
    first = _earliest(undated)
    if spec.made_on is None or first is None:
        return Lives(_earliest(dated), first)
    age = max((day - spec.made_on).days, 0)
    aged = UseBy(first.days - age, first.path, f"{first.reason}; {spec.id} was made on {spec.made_on}")
    return Lives(_earliest((*dated, aged)), None)


def _opened(ref: str, items: Mapping[str, Item]) -> UseBy | None:
    item = items.get(ref)
    if item is None or item.open_life_days is None:
        return None
    return UseBy(item.open_life_days, (ref,), f"{ref}, {_days(item.open_life_days)} once opened")


def _days(count: int) -> str:
    return "1 day" if count == 1 else f"{count} days"


def _within(outer: str, life: UseBy | None) -> UseBy | None:
    return None if life is None else replace(life, path=(outer, *life.path))


def _earliest(candidates: Iterable[UseBy | None]) -> UseBy | None:
    known = [life for life in candidates if life is not None]
    return min(known, key=lambda life: (life.days, len(life.path), life.path), default=None)
