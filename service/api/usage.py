"""The straight line of usage: counts, movements and sales of a request to variances by item."""

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal

from schemas.usage import CountIn, StockIn, UsageRequest, ValuationIn
from service.amounts import Measures
from service.api.bookkeeping import meta, period_row, read
from service.api.bookkeeping import missing_rows as costs_missing
from service.api.books import Books, tax_of
from service.api.questions import Question, period_of, trading_day
from service.api.questions import SentRow as Sent
from service.choosing import KeptItem, Terms, chosen_offer
from service.contents import contents
from service.costtree import FREE_KINDS
from service.errors import InputFault, NotFound
from service.evaluate import measures_of
from service.line import amount_of
from service.margins.bought import Part, Used, bought
from service.margins.calendar import Period
from service.margins.counting import Counted, counted
from service.margins.sales import NetSale
from service.margins.usage import Count, ItemUse, Movement, usage
from service.margins.valuation import Purchase, Stock, Tier, value
from service.money import EXACT, Rate
from service.pricing import Tax
from service.report import stock as told
from service.report.figures import Json

_BASES = {"volume": "ml", "mass": "g", "piece": "each"}
_FOLLOWING = timedelta(days=40)
"""How far beside the period rows of sales are used, where counts are rolled."""


@dataclass(slots=True)
class Theory:
    """What sold, by day, in items and parts; taken apart to bought items for any days."""

    by_day: dict[date, list[Used]] = field(default_factory=lambda: defaultdict(list))
    parts: dict[str, Part] = field(default_factory=dict)

    def used(self, first: date, last: date) -> dict[tuple[str, str], Decimal]:
        """Bought items by item and base over some days."""
        uses = [use for day, rows in self.by_day.items() if first <= day <= last for use in rows]
        return bought(uses, self.parts, tuple(self.parts))


def theory_of(rows: Sequence[NetSale], books: Books) -> Theory:
    """What the drinks that sold should have taken, each as it was made on its day."""
    found = Theory()
    for row in rows:
        sale = row.sale
        name = "+".join((sale.drink, *sale.with_))
        try:
            made = contents(books.evaluation(sale.key, sale.day, sale.venue))
        except NotFound:
            books.missing[name, sale.drink, "drink"] = None
            continue
        for ref in made.unknown:
            books.missing[name, ref, "amount"] = None
        for part in made.parts:
            found.parts.setdefault(part.id, part)
        for use in made.uses:
            quantity = EXACT.multiply(use.quantity, sale.quantity)
            found.by_day[sale.day].append(Used(use.ref, use.base, quantity))
    return found


