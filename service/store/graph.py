"""Who is made of whom: read along the table of uses, iteratively, each thing once."""

from collections.abc import Mapping, Sequence

from sqlalchemy import Connection, select

from service.store.tables import ENTRIES, USES


def cycle_through(connection: Connection, preparation_id: str) -> list[str]:
    """The ids of a cycle that this preparation closes, beginning and ending with it; empty where there is none."""
    parts = _parts(connection)
    made_by = _made_by(connection)
    came_from: dict[str, str] = {}
    left = [preparation_id]
    while left:
        here = left.pop()
        for named in parts.get(here, ()):
            part = made_by.get(named, named)
            if part == preparation_id:
                path = [preparation_id]
                while here != preparation_id:
                    path.append(here)
                    here = came_from[here]
                return [preparation_id, *reversed(path)]
            if part in parts and part not in came_from:
                came_from[part] = here
                left.append(part)
    return []


class Graph:
    """Who is made of whom, read once."""

    def __init__(self, connection: Connection, priced_from: Mapping[str, Sequence[str]]) -> None:
        """``priced_from`` adds what is priced from another item."""
        self._priced_from = priced_from
        self._named_by: dict[str, list[tuple[str, str]]] = {}
        query = select(USES.c.kind, USES.c.id, USES.c.used_id).where(
            USES.c.used_kind == "item", USES.c.kind.in_(("preparations", "drinks"))
        )
        for kind, entry_id, used in connection.execute(query):
            self._named_by.setdefault(used, []).append((kind, entry_id))
        self._products: dict[str, list[str]] = {}
        for product, preparation in _made_by(connection).items():
            self._products.setdefault(preparation, []).append(product)

    def drinks_of(self, item: str) -> set[str]:
        """The drinks that an item is in, however deep."""
        drinks: set[str] = set()
        seen = {item, *self._priced_from.get(item, ())}
        left = list(seen)
        while left:
            for kind, entry_id in self._named_by.get(left.pop(), ()):
                if kind == "drinks":
                    drinks.add(entry_id)
                    continue
                for made in (entry_id, *self._products.get(entry_id, ())):
                    if made not in seen:
                        seen.add(made)
                        left.append(made)
        return drinks


def _parts(connection: Connection) -> dict[str, list[str]]:
    """What each preparation names."""
    found: dict[str, list[str]] = {}
    query = select(USES.c.id, USES.c.used_id).where(USES.c.kind == "preparations", USES.c.used_kind == "item")
    for entry_id, used in connection.execute(query):
        found.setdefault(entry_id, []).append(used)
    return found


def _made_by(connection: Connection) -> dict[str, str]:
    """The preparation that gives each joint product."""
    query = select(ENTRIES.c.id, ENTRIES.c.name).where(ENTRIES.c.kind == "products")
    return {row.id: row.name for row in connection.execute(query)}
