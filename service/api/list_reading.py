"""How a supplier's price list is read against the catalogue, whatever is then made of it."""

import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import date
from functools import lru_cache
from itertools import islice
from typing import IO, Any, Final

from fastapi import Request
from pydantic import ValidationError
from sqlalchemy import Connection

from schemas.catalogue import Supplier
from schemas.price_list import PriceListOptions
from schemas.price_lists import ListQueryIn
from service import lookup
from service.api.kept import today
from service.api.problems import Fault, of_faults, of_input
from service.api.stored_question import settings_of
from service.errors import InputFault, InputFaults
from service.evaluate import measures_of
from service.item import Item
from service.store.held import Held
from service.store.offers_then import OffersThen
from service.store.snapshot import Snapshot
from service.suppliers.current import current_of_bodies
from service.suppliers.itemfacts import ItemFacts, facts_of
from service.suppliers.judging import Judged
from service.suppliers.price_list import FORMATS, PriceList, Tally
from service.suppliers.reporting import counts_of, row_report
from service.suppliers.spool import Waiting

SHOWN: Final = 100
"""Rows that need a look, in the answer to a new list."""

LIST_BODY: Final[dict[str, Any]] = {
    "required": True, "content": {media: {"schema": {"type": "string", "format": "binary"}} for media in FORMATS},
}  # fmt: skip
"""The body of a request that brings a list, as the document tells it."""

_ITEMS: Final = 4096
"""Items whose facts are kept while a list is read."""
_PAGE: Final = 1000
"""Offers that are looked up at once."""

_ABOUT_DRINKS: Final = frozenset(("supplier", "menu", "venue", "as_of"))
"""Parameters that do not say how a list is read."""


def options_of(snapshot: Snapshot, query: ListQueryIn) -> dict[str, Any]:
    """The supplier's settings with what the address says over them, as the options of a list.

    Raises :class:`Problem` where there is no such supplier, or neither states what a list needs.
    """
    if snapshot.held("suppliers", query.supplier) is None:
        raise of_faults([Fault("/supplier", "unknown_supplier", "There is no supplier of this id; create it first.")])
    supplier: Supplier = snapshot.model("suppliers", query.supplier)
    if supplier.price_list is None:
        detail = "Say first which columns its lists have: put price_list.mapping on the supplier."
        raise of_faults([Fault("/supplier", "mapping_missing", detail)])
    options: dict[str, Any] = json.loads(supplier.price_list.model_dump_json(exclude_unset=True, by_alias=True))
    stated = json.loads(query.model_dump_json(exclude_unset=True))
    options |= {name: value for name, value in stated.items() if name not in _ABOUT_DRINKS and value is not None}
    options["supplier"] = supplier.id
    options.setdefault("offer_prefix", supplier.id)
    options.setdefault("currency", supplier.currency)
    if options["currency"] is None:
        detail = "State the currency of the list, here or on the supplier."
        raise of_faults([Fault("/currency", "currency_missing", detail)])
    return options


def without_offers(request: Request, day: date, version: int) -> Snapshot:
    """The catalogue that a list is read against, but for its offers: those that the list is about are looked up."""
    found: Snapshot = request.app.state.snapshots.without_offers(version, day)
    return found


def offers_then(request: Request, snapshot: Snapshot) -> OffersThen:
    """The offers of the state that a list is read against."""
    return OffersThen(request.app.state.store, snapshot.version, date.fromisoformat(snapshot.day))


def price_list_of(
    request: Request, snapshot: Snapshot, supplier: str, media_type: str, file: IO[bytes], options: Mapping[str, Any]
) -> PriceList:
    """The list against the offers of its day. Raises :class:`Problem` where the file as a whole cannot be read."""
    offers = offers_then(request, snapshot)
    names = {held.id: json.loads(held.text)["name"] for held in snapshot.rows["ingredients"].values()}
    reference = request.app.state.reference

    @lru_cache(maxsize=_ITEMS)  # a list names each of its items in many rows
    def facts(item_id: str) -> ItemFacts | None:
        item = item_of(snapshot, request, item_id)
        return None if item is None else facts_of(item)

    day = day_of(options)
    house = measures_of(settings_of(snapshot, None, None, None).measures)
    try:
        asked = PriceListOptions.model_validate(dict(options))
        current = current_of_bodies(map(json.loads, offers.of_supplier(supplier)), supplier, day, names, house)
        known = {**{item.id: item.name for item in reference.items.values()}, **names}
        return PriceList(file, media_type, asked, current, facts, known, offers.taken)
    except ValidationError as error:
        rows = [Fault("/options", "options", str(fault["msg"])) for fault in error.errors(include_input=False)]
        raise of_faults(rows) from None
    except (InputFault, InputFaults) as fault:
        raise of_input(fault) from None


def item_of(snapshot: Snapshot, request: Request, item_id: str) -> Item | None:
    """A stored or embedded item."""
    if snapshot.held("ingredients", item_id) is not None:
        return lookup.item_of(snapshot.model("ingredients", item_id))
    found: Item | None = request.app.state.reference.items.get(item_id)
    return found


def head_of(price_list: PriceList, take: Callable[[Judged], None] | None = None) -> dict[str, Any]:
    """How the list was read, how many rows do what, and the first rows that need a look; ``take`` sees every row."""
    tally = Tally()
    rows: list[dict[str, Any]] = []
    for judged in price_list.judged():
        tally.add(judged)
        if take is not None:
            take(judged)
        if len(rows) < SHOWN and (judged.reasons or judged.doubts):
            rows.append(row_report(judged, price_list.options).model_dump(mode="json"))
    return {
        "read_as": price_list.read_as.model_dump(mode="json"), "counts": counts_of(tally).model_dump(mode="json"),
        "committable": tally.committable, "to_look_at": rows,
    }  # fmt: skip


def bodies_of(
    connection: Connection, then: OffersThen, offers: Iterable[Waiting]
) -> Iterator[tuple[dict[str, Any], Held | None, str | None]]:
    """Offers to write, each with what it was and the first day that the list states for it: what the list states over
    what the offer held before. Both are in NFC."""
    rows = iter(offers)
    while page := list(islice(rows, _PAGE)):
        changed = [changes for changes, _ in page if changes is not None]
        held = then.among(connection, changed) if changed else {}
        for changes, offer in page:
            known = None if changes is None else held[changes]
            yield (offer if known is None else {**json.loads(known.text), **offer}), known, offer.get("valid_from")


def day_of(options: Mapping[str, Any]) -> date:
    """The first day of a list's prices where a row states none."""
    stated = options.get("valid_from")
    return date.fromisoformat(stated) if stated else today()
