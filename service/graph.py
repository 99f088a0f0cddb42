"""The order in which preparations are made: each after what it needs, iteratively; circles and depth refused."""

from collections.abc import Iterable
from typing import NoReturn

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
    the chain.
    """
    order: list[Place] = []
    levels: dict[str, int] = {}
    unknown: list[InputFault] = []
    lines = 0
    for root, pointer in roots:
        lines = _visit(_preparation_id(root, pointer, lookup, unknown), lookup, order, levels, unknown, lines)
    if unknown:
        _refuse_unknown(unknown)
    return order


def _refuse_unknown(unknown: list[InputFault]) -> NoReturn:
    raise unknown[0] if len(unknown) == 1 else InputFaults(unknown)


def _preparation_id(item_id: str, pointer: str, lookup: Lookup, unknown: list[InputFault]) -> str | None:
    """The preparation behind an id: itself, or the one that gives it as a product; ``None`` for a bought item."""
    if lookup.preparation(item_id) is not None:
        return item_id
    output = lookup.output(item_id)
    if output is not None:
        return output[0]
    if lookup.item(item_id) is None:
        near = ", ".join(lookup.nearest(item_id)) if len(unknown) < NAMED else ""
        detail = (
            f"No item or preparation has this id; nearest: {near}." if near else "No item or preparation has this id."
        )
        unknown.append(InputFault("item_unknown", detail, pointer))
        if len(unknown) >= REPORTED:
            raise InputFaults(unknown)
    return None


def _visit(
    root: str | None, lookup: Lookup, order: list[Place], levels: dict[str, int], unknown: list[InputFault], lines: int
) -> int:
    """Adds what a root needs to the order; ``lines`` are those of all preparations so far, with these they come to
    what is given back."""
    if root is None or root in levels:
        return lines
    path: list[str] = [root]
    needs: dict[str, list[str]] = {root: _needs(root, lookup, unknown)}
    lines += _lines(root, lookup)
    pending: list[list[str]] = [list(needs[root])]
    on_path = {root}
    if lines > MOST_LINES:
        _refuse_lines(unknown)
    while path:
        if pending[-1]:
            child = pending[-1].pop()
            if child in on_path:
                _refuse_circle([*path[path.index(child) :], child], lookup)
            if child not in levels:
                path.append(child)
                on_path.add(child)
                needs[child] = _needs(child, lookup, unknown)
                lines += _lines(child, lookup)
                if lines > MOST_LINES:  # Told as soon as it is known, so that no more is read than may be used.
                    _refuse_lines(unknown)
                pending.append(list(needs[child]))
            continue
        done = path.pop()
        pending.pop()
        on_path.discard(done)
        place = lookup.preparation(done)
        assert place is not None
        levels[done] = 1 + max((levels[child] for child in needs[done]), default=0)
        if levels[done] > LEVELS:
            detail = f"Preparations may stand at most {LEVELS} levels deep in one another; {done} stands deeper."
            raise InputFault("too_deep", detail, place.pointer)
        order.append(place)
    return lines


def _lines(prep_id: str, lookup: Lookup) -> int:
    place = lookup.preparation(prep_id)
    return 0 if place is None else len(place.preparation.lines)


def _refuse_lines(unknown: list[InputFault]) -> NoReturn:
    if unknown:
        _refuse_unknown(unknown)
    detail = f"The preparations that one drink needs have more than {MOST_LINES} lines together."
    raise InputFault("too_many_lines", detail, "/preparations")


def _needs(prep_id: str, lookup: Lookup, unknown: list[InputFault]) -> list[str]:
    """Preparations named by the lines of one, last line first, so that the first is visited first."""
    place = lookup.preparation(prep_id)
    assert place is not None
    needs: dict[str, None] = {}
    for index, line in enumerate(place.preparation.lines):
        where = f"{place.pointer}/lines/{index}"
        named = [(line.item, where + "/item")]
        named += [(other, f"{where}/alternatives/{number}") for number, other in enumerate(line.alternatives)]
        for item_id, pointer in named:
            child = _preparation_id(item_id, pointer, lookup, unknown)
            if child is not None:
                needs.setdefault(child)
    return list(reversed(needs))


def _refuse_circle(path: list[str], lookup: Lookup) -> None:
    place = lookup.preparation(path[0])
    shown = " -> ".join(path if len(path) <= 12 else [*path[:6], "...", *path[-5:]])
    raise InputFault(
        "cycle", f"A preparation cannot be made of itself: {shown}.", "" if place is None else place.pointer
    )
