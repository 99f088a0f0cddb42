"""One committed change: entries, history, who names whom, audit trail and versions, all in one transaction."""

import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any, Final, NamedTuple

from sqlalchemy import Connection, Row, and_, bindparam, delete, func, insert, or_, select, update

from service.amounts import Measures
from service.errors import Conflict, InputFault, InputFaults, InUse
from service.line import amount_of
from service.store.bulk import insert_rows
from service.store.graph import cycle_through, drinks_of
from service.store.kinds import GROUP, KINDS, Body, Use, is_id, label_view, name_key, price_of, products_named, text_of
from service.store.tables import AUDIT, CHANGES, ENTRIES, EXTERNAL_IDS, REVISIONS, STATE, USES, VERSIONS

EVER: Final = "0001-01-01"
"""The day from which a first revision holds unless another is named."""

_BATCH: Final = 1000
"""Offers that are written at once."""

_REVISION: Final = (
    "kind", "id", "revision", "valid_from", "version", "recorded_at", "state", "item", "supplier", "price", "currency",
    "body",
)  # fmt: skip
_AUDITED: Final = ("recorded_at", "key_id", "request_id", "action", "kind", "id", "version", "before", "after")
_ENTRY: Final = ("kind", "id", "name", "name_key", "revision", "state", "version")
_USED: Final = ("kind", "id", "used_kind", "used_id")

_SOLD: Final = ("item", "supplier", "venue", "valid_to", "pack")
"""Fields of an offer that say more than a price: what is sold, by whom, where, how and how long."""

_ITEM_KINDS: Final = ("ingredients", "preparations", "products")


@dataclass(frozen=True, slots=True)
class Actor:
    """Who writes, and by which request."""

    key_id: str
    request_id: str


@dataclass(frozen=True, slots=True)
class Held:
    """One revision of one entry; ``text`` is its body as JSON text."""

    kind: str
    id: str
    revision: int
    valid_from: str
    version: int
    state: str
    text: str
    recorded_at: str
    item: str | None = None


@dataclass(frozen=True, slots=True)
class Embedded:
    """What the ledger has to know of the embedded reference: its ids, and which items are priced from which fruit."""

    has: Callable[[str], bool]
    nearest: Callable[[str, Iterable[str]], Sequence[str]]
    priced_from: Mapping[str, Sequence[str]]


@dataclass(frozen=True, slots=True)
class _Root:
    """Something that was changed: the drinks that it is in can have moved."""

    kind: str
    id: str
    why: str
    since: str
    label: bool


class _Sold(NamedTuple):
    """How an offer sells its item, since when, and whether it still stands."""

    offer: str
    sold: tuple[str, str | None, str, str]
    since: str
    live: bool


_LABELLED: Final = ("item", "pack", "supplier", "venue")
"""Fields of an offer that a label can rest on."""

_Moved = dict[str, tuple[str, str]]
"""Drinks by id with why they can have moved and since which day."""


def held_of(row: Row[Any]) -> Held:
    """A row of ``revisions`` as it is used."""
    return Held(
        row.kind, row.id, row.revision, row.valid_from, row.version, row.state, row.body, row.recorded_at, row.item
    )


def current(connection: Connection, kind: str, entry_id: str) -> Held | None:
    """The latest revision of an entry that exists; ``None`` too for what is no id."""
    if not is_id(entry_id):
        return None
    query = select(REVISIONS).join(
        ENTRIES,
        and_(
            ENTRIES.c.kind == REVISIONS.c.kind,
            ENTRIES.c.id == REVISIONS.c.id,
            ENTRIES.c.revision == REVISIONS.c.revision,
        ),
    )
    row = connection.execute(query.where(REVISIONS.c.kind == kind, REVISIONS.c.id == entry_id)).first()
    return None if row is None else held_of(row)