class Sheet:
    """The counts of a request in base units; parts broken down to what they are made of."""

    def __init__(self, asked: UsageRequest, books: Books, period: Period, theory: Theory) -> None:
        self.asked, self.books, self.period, self.theory = asked, books, period, theory
        self.bases: dict[str, str] = {}
        self._measures: Measures = measures_of(books.settings(period.last).measures)
        self._outputs = {output for part in theory.parts.values() for output in part.outputs}

    def sized(self, size: str, item: str, pointer: str) -> Decimal:
        """A size in the base that its item is counted in. Raises ``InputFault`` where it is in another."""
        try:
            amount = amount_of(size, self._measures, by_mass=False, pieces=())
        except InputFault as fault:
            raise InputFault(fault.code, fault.detail, pointer) from None
        base = _BASES.get(amount.dimension)
        if base is None or not amount.quantity:
            raise InputFault("pack_size_unreadable", "A size is a volume, a mass or a number of pieces.", pointer)
        if self.bases.setdefault(item, base) != base:
            detail = f"{item} is used or counted in {self.bases[item]} elsewhere; state all of it so."
            raise InputFault("base_differs", detail, pointer)
        return amount.quantity

    def counts(self, rows: Sequence[CountIn], name: str, cut_off: date) -> list[Count]:
        """The counts of one side, several rows of one item and day added up."""
        found: dict[str, Count] = {}
        parts: list[Used] = []
        for number, row in enumerate(rows):
            pointer = f"/{name}/{number}"
            day = row.day or cut_off
            quantity = self._counted(row, pointer)
            if row.item in self._outputs:
                if day != cut_off:
                    raise InputFault("count_beside_cut_off", "A part is counted at the cut-off.", f"{pointer}/day")
                parts.append(Used(row.item, self.bases[row.item], quantity))
                continue
            held = found.get(row.item)
            if held is not None and held.day != day:
                raise InputFault("counted_twice", "An item is counted on one day.", f"{pointer}/day")
            found[row.item] = Count(row.item, day, EXACT.add(quantity, held.quantity if held else Decimal(0)))
        for (item, base), quantity in bought(parts, self.theory.parts, tuple(self.theory.parts)).items():
            held = found.get(item)
            if held is not None and self.bases[item] == base:
                found[item] = Count(item, held.day, EXACT.add(held.quantity, quantity))
        return list(found.values())

    def _counted(self, row: CountIn, pointer: str) -> Decimal:
        size = self.sized(row.size, row.item, f"{pointer}/size")
        per_unit: Decimal | None = Decimal(1) if self.bases[row.item] == "g" else row.density_g_per_ml
        if per_unit is None and row.weights_g:
            per_unit = self._density(row.item)
        try:
            return counted(
                Counted(
                    size, Decimal(row.per_pack), row.packs, row.units, Decimal(0), row.tenths, row.weights_g,
                    row.tare_g, per_unit,
                )
            )  # fmt: skip
        except InputFault as fault:
            raise fault.at(pointer) from None

    def _density(self, item: str) -> Decimal | None:
        snapshot = self.books.snapshot(self.period.last)
        catalogue = snapshot.catalogue(self.books.venue, self._measures)
        held = catalogue.items.get(item) or self.books.request.app.state.reference.items.get(item)
        density = None if held is None else held.density_g_per_ml
        return None if density is None else Decimal(repr(density))

    def movements(self) -> list[Movement]:
        """What moved, in base units."""
        return [
            Movement(
                row.item, row.day, row.type,
                EXACT.multiply(row.units, self.sized(row.size, row.item, f"/movements/{number}/size")),
            )
            for number, row in enumerate(self.asked.movements)
        ]  # fmt: skip

    def stocks(self, opening: Mapping[str, Decimal], list_price: Callable[[str], Decimal | None]) -> dict[str, Stock]:
        """What values each counted item."""
        stated: dict[str, StockIn] = {}
        for number, row in enumerate(self.asked.stock):
            if row.item in stated:
                raise InputFault("duplicate_id", "The item stands twice.", f"/stock/{number}/item")
            stated[row.item] = row
        found = {}
        for item, quantity in opening.items():
            listed = list_price(item)
            row_ = stated.get(item)
            worth = None if row_ is None else row_.opening_value
            if worth is None:
                worth = None if listed is None else EXACT.multiply(quantity, listed)
            purchases = () if row_ is None else self._purchases(row_, self.asked.stock.index(row_))
            tiers = () if row_ is None else tuple(Tier(one.from_sum, one.percent) for one in row_.tiers)
            # An opening stock of unknown worth may not pull the average down as if it were free.
            held = quantity if worth is not None else Decimal(0)
            by_band = row_ is not None and row_.by_band
            found[item] = Stock(item, held, worth or Decimal(0), purchases, listed, tiers, by_band)
        return found

    def _purchases(self, row: StockIn, number: int) -> tuple[Purchase, ...]:
        found = []
        for place, one in enumerate(row.purchases):
            size = self.sized(one.size, row.item, f"/stock/{number}/purchases/{place}/size")
            quantity, free = EXACT.multiply(one.units, size), EXACT.multiply(one.free_units, size)
            found.append(Purchase(one.day, quantity, one.invoiced, free, one.discount))
        return tuple(found)


def question_of(asked: UsageRequest, books: Books) -> Question:
    """The sales of the request as the books read them, with some days beside the period for counts that are rolled."""
    period = period_of(asked.period, "/period")
    wide = period
    if asked.roll_counts:
        wide = Period(period.name, period.first - _FOLLOWING, period.last + _FOLLOWING)
    held = books.settings(period.last).pricing
    rows = [Sent(f"/sales/{number}", row) for number, row in enumerate(asked.sales)]
    taxes: dict[str | None, Tax] = {None: tax_of(None if held is None else held.tax)}
    day = trading_day(asked.trading_day)
    currency = books.currency(period.last)
    return Question(wide, None, day, books.venue, None, None, currency, taxes, True, None, {}, rows)


def usage_rows(asked: UsageRequest, books: Books, venue_of: Callable[[str | None], str | None]) -> tuple[NetSale, ...]:
    """What sold, in net money. Raises ``InputFaults``."""
    return read(question_of(asked, books), books, venue_of).now


