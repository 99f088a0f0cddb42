"""The straight line of a period's books: rows of a request or file to net sales, costed, summed, told."""

from collections.abc import Callable, Iterable, Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import Any, Final

from schemas.sales import SaleIn
from service.api.books import Books
from service.api.questions import Question, Read
from service.api.valuing import LISTED, sides
from service.api.waste import waste_body
from service.errors import InputFault, InputFaults
from service.margins.calendar import Period, TradingDay
from service.margins.classes import classes
from service.margins.effects import effects, sold_of
from service.margins.sales import Channel, Key, NetSale, Sale, net_sale
from service.margins.statement import Placed, Statement, statement, under_target
from service.pricing import Tax
from service.report import books as told
from service.report.figures import Json
from service.rules import rules

MOST_COSTS: Final = 20_000
"""Costs of a drink on a day that one request may have computed."""


def read(question: Question, books: Books, venue_of: Callable[[str | None], str | None]) -> Read:
    """The rows in net money. Raises ``InputFaults``: every row that cannot be used, so that nothing is half counted."""
    faults: list[InputFault] = []
    now: list[NetSale] = []
    then: list[NetSale] = []
    outside = 0
    ids: dict[date, dict[str, Key]] = {}
    for number, placed in enumerate(question.rows):
        try:
            day = _day_of(placed.row, question.day)
            within = question.period.holds(day)
            if not within and (question.compared is None or not question.compared.holds(day)):
                outside += 1
                continue
            sale = _sale(number, placed.row, day, question, books, ids, venue_of)
            row = _net(sale, question)
        except InputFault as fault:
            # A fault of the whole row's money names its field last; the place of the row comes from what was sent.
            place = f"{placed.pointer}/{fault.pointer.rsplit('/', 1)[-1]}" if fault.pointer else placed.pointer
            faults.append(InputFault(fault.code, fault.detail, place))
            if len(faults) >= 100:
                break
            continue
        (now if within else then).append(row)
    if faults:
        raise InputFaults(faults)
    found = Read(_in_order(now), _in_order(then), outside)
    if found.costs > MOST_COSTS:
        detail = f"More than {MOST_COSTS:,} costs of a drink on a day are needed; ask for fewer days or drinks at once."
        raise InputFault("too_many", detail)
    return found


def _in_order(rows: list[NetSale]) -> tuple[NetSale, ...]:
    return tuple(sorted(rows, key=lambda row: row.sale.day))


def _day_of(row: SaleIn, day: TradingDay) -> date:
    if row.day is not None:
        return row.day
    assert row.at is not None
    try:
        return day.date_of(datetime.fromisoformat(row.at))
    except (ValueError, OverflowError):
        raise InputFault("moment_unreadable", "Expected a moment such as 2026-11-14T23:10.", "/at") from None


def _sale(
    number: int,
    row: SaleIn,
    day: date,
    question: Question,
    books: Books,
    ids: dict[date, dict[str, Key]],
    venue_of: Callable[[str | None], str | None],
) -> Sale:
    key: Key | None = None
    if row.drink is not None:
        known = row.drink in question.stated or books.snapshot(question.period.last).held("drinks", row.drink)
        if not known:
            raise InputFault("drink_unknown", "There is no drink of this id.", "/drink")
        key = (row.drink, ())
    else:
        last = question.period.last
        if last not in ids:
            ids[last] = books.till_ids(last)
        key = ids[last].get(row.external_id or "")
        if key is None:
            detail = "No drink and no line of a menu has this id of the till; put it on one of them."
            raise InputFault("external_id_unknown", detail, "/external_id")
    with_ = books.modifiers(key[0], row.with_, question.period.last)
    return Sale(
        number, day, key[0], row.quantity, row.gross, (*key[1], *with_), row.discount, row.complimentary,
        row.service_charge, row.deposit, row.channel, row.tax_class, row.timed_price, venue_of(row.venue),
    )  # fmt: skip


