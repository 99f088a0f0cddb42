"""Sizes, purchases and rebates of a request as the valuation of stock takes them."""

from collections.abc import Callable, Iterator, Sequence
from datetime import date
from decimal import Decimal
from typing import TypeVar

from schemas.usage import StockIn, ValuationIn
from service.amounts import Measures
from service.api.books import Books
from service.choosing import KeptItem, Terms, chosen_offer
from service.errors import InputFault
from service.evaluate import measures_of
from service.line import amount_of
from service.margins.valuation import Purchase, Stock, Tier
from service.money import EXACT, Rate

BASES = {"volume": "ml", "mass": "g", "piece": "each"}

Row = TypeVar("Row", bound=StockIn)


class Sizes:
    """Sizes of items in base units, each item in one base alone."""

    def __init__(self, measures: Measures) -> None:
        self.bases: dict[str, str] = {}
        self.measures = measures

    def sized(self, size: str, item: str, pointer: str) -> Decimal:
        """A size in the base of its item. Raises ``InputFault`` where it is in another."""
        try:
            amount = amount_of(size, self.measures, by_mass=False, pieces=())
        except InputFault as fault:
            raise InputFault(fault.code, fault.detail, pointer) from None
        base = BASES.get(amount.dimension)
        if base is None or not amount.quantity:
            raise InputFault("pack_size_unreadable", "A size is a volume, a mass or a number of pieces.", pointer)
        if self.bases.setdefault(item, base) != base:
            detail = f"{item} is used or counted in {self.bases[item]} elsewhere; state all of it so."
            raise InputFault("base_differs", detail, pointer)
        return amount.quantity


def once(rows: Sequence[Row], name: str) -> Iterator[tuple[str, Row]]:
    """Each row with its pointer. Raises ``InputFault`` where an item stands twice."""
    seen = set()
    for number, row in enumerate(rows):
        if row.item in seen:
            raise InputFault("duplicate_id", "The item stands twice.", f"/{name}/{number}/item")
        seen.add(row.item)
        yield f"/{name}/{number}", row


def stock_of(
    row: StockIn, pointer: str, sizes: Sizes, opening: Decimal, listed: Decimal | None, last: date
) -> tuple[Stock, Decimal]:
    """What values an item, and the size of one unit of its latest purchase, 1 where there is none.

    An opening stock of unknown worth may not pull the average down as if it were free: it is left out. Raises
    ``InputFault`` for the worth of no stock, which nothing could carry, and for deliveries after the last day.
    """
    worth = row.opening_value
    if worth and opening <= 0:
        raise InputFault(
            "opening_missing", "No opening stock has this worth; state how much.", f"{pointer}/opening_value"
        )
    if worth is None and listed is not None:
        worth = EXACT.multiply(opening, listed)
    bought, unit, latest = [], Decimal(1), date.min
    for place, one in enumerate(row.purchases):
        if one.day > last:
            detail = "The delivery came after the last day of the period."
            raise InputFault("delivery_outside", detail, f"{pointer}/purchases/{place}/day")
        size = sizes.sized(one.size, row.item, f"{pointer}/purchases/{place}/size")
        quantity, free = EXACT.multiply(one.units, size), EXACT.multiply(one.free_units, size)
        bought.append(Purchase(one.day, quantity, one.invoiced, free, one.discount))
        if one.day >= latest:
            unit, latest = size, one.day
    tiers = tuple(Tier(one.from_sum, one.percent) for one in row.tiers)
    held = opening if worth is not None else Decimal(0)
    return Stock(row.item, held, worth or Decimal(0), tuple(bought), listed, tiers, row.by_band), unit


def list_prices(books: Books, day: date, currency: str, sizes: Sizes) -> Callable[[str], Decimal | None]:
    """The net cost of one base unit of an item by the offer in force on a day; ``None`` where there is none."""
    settled = books.settings(day)
    pricing = settled.pricing
    rates = () if pricing is None else tuple(Rate(one.from_, one.to, one.rate, one.as_of) for one in pricing.rates)
    choose = "cheapest" if pricing is None else pricing.choose
    terms = Terms(currency, day, choose, rates)
    offers = books.snapshot(day).catalogue(books.venue, measures_of(settled.measures)).offers

    def price(item: str) -> Decimal | None:
        base = sizes.bases[item]
        rows = [offer for offer in offers.get(item, ()) if offer.base == base]
        try:
            return chosen_offer(rows, KeptItem(item, base, {}), terms).unit_cost if rows else None
        except InputFault:
            return None

    return price


def words(asked: ValuationIn) -> str:
    """A valuation in words."""
    names = {
        "list": "list price by the offer in force at the end of the period", "last_invoice": "last invoice",
        "weighted_average": "weighted average", "fifo": "first in, first out",
    }  # fmt: skip
    at = "" if asked.method == "list" else ", net of rebates" if asked.at == "net" else ", at invoice"
    return names[asked.method] + at
