"""What a write can move: the drinks that rest on what was changed, for the feed of costs and for that of labels."""

import json
from collections.abc import Iterable
from dataclasses import dataclass

from sqlalchemy import select

from service.store.graph import drinks_of
from service.store.held import Held
from service.store.kinds import KINDS, Body, label_view, products_named, text_of
from service.store.sold import Shelf
from service.store.tables import ENTRIES
from service.store.transaction import Embedded, Transaction


@dataclass(frozen=True, slots=True)
class _Root:
    """Something that was changed: the drinks that it is in can have moved."""

    kind: str
    id: str
    why: str
    since: str
    label: bool


Moved = dict[str, tuple[str, str]]
"""Drinks by id with why they can have moved and since which day."""


class Movement:
    """What one transaction can move, noted as it is written."""

    def __init__(self, write: Transaction, embedded: Embedded) -> None:
        self._write = write
        self._embedded = embedded
        self._shelf = Shelf(write)
        self._roots: dict[_Root, None] = {}  # in order, each once
        self.of_labels = False

    def mark(self, kind: str, body: Body, known: Held | None, day: str, *, gone: bool = False) -> None:
        """Notes what the change can move."""
        before = None if known is None else json.loads(known.text)
        if kind == "offers":
            why, label = "price", self._shelf.moved_by(body, None if gone else before, ended=gone)
            self._shelf.put(body, day, gone=gone)
        else:
            why = "spec"
            after = None if gone else text_of(label_view(kind, body))
            label = KINDS[kind].labelled and (before is None or after != text_of(label_view(kind, before)))
        self.of_labels |= label
        roots = [body["item"] if kind == "offers" else body["id"]]
        if before is not None and kind == "offers":
            roots.append(before["item"])
        if kind == "preparations":
            roots += products_named(body)
        for root in dict.fromkeys(roots):
            self._roots[_Root(kind, root, why, day, label)] = None

    def drinks(self) -> tuple[Moved, Moved]:
        """The drinks that the roots reach, for the feed of costs and for that of labels; a spec outranks a price."""
        items = {root.id for root in self._roots if root.kind in ("offers", "ingredients", "preparations")}
        reached = drinks_of(self._write.connection, items, self._embedded.priced_from) if items else {}
        everything: list[str] | None = None
        costs: Moved = {}
        labels: Moved = {}
        for root in sorted(self._roots, key=lambda one: one.why, reverse=True):
            if root.kind == "drinks":
                drinks: Iterable[str] = (root.id,)
            elif root.kind == "venues":
                if everything is None:
                    query = select(ENTRIES.c.id).where(ENTRIES.c.kind == "drinks")
                    everything = list(self._write.connection.execute(query).scalars())
                drinks = everything
            else:
                drinks = reached.get(root.id, ())
            for drink in drinks:
                costs.setdefault(drink, (root.why, root.since))
                if root.label:  # What an offer moves in a label is how the item is kept, never its price.
                    labels.setdefault(drink, ("spec", root.since))
        return costs, labels
