"""Every bought item inside a thing, with the ids that lead to it.

Hundreds of parts may name one another dozens of times, so a path is put together only where somebody asks for it.
"""

from collections.abc import Iterable, Iterator, Mapping

from msgspec import Struct

from service.item import Item


class Leaf(Struct, frozen=True):
    """A bought item inside a drink, with the ids that lead to it; ``drunk`` where all of it is, in a known amount."""

    item: Item
    path: tuple[str, ...]
    drunk: bool = True


class Leaves(Mapping[str, Leaf]):
    """The bought items of one thing by id, in the order met: ``bought`` the items, ``undrunk`` those of which some is
    strained out or may be poured instead of another."""

    __slots__ = ("_through", "bought", "id", "undrunk")

    def __init__(
        self, thing_id: str, bought: Mapping[str, Item], through: Mapping[str, "Leaves"], undrunk: frozenset[str]
    ) -> None:
        self.id = thing_id
        self.bought = bought
        self.undrunk = undrunk
        self._through = through

    def __getitem__(self, item_id: str) -> Leaf:
        path = [self.id]
        place = self._through.get(item_id)
        while place is not None:
            path.append(place.id)
            place = place._through.get(item_id)
        return Leaf(self.bought[item_id], tuple(path), item_id not in self.undrunk)

    def __iter__(self) -> Iterator[str]:
        return iter(self.bought)

    def __len__(self) -> int:
        return len(self.bought)


def leaves_of_item(item: Item) -> Leaves:
    """A bought item is its only leaf."""
    return Leaves(item.id, {item.id: item}, {}, frozenset())


def leaves_of_product(product_id: str, whole: Leaves) -> Leaves:
    """A joint product holds what the whole holds; how much of each came into it nobody knows."""
    return Leaves(product_id, whole.bought, dict.fromkeys(whole.bought, whole), frozenset(whole.bought))


def leaves_of_lines(thing_id: str, lines: Iterable[tuple[Leaves, bool]]) -> Leaves:
    """The leaves of what is made of ``lines``, each with its first path; the flag says that how much of a line is drunk
    is not known: it is strained out, or may be poured instead of another.

    What is so on one line is so in the whole, even if more of it stays by another: its amount counts that one alone.
    """
    bought: dict[str, Item] = {}
    through: dict[str, Leaves] = {}
    undrunk: set[str] = set()
    for held, not_known in lines:
        undrunk.update(held.bought if not_known else held.undrunk)
        if held.bought.keys() <= bought.keys():
            continue
        new = [key for key in held.bought if key not in bought]
        for key in new:
            bought[key] = held.bought[key]
            through[key] = held
    return Leaves(thing_id, bought, through, frozenset(undrunk))
