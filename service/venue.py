"""What holds at one venue: the group's settings with the venue's own over them, field by field."""

from datetime import date
from decimal import Decimal
from typing import Any, TypeVar

from msgspec import Struct
from pydantic import ValidationError

from schemas._base import Input
from schemas.catalogue import Menu, MenuEntry, Venue
from schemas.evaluation import EvaluationRequest
from schemas.part import MakePartRequest
from schemas.pricing import House, MeasuresIn, Pricing
from service.errors import InputFault

Stated = TypeVar("Stated", EvaluationRequest, MakePartRequest)
Block = TypeVar("Block", bound=Input)


class Settled(Struct, frozen=True):
    """The settings of an answer; ``pricing`` is ``None`` where no currency is set."""

    pricing: Pricing | None
    measures: MeasuresIn
    house: House | None
    jurisdictions: tuple[str, ...] | None


def settled(
    group: Venue | None, venue: Venue | None, currency: str | None, menu_price: Decimal | None, *, priced: bool = True
) -> Settled:
    """The group's settings with the venue's over them; ``currency`` stands instead of the one they state.

    ``priced`` as ``False`` leaves all pricing out. Raises :class:`InputFault` where it does not fit together.
    """
    layers = [layer for layer in (group, venue) if layer is not None]
    prices: dict[str, Any] = {}
    house: dict[str, Any] = {}
    measures = MeasuresIn()
    jurisdictions: tuple[str, ...] | None = None
    for layer in layers:
        if priced and layer.pricing is not None:
            prices.update({name: value for name, value in layer.pricing if value is not None})
        if layer.house is not None:
            house.update({name: value for name, value in layer.house if value is not None})
        measures = layer.measures or measures
        jurisdictions = layer.jurisdictions or jurisdictions
    own = prices.get("currency")
    if priced:
        _check_sums(layers, own)
    if priced and currency is not None:
        if own is not None and own != currency:  # Sums set in one currency mean nothing in another.
            prices = {name: value for name, value in prices.items() if name in ("choose", "rates", "allowances", "tax")}
            menu_price = None
        prices["currency"] = currency
    pricing = None
    if "currency" in prices:
        prices["menu_price"] = menu_price
        sums = {name: format(prices[name], "f") for name in ("floor", "menu_price") if prices.get(name) is not None}
        try:
            pricing = Pricing.model_validate({**prices, **sums})
        except ValidationError:
            detail = "The pricing of this venue does not fit that of the group: sums of several currencies."
            raise InputFault("pricing_mixed", detail) from None
    held = House.model_validate(house) if house else None
    return Settled(pricing, measures, held, jurisdictions)


def _check_sums(layers: list[Venue], currency: str | None) -> None:
    """Refuses plain sums of the group at a venue of another currency, where they would be read in that one."""
    if len(layers) < 2 or layers[0].pricing is None or layers[0].pricing.currency in (None, currency):
        return
    group, own = layers[0].pricing, layers[1].pricing
    plain = {
        "floor": group.floor,
        "labour": None if group.labour is None else group.labour.rate_per_hour,
        "target": None if group.target is None else group.target.cash_margin,
    }
    for name, sum_ in plain.items():
        if isinstance(sum_, Decimal) and (own is None or getattr(own, name) is None):
            detail = f"The group's {name} is a sum in another currency: state this venue's own."
            raise InputFault("pricing_mixed", detail, f"/pricing/{name}")


def under(asked: Stated, held: Settled) -> Stated:
    """A request with what holds at its venue under what it states itself, field by field; measures are taken whole."""
    found: dict[str, Any] = {
        "pricing": _over(held.pricing, asked.pricing),
        "house": _over(held.house, asked.house),
        "jurisdictions": asked.jurisdictions or held.jurisdictions,
    }
    if "measures" not in asked.model_fields_set:
        found["measures"] = held.measures
    return asked.model_copy(update=found)


def _over(held: Block | None, own: Block | None) -> Block | None:
    """A block of settings with what another states over it; a ``null`` states nothing."""
    if held is None or own is None:
        return held if own is None else own
    stated = {name: value for name in own.model_fields_set if (value := getattr(own, name)) is not None}
    return held.model_copy(update=stated)


def on_menu(menu: Menu, day: date) -> list[tuple[int, MenuEntry]]:
    """The entries of a menu that are sold on a day, with their places."""
    if not _holds(menu.valid_from, menu.valid_to, day):
        return []
    return [(place, entry) for place, entry in enumerate(menu.entries) if _holds(entry.valid_from, entry.valid_to, day)]


def _holds(first: date | None, last: date | None, day: date) -> bool:
    return (first is None or first <= day) and (last is None or day <= last)
