"""The catalogue as of a day, as known at a version: one state that answers are made from, shared, never changed.

Bodies are parsed when they are first asked for. The next version's snapshot is made from the last one and the rows
that changed.
"""

import json
import threading
from collections import OrderedDict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from typing import Any, Final

from msgspec.structs import replace
from sqlalchemy import Connection, func, select, tuple_

from schemas._base import Input
from service.amounts import Measures
from service.choosing import Offer
from service.item import Item
from service.lookup import Catalogue, item_of, outputs_of
from service.offers import offers_by_item
from service.store.asof import ended, holding_on
from service.store.held import Held, held_of
from service.store.kinds import KINDS, products_named
from service.store.lazymap import LazyMap
from service.store.store import Store
from service.store.tables import REVISIONS, VERSIONS
from service.substance import BY_MASS

KEPT: Final = 8
"""How many snapshots a process keeps."""
_ALL_BUT_OFFERS: Final = tuple(kind for kind in KINDS if kind != "offers")


@dataclass(frozen=True, slots=True)
class _Parsed:
    """What one revision says, parsed once."""

    body: dict[str, Any]
    model: Input


class Snapshot:
    """Everything as of ``day``, as known at the cost version ``version``."""

    def __init__(self, version: int, data_version: int, day: str, rows: Mapping[str, Mapping[str, Held]]) -> None:
        self.version = version
        self.data_version = data_version
        self.day = day
        self.rows = rows
        self._parsed: dict[tuple[str, str, int], _Parsed] = {}
        self._catalogues: dict[tuple[str | None, Measures], Catalogue] = {}
        self._offers: dict[str, list[Held]] | None = None
        self._makers: dict[str, str] | None = None
        self._read: dict[tuple[object, ...], tuple[Offer, ...]] = {}

    def after(self, day: str, changed: Iterable[Held]) -> "Snapshot":
        """The state of a later day, made from this one and what holds from then on; all that was read is shared."""
        rows = dict(self.rows)
        copied: dict[str, dict[str, Held]] = {}
        for held in changed:
            if held.kind not in copied:
                rows[held.kind] = copied[held.kind] = dict(rows[held.kind])
            if held.state == "gone":
                copied[held.kind].pop(held.id, None)
            else:
                copied[held.kind][held.id] = held
        made = Snapshot(self.version, self.data_version, day, rows)
        made._parsed, made._read = self._parsed, self._read
        return made

    def apart(self) -> "Snapshot":
        """The same state, with what is read from here on kept apart from this one."""
        made = Snapshot(self.version, self.data_version, self.day, self.rows)
        made._parsed = dict(self._parsed)
        return made

    def supposing(self, offers: Iterable[Held]) -> "Snapshot":
        """The same state with offers as they might be; nothing that is read of them is kept with this one."""
        rows = {**self.rows, "offers": {**self.rows["offers"], **{held.id: held for held in offers}}}
        made = Snapshot(self.version, self.data_version, self.day, rows)
        made._parsed = {key: one for key, one in list(self._parsed.items()) if key[0] != "offers"}
        return made

    def held(self, kind: str, entry_id: str) -> Held | None:
        """One entry, or ``None``."""
        return self.rows[kind].get(entry_id)

    def body(self, kind: str, entry_id: str) -> dict[str, Any]:
        """The body of an entry that is there."""
        return self._of(kind, entry_id).body

    def model(self, kind: str, entry_id: str) -> Any:
        """The body of an entry that is there, as its model."""
        return self._of(kind, entry_id).model

    def _of(self, kind: str, entry_id: str) -> _Parsed:
        held = self.rows[kind][entry_id]
        key = (kind, entry_id, held.revision)
        found = self._parsed.get(key)
        if found is None:
            body = json.loads(held.text)
            found = self._parsed[key] = _Parsed(body, KINDS[kind].model.model_validate(body))
        return found

    def offers_of(self, item: str) -> list[Held]:
        """The offers of an item that are in use, whatever their days."""
        return self._offers_by_item().get(item, [])

    def makers(self) -> Mapping[str, str]:
        """The preparation that gives each joint product."""
        if self._makers is None:
            self._makers = {
                product: prep_id
                for prep_id, held in self.rows["preparations"].items()
                if '"outputs"' in held.text
                for product in products_named(self.body("preparations", prep_id))
            }
        return self._makers

    def catalogue(self, venue: str | None, measures: Measures) -> Catalogue:
        """What lines may name, with the offers that hold at a venue; pack sizes are read by the house's measures."""
        key = (venue, measures)
        found = self._catalogues.get(key)
        if found is None:
            items: LazyMap[Item] = LazyMap(self.rows["ingredients"], self._item)
            outputs = {
                output.id: (prep_id, output)
                for prep_id in self.rows["preparations"]
                if '"outputs"' in self.rows["preparations"][prep_id].text
                for output in outputs_of(self.model("preparations", prep_id))
            }
            preparations = LazyMap(self.rows["preparations"], lambda prep_id: self.model("preparations", prep_id))
            by_item = self._offers_by_item()
            offers = LazyMap(by_item, lambda item: self._offers_of(by_item[item], venue, measures, items))
            found = self._catalogues[key] = Catalogue(items, preparations, offers, outputs)
        return found

    def _item(self, item_id: str) -> Item:
        return replace(item_of(self.model("ingredients", item_id)), origin="catalogue")

    def _offers_by_item(self) -> dict[str, list[Held]]:
        if self._offers is None:
            found: dict[str, list[Held]] = {}
            for held in self.rows["offers"].values():
                if held.item is not None and held.state == "live":
                    found.setdefault(held.item, []).append(held)
            self._offers = found
        return self._offers

    def _offers_of(
        self, rows: list[Held], venue: str | None, measures: Measures, items: Mapping[str, Item]
    ) -> tuple[Offer, ...]:
        """The offers of one item at a venue: its own where it has any, else those for all."""
        rows = sorted(rows, key=lambda held: held.id)
        item = None if rows[0].item is None else self.held("ingredients", rows[0].item)
        key = (venue, measures, item and item.revision, *((held.id, held.revision) for held in rows))
        found = self._read.get(key)
        if found is None:
            found = self._read[key] = self._offers_read(rows, venue, measures, items)
        return found

    def _offers_read(
        self, rows: list[Held], venue: str | None, measures: Measures, items: Mapping[str, Item]
    ) -> tuple[Offer, ...]:
        models = [self.model("offers", held.id) for held in rows]
        own = [offer for offer in models if offer.venue is not None and offer.venue == venue]
        chosen = own or [offer for offer in models if offer.venue is None]

        def by_mass(item_id: str) -> bool:
            item = items.get(item_id)
            return item is not None and item.kind in BY_MASS and item.density_g_per_ml is None

        read = offers_by_item(chosen, measures, by_mass)
        return tuple(replace(offer, pointer="") for offers in read.values() for offer in offers)