def _net(sale: Sale, question: Question) -> NetSale:
    taxes: Mapping[str | None, Tax] = question.taxes
    channels = question.channels
    if channels is None:  # A file states no costs of its channels.
        channels = {} if sale.channel is None else {sale.channel: Channel(sale.channel)}
    if question.rate_classes and sale.tax_class is not None:
        text = sale.tax_class.removesuffix("%").strip()
        if not text.replace(".", "", 1).isdigit() or len(text) > 10 or not text.isascii() or Decimal(text) > 1000:
            raise InputFault("tax_class_rate", "In a file a tax class is its rate in percent.", "/tax_class")
        taxes = {sale.tax_class: Tax.at_rate(Decimal(text), question.taxes[None].included)}
    return net_sale(sale, taxes, channels)


def margins_body(question: Question, found: Read, books: Books) -> Json:
    """The answer: sums, groups, classes, what is under target, effects, what is missing."""
    first, *second = sides(question, found, books)
    now = _statement(found.now, question, first.now)
    last = question.period.last
    classed = classes(now.drinks)
    compared: Json | None = None
    if question.compared is not None:
        before = _statement(found.then, question, first.then)
        sold_now, unknown_now = sold_of(now.drinks)
        sold_then, unknown_then = sold_of(before.drinks)
        change = effects(sold_then, sold_now, frozenset(unknown_now | unknown_then))
        compared = told.effects_row(change, question.compared.name, question.currency)
    under = []
    if question.target is not None:
        tax = question.taxes[None]
        under = under_target(now.drinks, question.target, lambda _: tax, question.rounding, question.currency)

    def about(key: Key) -> tuple[str, str | None, str | None]:
        if key[0] in question.stated:
            name, section, _ = question.stated[key[0]]
            return name, section, None
        menu, section = books.line(key, last)
        return books.name(key, last), section, menu

    currency = question.currency
    beside: Json | None = None
    for one in second:
        other = _statement(found.now, question, one.now)
        at_list = one.at_list(found, question.stated)
        beside = told.beside_row(now, other, one.words, at_list, currency)
    return {
        "currency": currency,
        "period": period_row(question.period),
        "rows": len(found.now) + len(found.then), "rows_outside": found.outside,
        "total": told.figures_row(now.total, currency, Decimal(100) if now.total.net > 0 else None),
        "drinks": told.drinks(now, classed, currency, about),
        "sections": told.groups(now.sections, currency), "menus": told.groups(now.menus, currency),
        "venues": told.groups(now.venues, currency), "channels": told.groups(now.channels, currency),
        "one_serve": told.one_serve(now.total, currency),
        "thresholds": told.thresholds(classed, currency),
        "under_target": [told.under_target_row(row, currency) for row in under],
        "effects": compared,
        "at_list": first.at_list(found, question.stated), "beside": beside,
        "waste": waste_body(found.now, question, first.now),
        "missing": missing_rows(books),
        "meta": meta(books, last, first.words),
    }  # fmt: skip


def _statement(rows: Iterable[NetSale], question: Question, books: Books) -> Statement:
    def cost_of(sale: Sale) -> Decimal | None:
        if sale.drink in question.stated:
            return question.stated[sale.drink][2]
        return books.cost(sale.key, sale.day, sale.venue)

    lines: dict[Any, tuple[str | None, str | None]] = {}

    def placed(row: NetSale) -> Placed:
        sale = row.sale
        if sale.drink in question.stated:
            return Placed(question.stated[sale.drink][1], None, sale.venue)
        place = (sale.key, sale.venue)
        if place not in lines:
            lines[place] = books.line(sale.key, sale.day, sale.venue)
        menu, section = lines[place]
        return Placed(section, menu, sale.venue)

    return statement(rows, cost_of, placed)


def period_row(period: Period) -> Json:
    """A period as answered."""
    first, last = period.first.isoformat(), period.last.isoformat()
    return {"name": period.name, "first": first, "last": last, "days": period.days}


def missing_rows(books: Books) -> list[Json]:
    """Costs that were asked for and are not known."""
    return [{"drink": drink, "item": item, "field": field} for drink, item, field in books.missing]


def meta(books: Books, last: date, valuation: str = LISTED) -> Json:
    """What the figures were made from."""
    snapshot = books.snapshot(last)
    return {
        "rules_version": rules().version, "data_version": snapshot.data_version, "cost_version": snapshot.version,
        "as_of": last.isoformat(), "valuation": valuation, "venue": books.venue,
    }  # fmt: skip
