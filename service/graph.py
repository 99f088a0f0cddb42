"""The order in which preparations are made: each after what it needs, iteratively; circles and depth refused."""

from collections.abc import Iterable

from service.errors import InputFault, InputFaults
from service.lookup import Lookup, Place

LEVELS = 16
"""How deep preparations may stand in one another."""

NAMED = 3
"""Unknown ids for which the nearest ids are looked up; looking takes milliseconds each, and a request may name
thousands."""

REPORTED = 100
"""Unknown ids after which a request is not read further."""


MOST_LINES = 4000
"""Lines of all preparations that one drink may need, so that the work of one request is bounded."""


def making_order(roots: Iterable[tuple[str, str]], lookup: Lookup) -> list[Place]:
    """Every preparation that ``roots`` (id, pointer) need, each once, what it needs before it.

    An id that names nothing is refused with the nearest ids, a circle with its path, more than 16 levels with
    the chain, and more lines than one drink may need as soon as they are counted.
    """
    walk = _Walk(lookup)
    for root, pointer in roots:
        walk.visit(walk.preparation_id(root, pointer))
    walk.refuse_unknown()
    return walk.order


class _Walk:
    """What was found on the way down from the lines of a drink."""

    def __init__(self, lookup: Lookup) -> None:
        self._lookup = lookup
        self._levels: dict[str, int] = {}
        self._unknown: list[InputFault] = []
        self._lines = 0
        self.order: list[Place] = []

    def refuse_unknown(self) -> None:
        """Raises where an id named nothing."""
        if self._unknown:
            raise self._unknown[0] if len(self._unknown) == 1 else InputFaults(self._unknown)

    def preparation_id(self, item_id: str, pointer: str) -> str | None:
        """The preparation behind an id: itself, or the one that gives it as a product; ``None`` for a bought item."""
        if self._lookup.preparation(item_id) is not None:
            return item_id
        output = self._lookup.output(item_id)
        if output is not None:
            return output[0]
        if self._lookup.item(item_id) is None:
            near = ", ".join(self._lookup.nearest(item_id)) if len(self._unknown) < NAMED else ""
            like = f"; nearest: {near}" if near else ""
            self._unknown.append(InputFault("item_unknown", f"No item or preparation has this id{like}.", pointer))
            if len(self._unknown) >= REPORTED:
                raise InputFaults(self._unknown)
        return None

    def visit(self, root: str | None) -> None:
        """Adds a preparation and all that it needs to the order, without recursion."""
        if root is None or root in self._levels:
            return
        path: list[str] = [root]
        needs: dict[str, list[str]] = {root: self._needs(root)}
        pending: list[list[str]] = [list(needs[root])]
        on_path = {root}
        while path:
            if pending[-1]:
                child = pending[-1].pop()
                if child in on_path:
                    _refuse_circle([*path[path.index(child) :], child], self._lookup)
                if child not in self._levels:
                    path.append(child)
                    on_path.add(child)
                    needs[child] = self._needs(child)
                    pending.append(list(needs[child]))
                continue
            done = path.pop()
            pending.pop()
            on_path.discard(done)
            place = self._lookup.preparation(done)
            assert place is not None
            self._levels[done] = 1 + max((self._levels[child] for child in needs[done]), default=0)
            if self._levels[done] > LEVELS:
                detail = f"Preparations may stand at most {LEVELS} levels deep in one another; {done} stands deeper."
                raise InputFault("too_deep", detail, place.pointer)
            self.order.append(place)

    def _needs(self, prep_id: str) -> list[str]:
        """Preparations named by the lines of one, last line first, so that the first is visited first."""
        place = self._lookup.preparation(prep_id)
        assert place is not None
        needs: dict[str, None] = {}
        for index, line in enumerate(place.preparation.lines):
            where = f"{place.pointer}/lines/{index}"
            named = [(line.item, where + "/item")]
            named += [(other, f"{where}/alternatives/{number}") for number, other in enumerate(line.alternatives)]
            for item_id, pointer in named:
                child = self.preparation_id(item_id, pointer)
                if child is not None:
                    needs.setdefault(child)
        self._lines += len(place.preparation.lines)
        if self._lines > MOST_LINES:
            self.refuse_unknown()
            detail = f"The preparations that one drink needs have more than {MOST_LINES} lines together."
            raise InputFault("too_many_lines", detail, "/preparations")
        return list(reversed(needs))


def _refuse_circle(path: list[str], lookup: Lookup) -> None:
    place = lookup.preparation(path[0])
    shown = " -> ".join(path if len(path) <= 12 else [*path[:6], "...", *path[-5:]])
    raise InputFault(
        "cycle", f"A preparation cannot be made of itself: {shown}.", "" if place is None else place.pointer
    )
