"""What a menu asks for a drink, and the terms on which prices are judged."""

from datetime import date
from decimal import Decimal
from typing import NamedTuple

from schemas.catalogue import StoredDrink
from service.api.books import Books, steps_of, target_of, tax_of
from service.api.stored_question import Asked, line_of, price_of
from service.margins.sales import Key
from service.pricing import PriceRound, Target, Tax


class Terms(NamedTuple):
    """What holds for all drinks of a question."""

    day: date
    currency: str
    tax: Tax
    target: Target | None
    rounding: PriceRound | None


def terms_of(books: Books, day: date, target: Target | None) -> Terms:
    """The venue's terms on a day; ``target`` stands instead of its own."""
    held = books.settings(day).pricing
    currency = books.currency(day)
    own = target_of(None if held is None else held.target)
    rounding = steps_of(None if held is None else held.round, currency)
    return Terms(day, currency, tax_of(None if held is None else held.tax), target or own, rounding)


def menu_price(books: Books, key: Key, day: date, menu: str | None = None) -> Decimal | None:
    """What a menu prints for a drink with its modifiers; ``None`` where none sells it in the currency asked for."""
    if not books.takes_menu_prices(day):
        return None
    asked = Asked(key[0], books.venue, menu, key[1], None, None, day, ())
    snapshot = books.snapshot(day)
    line = line_of(snapshot, asked)
    if line is None or snapshot.held("drinks", key[0]) is None:
        return None
    drink: StoredDrink = snapshot.model("drinks", key[0])
    price = price_of(drink, asked, line)
    if price is None:
        return None
    deltas = {modifier.id: modifier.price_delta or Decimal(0) for modifier in drink.modifiers}
    return price + sum((deltas.get(one, Decimal(0)) for one in key[1]), Decimal(0))
