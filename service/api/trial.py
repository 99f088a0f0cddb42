"""The trial of what is to be written: worked with as answers would, so that what cannot be worked with is refused.

Names that are not known are told by the store.
"""

import json
from collections.abc import Callable, Mapping
from datetime import date
from decimal import Decimal
from functools import partial
from typing import Final

from fastapi import Request

from schemas._base import Input
from schemas.catalogue import Menu, MenuEntry, StoredDrink, StoredIngredient, StoredOffer, StoredPreparation, Venue
from schemas.drink import Drink, Modifier
from schemas.evaluation import EvaluationRequest
from schemas.ingredient import Ingredient
from schemas.preparation import Preparation
from service.amounts import Measures
from service.api.kept import today
from service.api.problems import Fault, of_faults
from service.api.stored_question import LABEL, currency_at, evaluation_of, settings_of, snapshot_of
from service.bringing import brought_by
from service.errors import InputFault, InputFaults
from service.lookup import outputs_of
from service.modifiers import modified
from service.money import half_up, minor_unit_digits
from service.offers import offers_by_item
from service.rules import jurisdiction
from service.store.kinds import GROUP
from service.store.names import not_there
from service.store.snapshot import Snapshot
from service.venue import settled

_MISSING: Final = "modifier_item_missing"


def try_out(request: Request, model: Input) -> None:
    """Works with what is to be written. Raises :class:`Problem` 422 with pointers into the body."""
    if isinstance(model, StoredOffer):
        faults = _faults_of(lambda: offers_by_item([model], Measures()), "/offers/0")
    elif isinstance(model, StoredDrink):
        faults = _of_drink(request, model)
    elif isinstance(model, StoredIngredient | StoredPreparation):
        faults = _of_item(request, model)
    elif isinstance(model, Venue):
        faults = _of_venue(_held(request), model, every=request.state.principal.venue is None)
    elif isinstance(model, Menu):
        faults = _of_menu(_held(request), model)
    else:
        return
    if faults:
        raise of_faults(faults)


def _held(request: Request) -> Snapshot:
    return snapshot_of(request, today(), request.state.versions.cost)


def _evaluated(
    request: Request, drink: Drink, items: tuple[Ingredient, ...] = (), parts: tuple[Preparation, ...] = ()
) -> Callable[[], object]:
    """The evaluation of a drink without its money, by the group's settings of today."""
    snapshot, day = _held(request), today()
    held = settings_of(snapshot, None)
    body = EvaluationRequest.model_construct(
        _fields_set=None, drink=drink, ingredients=items, preparations=parts, offers=(), pricing=None,
        measures=held.measures, house=held.house, jurisdictions=held.jurisdictions, as_of=day, include=LABEL,
        trace=False,
    )  # fmt: skip
    return lambda: evaluation_of(request, body, day, snapshot, held.measures, None)


def _of_item(request: Request, model: StoredIngredient | StoredPreparation) -> list[Fault]:
    """An item is tried out in a drink of 1 ml of it."""
    named = model.id
    if isinstance(model, StoredPreparation):
        outputs = outputs_of(model)
        named = outputs[0].id if outputs else model.id
    lines = [{"item": named, "amount": "1 ml"}]
    drink = StoredDrink.model_validate({"id": "tried-out", "name": "Tried out", "lines": lines})
    if isinstance(model, StoredIngredient):
        return _faults_of(_evaluated(request, drink, items=(model,)), "/ingredients/0")
    return _faults_of(_evaluated(request, drink, parts=(model,)), "/preparations/0")


def _of_drink(request: Request, drink: StoredDrink) -> list[Fault]:
    """A drink as it is written, and with each modifier alone; where that needs another of its modifiers, as it may."""
    faults = _faults_of(_evaluated(request, drink), "/drink")
    if faults:
        return faults
    brought = {line.item for line in drink.lines} | {
        item for modifier in drink.modifiers for item in brought_by(modifier)
    }
    for number, modifier in enumerate(drink.modifiers):
        faults += [
            fault
            for fault in _with_one(request, drink, number, modifier)
            if fault.code != _MISSING or _named_at(modifier, fault.pointer) not in brought
        ]
    return faults


