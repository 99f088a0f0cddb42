"""What is asked of a menu at its prices: rows of sales out of its lines and a mix."""

from collections.abc import Iterator, Mapping
from datetime import timedelta
from decimal import Decimal

from schemas.catalogue import Menu, MenuEntry
from schemas.margins import MenuMarginsQuery
from schemas.sales import SaleIn
from service.api.books import Books, steps_of, target_of, tax_of
from service.api.questions import Question, SentRow
from service.api.stored_question import is_priced_in
from service.errors import InputFault
from service.margins.calendar import Period, TradingDay
from service.pricing import Tax
from service.venue import on_menu


def menu_question(
    menu: Menu, period: Period, compared: Period | None, query: MenuMarginsQuery, books: Books
) -> Question:
    """The books of a menu as of the last day of each period, sold on each of its days. Raises ``InputFault``."""
    day = period.last
    mix = mix_of(query.mix)
    held = books.settings(day).pricing
    currency = books.currency(day)
    rows, sold = _entries(menu, period, mix, books)
    if mix is not None and mix.keys() - sold:
        raise InputFault("drink_unknown", "The mix names what the menu does not sell on that day.", "/mix")
    if compared is not None:
        then = books.snapshot(compared.last)
        if then.held("menus", menu.id) is not None:  # It may be younger than that.
            rows += _entries(then.model("menus", menu.id), compared, mix, books)[0]
    target = target_of(query.target or (None if held is None else held.target))
    rounding = steps_of(None if held is None else held.round, currency)
    taxes: dict[str | None, Tax] = {None: tax_of(None if held is None else held.tax)}
    zone = TradingDay.of("UTC")
    return Question(
        period, compared, zone, books.venue, target, rounding, currency, taxes, False, {}, {}, rows,
        paced=mix is not None,
    )  # fmt: skip


def _entries(
    menu: Menu, period: Period, mix: Mapping[str, Decimal] | None, books: Books
) -> tuple[list[SentRow], set[str]]:
    """What a menu sells over a period as rows, and the drinks on it that have a price."""
    day = period.last
    snapshot = books.snapshot(day)
    rows: list[SentRow] = []
    sold = set()
    priced = is_priced_in(snapshot, menu, books.venue)
    for place, entry in on_menu(menu, day):
        key = "+".join((entry.drink, *entry.with_))
        known = snapshot.held("drinks", entry.drink) is not None
        if entry.menu_price is None or not priced or not known:
            books.missing[key, entry.drink, "menu_price" if known else "drink"] = None
            continue
        asked = Decimal(period.days) if mix is None else mix.get(key, Decimal(0))
        serves = 0 if mix is not None and key in sold else int(asked)  # A mix counts a drink that stands twice once.
        rows += [SentRow(f"/entries/{place}", row) for row in _rows(entry, entry.menu_price, serves, period)]
        sold.add(key)
    return rows, sold


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