def usage_body(asked: UsageRequest, books: Books, rows: Sequence[NetSale]) -> Json:
    """Variances by item and in all."""
    period = period_of(asked.period, "/period")
    currency = books.currency(period.last)
    theory = theory_of(rows, books)
    sheet = Sheet(asked, books, period, theory)
    taken = theory.used(period.first, period.last)
    for item, base in taken:
        if sheet.bases.setdefault(item, base) != base:  # Used by volume here and by mass there, and nothing adds them.
            books.missing["several", item, f"use in {base}"] = None
    openings = sheet.counts(asked.opening, "opening", period.first - timedelta(days=1))
    closings = sheet.counts(asked.closing, "closing", period.last)

    def use_on(item: str, first: date, last: date) -> Decimal:
        return theory.used(first, last).get((item, sheet.bases[item]), Decimal(0))

    whole = _Whole(period, use_on, taken, sheet.bases)
    found = usage(period, openings, closings, sheet.movements(), whole, {}, asked.roll_counts)
    stocks = sheet.stocks({one.item: one.opening for one in found}, _list_price(books, period.last, currency, sheet))
    counted_items = {one.item for one in found}
    valued = [_valued(one, stocks[one.item], asked.valuation, asked.beside) for one in found]
    net = sum((row.net for row in rows if period.holds(row.sale.day)), Decimal(0))
    body = told.usage_sections(valued, sheet.bases, net, currency, asked.beside is not None)
    return {
        "currency": currency, "period": period_row(period), "valuation": _words(asked.valuation),
        "beside": None if asked.beside is None else _words(asked.beside), **body,
        "not_counted": sorted({item for item, _ in taken if not _free(books, item)} - counted_items),
        "missing": costs_missing(books), "meta": meta(books, period.last, _words(asked.valuation)),
    }  # fmt: skip


def _free(books: Books, item: str) -> bool:
    """Whether nobody counts it: water and ice of the house."""
    held = books.request.app.state.reference.items.get(item)
    return held is not None and held.kind in FREE_KINDS


class _Whole:
    """Theoretical use, with that of the whole period taken apart once for all items."""

    def __init__(
        self,
        period: Period,
        use_on: Callable[[str, date, date], Decimal],
        taken: Mapping[tuple[str, str], Decimal],
        bases: Mapping[str, str],
    ) -> None:
        self._period, self._use_on, self._taken, self._bases = period, use_on, taken, bases

    def __call__(self, item: str, first: date, last: date) -> Decimal:
        if (first, last) == (self._period.first, self._period.last):
            return self._taken.get((item, self._bases[item]), Decimal(0))
        return self._use_on(item, first, last)


def _list_price(books: Books, day: date, currency: str, sheet: Sheet) -> Callable[[str], Decimal | None]:
    settled = books.settings(day)
    pricing = settled.pricing
    rates = () if pricing is None else tuple(Rate(one.from_, one.to, one.rate, one.as_of) for one in pricing.rates)
    choose = "cheapest" if pricing is None else pricing.choose
    terms = Terms(currency, day, choose, rates)
    offers = books.snapshot(day).catalogue(books.venue, measures_of(settled.measures)).offers

    def price(item: str) -> Decimal | None:
        base = sheet.bases[item]
        rows = [offer for offer in offers.get(item, ()) if offer.base == base]
        try:
            return chosen_offer(rows, KeptItem(item, base, {}), terms).unit_cost if rows else None
        except InputFault:
            return None

    return price


def _valued(
    one: ItemUse, stock: Stock, first: ValuationIn, beside: ValuationIn | None
) -> tuple[ItemUse, Decimal | None, Decimal | None]:
    """The item with its unit value, and what is left of it worth by both ways."""
    worth = value(stock, one.closing, first.method, first.at)
    unit = EXACT.divide(worth, one.closing) if worth is not None and one.closing > 0 else None
    if unit is None:
        unit = value(stock, Decimal(1), first.method, first.at)
    again = None if beside is None else value(stock, one.closing, beside.method, beside.at)
    held = ItemUse(one.item, one.opening, one.moved, one.closing, one.theoretical, unit, one.rolled)
    return held, worth, again


def _words(asked: ValuationIn) -> str:
    names = {
        "list": "list price by the offer in force at the end of the period", "last_invoice": "last invoice",
        "weighted_average": "weighted average", "fifo": "first in, first out",
    }  # fmt: skip
    at = "" if asked.method == "list" else ", net of rebates" if asked.at == "net" else ", at invoice"
    return names[asked.method] + at
