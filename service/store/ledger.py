"""One committed change: entries, history, who names whom, audit trail and versions, all in one transaction."""

import json
from collections.abc import Iterable
from datetime import UTC, date, datetime
from typing import Final

from sqlalchemy import Connection, and_, insert, select, update

from service.errors import Conflict, InputFault, InputFaults, InUse
from service.store.graph import cycle_through
from service.store.held import Held, day_of
from service.store.kinds import GROUP, KINDS, Body, name_key, price_of, text_of
from service.store.menulines import check_modifiers, refuse_lost
from service.store.movement import Movement
from service.store.names import Names
from service.store.offer_batches import OfferBatches
from service.store.standing import Holding, Stretch, holding, holds_on, next_after, stretches, with_later
from service.store.tables import CHANGES, ENTRIES, REVISIONS, STATE, VERSIONS
from service.store.transaction import Actor, Embedded, Transaction

_VERBS: Final = {"archived": "archive", "live": "reinstate", "gone": "delete"}


class Ledger:
    """The writes of one transaction that holds the write lock; nothing is announced before :meth:`close`."""

    def __init__(self, connection: Connection, actor: Actor, now: datetime, embedded: Embedded) -> None:
        self._connection = connection
        at = now.astimezone(UTC)
        state = connection.execute(select(STATE)).one()
        self._data_version: int = state.data_version
        self.version: int = state.cost_version + 1
        moment, today = at.isoformat(timespec="microseconds"), at.date().isoformat()
        self._write = Transaction(connection, actor, moment, today, self.version)
        self._names = Names(connection, embedded, today)
        self._movement = Movement(self._write, embedded)
        self._offers = OfferBatches(self._write, self._movement)
        self._touched = False

    def put(self, kind: str, body: Body, valid_from: date | None = None, known: Held | None = None) -> Held:
        """Creates or replaces an entry. ``known`` is its current revision, if it has one; it is returned unchanged
        where the entry already says this on the day and until its next revision.

        Raises :class:`InputFaults` for names of what does not exist and for cycles, :class:`Conflict` for names,
        ids and external ids that another entry has.
        """
        entry_id = body["id"]
        held = {} if known is None else holding(self._connection, kind, entry_id)
        day = valid_from.isoformat() if valid_from is not None else day_of(body, known, self._write.today)
        if known is not None and _says_already(held, known, body, day):
            return known
        self._names.check_ids(kind, body, known)
        self._names.check_uses(kind, entry_id, list(KINDS[kind].uses(body)))
        if kind == "menus":
            check_modifiers(self._connection, body, self._write.today)
        made = self._append(kind, entry_id, body, day, "live" if known is None else known.state, known)
        day, before = made.valid_from, holds_on(held, made.valid_from)
        later = [one.held for one in stretches(with_later(held, made), self._write.today)]
        if kind == "drinks":
            refuse_lost(self._connection, entry_id, stretches(held, self._write.today), later, self._write.today)
        self._names.keep(kind, entry_id, made, later)
        if kind == "preparations":
            found = cycle_through(self._connection, entry_id)
            if found:
                detail = f"This preparation would be made of itself: {' > '.join(found)}."
                raise InputFaults([InputFault("cycle", detail, "/lines")])
        after = Stretch(made, day, next_after(held, day))
        self._movement.mark(kind, entry_id, () if before is None else (before,), (after,), day)
        return made

    def put_offers(self, rows: Iterable[tuple[Body, Held | None, str | None]]) -> int:
        """Creates and replaces offers of one list whose items and supplier are known to exist; returns how many. Each
        stands with what it was and the first day that the list states for it: a day that is past corrects the past.
        """
        count = self._offers.put(rows)
        self._touched |= count > 0
        return count

    def set_state(self, known: Held, body: Body, state: str) -> Held:
        """Archives an entry, or takes it back into use, now and in all that is written of days to come."""
        kind, entry_id = known.kind, known.id
        held = holding(self._connection, kind, entry_id)
        before = list(stretches(held, self._write.today))
        shown = max(self._write.today, known.valid_from)
        days = {stretch.first: stretch.held for stretch in before}
        made = known
        for day in sorted(days, key=lambda one: (one == shown, one)):  # What is shown as current comes last.
            made = self._append(kind, entry_id, json.loads(days[day].text), day, state, made)
            held = with_later(held, made)
        if kind == "preparations":
            of_it = and_(ENTRIES.c.kind == "products", ENTRIES.c.name == entry_id)
            self._connection.execute(update(ENTRIES).where(of_it).values(state=state))
        if kind == "menus":  # It is answered otherwise, though no drink on it has another label.
            self._movement.of_labels = True
        if kind in ("offers", "menus", "drinks"):  # What is made of anything else goes on as it was.
            first = max(self._write.today, min(held))
            self._movement.mark(kind, entry_id, before, list(stretches(held, self._write.today)), first)
        return made

    def remove(self, known: Held, body: Body) -> None:
        """Deletes an entry that nothing names; its history stays. Raises :class:`InUse` with all users."""
        kind, entry_id = known.kind, known.id
        users = self._names.users(kind, entry_id, body)
        if users:
            raise InUse(users)
        if kind == "venues" and entry_id == GROUP:
            raise Conflict("group_kept", "The group's defaults cannot be deleted; replace them.")
        before = list(stretches(holding(self._connection, kind, entry_id), self._write.today))
        self._append(kind, entry_id, body, self._write.today, "gone", known)
        self._names.forget(kind, entry_id)
        self._movement.mark(kind, entry_id, before, (), self._write.today)

    def note(self, action: str, kind: str, entry_id: str, before: str | None, after: str | None) -> None:
        """A row of the audit trail for what is not an entry, such as a key or a list."""
        self._touched = True
        self._write.audit(action, kind, entry_id, before, after)

    def close(self) -> int:
        """Announces the change: new versions, and which drinks it can have moved. Returns the cost version."""
        if not self._touched:
            return self.version - 1
        if self._movement.of_labels:
            self._data_version += 1
        costs, labels = self._movement.drinks()
        rows = [
            {"feed": feed, "position": position, "drink": drink, "why": why, "since": since,
             "recorded_at": self._write.at, "version": self.version}
            for feed, position, drinks in (
                ("costs", self.version, costs), ("labels", self._data_version, labels)
            )
            for drink, (why, since) in sorted(drinks.items())
        ]  # fmt: skip
        if rows:
            self._connection.execute(insert(CHANGES), rows)
        announced = {"version": self.version, "data_version": self._data_version, "recorded_at": self._write.at}
        self._connection.execute(insert(VERSIONS).values(**announced))
        self._connection.execute(update(STATE).values(cost_version=self.version, data_version=self._data_version))
        return self.version

    def _append(self, kind: str, entry_id: str, body: Body, day: str, state: str, known: Held | None) -> Held:
        """The new revision with its entry and its row of the audit trail."""
        last = 0 if known is None else known.revision
        if known is None:  # An id that was deleted and comes back goes on counting.
            ended = (
                select(REVISIONS.c.revision, REVISIONS.c.valid_from)
                .where(REVISIONS.c.kind == kind, REVISIONS.c.id == entry_id)
                .order_by(REVISIONS.c.revision.desc())
                .limit(1)
            )
            gone = self._connection.execute(ended).first()
            if gone is not None:  # Until the day of its deletion it stays what it was.
                last, day = gone.revision, max(day, gone.valid_from)
        text = text_of(body)
        price = price_of(body) if kind == "offers" else None
        made = Held(kind, entry_id, last + 1, day, self.version, state, text, self._write.at, body.get("item"))
        self._connection.execute(
            insert(REVISIONS).values(
                kind=kind, id=entry_id, revision=made.revision, valid_from=day, version=self.version,
                recorded_at=self._write.at, state=state, item=made.item,
                supplier=body.get("supplier") if kind == "offers" else None,
                price=None if price is None else price[0], currency=None if price is None else price[1], body=text,
            )
        )  # fmt: skip
        if state != "gone":
            named = name_key(body["name"]) if KINDS[kind].unique_name else None
            values = {
                "name": body.get("name") or entry_id, "name_key": named, "revision": made.revision, "state": state,
                "version": self.version,
            }  # fmt: skip
            if known is None:
                self._connection.execute(insert(ENTRIES).values(kind=kind, id=entry_id, **values))
            else:
                where = and_(ENTRIES.c.kind == kind, ENTRIES.c.id == entry_id)
                self._connection.execute(update(ENTRIES).where(where).values(**values))
        action = "create" if known is None else "replace" if state == known.state else _VERBS[state]
        self._touched = True
        self._write.audit(
            action, kind, entry_id, None if known is None else known.text, None if state == "gone" else text
        )
        return made


def _says_already(held: Holding, known: Held, body: Body, day: str) -> bool:
    """Whether a write would repeat what holds on its day; nothing is announced or noted of one that does."""
    text = text_of(body)
    now = holds_on(held, day)
    return known.text == text and now is not None and (now.held.text, now.held.state) == (text, known.state)
