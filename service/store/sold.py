"""How each item is sold, as far as a label rests on it: in which bases, by whom and where, never at which price."""

import json
from typing import Final, NamedTuple

from sqlalchemy import and_, select

from service.amounts import Measures
from service.line import amount_of
from service.store.held import current, day_of
from service.store.kinds import Body
from service.store.tables import ENTRIES, REVISIONS
from service.store.transaction import Transaction

_LABELLED: Final = ("item", "pack", "supplier", "venue")
"""Fields of an offer that a label can rest on."""

_MEASURES: Final = Measures()


class Sold(NamedTuple):
    """How an offer sells its item, since when, and whether it still stands."""

    offer: str
    sold: tuple[str, str | None, str, str]
    since: str
    live: bool


class Shelf:
    """How items are sold as one transaction finds them and changes them."""

    def __init__(self, write: Transaction) -> None:
        self._write = write
        self._sold: dict[str, list[Sold]] = {}
        self._supplied: dict[str, bool] = {}

    def put(self, body: Body, day: str, *, gone: bool) -> None:
        """Keeps up with an offer that is written."""
        if body["item"] in self._sold:
            self._sold[body["item"]].append(Sold(body["id"], _sold(body), day, not gone))

    def moved_by(self, body: Body, before: Body | None, *, ended: bool) -> bool:
        """Whether an offer changes what a label rests on: the bases its item is sold in, and who sells it where.

        An ounce is read by the bases, a declaration goes stale with the supplier. No price is looked at: another
        offer of the same kind that is in force on the day changes nothing.
        """
        if before is not None and not ended and all(before.get(one) == body.get(one) for one in _LABELLED):
            return False
        own = [_sold(body)] if before is None else [_sold(body), _sold(before)]
        named = {sold[0] for sold in own}
        others = [row for item in named for row in self._sold_of(item) if row.offer != body["id"]]
        if not any(self._names_supplier(item) for item in named):
            own = [(*sold[:3], "") for sold in own]
            others = [row._replace(sold=(*row.sold[:3], "")) for row in others]
            if all(base == "volume" for _, _, base, _ in (*own, *(row.sold for row in others))):
                return False  # What is sold by volume alone is kept as what is not sold at all.
        if len(own) == 2 and own[0] == own[1]:
            return False
        day = self._write.today if ended else day_of(body, None, self._write.today)
        lasting = {row.sold for row in others if row.live and row.since <= day}
        return before is not None or own[0] not in lasting

    def _names_supplier(self, item: str) -> bool:
        """Whether the item's declaration is about the product of one supplier, and goes stale with another."""
        found = self._supplied.get(item)
        if found is None:
            held = current(self._write.connection, "ingredients", item)
            evidence = {} if held is None else json.loads(held.text).get("evidence") or {}
            found = self._supplied[item] = evidence.get("supplier") is not None
        return found

    def _sold_of(self, item: str) -> list[Sold]:
        """The offers of an item as they stand, read once in this transaction and kept up with what it writes."""
        found = self._sold.get(item)
        if found is None:
            rows = (
                select(REVISIONS.c.id, REVISIONS.c.body, REVISIONS.c.valid_from, ENTRIES.c.state)
                .join(ENTRIES, and_(ENTRIES.c.kind == REVISIONS.c.kind, ENTRIES.c.id == REVISIONS.c.id))
                .where(REVISIONS.c.kind == "offers", REVISIONS.c.item == item)
            )
            found = self._sold[item] = [
                Sold(row.id, _sold(json.loads(row.body)), row.valid_from, row.state == "live")
                for row in self._write.connection.execute(rows)
            ]
        return found


def _sold(body: Body) -> tuple[str, str | None, str, str]:
    """Item, venue, base and supplier of an offer; an ounce, which the item's kind decides, is a base of its own."""
    size = body["pack"]["size"]
    bases = {amount_of(size, _MEASURES, by_mass=by_mass, pieces=()).dimension for by_mass in (False, True)}
    return body["item"], body.get("venue"), "+".join(sorted(bases)), body["supplier"]
