"""Who has which id and name, and who names whom: checked before a write, kept up with it.

What holds today and what is written of later days count alike: a name that is to change is kept until its day, one that
is to come is taken already.
"""

import json
from collections.abc import Callable, Sequence
from typing import Final

from sqlalchemy import Connection, Table, and_, delete, insert, or_, select

from service.errors import Conflict, InputFault, InputFaults, InUse
from service.store.held import Held
from service.store.kinds import KINDS, Body, Use, name_key, products_named
from service.store.standing import Stretch, holding, stretches
from service.store.tables import ENTRIES, EXTERNAL_IDS, NAMES, USES
from service.store.transaction import Embedded

_ITEM_KINDS: Final = ("ingredients", "preparations", "products")


class Names:
    """Ids, names and uses as the transaction of one connection sees them."""

    def __init__(self, connection: Connection, embedded: Embedded, today: str) -> None:
        self._connection = connection
        self._embedded = embedded
        self._today = today

    def check_ids(self, kind: str, body: Body, known: Held | None) -> None:
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
            shown = self._connection.execute(query.where(ENTRIES.c.id != entry_id)).first()
            taken = self._taken(NAMES, kind, entry_id, [named], _names_in)
            if shown is not None or taken is not None:
                detail = "Another entry of this kind has this name, whatever its case or form"
                raise Conflict("name_taken", f"{detail}{taken or ''}.")
        values = list(body.get("external_ids", ()))
        taken = self._taken(EXTERNAL_IDS, kind, entry_id, values, _external_ids_in)
        if taken is not None:
            raise Conflict("external_id_taken", f"Another entry of this kind has one of these external ids{taken}.")

    def _taken(
        self, table: Table, kind: str, entry_id: str, values: Sequence[str], said: Callable[[Body], Sequence[str]]
    ) -> str | None:
        """On which days another entry has one of the values today or later, in words; what has run out is given up."""
        if not values:
            return None
        others = select(table.c.value, table.c.id).where(
            table.c.kind == kind, table.c.value.in_(values), table.c.id != entry_id
        )
        for value, other in self._connection.execute(others).all():
            had = [one for one in self._stretches(kind, other) if value in said(json.loads(one.held.text))]
            if had:
                return self._days_of(had)
            self._connection.execute(delete(table).where(table.c.kind == kind, table.c.value == value))
        return None

    def _days_of(self, had: Sequence[Stretch]) -> str:
        """The days of a name that is not kept for good, and what to do: a name has one owner for all days to come."""
        first, end = had[0].first, had[-1].end
        begins = "" if first <= self._today else f", planned from {first} on"
        ends = "" if end is None else f"; it is free on {end}, so ask for it again from that day on"
        return begins + ends

    def _stretches(self, kind: str, entry_id: str) -> list[Stretch]:
        """What an entry says today and on later days."""
        return list(stretches(holding(self._connection, kind, entry_id), self._today))

    def _standing(self, kind: str, entry_id: str) -> list[Body]:
        """The same, without the days."""
        return [json.loads(one.held.text) for one in self._stretches(kind, entry_id)]

    def check_uses(self, by_kind: str, by_id: str, uses: Sequence[Use]) -> None:
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
            fault = not_there(kind)
            return fault.code, fault.detail
        query = select(ENTRIES.c.id).where(ENTRIES.c.kind.in_(_ITEM_KINDS)).limit(5000)
        near = self._embedded.nearest(used_id, list(self._connection.execute(query).scalars()))
        like = f" Known ids like it: {', '.join(near)}." if near else ""
        return "item_unknown", f"Nothing of this id is stored or in the embedded reference.{like}"

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
        wanted = {(used, one) for one in ids}
        rows = [(str(row.kind), str(row.id)) for row in self._connection.execute(query)]
        return [row for row in rows if any(wanted & _used_in(row[0], body) for body in self._standing(*row))]

    def keep(self, kind: str, entry_id: str, made: Held, rows: Sequence[Held]) -> None:
        """What an entry is called and whom it names, by all of its revisions that hold today or later."""
        bodies = [json.loads(held.text) for held in rows]
        if KINDS[kind].unique_name:
            self._keep_values(NAMES, kind, entry_id, [name for body in bodies for name in _names_in(body)])
        self._keep_values(EXTERNAL_IDS, kind, entry_id, [one for body in bodies for one in _external_ids_in(body)])
        self._connection.execute(delete(USES).where(USES.c.kind == kind, USES.c.id == entry_id))
        named = sorted({use for body in bodies for use in _used_in(kind, body)})
        if named:
            uses = [{"kind": kind, "id": entry_id, "used_kind": used, "used_id": one} for used, one in named]
            self._connection.execute(insert(USES), uses)
        if kind == "preparations":
            self._keep_products(
                entry_id, list(dict.fromkeys(one for body in bodies for one in products_named(body))), made
            )

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
            self._connection.execute(insert(ENTRIES).values(**values, state=made.state, version=made.version))

    def _keep_values(self, table: Table, kind: str, entry_id: str, values: Sequence[str]) -> None:
        self._connection.execute(delete(table).where(table.c.kind == kind, table.c.id == entry_id))
        if values:
            rows = [{"kind": kind, "value": value, "id": entry_id} for value in dict.fromkeys(values)]
            self._connection.execute(insert(table), rows)

    def forget(self, kind: str, entry_id: str) -> None:
        """Takes an entry that is deleted out of what exists, with what it gives."""
        for table in (USES, ENTRIES, EXTERNAL_IDS, NAMES):
            self._connection.execute(delete(table).where(table.c.kind == kind, table.c.id == entry_id))
        if kind == "preparations":
            self._connection.execute(delete(ENTRIES).where(ENTRIES.c.kind == "products", ENTRIES.c.name == entry_id))


def _names_in(body: Body) -> Sequence[str]:
    return (name_key(body["name"]),)


def _external_ids_in(body: Body) -> Sequence[str]:
    found: Sequence[str] = body.get("external_ids", ())
    return found


def _used_in(kind: str, body: Body) -> set[tuple[str, str]]:
    return {(used_kind, used_id) for used_kind, used_id, _ in KINDS[kind].uses(body)}


def not_there(kind: str, pointer: str = "") -> InputFault:
    """The refusal of a name of what does not exist."""
    one = KINDS[kind].one
    return InputFault(f"unknown_{one}", f"There is no {one} of this id; create it first.", pointer)
