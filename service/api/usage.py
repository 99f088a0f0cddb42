"""The straight line of usage: counts, movements and sales of a request to variances by item."""

from collections.abc import Callable, Mapping, Sequence
from datetime import date, timedelta
from decimal import Decimal

from schemas.usage import CountIn, StockIn, UsageRequest, ValuationIn
from service.api.bookkeeping import meta, period_row, read
from service.api.bookkeeping import missing_rows as costs_missing
from service.api.books import Books, tax_of
from service.api.questions import Question, period_of, trading_day
from service.api.questions import SentRow as Sent
from service.api.stock import Sizes, list_prices, once, stock_of, words
from service.api.theory import Theory, theory_of
from service.costtree import FREE_KINDS
from service.errors import InputFault
from service.evaluate import measures_of
from service.margins.bought import Used
from service.margins.calendar import Period
from service.margins.counting import Counted, counted
from service.margins.sales import NetSale
from service.margins.usage import Count, ItemUse, Movement, usage
from service.margins.valuation import Stock, value
from service.money import EXACT
from service.pricing import Tax
from service.report import stock as told
from service.report.figures import Json

_FOLLOWING = timedelta(days=40)
"""How far beside the period rows of sales are used, where counts are rolled."""


class Sheet:
    """The counts of a request in base units; parts broken down to what they are made of."""

    def __init__(self, asked: UsageRequest, books: Books, period: Period, theory: Theory) -> None:
        self.asked, self.books, self.period, self.theory = asked, books, period, theory
        self.sizes = Sizes(measures_of(books.settings(period.last).measures))
        self.bases, self.sized = self.sizes.bases, self.sizes.sized
        self._outputs = theory.outputs

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
        for (item, base), quantity in self.theory.apart(parts, latest=name == "closing").items():
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
        catalogue = snapshot.catalogue(self.books.venue, self.sizes.measures)
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
        stated = {row.item: (pointer, row) for pointer, row in once(self.asked.stock, "stock")}
        found = {}
        for item, quantity in opening.items():
            pointer, row = stated.get(item, ("", StockIn(item=item)))
            listed, last = list_price(item), self.period.last
            found[item], _ = stock_of(row, pointer, self.sizes, quantity, listed, last)
            if row.purchases and quantity > 0 and not found[item].opening:
                self.books.missing["several", item, "opening_value"] = None
        return found


def question_of(asked: UsageRequest, books: Books) -> Question:
    """The sales of the request as the books read them, with some days beside the period for counts that are rolled."""
    period = period_of(asked.period, "/period")
    wide = period
    if not date.min + _FOLLOWING < period.first <= period.last < date.max - _FOLLOWING:
        raise InputFault(
            "period_out_of_range", "Counts stand beside the period, and the calendar ends there.", "/period"
        )
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
    stocks = sheet.stocks(
        {one.item: one.opening for one in found}, list_prices(books, period.last, currency, sheet.sizes)
    )
    counted_items = {one.item for one in found}
    valued = [_valued(one, stocks[one.item], asked.valuation, asked.beside) for one in found]
    net = sum((row.net for row in rows if period.holds(row.sale.day)), Decimal(0))
    body = told.usage_sections(valued, sheet.bases, net, currency, asked.beside is not None)
    return {
        "currency": currency, "period": period_row(period), "valuation": words(asked.valuation),
        "beside": None if asked.beside is None else words(asked.beside), **body,
        "not_counted": sorted({item for item, _ in taken if not _free(books, item)} - counted_items),
        "missing": costs_missing(books), "meta": meta(books, period.last, words(asked.valuation)),
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
