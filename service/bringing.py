"""What modifiers bring into a drink, and which others one of them needs."""

from collections.abc import Iterator
from decimal import Decimal

from schemas.drink import Drink, Modifier


def brought_by(modifier: Modifier) -> Iterator[str]:
    """The items that a modifier puts into a drink."""
    yield from (line.item for line in modifier.add)
    yield from (row.with_ for row in modifier.replace)


def with_bringers(drink: Drink, modifier: Modifier) -> tuple[str, ...]:
    """The ids by which a modifier can be asked for: its own, behind those of the first others that bring what it acts
    on where the drink as it is written has it not."""
    ids, there, left = [modifier.id], {line.item for line in drink.lines}, [modifier]
    while left:
        one = left.pop()
        there |= {row.with_ for row in one.replace}
        for item in _acted_on(one):
            others = () if item in there else drink.modifiers
            other = next((other for other in others if other.id not in ids and item in brought_by(other)), None)
            if other is not None:
                there |= set(brought_by(other))
                ids.insert(0, other.id)
                left.append(other)
    return tuple(ids)


def _acted_on(modifier: Modifier) -> Iterator[str]:
    yield from modifier.remove
    yield from (row.item for row in modifier.replace)
    if not isinstance(modifier.scale, Decimal):
        yield from (row.item for row in modifier.scale if row.item is not None)
