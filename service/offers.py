"""Offers of the request as the cost calculation wants them: pack sizes read in ml, g or pieces, sums as decimals."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from decimal import Decimal
from typing import Any

import schemas.offer as contract
from service.amounts import Measures
from service.choosing import Offer
from service.errors import InputFault
from service.line import amount_of
from service.money import minor_unit_digits

_ZERO = Decimal(0)
_BASES = {"volume": "ml", "mass": "g", "piece": "each"}


class OffersOver(Mapping[str, tuple[Offer, ...]]):
    """A request's own offers by item, and the stored ones of every other item; asked some forty times for a drink."""

    __slots__ = ("_own", "_stored")

    def __init__(self, own: Mapping[str, tuple[Offer, ...]], stored: Mapping[str, tuple[Offer, ...]]) -> None:
        self._own = own
        self._stored = stored

    def __getitem__(self, item: str) -> tuple[Offer, ...]:
        own = self._own.get(item)
        return self._stored[item] if own is None else own

    def get(self, item: str, default: Any = None) -> Any:
        """The offers of an item; ``default`` where nobody sells it."""
        own = self._own.get(item)
        return self._stored.get(item, default) if own is None else own

    def __contains__(self, item: object) -> bool:
        return item in self._own or item in self._stored

    def __iter__(self) -> Iterator[str]:
        return iter({**dict.fromkeys(self._stored), **dict.fromkeys(self._own)})

    def __len__(self) -> int:
        return len(self._own.keys() | self._stored.keys())


def offers_by_item(
    offers: Iterable[contract.Offer], measures: Measures, kept_by_mass: Callable[[str], bool] = lambda _: False
) -> Mapping[str, tuple[Offer, ...]]:
    """Offers by the item they sell, in the order given; a fault carries its pointer.

    ``kept_by_mass`` says of an item whether a bare ounce in its pack size is a mass.
    """
    found: dict[str, list[Offer]] = {}
    ids: set[str] = set()
    for index, offer in enumerate(offers):
        pointer = f"/offers/{index}"
        if offer.id in ids:
            raise InputFault("duplicate_id", "Another offer of the request has this id.", pointer + "/id")
        ids.add(offer.id)
        found.setdefault(offer.item, []).append(_offer(offer, index, pointer, measures, kept_by_mass(offer.item)))
    return {item: tuple(rows) for item, rows in found.items()}


def _offer(offer: contract.Offer, index: int, pointer: str, measures: Measures, by_mass: bool) -> Offer:
    if offer.gtin is not None and not has_check_digit(offer.gtin):
        raise InputFault("gtin_check_digit", "The check digit of this GTIN is wrong.", pointer + "/gtin")
    try:
        size = amount_of(offer.pack.size, measures, by_mass=by_mass, pieces=())
    except InputFault as fault:
        raise fault.at(pointer + "/pack/size") from None
    if size.dimension not in _BASES:
        raise InputFault(
            "pack_size_unreadable", "A pack size is a volume, a mass or a number of pieces.", pointer + "/pack/size"
        )
    known_currency(offer.price.currency, pointer + "/price/currency")
    duty = offer.duty
    amount = duty.amount if isinstance(duty, contract.Duty) and duty.state == "suspended" else None
    suspended = duty == "suspended" or (isinstance(duty, contract.Duty) and duty.state == "suspended")
    return Offer(
        id=offer.id,
        item=offer.item,
        supplier=offer.supplier,
        units=Decimal(offer.pack.count),
        size=size.quantity,
        base=_BASES[size.dimension],
        price=offer.price.amount,
        currency=offer.price.currency,
        tax_included=offer.tax_included,
        tax_rate_percent=offer.tax_rate_percent,
        delivery=sum_of(offer.delivery),
        discount_percent=offer.discount_percent or _ZERO,
        free_units=Decimal(offer.free_units) if offer.free_units else _ZERO,
        rebate=sum_of(offer.rebate),
        deposit=sum_of(offer.deposit),
        duty_unknown=suspended and amount is None,
        duty_amount=sum_of(amount),
        valid_from=offer.valid_from,
        valid_to=offer.valid_to,
        preferred=offer.preferred,
        order=index,
        pointer=pointer,
    )


def known_currency(currency: str, pointer: str) -> None:
    """Refuses a code that ISO 4217 does not have, at its place."""
    try:
        minor_unit_digits(currency)
    except InputFault as fault:
        raise fault.at(pointer) from None


def sum_of(money: "contract.Money | Decimal | None") -> Decimal:
    """A sum as its amount; 0 where there is none."""
    if money is None:
        return _ZERO
    return money if isinstance(money, Decimal) else money.amount


def has_check_digit(gtin: str) -> bool:
    """Whether the last digit of a GTIN is its check digit (GS1 General Specifications, 7.9)."""
    from stdnum import ean  # loaded only where a request carries a GTIN

    return bool(ean.is_valid(gtin.zfill(14) if len(gtin) == 12 else gtin))