class Snapshots:
    """The snapshots of one process, by version and day."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._kept: OrderedDict[tuple[int, str], Snapshot] = OrderedDict()
        self._bare: OrderedDict[tuple[int, str], Snapshot] = OrderedDict()
        self._lock = threading.Lock()

    def known(self, version: int, day: date) -> Snapshot | None:
        """The snapshot, if this process has it."""
        return self._kept.get((version, day.isoformat()))

    def at(self, version: int, day: date) -> Snapshot:
        """The state as of a day as known at a version that has been announced."""
        return self._at(self._kept, version, day)

    def without_offers(self, version: int, day: date) -> Snapshot:
        """The same as if there were no offers, for what would not hold all of them in memory."""
        return self._at(self._bare, version, day)

    def _at(self, kept: OrderedDict[tuple[int, str], Snapshot], version: int, day: date) -> Snapshot:
        text = day.isoformat()
        found = kept.get((version, text))
        if found is None:
            with self._lock:
                found = kept.get((version, text))
                if found is None:
                    found = self._made(kept, version, text)
                    kept[version, text] = found
                    while len(kept) > KEPT:
                        kept.popitem(last=False)
        return found

    def through(self, version: int, first: date, last: date) -> list[Snapshot]:
        """The states of a stretch of days, one for each day on which one begins, as known at a version; read once."""
        known = self.at(version, first).apart()  # What is read on the way is not kept with the state of the first day.
        found = [known]
        later = select(REVISIONS).where(
            REVISIONS.c.version <= version,
            REVISIONS.c.valid_from > first.isoformat(),
            REVISIONS.c.valid_from <= last.isoformat(),
            ~ended(version),
        )
        ordered = later.order_by(REVISIONS.c.valid_from, REVISIONS.c.revision)
        with self._store.reading() as connection:
            rows = [held_of(row) for row in connection.execute(ordered)]
        for day, changed in groupby(rows, key=lambda held: held.valid_from):
            found.append(found[-1].after(day, changed))
        return found

    def version_of_data(self, data_version: int) -> int | None:
        """The first cost version at which a data version was announced; ``None`` if it never was."""
        if data_version == 0:
            return 0
        first = select(func.min(VERSIONS.c.version)).where(VERSIONS.c.data_version == data_version)
        with self._store.reading() as connection:
            found: int | None = connection.execute(first).scalar_one()
            return found

    def _made(self, kept: Mapping[tuple[int, str], Snapshot], version: int, day: str) -> Snapshot:
        earlier = [one for one in kept.values() if one.day == day and one.version < version]
        base = max(earlier, key=lambda one: one.version, default=None)
        kinds = _ALL_BUT_OFFERS if kept is self._bare else None
        with self._store.reading() as connection:
            rows = _rows(connection, version, day, None if base is None else base.version, kinds)
            data_version = _data_version(connection, version)
        by_kind: dict[str, dict[str, Held]] = {kind: {} if base is None else dict(base.rows[kind]) for kind in KINDS}
        for held in rows:
            if held.state == "gone":
                by_kind[held.kind].pop(held.id, None)
            else:
                by_kind[held.kind][held.id] = held
        made = Snapshot(version, data_version, day, by_kind)
        if base is not None:
            made._parsed.update(
                (key, parsed)
                for key, parsed in list(base._parsed.items())
                if made.rows[key[0]].get(key[1]) is base.rows[key[0]].get(key[1])
            )
        return made


def _rows(
    connection: Connection, version: int, day: str, since: int | None, kinds: Collection[str] | None
) -> list[Held]:
    """The revision of each entry that is valid on a day as known at a version; of those changed since one, if given."""
    where = [] if kinds is None else [REVISIONS.c.kind.in_(kinds)]
    if since is not None:
        changed = select(REVISIONS.c.kind, REVISIONS.c.id).where(
            REVISIONS.c.version > since, REVISIONS.c.version <= version
        )
        where.append(tuple_(REVISIONS.c.kind, REVISIONS.c.id).in_(changed))
    return [held_of(row) for row in connection.execute(holding_on(day, version, *where))]


def _data_version(connection: Connection, version: int) -> int:
    """The data version that was announced with a cost version."""
    row = connection.execute(
        select(VERSIONS.c.data_version)
        .where(VERSIONS.c.version <= version)
        .order_by(VERSIONS.c.version.desc())
        .limit(1)
    ).first()
    return 0 if row is None else int(row.data_version)
