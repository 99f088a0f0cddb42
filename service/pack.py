"""How one drink is sold, and what its pack states: what the drink says of itself, else what the house says."""

from datetime import date, timedelta
from typing import NamedTuple

from msgspec.structs import replace

from schemas.evaluation import EvaluationRequest
from service.preparation import Warn
from service.useby import UseBy

PACKED = ("packed_for_direct_sale", "prepacked")
"""Ways of selling that put a label on the drink; what is poured or sold at a distance is named on a menu."""


class Pack(NamedTuple):
    """What is stated of the packs on sale; ``None`` is missing. The net quantity is text in ml, as it is printed."""

    sold_as: str
    net_ml: str | None
    lot: str | None
    made_on: date | None
    storage: str | None
    responsible: str | None


def sold_as(request: EvaluationRequest) -> str:
    """How the drink is sold: as it says itself, else as the house sells, else poured."""
    return request.drink.sold_as or ("poured" if request.house is None else request.house.sold_as)


def pack_of(request: EvaluationRequest) -> Pack | None:
    """What the pack states; ``None`` for a drink that is not sold packed.

    One with a lot or a day of making, at a house that pours, is shown with what keeps it from being a pack.
    """
    drink, house, how = request.drink, request.house, sold_as(request)
    if how not in PACKED and (drink.sold_as is not None or (drink.lot is None and drink.made_on is None)):
        return None
    return Pack(
        sold_as=how,
        net_ml=drink.net_ml,
        lot=drink.lot,
        made_on=drink.made_on,
        storage=drink.storage or (None if house is None else house.storage),
        responsible=drink.responsible or (None if house is None else house.responsible),
    )


def net_quantity_ml(pack: Pack | None) -> float | None:
    """The net quantity as a figure; ``None`` where none is stated, and 0 is none."""
    return None if pack is None or pack.net_ml is None else float(pack.net_ml) or None


def aged(life: UseBy | None, drink_id: str, made_on: date | None, day: date) -> UseBy | None:
    """A life counted from the day the packs were made, as it is left on ``day``."""
    if life is None or made_on is None or made_on >= day:
        return life
    reason = f"{life.reason}; {drink_id} was made on {made_on}"
    return replace(life, days=life.days - (day - made_on).days, reason=reason)


def use_by_date(life: UseBy | None, made_on: date | None, day: date) -> date | None:
    """The calendar day to which the days that are left on ``day`` come; ``None`` where no life is known."""
    try:
        return None if life is None else max(day, made_on or day) + timedelta(days=life.days)
    except OverflowError:
        return None


def made_too_late(drink_id: str, made_on: date | None, day: date) -> list[Warn]:
    """A warning where packs are stated as made after the day asked for, so that their age counts as nothing."""
    if made_on is None or made_on <= day:
        return []
    return [Warn("made_on_in_future", f"{drink_id} is stated as made on {made_on}, after {day}; check made_on.")]
