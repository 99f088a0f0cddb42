"""The supplier's offers that are in force when a list begins to count, as a list is compared with them."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import lru_cache
from typing import Any

from schemas.catalogue import StoredOffer
from schemas.offer import Offer
from service.amounts import Measures, read_amount
from service.errors import InputFault

STANDARD = Measures()


@dataclass(slots=True)
class CurrentOffer:
    """An offer of the supplier that is in force on the day of the list; ``price`` is of the whole pack."""

    id: str
    item: str
    code: str | None
    gtin: str | None
    name: str | None
    count: int
    size: str
    price: Decimal
    currency: str
    tax_included: bool = False
    tax_rate_percent: Decimal | None = None


def current_offers(
    offers: Iterable[Offer],
    supplier: str,
    day: date,
    names: Mapping[str, str] | None = None,
    measures: Measures = STANDARD,
    kept_by_mass: Callable[[str], bool] = lambda _: False,
) -> Iterator[CurrentOffer]:
    """Offers of ``supplier`` that are valid on ``day``; ``names`` are names of items by id.

    A size in a measure that names no system, such as oz, is put in ml or g by the house's ``measures``.
    """
    for offer in offers:
        begun = offer.valid_from is None or offer.valid_from <= day
        if offer.supplier != supplier or not begun or (offer.valid_to is not None and offer.valid_to < day):
            continue
        written = offer.pack.size
        size = written if isinstance(written, str) else f"{written.value} {written.unit}"
        yield CurrentOffer(
            id=offer.id,
            item=offer.item,
            code=offer.code,
            gtin=offer.gtin,
            name=(names or {}).get(offer.item),
            count=offer.pack.count,
            size=_plain_size(size, measures, kept_by_mass(offer.item)),
            price=offer.price.amount,
            currency=offer.price.currency,
            tax_included=offer.tax_included,
            tax_rate_percent=offer.tax_rate_percent,
        )


def current_of_bodies(
    bodies: Iterable[Mapping[str, Any]],
    supplier: str,
    day: date,
    names: Mapping[str, str],
    measures: Measures = STANDARD,
) -> Iterator[CurrentOffer]:
    """The same from the JSON of offers that were checked when they were stored, most of which need no second check."""
    text = day.isoformat()
    for body in bodies:
        size, count = body["pack"]["size"], body["pack"].get("count", 1)
        if type(size) is not str or not size.isascii() or type(count) is not int:
            yield from current_offers((StoredOffer.model_validate(body),), supplier, day, names, measures)
            continue
        begun, ended = body.get("valid_from"), body.get("valid_to")
        if body["supplier"] != supplier or (begun and begun > text) or (ended and ended < text):
            continue
        price, rate = body["price"], body.get("tax_rate_percent")
        yield CurrentOffer(
            id=body["id"],
            item=body["item"],
            code=body.get("code"),
            gtin=body.get("gtin"),
            name=names.get(body["item"]),
            count=count,
            size=_plain_size(size, measures, False),
            price=Decimal(price["amount"]),
            currency=price["currency"],
            tax_included=body.get("tax_included", False),
            tax_rate_percent=None if rate is None else Decimal(rate),
        )


@lru_cache(maxsize=4096)
def _plain_size(size: str, measures: Measures, by_mass: bool) -> str:
    """A size in words that read the same in every house; one that cannot be read stays, and its row is refused."""
    try:
        house = read_amount(size, measures, by_mass=by_mass, pieces=())
        if house.quantity == read_amount(size, STANDARD, by_mass=False, pieces=()).quantity:
            return size
    except InputFault:
        return size
    return f"{house.quantity.normalize():f} {'g' if house.dimension == 'mass' else 'ml'}"