def _named_at(modifier: Modifier, pointer: str) -> str | None:
    """The item that a modifier acts on at a place, ``None`` for a role."""
    _, _, _, field, place, *rest = pointer.split("/")
    if field == "remove":
        return modifier.remove[int(place)]
    if field == "replace":
        return modifier.replace[int(place)].item
    return None if isinstance(modifier.scale, Decimal) or rest == ["role"] else modifier.scale[int(place)].item


def _with_one(request: Request, drink: StoredDrink, number: int, modifier: Modifier) -> list[Fault]:
    """The faults of a drink with one of its modifiers, each at its place in the drink."""

    def work() -> None:
        try:
            changed = modified(drink, [modifier.id])
        except InputFault as fault:
            raise _in_drink(fault, number) from None
        except InputFaults as faults:
            raise InputFaults([_in_drink(fault, number) for fault in faults.faults]) from None
        try:
            _evaluated(request, changed.drink)()
        except InputFault as fault:
            raise changed.at_origin(fault) from None
        except InputFaults as faults:
            raise InputFaults([changed.at_origin(fault) for fault in faults.faults]) from None

    return _faults_of(work, "/drink")


def _in_drink(fault: InputFault, number: int) -> InputFault:
    """A fault of the asking as one of the modifier that is asked for."""
    if fault.pointer.startswith("/with/"):
        return InputFault(fault.code, fault.detail, f"/drink/modifiers/{number}")
    return fault


def _of_venue(snapshot: Snapshot, venue: Venue, *, every: bool) -> list[Fault]:
    """Codes that are not held, offers of other items or venues, and sums that do not fit those of the group.

    Who may not know of every venue is told of another's offer what is told of one that is not there.
    """
    found: list[InputFault] = []
    for place, code in enumerate(venue.jurisdictions or ()):
        _keep(found, f"/jurisdictions/{place}", partial(jurisdiction, code))
    pricing = venue.pricing
    if pricing is not None and pricing.currency is not None:
        _keep(found, "/pricing/currency", partial(minor_unit_digits, pricing.currency))
    before: Venue | None = None if snapshot.held("venues", venue.id) is None else snapshot.model("venues", venue.id)
    chosen = _chosen(before)
    for item, offer in _chosen(venue).items():
        if chosen.get(item) == offer:
            continue  # What stays as it was is told in answers, here as below.
        pointer = f"/pricing/choose/{item}"
        held = snapshot.held("offers", offer)
        if held is not None and json.loads(held.text).get("venue") not in (None, venue.id):
            detail = "This offer is of another venue; name one of the group's or of this venue."
            found.append(InputFault("offer_unknown", detail, pointer) if every else not_there("offers", pointer))
        elif held is not None and held.item != item:
            detail = "This offer is of another item; name one of its offers."
            found.append(InputFault("offer_unknown", detail, pointer))
    if not found and pricing != (None if before is None else before.pricing):
        found += [*_mixed(snapshot, venue), *_not_payable(snapshot, venue)]
    return [Fault(fault.pointer, fault.code, fault.detail) for fault in found]


def _chosen(venue: Venue | None) -> Mapping[str, str]:
    """The offers that a venue names, by item."""
    choose = None if venue is None or venue.pricing is None else venue.pricing.choose
    return choose if isinstance(choose, dict) else {}


