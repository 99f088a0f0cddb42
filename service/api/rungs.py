"""The straight line of a price ladder: the fewest and smallest changes of price for a margin."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal

from schemas.moves import LadderRequest, RungIn
from service.api.bookkeeping import meta
from service.api.books import Books, steps_of
from service.api.menuprices import Terms, menu_price, terms_of
from service.errors import InputFault, InputFaults
from service.margins.ladder import Rung, ladder
from service.money import EXACT, HUNDRED, minor_unit_digits
from service.pricing import PriceRound
from service.report import books as told
from service.report.figures import Json


def ladder_body(asked: LadderRequest, books: Books, day: date) -> Json:
    """The fewest and smallest changes of price."""
    terms = terms_of(books, day, None)
    grid = steps_of(asked.steps, terms.currency) or terms.rounding
    rungs: list[Rung] = []
    faults: list[InputFault] = []
    for number, one in enumerate(asked.drinks):
        try:
            rungs.append(_rung(one, asked, books, terms, grid))
        except InputFault as fault:
            faults.append(fault.at(f"/drinks/{number}"))
    if faults:
        raise InputFaults(faults)
    found = ladder(rungs, asked.margin_percent)
    new = dict(found.prices)
    keys = {told.key_text((one.drink, one.with_)): one for one in asked.drinks}
    method = "all choices of the fewest changes, by branch and bound"
    if not found.exact:
        method = "the largest gains, each lowered to the least point that does; not every choice was looked at"
    return {
        "currency": terms.currency, "met": found.met, "exact": found.exact, "method": method,
        "margin_before": told.percent(_weighted(rungs, {})), "margin_after": told.percent(_weighted(rungs, new)),
        "changes": [
            {"drink": keys[one.id].drink, "with": list(keys[one.id].with_),
             "from": told.money(one.price, terms.currency), "to": told.money(new[one.id], terms.currency)}
            for one in rungs if one.id in new
        ],
        "meta": meta(books, day),
    }  # fmt: skip


def _rung(one: RungIn, asked: LadderRequest, books: Books, terms: Terms, grid: PriceRound | None) -> Rung:
    key = (one.drink, one.with_)
    price = one.menu_price if one.menu_price is not None else menu_price(books, key, terms.day, asked.menu)
    if price is None:
        raise InputFault("menu_price_missing", "No menu has a price for it; state one.", "/menu_price")
    cost = one.pour_cost if one.pour_cost is not None else books.cost(key, terms.day)
    if cost is None:
        raise InputFault("pour_cost_missing", "Its cost is not known; state one.", "/pour_cost")
    points = one.points if one.points is not None else _points(price, asked.highest_percent, grid, terms.currency)
    return Rung(told.key_text(key), price, one.quantity, cost, terms.tax.menu_factor(), points)


def _points(price: Decimal, percent: Decimal, grid: PriceRound | None, currency: str) -> tuple[Decimal, ...]:
    steps = grid or PriceRound(Decimal(1).scaleb(-minor_unit_digits(currency)))
    highest = EXACT.divide(EXACT.multiply(price, HUNDRED + percent), HUNDRED)
    found: list[Decimal] = []
    point = steps.price(price, "up")
    while point <= highest and len(found) < 100:
        if point > price:
            found.append(point)
        point = EXACT.add(point, steps.step)
    return tuple(found)


def _weighted(rungs: list[Rung], new: Mapping[str, Decimal]) -> Decimal | None:
    net = cost = Decimal(0)
    for one in rungs:
        each = EXACT.divide(new.get(one.id, one.price), one.factor)
        net = EXACT.add(net, EXACT.multiply(one.quantity, each))
        cost = EXACT.add(cost, EXACT.multiply(one.quantity, one.cost))
    return None if net <= 0 else EXACT.divide(EXACT.multiply(HUNDRED, EXACT.subtract(net, cost)), net)
