"""The supplier's offers that are in force when a list begins to count, as light as 50,000 of them need to be."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from schemas.offer import Offer


@dataclass(frozen=True, slots=True)
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
    offers: Iterable[Offer], supplier: str, day: date, names: Mapping[str, str] | None = None
) -> Iterator[CurrentOffer]:
    """Offers of ``supplier`` that are valid on ``day``; ``names`` are names of items by id."""
    for offer in offers:
        begun = offer.valid_from is None or offer.valid_from <= day
        if offer.supplier != supplier or not begun or (offer.valid_to is not None and offer.valid_to < day):
            continue
        size = offer.pack.size
        yield CurrentOffer(
            id=offer.id,
            item=offer.item,
            code=offer.code,
            gtin=offer.gtin,
            name=(names or {}).get(offer.item),
            count=offer.pack.count,
            size=size if isinstance(size, str) else f"{size.value} {size.unit}",
            price=offer.price.amount,
            currency=offer.price.currency,
            tax_included=offer.tax_included,
            tax_rate_percent=offer.tax_rate_percent,
        )
