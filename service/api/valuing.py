"""The costs of a period's books by a valuation: offers give way to what stock and deliveries cost."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from schemas.margins import HeldIn
from schemas.usage import ValuationIn
from service.api.books import Books
from service.api.questions import Question, Read
from service.api.stock import Sizes, list_prices, once, stock_of, words
from service.api.theory import theory_of
from service.choosing import Offer
from service.errors import InputFault
from service.evaluate import measures_of
from service.margins.calendar import Period
from service.margins.sales import NetSale
from service.margins.valuation import Stock, unit_cost
from service.money import EXACT, ZERO

LISTED: Final = "offers in force on each trading day, as the venue chooses them (list price less what they state)"


class Costed(Struct, frozen=True):
    """The books of both periods by one valuation, and the items that it values."""

    words: str
    now: Books
    then: Books
    valued: tuple[frozenset[str], frozenset[str]] | None = None

    def at_list(self, found: Read, stated: Mapping[str, object]) -> list[str]:
        """Items of what sold in either period that stay at list price although the valuation is another one."""
        if self.valued is None:
            return []
        stay: set[str] = set()
        periods = ((found.now, self.now, self.valued[0]), (found.then, self.then, self.valued[1]))
        for rows, books, valued in periods:
            for sale in (row.sale for row in rows if row.sale.drink not in stated):
                made = books.made(sale.key, sale.day, sale.venue)
                stay |= frozenset() if made is None else made.offered - valued
        return sorted(stay)


def sides(question: Question, found: Read, books: Books) -> tuple[Costed, ...]:
    """The first valuation, and the second where one is asked for. Raises ``InputFault``."""
    values = question.values
    if values is None:
        return (Costed(LISTED, books, books),)
    asked = [values.first] if values.beside is None else [values.first, values.beside]
    listed = [one.method == "list" for one in asked]  # A list price knows no invoice, and so no rebate.
    if values.first == values.beside or listed == [True, True]:
        raise InputFault("valuations_same", "Name two different valuations.", "/beside")
    if all(listed):
        return (Costed(LISTED, books, books),)
    held = _Held(question.period, "stock", values.stock, found.now, question, books)
    other = held
    if question.compared is not None:
        other = _Held(question.compared, "compare_stock", values.compare_stock, found.then, question, books)
    return tuple(_costed(one, held, other, books) for one in asked)


def _costed(asked: ValuationIn, held: "_Held", other: "_Held", books: Books) -> Costed:
    if asked.method == "list":
        return Costed(LISTED, books, books)
    now, then = held.offers(asked), other.offers(asked)
    valued = frozenset(now.costs), frozenset(then.costs)
    told = words(asked) + "; items without stock or deliveries at list price"
    return Costed(told, books.with_offers(now.over), books.with_offers(then.over), valued)


class _Held:
    """Stock and deliveries of one period."""

    def __init__(
        self,
        period: Period,
        name: str,
        rows: Sequence[HeldIn],
        sold: Sequence[NetSale],
        question: Question,
        books: Books,
    ) -> None:
        self._books, self._currency = books, question.currency
        self._sizes = Sizes(measures_of(books.settings(period.last).measures))
        self._stocks: dict[str, tuple[Stock, Decimal]] = {}
        self._listed = list_prices(books, period.last, question.currency, self._sizes)
        for pointer, row in once(rows, name):
            self._stocks[row.item] = self._stock(row, pointer, period)
        self._sold = [row for row in sold if row.sale.drink not in question.stated]
        self._period = period

    def _stock(self, row: HeldIn, pointer: str, period: Period) -> tuple[Stock, Decimal]:
        size, price = None, None
        if row.opening_size is not None:
            size = self._sizes.sized(row.opening_size, row.item, f"{pointer}/opening_size")
            price = self._listed(row.item)
        opening = EXACT.multiply(row.opening_units, size or ZERO)
        stock, unit = stock_of(row, pointer, self._sizes, opening, price, period.last)
        if opening and not stock.opening:
            self._books.missing["several", row.item, "opening_value"] = None
        return stock, unit if row.purchases else size or unit

    def offers(self, asked: ValuationIn) -> "Valued":
        """The cost of a unit of each item that the valuation values."""
        average = self._costs(ValuationIn(method="weighted_average", at=asked.at), {})
        if asked.method == "weighted_average":
            return average
        used: Mapping[tuple[str, str], Decimal] = {}
        if asked.method == "fifo":  # In the base of the stock, whatever base its offers are in.
            theory = theory_of(self._sold, self._books.with_offers(average.over))
            used = theory.used(self._period.first, self._period.last)
        return self._costs(asked, used)

    def _costs(self, asked: ValuationIn, used: Mapping[tuple[str, str], Decimal]) -> "Valued":
        found: dict[str, Offer] = {}
        for item, (stock, unit) in self._stocks.items():
            base = self._sizes.bases.get(item)
            if base is None:
                continue
            cost = unit_cost(stock, used.get((item, base), ZERO), asked.method, asked.at)
            if cost is not None:
                price = EXACT.multiply(cost, unit)
                found[item] = Offer("as-valued", item, "", Decimal(1), unit, base, price, self._currency)
        return Valued(found)


class Valued:
    """Items with the one offer that each is costed by."""

    def __init__(self, costs: Mapping[str, Offer]) -> None:
        self.costs = costs

    def over(self, held: Mapping[str, tuple[Offer, ...]]) -> Mapping[str, tuple[Offer, ...]]:
        """Offers with those of valued items in place of what suppliers ask."""
        return _Over(held, self.costs)


class _Over(Mapping[str, tuple[Offer, ...]]):
    """Whatever offer of a valued item is chosen costs what it is valued at; the others stay as they are.

    Its own offers stay beside it, out of force: by what an item is offered in, it is kept by mass or by volume, and a
    valuation moves no amount.
    """

    def __init__(self, held: Mapping[str, tuple[Offer, ...]], costs: Mapping[str, Offer]) -> None:
        self._held, self._costs = held, costs

    def __getitem__(self, item: str) -> tuple[Offer, ...]:
        cost = self._costs.get(item)
        if cost is None:
            return self._held[item]
        rows = self._held.get(item, ())
        named = [replace(cost, id=one.id, preferred=one.preferred) for one in rows] or [cost]
        return (*named, *(replace(one, valid_to=date.min) for one in rows))

    def __contains__(self, item: object) -> bool:
        return item in self._costs or item in self._held

    def __iter__(self) -> Iterator[str]:
        return iter(dict.fromkeys((*self._held, *self._costs)))

    def __len__(self) -> int:
        return len(set(self._held) | set(self._costs))