class Ledger:
    """The writes of one transaction that holds the write lock; nothing is announced before :meth:`close`."""

    def __init__(self, connection: Connection, actor: Actor, now: datetime, embedded: Embedded) -> None:
        self._connection = connection
        self._actor = actor
        self._at = now.astimezone(UTC).isoformat(timespec="microseconds")
        self._today = now.astimezone(UTC).date().isoformat()
        self._embedded = embedded
        state = connection.execute(select(STATE)).one()
        self._data_version: int = state.data_version
        self.version: int = state.cost_version + 1
        self._label_moved = False
        self._sold: dict[str, list[_Sold]] = {}
        self._supplied: dict[str, bool] = {}
        self._touched = False
        self._roots: dict[_Root, None] = {}  # in order, each once
        self._marked: set[tuple[object, ...]] = set()

    def put(self, kind: str, body: Body, valid_from: date | None = None, known: Held | None = None) -> Held:
        """Creates or replaces an entry. ``known`` is its current revision, if it has one.

        Raises :class:`InputFaults` for names of what does not exist and for cycles, :class:`Conflict` for names,
        ids and external ids that another entry has.
        """
        entry_id = body["id"]
        uses = list(KINDS[kind].uses(body))
        self._check_ids(kind, body, known)
        self._check_uses(kind, entry_id, uses)
        day = valid_from.isoformat() if valid_from is not None else self._day_of(body, known)
        made = self._append(kind, entry_id, body, day, "live" if known is None else known.state, known)
        self._keep_uses(kind, entry_id, uses)
        if kind == "preparations":
            self._keep_products(entry_id, products_named(body), made)
            found = cycle_through(self._connection, entry_id)
            if found:
                detail = f"This preparation would be made of itself: {' > '.join(found)}."
                raise InputFaults([InputFault("cycle", detail, "/lines")])
        self._keep_external_ids(kind, entry_id, body.get("external_ids", ()))
        self._mark(kind, body, known, day)
        return made

    def put_offers(self, rows: Iterable[tuple[Body, Held | None]], day: date | None) -> int:
        """Creates and replaces many offers of one list whose items and supplier are known to exist; returns how many.

        Writes in batches, so that memory does not grow with the list.
        """
        batch: list[tuple[Body, Held | None, str]] = []
        count = 0
        for body, known in rows:
            stated = day.isoformat() if day is not None else self._day_of(body, known)
            batch.append((body, known, stated))
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
            REVISIONS.c.kind == "offers", REVISIONS.c.id.in_(ids)
        )
        now = select(ENTRIES.c.id).where(ENTRIES.c.kind == "offers", ENTRIES.c.id.in_(ids))
        last = {str(row[0]): int(row[1]) for row in self._connection.execute(ever.group_by(REVISIONS.c.id))}
        return last, set(self._connection.execute(now).scalars())

    def _put_batch(self, batch: Sequence[tuple[Body, Held | None, str]]) -> None:
        revisions: list[tuple[object, ...]] = []
        audits: list[tuple[object, ...]] = []
        created: list[Body] = []
        replaced = []
        last, here = self._last_revisions([body["id"] for body, _, _ in batch])
        for body, seen, day in batch:
            entry_id, text = body["id"], text_of(body)
            # A list is read as of its day: of what begins later the store alone tells.
            known = current(self._connection, "offers", entry_id) if seen is None and entry_id in here else seen
            price = price_of(body)
            assert price is not None
            revision = last.get(entry_id, 0) + 1
            revisions.append(
                ("offers", entry_id, revision, day, self.version, self._at, "live", body["item"], body["supplier"],
                 *price, text)
            )  # fmt: skip
            if known is None:
                created.append(body)
            else:
                replaced.append({"of": entry_id, "to": revision, "at": self.version})
            audits.append(
                (self._at, self._actor.key_id, self._actor.request_id, "create" if known is None else "replace",
                 "offers", entry_id, self.version, None if known is None else known.text, text)
            )  # fmt: skip
            self._mark_one_of_many(body, known, day)
        insert_rows(self._connection, REVISIONS, _REVISION, revisions)
        insert_rows(self._connection, AUDIT, _AUDITED, audits)
        self._create_offers(created, last)
        if replaced:
            place = and_(ENTRIES.c.kind == "offers", ENTRIES.c.id == bindparam("of"))
            moved = update(ENTRIES).where(place).values(revision=bindparam("to"), version=bindparam("at"))
            self._connection.execute(moved, replaced)
        self._touched = True

    def _create_offers(self, bodies: Sequence[Body], last: Mapping[str, int]) -> None:
        if not bodies:
            return
        entries: list[tuple[object, ...]] = []
        uses: list[tuple[object, ...]] = []
        for body in bodies:
            entry_id = body["id"]
            revision = last.get(entry_id, 0) + 1
            entries.append(("offers", entry_id, body.get("name") or entry_id, None, revision, "live", self.version))
            uses += [("offers", body["id"], kind, used) for kind, used, _ in KINDS["offers"].uses(body)]
        insert_rows(self._connection, ENTRIES, _ENTRY, entries)
        insert_rows(self._connection, USES, _USED, uses)

    def _mark_one_of_many(self, body: Body, known: Held | None, day: str) -> None:
        """Notes what an offer of a list can move, once for all that move the same."""
        effect: tuple[object, ...] = (body["item"], body["supplier"], body.get("venue"), day, body.get("valid_to"))
        effect += (str(body["pack"]), known is None)
        if known is not None:
            before = json.loads(known.text)
            if any(before.get(one) != body.get(one) for one in _SOLD):
                self._mark("offers", body, known, day)
                return
        if effect not in self._marked:
            self._marked.add(effect)
            self._mark("offers", body, known, day)

    def set_state(self, known: Held, body: Body, state: str) -> Held:
        """Archives an entry, or takes it back into use, now and in all that is written of days to come."""
        kind, entry_id = known.kind, known.id
        holding = self._holding(kind, entry_id)
        past = [day for day in holding if day <= self._today]
        changed = {day: held for day, held in holding.items() if day > self._today}
        if past:
            changed[self._today] = holding[max(past)]
        shown = max(self._today, known.valid_from)
        made = known
        for day in sorted(changed, key=lambda one: (one == shown, one)):  # What is shown as current comes last.
            made = self._append(kind, entry_id, json.loads(changed[day].text), day, state, made)
        if kind == "preparations":
            of_it = and_(ENTRIES.c.kind == "products", ENTRIES.c.name == entry_id)
            self._connection.execute(update(ENTRIES).where(of_it).values(state=state))
        if kind in ("drinks", "menus"):  # Lists and menus are answered without what is archived.
            self._label_moved = True
        if kind == "offers":
            self._mark(kind, body, known, self._today, gone=True)
        return made

    def _holding(self, kind: str, entry_id: str) -> dict[str, Held]:
        """The revision that holds from each day on."""
        query = (
            select(REVISIONS).where(REVISIONS.c.kind == kind, REVISIONS.c.id == entry_id).order_by(REVISIONS.c.revision)
        )
        found: dict[str, Held] = {}
        for row in self._connection.execute(query):
            if row.state == "gone":
                found = {day: held for day, held in found.items() if day < row.valid_from}
            else:
                found[row.valid_from] = held_of(row)
        return found

    def remove(self, known: Held, body: Body) -> None:
        """Deletes an entry that nothing names; its history stays. Raises :class:`InUse` with all users."""
        kind, entry_id = known.kind, known.id
        users = self.users(kind, entry_id, body)
        if users:
            raise InUse(users)
        if kind == "venues" and entry_id == GROUP:
            raise Conflict("group_kept", "The group's defaults cannot be deleted; replace them.")
        self._append(kind, entry_id, body, self._today, "gone", known)
        for table in (USES, ENTRIES, EXTERNAL_IDS):
            self._connection.execute(delete(table).where(table.c.kind == kind, table.c.id == entry_id))
        if kind == "preparations":
            self._keep_products(entry_id, [], known)
        self._mark(kind, body, known, self._today, gone=True)

    def users(self, kind: str, entry_id: str, body: Body) -> list[tuple[str, str]]:
        """Kinds and ids of the entries that name this one or a product of it."""
        used = "item" if kind in _ITEM_KINDS else kind
        ids = [entry_id, *products_named(body)] if kind == "preparations" else [entry_id]
        query = (
            select(USES.c.kind, USES.c.id)
            .where(USES.c.used_kind == used, USES.c.used_id.in_(ids))
            .where(or_(USES.c.kind != kind, USES.c.id != entry_id))
            .distinct()
            .order_by(USES.c.kind, USES.c.id)
            .limit(200)
        )
        return [(row.kind, row.id) for row in self._connection.execute(query)]

    def note(self, action: str, kind: str, entry_id: str, before: str | None, after: str | None) -> None:
        """A row of the audit trail for what is not an entry, such as a key or a list."""
        self._audit(action, kind, entry_id, before, after)

    def close(self) -> int:
        """Announces the change: new versions, and which drinks it can have moved. Returns the cost version."""
        if not self._touched:
            return self.version - 1
        if self._label_moved:
            self._data_version += 1
        costs, labels = self._moved()
        rows = [
            {"feed": feed, "position": position, "drink": drink, "why": why, "since": since,
             "recorded_at": self._at, "version": self.version}
            for feed, position, drinks in (
                ("costs", self.version, costs), ("labels", self._data_version, labels)
            )
            for drink, (why, since) in sorted(drinks.items())
        ]  # fmt: skip
        if rows:
            self._connection.execute(insert(CHANGES), rows)
        announced = {"version": self.version, "data_version": self._data_version, "recorded_at": self._at}
        self._connection.execute(insert(VERSIONS).values(**announced))
        self._connection.execute(update(STATE).values(cost_version=self.version, data_version=self._data_version))
        return self.version

    def _day_of(self, body: Body, known: Held | None) -> str:
        """From when a new revision holds: since ever for a first one, else from today or the later day it states."""
        stated = body.get("valid_from") if "price" in body else None
        if known is None:
            return str(stated or EVER)
        return max(str(stated), self._today) if stated else self._today

    def _check_ids(self, kind: str, body: Body, known: Held | None) -> None:
        """Refuses an id, a name or an external id that another entry has."""
        entry_id = body["id"]
        if kind in ("ingredients", "preparations"):
            ids = [entry_id, *products_named(body)] if kind == "preparations" else [entry_id]
            others = ("ingredients", "products") if kind == "preparations" else ("preparations",)
            clash = and_(ENTRIES.c.kind.in_(others), ENTRIES.c.id == entry_id)
            if kind == "preparations" and len(ids) > 1:
                clash = or_(
                    clash,
                    and_(
                        ENTRIES.c.id.in_(ids[1:]),
                        or_(
                            ENTRIES.c.kind == "preparations",
                            and_(ENTRIES.c.kind == "products", ENTRIES.c.name != entry_id),
                        ),
                    ),
                )
            if self._connection.execute(select(ENTRIES.c.id).where(clash)).first() is not None:
                raise Conflict("id_taken", "Another thing that lines may name has this id.")
        named = name_key(body["name"]) if KINDS[kind].unique_name else None
        if named is not None:
            query = select(ENTRIES.c.id).where(ENTRIES.c.kind == kind, ENTRIES.c.name_key == named)
            if self._connection.execute(query.where(ENTRIES.c.id != entry_id)).first() is not None:
                raise Conflict("name_taken", "Another entry of this kind has this name, whatever its case or form.")
        values = list(body.get("external_ids", ()))
        if values:
            taken = select(EXTERNAL_IDS.c.value).where(
                EXTERNAL_IDS.c.kind == kind, EXTERNAL_IDS.c.value.in_(values), EXTERNAL_IDS.c.id != entry_id
            )
            if self._connection.execute(taken).first() is not None:
                raise Conflict("external_id_taken", "Another entry of this kind has one of these external ids.")

    def _check_uses(self, by_kind: str, by_id: str, uses: Sequence[Use]) -> None:
        """Refuses names of what does not exist, and new names of what is archived, each at its place."""
        wanted: dict[str, set[str]] = {}
        for kind, used_id, _ in uses:
            wanted.setdefault(kind, set()).add(used_id)
        states: dict[tuple[str, str], set[str]] = {}
        for kind, ids in wanted.items():
            kinds = _ITEM_KINDS if kind == "item" else (kind,)
            query = select(ENTRIES.c.id, ENTRIES.c.state).where(
                ENTRIES.c.kind.in_(kinds), ENTRIES.c.id.in_(sorted(ids))
            )
            for row in self._connection.execute(query):
                states.setdefault((kind, row.id), set()).add(row.state)
        before = select(USES.c.used_kind, USES.c.used_id).where(USES.c.kind == by_kind, USES.c.id == by_id)
        used = {(row.used_kind, row.used_id) for row in self._connection.execute(before)}
        faults = []
        for kind, used_id, pointer in uses:
            found = states.get((kind, used_id))
            if found is None and not (kind == "item" and self._embedded.has(used_id)):
                faults.append(InputFault(*self._unknown(kind, used_id), pointer))
            elif found == {"archived"} and (kind, used_id) not in used:
                faults.append(InputFault("archived", "It is archived; reinstate it, or name another.", pointer))
        if faults:
            raise InputFaults(faults)

    def _unknown(self, kind: str, used_id: str) -> tuple[str, str]:
        if kind != "item":
            return f"unknown_{KINDS[kind].one}", f"There is no {KINDS[kind].one} of this id; create it first."
        query = select(ENTRIES.c.id).where(ENTRIES.c.kind.in_(_ITEM_KINDS)).limit(5000)
        near = self._embedded.nearest(used_id, list(self._connection.execute(query).scalars()))
        like = f" Known ids like it: {', '.join(near)}." if near else ""
        return "item_unknown", f"Nothing of this id is stored or in the embedded reference.{like}"

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
        made = Held(kind, entry_id, last + 1, day, self.version, state, text, self._at, body.get("item"))
        self._connection.execute(
            insert(REVISIONS).values(
                kind=kind, id=entry_id, revision=made.revision, valid_from=day, version=self.version,
                recorded_at=self._at, state=state, item=made.item,
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
        self._audit(action, kind, entry_id, None if known is None else known.text, None if state == "gone" else text)
        return made

    def _audit(self, action: str, kind: str, entry_id: str, before: str | None, after: str | None) -> None:
        self._touched = True
        self._connection.execute(
            insert(AUDIT).values(
                recorded_at=self._at, key_id=self._actor.key_id, request_id=self._actor.request_id, action=action,
                kind=kind, id=entry_id, version=self.version, before=before, after=after,
            )
        )  # fmt: skip

    def _keep_uses(self, kind: str, entry_id: str, uses: Sequence[Use]) -> None:
        self._connection.execute(delete(USES).where(USES.c.kind == kind, USES.c.id == entry_id))
        named = dict.fromkeys((used_kind, used_id) for used_kind, used_id, _ in uses)
        if named:
            rows = [{"kind": kind, "id": entry_id, "used_kind": used, "used_id": one} for used, one in named]
            self._connection.execute(insert(USES), rows)

    def _keep_products(self, preparation_id: str, products: Sequence[str], made: Held) -> None:
        """The joint products of a preparation; one that others name cannot vanish."""
        query = select(ENTRIES.c.id).where(ENTRIES.c.kind == "products", ENTRIES.c.name == preparation_id)
        lost = set(self._connection.execute(query).scalars()) - set(products)
        users = sorted({user for product in lost for user in self.users("products", product, {})})
        if users:
            raise InUse(users)
        self._connection.execute(delete(ENTRIES).where(ENTRIES.c.kind == "products", ENTRIES.c.name == preparation_id))
        for product in products:
            values = {"kind": "products", "id": product, "name": preparation_id, "revision": made.revision}
            self._connection.execute(insert(ENTRIES).values(**values, state=made.state, version=self.version))

    def _keep_external_ids(self, kind: str, entry_id: str, values: Sequence[str]) -> None:
        table = EXTERNAL_IDS
        self._connection.execute(delete(table).where(table.c.kind == kind, table.c.id == entry_id))
        if values:
            rows = [{"kind": kind, "value": value, "id": entry_id} for value in dict.fromkeys(values)]
            self._connection.execute(insert(table), rows)

    def _mark(self, kind: str, body: Body, known: Held | None, day: str, *, gone: bool = False) -> None:
        """Notes what the change can move."""
        before = None if known is None else json.loads(known.text)
        if kind == "offers":
            why, label = "price", self._bases_moved(body, None if gone else before, ended=gone)
            if body["item"] in self._sold:
                self._sold[body["item"]].append(_Sold(body["id"], _sold(body), day, not gone))
        else:
            why = "spec"
            after = None if gone else text_of(label_view(kind, body))
            label = KINDS[kind].labelled and (before is None or after != text_of(label_view(kind, before)))
        self._label_moved |= label
        roots = [body["item"] if kind == "offers" else body["id"]]
        if before is not None and kind == "offers":
            roots.append(before["item"])
        if kind == "preparations":
            roots += products_named(body)
        for root in dict.fromkeys(roots):
            self._roots[_Root(kind, root, why, day, label)] = None

    def _bases_moved(self, body: Body, before: Body | None, *, ended: bool) -> bool:
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
        day = self._today if ended else self._day_of(body, None)
        lasting = {row.sold for row in others if row.live and row.since <= day}
        return before is not None or own[0] not in lasting

    def _names_supplier(self, item: str) -> bool:
        """Whether the item's declaration is about the product of one supplier, and goes stale with another."""
        found = self._supplied.get(item)
        if found is None:
            held = current(self._connection, "ingredients", item)
            evidence = {} if held is None else json.loads(held.text).get("evidence") or {}
            found = self._supplied[item] = evidence.get("supplier") is not None
        return found

    def _sold_of(self, item: str) -> list[_Sold]:
        """The offers of an item as they stand, read once in this transaction and kept up with what it writes."""
        found = self._sold.get(item)
        if found is None:
            rows = (
                select(REVISIONS.c.id, REVISIONS.c.body, REVISIONS.c.valid_from, ENTRIES.c.state)
                .join(ENTRIES, and_(ENTRIES.c.kind == REVISIONS.c.kind, ENTRIES.c.id == REVISIONS.c.id))
                .where(REVISIONS.c.kind == "offers", REVISIONS.c.item == item)
            )
            found = self._sold[item] = [
                _Sold(row.id, _sold(json.loads(row.body)), row.valid_from, row.state == "live")
                for row in self._connection.execute(rows)
            ]
        return found

    def _moved(self) -> tuple[_Moved, _Moved]:
        """The drinks that the roots reach, for the feed of costs and for that of labels; a spec outranks a price."""
        items = {root.id for root in self._roots if root.kind in ("offers", "ingredients", "preparations")}
        reached = drinks_of(self._connection, items, self._embedded.priced_from) if items else {}
        everything: list[str] | None = None
        costs: _Moved = {}
        labels: _Moved = {}
        for root in sorted(self._roots, key=lambda one: one.why, reverse=True):
            if root.kind == "drinks":
                drinks: Iterable[str] = (root.id,)
            elif root.kind == "venues":
                if everything is None:
                    query = select(ENTRIES.c.id).where(ENTRIES.c.kind == "drinks")
                    everything = list(self._connection.execute(query).scalars())
                drinks = everything
            else:
                drinks = reached.get(root.id, ())
            for drink in drinks:
                costs.setdefault(drink, (root.why, root.since))
                if root.label:  # What an offer moves in a label is how the item is kept, never its price.
                    labels.setdefault(drink, ("spec", root.since))
        return costs, labels


_VERBS: Final = {"archived": "archive", "live": "reinstate", "gone": "delete"}


_MEASURES: Final = Measures()


def _sold(body: Body) -> tuple[str, str | None, str, str]:
    """Item, venue, base and supplier of an offer; an ounce, which the item's kind decides, is a base of its own."""
    size = body["pack"]["size"]
    bases = {amount_of(size, _MEASURES, by_mass=by_mass, pieces=()).dimension for by_mass in (False, True)}
    return body["item"], body.get("venue"), "+".join(sorted(bases)), body["supplier"]