def _mixed(snapshot: Snapshot, venue: Venue) -> list[InputFault]:
    """Sums of several currencies at a venue, or at any that fitted the group as it is held."""
    held: Venue | None = None if snapshot.held("venues", GROUP) is None else snapshot.model("venues", GROUP)
    if venue.id != GROUP:
        fault = _misfit(held, venue)
        return [] if fault is None else [fault]
    found = []
    for other in sorted(snapshot.rows["venues"]):
        own: Venue | None = None if other == GROUP else snapshot.model("venues", other)
        fault = _misfit(venue, own)
        if fault is not None and _misfit(held, own) is None:
            detail = f"Venue {other} takes this from the group and is in another currency: state its own there first."
            found.append(InputFault(fault.code, detail, fault.pointer))
    return found


def _misfit(group: Venue | None, venue: Venue | None) -> InputFault | None:
    """Why the pricing of a venue does not fit that of the group."""
    try:
        settled(group, venue, None, None)
    except InputFault as fault:
        return fault if fault.pointer else fault.at("/pricing")
    return None


def _not_payable(snapshot: Snapshot, venue: Venue) -> list[InputFault]:
    """Menus of a venue whose prices nobody could pay in the currency that it states."""
    currency = None if venue.pricing is None else venue.pricing.currency
    if currency is None:
        return []
    found = []
    for menu_id in sorted(snapshot.rows["menus"]):
        menu: Menu = snapshot.model("menus", menu_id)
        prices = (entry.menu_price for entry in menu.entries if (menu.venue or GROUP) == venue.id)
        if any(price is not None and half_up(price, minor_unit_digits(currency)) != price for price in prices):
            detail = f"Menu {menu_id} has prices with more decimals than this currency has: change it first."
            found.append(InputFault("menu_price_not_payable", detail, "/pricing/currency"))
    return found


def _of_menu(snapshot: Snapshot, menu: Menu) -> list[Fault]:
    """Prices that nobody can pay, and two prices of one drink on one day."""
    faults: list[Fault] = []
    priced = _currency_of(snapshot, menu)
    for place, entry in enumerate(menu.entries):
        price = entry.menu_price
        if price is not None and priced is not None and half_up(price, priced[1]) != price:
            detail = f"Expected no more decimals than {priced[0]} has, in which this menu is priced."
            faults.append(Fault(f"/entries/{place}/menu_price", "menu_price_not_payable", detail))
        others = (other for other in menu.entries[:place] if _same(entry, other) and other.menu_price != price)
        if any(_overlap(entry, other) for other in others):
            detail = "An entry above sells the same drink on the same days at another price."
            faults.append(Fault(f"/entries/{place}/menu_price", "menu_price_differs", detail))
    return faults


def _currency_of(snapshot: Snapshot, menu: Menu) -> tuple[str, int] | None:
    """The currency of a menu's prices and its decimals; ``None`` where none is set."""
    currency = currency_at(snapshot, menu.venue)
    if currency is None:
        return None
    try:
        return currency, minor_unit_digits(currency)
    except InputFault:  # Kept before codes were looked at; the venue is told.
        return None


def _same(one: MenuEntry, other: MenuEntry) -> bool:
    return (one.drink, one.with_) == (other.drink, other.with_)


def _overlap(one: MenuEntry, other: MenuEntry) -> bool:
    """Whether two entries share a day."""
    first, last = date.min, date.max
    return (one.valid_from or first) <= (other.valid_to or last) and (other.valid_from or first) <= (
        one.valid_to or last
    )


def _keep(found: list[InputFault], pointer: str, work: Callable[[], object]) -> None:
    try:
        work()
    except InputFault as fault:
        found.append(InputFault(fault.code, fault.detail, pointer))


def _faults_of(work: Callable[[], object], place: str) -> list[Fault]:
    """Does some work: its faults at or below a place, with the pointers from there on."""
    try:
        work()
    except (InputFault, InputFaults) as fault:
        rows = fault.faults if isinstance(fault, InputFaults) else (fault,)
        return [
            Fault(row.pointer.removeprefix(place), row.code, row.detail)
            for row in rows
            if row.pointer.startswith(place) and row.code != "item_unknown"
        ]
    return []
