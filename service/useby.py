"""How long parts keep: the earliest of each component's remaining life and the part's own, with its path."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import NamedTuple

from service.item import Item
from service.line import ResolvedLine
from service.preparation import Prepared


class UseBy(NamedTuple):
    """Days left on the day asked for, and the ids that lead to what ends first."""

    days: int
    path: tuple[str, ...]


def lives(
    preparations: Mapping[str, Prepared],
    preparation_lines: Mapping[str, Sequence[ResolvedLine]],
    items: Mapping[str, Item],
    day: date,
) -> dict[str, UseBy]:
    """Remaining life of each preparation and its products; what is strained out no longer counts.

    A preparation with ``made_on`` has so many days of its shelf life left on ``day``; opened items count from
    opening.
    """
    found: dict[str, UseBy] = {}
    for prep_id, made in preparations.items():
        candidates: list[UseBy] = []
        own = made.spec.shelf_life_days
        if own is not None:
            gone = 0 if made.spec.made_on is None else (day - made.spec.made_on).days
            candidates.append(UseBy(own - gone, (prep_id,)))
        for line in preparation_lines[prep_id]:
            life = None if line.strained_out else _life(line.ref, found, items)
            if life is not None:
                candidates.append(UseBy(life.days, (prep_id, *life.path)))
        earliest = _earliest(candidates)
        if earliest is not None:
            found[prep_id] = earliest
            for product in made.spec.products:
                found[product] = UseBy(earliest.days, (product, *earliest.path))
    return found


def use_by(
    drink_id: str, lines: Sequence[ResolvedLine], prepared_lives: Mapping[str, UseBy], items: Mapping[str, Item]
) -> UseBy | None:
    """The earliest end among the drink's parts; ``None`` where no life is known."""
    candidates = []
    for line in lines:
        life = None if line.role == "consumable" else _life(line.ref, prepared_lives, items)
        if life is not None:
            candidates.append(UseBy(life.days, (drink_id, *life.path)))
    return _earliest(candidates)


def _life(ref: str, prepared_lives: Mapping[str, UseBy], items: Mapping[str, Item]) -> UseBy | None:
    if ref in prepared_lives:
        return prepared_lives[ref]
    item = items.get(ref)
    return None if item is None or item.open_life_days is None else UseBy(item.open_life_days, (ref,))


def _earliest(candidates: Sequence[UseBy]) -> UseBy | None:
    return min(candidates, key=lambda life: (life.days, len(life.path), life.path), default=None)
