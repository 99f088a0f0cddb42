"""The supplier's offers that are in force when a list begins to count, as light as 50,000 of them need to be."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from schemas.offer import Offer
from service.amounts import Measures, read_amount
from service.errors import InputFault

STANDARD = Measures()


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


def _plain_size(size: str, measures: Measures, by_mass: bool) -> str:
    """A size in words that read the same in every house; one that cannot be read stays, and its row is refused."""
    try:
        house = read_amount(size, measures, by_mass=by_mass, pieces=())
        if house.quantity == read_amount(size, STANDARD, by_mass=False, pieces=()).quantity:
            return size
    except InputFault:
        return size
    return f"{house.quantity.normalize():f} {'g' if house.dimension == 'mass' else 'ml'}"
