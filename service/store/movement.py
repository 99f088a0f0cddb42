"""What a write can move: the drinks that rest on what was changed, for the feed of costs and for that of labels."""

import json
from collections.abc import Collection, Iterable, Sequence
from typing import Any, Final

from sqlalchemy import select

from service.store.graph import Graph
from service.store.kinds import KINDS, Body, label_view, products_named, text_of
from service.store.sold import Shelf
from service.store.standing import Stretch
from service.store.tables import ENTRIES
from service.store.transaction import Embedded, Transaction

Moved = dict[str, tuple[str, str]]
"""Drinks by id with why they can have moved and since which day."""

_RANK: Final = {"price": 0, "spec": 1}
_ROOTS: Final = 1000
"""Roots that are kept before they are followed to their drinks."""


_FEW: Final = 20
"""Items up to which each is read only where it is asked for."""


class Movement:
    """What one transaction can move, noted as it is written."""

    def __init__(self, write: Transaction, embedded: Embedded) -> None:
        self._write = write
        self._embedded = embedded
        self._shelf = Shelf(write)
        self._roots: dict[tuple[str, str, str], tuple[str, str | None]] = {}
        self._graph: Graph | None = None
        self._costs: Moved = {}
        self._labels: Moved = {}
        self.of_labels = False

    def mark(self, kind: str, entry_id: str, before: Sequence[Stretch], after: Sequence[Stretch], day: str) -> None:
        """Notes what can move from a day on, where an entry said something and says something else."""
        if kind == "offers":
            self._mark_offer(entry_id, before, after, day)
            return
        self._graph = None  # Who is made of whom may be another from here on.
        old, new = ([json.loads(one.held.text) for one in rows] for rows in (before, after))
        label = KINDS[kind].labelled and _labels_of(kind, old) != _labels_of(kind, new)
        if kind == "drinks":  # Lists and feeds tell one that is archived from one that is sold.
            label |= [one.live for one in before] != [one.live for one in after]
        self.of_labels |= label
        if kind == "venues":  # A price that everybody may read is in it.
            self.of_labels |= _currencies(old) != _currencies(new)
        if kind == "menus":  # What it asks for a drink is no label of the drink.
            for drink in {row["drink"] for body in (*old, *new) for row in body.get("entries", ())}:
                self._note("drinks", drink, "price", day, None)
            return
        ids = [entry_id]
        if kind == "preparations":
            ids += [product for body in (*old, *new) for product in products_named(body)]
        for root in dict.fromkeys(ids):
            self._note(kind, root, "spec", day, day if label else None)

    def foresee(self, items: Collection[str]) -> None:
        """Reads at once how the items of many offers are sold."""
        if len(items) > _FEW:
            self._shelf.read(items)

    def _mark_offer(self, entry_id: str, before: Sequence[Stretch], after: Sequence[Stretch], day: str) -> None:
        items = {str(one.held.item) for one in (*before, *after)}
        known = [self._roots.get(("offers", item, "price"), ("", None))[1] for item in items]
        # Where all its items are announced for that day already, nothing more can be found out.
        label = all(since is not None and since <= day for since in known) or self._shelf.moved_by(
            entry_id, before, after
        )
        self._shelf.put(entry_id, before, after)
        self.of_labels |= label
        for item in items:
            self._note("offers", item, "price", day, day if label else None)

    def _note(self, kind: str, root: str, why: str, day: str, label: str | None) -> None:
        first, labelled = self._roots.get((kind, root, why), (day, label))
        if label is not None:
            labelled = min(label, labelled or label)
        self._roots[kind, root, why] = min(day, first), labelled

    def settle(self) -> None:
        """Follows what was noted to its drinks once it is much, so that it does not grow with what is written."""
        self._shelf.settle()
        if len(self._roots) > _ROOTS:
            self._follow()

    def drinks(self) -> tuple[Moved, Moved]:
        """The drinks that can have moved, for the feed of costs and for that of labels; a spec outranks a price."""
        self._follow()
        return self._costs, self._labels

    def _follow(self) -> None:
        items = {root for kind, root, _ in self._roots if kind in ("offers", "ingredients", "preparations")}
        if items and self._graph is None:
            self._graph = Graph(self._write.connection, self._embedded.priced_from)
        everything: list[str] | None = None
        for (kind, root, why), (since, labelled) in self._roots.items():
            if kind == "drinks":
                drinks: Iterable[str] = (root,)
            elif kind == "venues":
                if everything is None:
                    query = select(ENTRIES.c.id).where(ENTRIES.c.kind == "drinks")
                    everything = list(self._write.connection.execute(query).scalars())
                drinks = everything
            elif self._graph is not None and root in items:
                drinks = self._graph.drinks_of(root)
            else:
                continue
            for drink in drinks:
                _take(self._costs, drink, why, since)
                if labelled is not None:  # What an offer moves in a label is how the item is kept, never its price.
                    _take(self._labels, drink, "spec", labelled)
        self._roots.clear()


def _take(moved: Moved, drink: str, why: str, since: str) -> None:
    known, first = moved.get(drink, (why, since))
    moved[drink] = max(why, known, key=_RANK.__getitem__), min(since, first)


def _labels_of(kind: str, bodies: Iterable[Body]) -> list[str]:
    return [text_of(label_view(kind, body)) for body in bodies]


def _currencies(bodies: Iterable[Body]) -> list[Any]:
    return [(body.get("pricing") or {}).get("currency") for body in bodies]
