"""What is asked of a menu at its prices: rows of sales out of its lines and a mix."""

from collections.abc import Iterator
from datetime import timedelta
from decimal import Decimal

from schemas.catalogue import Menu, MenuEntry
from schemas.margins import MenuMarginsQuery
from schemas.sales import SaleIn
from service.api.books import Books, steps_of, target_of, tax_of
from service.api.questions import Question, SentRow
from service.errors import InputFault
from service.margins.calendar import Period, TradingDay
from service.pricing import Tax
from service.venue import on_menu


def menu_question(menu: Menu, period: Period, query: MenuMarginsQuery, books: Books) -> Question:
    """The books of a menu as of the last day, sold on each day of a period. Raises ``InputFault``."""
    day = period.last
    mix = mix_of(query.mix)
    held = books.settings(day).pricing
    currency = books.currency(day)
    snapshot = books.snapshot(day)
    rows: list[SentRow] = []
    for place, entry in on_menu(menu, day):
        key = "+".join((entry.drink, *entry.with_))
        known = snapshot.held("drinks", entry.drink) is not None
        if entry.menu_price is None or not known:
            books.missing[key, entry.drink, "menu_price" if known else "drink"] = None
            continue
        serves = period.days if mix is None else int(mix.pop(key, Decimal(0)))
        rows += [SentRow(f"/entries/{place}", row) for row in _rows(entry, entry.menu_price, serves, period)]
    if mix:
        raise InputFault("drink_unknown", "The mix names what the menu does not sell on that day.", "/mix")
    target = target_of(query.target or (None if held is None else held.target))
    rounding = steps_of(None if held is None else held.round, currency)
    taxes: dict[str | None, Tax] = {None: tax_of(None if held is None else held.tax)}
    zone = TradingDay.of("UTC")
    return Question(
        period, None, zone, books.venue, target, rounding, currency, taxes, False, {}, {}, rows, None, mix is not None
    )


def _rows(entry: MenuEntry, price: Decimal, serves: int, period: Period) -> Iterator[SaleIn]:
    """Whole serves as evenly over the days as they go: day n of d has floor(n q / d) - floor((n - 1) q / d)."""
    for number in range(period.days):
        each = serves * (number + 1) // period.days - serves * number // period.days
        if each or period.days == 1:
            body = {"drink": entry.drink, "with": entry.with_, "day": period.first + timedelta(days=number)}
            figures = {"quantity": str(each), "gross": format(price * each, "f")}
            yield SaleIn.model_validate({**body, **figures})


def mix_of(text: str | None) -> dict[str, Decimal] | None:
    """Serves by drink, out of ``fog-signal:120,long-jetty+double:80``. Raises ``InputFault``."""
    if text is None:
        return None
    found: dict[str, Decimal] = {}
    for part in text.split(","):
        name, colon, figure = part.strip().partition(":")
        plain = figure.isascii() and figure.isdigit() and len(figure) <= 7
        if not colon or not name or not plain or name in found:
            detail = "Expected drinks with whole numbers of serves, each once, such as fog-signal:120,long-jetty:80."
            raise InputFault("mix_unreadable", detail, "/mix")
        found[name] = Decimal(figure)
    return found
