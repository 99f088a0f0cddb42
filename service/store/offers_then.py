"""The offers of a day, as known at a version, read in part: for price lists, which need not hold all of them."""

from collections.abc import Iterator, Sequence
from datetime import date

from sqlalchemy import Connection, select

from service.store.asof import holding_on
from service.store.bulk import one_of
from service.store.held import Held, held_of
from service.store.store import Store
from service.store.tables import REVISIONS

_AT_ONCE = 1000
"""Rows that are read at once."""


class OffersThen:
    """Offers that one state of the catalogue has; each reading goes to the store."""

    def __init__(self, store: Store, version: int, day: date) -> None:
        self._store = store
        self._version = version
        self._day = day.isoformat()

    def of_supplier(self, supplier: str) -> Iterator[str]:
        """The bodies of a supplier's offers in use, whatever their own days, as JSON text."""
        ever = select(REVISIONS.c.id).where(
            REVISIONS.c.kind == "offers", REVISIONS.c.supplier == supplier, REVISIONS.c.version <= self._version
        )
        held = holding_on(self._day, self._version, REVISIONS.c.kind == "offers", REVISIONS.c.id.in_(ever))
        query = held.where(REVISIONS.c.supplier == supplier, REVISIONS.c.state == "live")
        with self._store.reading() as connection:
            found = connection.execute(query.with_only_columns(REVISIONS.c.body).execution_options(yield_per=_AT_ONCE))
            yield from found.scalars()

    def taken(self, ids: Sequence[str]) -> set[str]:
        """Those of some ids that an offer has."""
        with self._store.reading() as connection:
            wanted = one_of(connection, REVISIONS.c.id, ids)
            ever = select(REVISIONS.c.id).where(REVISIONS.c.kind == "offers", wanted).distinct()
            found = connection.execute(ever).scalars().all()
            return set(self.among(connection, found)) if found else set()

    def among(self, connection: Connection, ids: Sequence[str]) -> dict[str, Held]:
        """The offers of some ids by these."""
        wanted = one_of(connection, REVISIONS.c.id, ids)
        query = holding_on(self._day, self._version, REVISIONS.c.kind == "offers", wanted)
        rows = connection.execute(query.where(REVISIONS.c.state != "gone"))
        return {row.id: held_of(row) for row in rows}
