"""Many offers of one price list, written in batches so that memory does not grow with the list."""

import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from sqlalchemy import and_, bindparam, func, select, update

from service.errors import Conflict
from service.store.bulk import insert_rows, one_of
from service.store.held import Held, current, day_of
from service.store.kinds import KINDS, Body, price_of, text_of
from service.store.movement import Movement
from service.store.standing import Stretch
from service.store.tables import AUDIT, ENTRIES, REVISIONS, USES
from service.store.transaction import AUDITED, Transaction

_BATCH: Final = 1000
"""Offers that are written at once."""

_REVISION: Final = (
    "kind", "id", "revision", "valid_from", "version", "recorded_at", "state", "item", "supplier", "price", "currency",
    "body",
)  # fmt: skip
_ENTRY: Final = ("kind", "id", "name", "name_key", "revision", "state", "version")
_USED: Final = ("kind", "id", "used_kind", "used_id")

_SOLD: Final = ("item", "supplier", "venue", "valid_to", "pack")
"""Fields of an offer that say more than a price: what is sold, by whom, where, how and how long."""


class OfferBatches:
    """The offers of one list, whose items and supplier are known to exist."""

    def __init__(self, write: Transaction, movement: Movement) -> None:
        self._write = write
        self._movement = movement
        self._marked: set[tuple[object, ...]] = set()

    def put(self, rows: Iterable[tuple[Body, Held | None, str | None]]) -> int:
        """Creates and replaces the offers; returns how many."""
        batch: list[tuple[Body, Held | None, str]] = []
        count = 0
        for body, known, stated in rows:
            batch.append((body, known, stated or day_of(body, known, self._write.today)))
            count += 1
            if len(batch) == _BATCH:
                self._put_batch(batch)
                batch = []
        if batch:
            self._put_batch(batch)
        return count

    def _last_revisions(self, ids: Sequence[str]) -> tuple[dict[str, int], set[str]]:
        """The last revision of each offer that ever was, and which of them exist now."""
        ever = select(REVISIONS.c.id, func.max(REVISIONS.c.revision)).where(
            REVISIONS.c.kind == "offers", one_of(self._write.connection, REVISIONS.c.id, ids)
        )
        among = one_of(self._write.connection, ENTRIES.c.id, ids)
        now = select(ENTRIES.c.id).where(ENTRIES.c.kind == "offers", among)
        last = {str(row[0]): int(row[1]) for row in self._write.connection.execute(ever.group_by(REVISIONS.c.id))}
        return last, set(self._write.connection.execute(now).scalars())

    def _put_batch(self, batch: Sequence[tuple[Body, Held | None, str]]) -> None:
        revisions: list[tuple[object, ...]] = []
        audits: list[tuple[object, ...]] = []
        created: list[Body] = []
        replaced = []
        last, here = self._last_revisions([body["id"] for body, _, _ in batch])
        self._movement.foresee({body["item"] for body, _, _ in batch})
        for body, seen, day in batch:
            entry_id, text = body["id"], text_of(body)
            # A list is read as of its day: of what begins later the store alone tells.
            known = self._unseen(body) if seen is None and entry_id in here else seen
            price = price_of(body)
            assert price is not None
            revision = last.get(entry_id, 0) + 1
            revisions.append(
                ("offers", entry_id, revision, day, self._write.version, self._write.at, "live", body["item"],
                 body["supplier"], *price, text)
            )  # fmt: skip
            if known is None:
                created.append(body)
            else:
                replaced.append({"of": entry_id, "to": revision, "at": self._write.version})
            action = "create" if known is None else "replace"
            audits.append(self._write.audited(action, "offers", entry_id, None if known is None else known.text, text))
            if self._moves_more(known, body, day):
                made = Held(
                    "offers", entry_id, revision, day, self._write.version, "live", text, self._write.at, body["item"]
                )
                self._mark(known, made)
        insert_rows(self._write.connection, REVISIONS, _REVISION, revisions)
        insert_rows(self._write.connection, AUDIT, AUDITED, audits)
        self._create_offers(created, last)
        if replaced:
            place = and_(ENTRIES.c.kind == "offers", ENTRIES.c.id == bindparam("of"))
            moved = update(ENTRIES).where(place).values(revision=bindparam("to"), version=bindparam("at"))
            self._write.connection.execute(moved, replaced)
        self._marked.clear()
        self._movement.settle()

    def _unseen(self, body: Body) -> Held | None:
        """What an offer is that its list did not see. Raises :class:`Conflict` where it is another supplier's."""
        known = current(self._write.connection, "offers", body["id"])
        if known is not None and json.loads(known.text)["supplier"] != body["supplier"]:
            detail = f"Offer {known.id} is another supplier's; send the list again with an offer_prefix of its own."
            raise Conflict("id_taken", detail)
        return known

    def _create_offers(self, bodies: Sequence[Body], last: Mapping[str, int]) -> None:
        if not bodies:
            return
        entries: list[tuple[object, ...]] = []
        uses: list[tuple[object, ...]] = []
        for body in bodies:
            entry_id = body["id"]
            revision = last.get(entry_id, 0) + 1
            entries.append(
                ("offers", entry_id, body.get("name") or entry_id, None, revision, "live", self._write.version)
            )
            uses += [("offers", body["id"], kind, used) for kind, used, _ in KINDS["offers"].uses(body)]
        insert_rows(self._write.connection, ENTRIES, _ENTRY, entries)
        insert_rows(self._write.connection, USES, _USED, uses)

    def _moves_more(self, known: Held | None, body: Body, day: str) -> bool:
        """Whether an offer can move what none of its batch did: where many move the same, one is looked at."""
        if known is not None:
            before = json.loads(known.text)
            if any(before.get(one) != body.get(one) for one in _SOLD):
                return True
        effect = (
            body["item"], body["supplier"], body.get("venue"), day, body.get("valid_to"), str(body["pack"]),
            known is None,
        )  # fmt: skip
        if effect in self._marked:
            return False
        self._marked.add(effect)
        return True

    def _mark(self, known: Held | None, made: Held) -> None:
        day = made.valid_from
        before = () if known is None else (Stretch(known, day, None),)
        self._movement.mark("offers", made.id, before, (Stretch(made, day, None),), day)
