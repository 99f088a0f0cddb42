"""Usage as answered: quantities at 0.001, money at the minor unit, percentages of sales at 0.01, all half up."""

from collections.abc import Mapping, Sequence
from decimal import Decimal

from service.margins.usage import EXPLAINED, ItemUse, Rolled, percent_of_sales
from service.margins.waste import Wasted
from service.money import EXACT, HUNDRED, ZERO, half_up, minor_unit_digits
from service.report.books import apportioned, money, percent, quantity
from service.report.figures import Json

Valued = tuple[ItemUse, Decimal | None, Decimal | None]
"""An item with the worth of its closing stock by one way and by another."""


def usage_sections(
    rows: Sequence[Valued], bases: Mapping[str, str], net_sales: Decimal, currency: str, beside: bool
) -> Json:
    """The items, the dearest unexplained loss first, and their total."""

    def lost(row: Valued) -> tuple[bool, Decimal, str]:
        worth = row[0].money(row[0].unexplained)
        return worth is None, -(worth or ZERO), row[0].item

    ordered = sorted(rows, key=lost)
    return {
        "items": [_item(row, bases[row[0].item], net_sales, currency, beside) for row in ordered],
        "total": _total(rows, net_sales, currency, beside),
    }


def _item(row: Valued, base: str, net_sales: Decimal, currency: str, beside: bool) -> Json:
    one, worth, again = row
    unit = one.unit_value
    parts = [*one.explained.values(), one.unexplained]
    monies = _apportioned([one.money(part) for part in parts], currency)
    return {
        "item": one.item, "base": base, "opening": quantity(one.opening),
        "moved": {name: quantity(moved) for name, moved in sorted(one.moved.items())},
        "closing": quantity(one.closing), "actual": quantity(one.actual), "theoretical": quantity(one.theoretical),
        "variance": _variance(one, one.variance, net_sales, currency),
        "explained": [
            {"type": name, "variance": _part(one, part, shown, net_sales)}
            for (name, part), shown in zip(one.explained.items(), monies, strict=False)
        ],
        "unexplained": _part(one, one.unexplained, monies[-1], net_sales),
        "unit_value": None if unit is None else format(half_up(unit, 9), "f"),
        "closing_value": money(worth, currency), "closing_value_beside": money(again, currency) if beside else None,
        "value_difference": money(_less(again, worth), currency),
        "rolled": [_rolled(rolled) for rolled in one.rolled],
    }  # fmt: skip


def _less(second: Decimal | None, first: Decimal | None) -> Decimal | None:
    return None if second is None or first is None else EXACT.subtract(second, first)


def _variance(one: ItemUse, part: Decimal, net_sales: Decimal, currency: str) -> Json:
    worth = one.money(part)
    share = percent(percent_of_sales(worth, net_sales), 2)
    return {"quantity": quantity(part), "money": money(worth, currency), "percent_of_sales": share}


def _part(one: ItemUse, part: Decimal, shown: str | None, net_sales: Decimal) -> Json:
    """A part of a variance, in the money that makes all parts add up."""
    share = percent(percent_of_sales(one.money(part), net_sales), 2)
    return {"quantity": quantity(part), "money": shown, "percent_of_sales": share}


def _apportioned(parts: Sequence[Decimal | None], currency: str) -> list[str | None]:
    """Sums at the minor unit that add up to what is shown of their sum; ``None`` where one is not known."""
    known = [part for part in parts if part is not None]
    if len(known) < len(parts):
        return [None] * len(parts)
    return [money(part, currency) for part in apportioned(known, minor_unit_digits(currency))]


def _rolled(rolled: Rolled) -> Json:
    moved = [{"day": one.day.isoformat(), "type": one.type, "quantity": quantity(one.quantity)} for one in rolled.moved]
    return {
        "counted_on": rolled.count.day.isoformat(), "cut_off": rolled.to.isoformat(),
        "counted": quantity(rolled.count.quantity), "moved": moved, "sold": quantity(rolled.sold),
        "quantity": quantity(rolled.quantity),
    }  # fmt: skip


def _sum(parts: Sequence[Decimal | None]) -> Decimal | None:
    """The sum; ``None`` where a part is not known."""
    whole = ZERO
    for part in parts:
        if part is None:
            return None
        whole = EXACT.add(whole, part)
    return whole


def _total(rows: Sequence[Valued], net_sales: Decimal, currency: str, beside: bool) -> Json:
    variance = _sum([one.money(one.variance) for one, _, _ in rows])
    unexplained = _sum([one.money(one.unexplained) for one, _, _ in rows])
    types = [name for name in EXPLAINED if any(name in one.explained for one, _, _ in rows)]
    by_type = [_sum([one.money(one.explained[name]) for one, _, _ in rows if name in one.explained]) for name in types]
    *monies, rest = _apportioned([*by_type, unexplained], currency)
    explained = dict(zip(types, monies, strict=True))
    first = _sum([worth for _, worth, _ in rows])
    second = _sum([again for _, _, again in rows]) if beside else None
    return {
        "net_sales": money(net_sales, currency), "variance": money(variance, currency), "explained": explained,
        "unexplained": rest,
        "unexplained_percent_of_sales": percent(percent_of_sales(unexplained, net_sales), 2),
        "closing_value": money(first, currency), "closing_value_beside": money(second, currency),
        "value_difference": money(_less(second, first), currency),
    }  # fmt: skip


def waste_section(
    rows: Sequence[tuple[str | None, Wasted]],
    missing: Sequence[tuple[str, str, str]],
    sold: tuple[Decimal, Decimal],
    currency: str,
    assumes: str,
) -> Json:
    """What is thrown away at each venue, the dearest first, in sums that add up; ``None`` where one is not known.

    ``sold`` are the serves and their net sales.
    """
    serves, net_sales = sold
    ordered = sorted(rows, key=lambda row: (row[1].money is None, -(row[1].money or ZERO), row[1].taken.stored.ref))
    known = [one.money for _, one in ordered if one.money is not None]
    shown = [*_apportioned(known, currency), *[None] * (len(ordered) - len(known))]
    least = sum(known, ZERO)
    whole = least if len(known) == len(ordered) and not missing else None
    return {
        "assumes": assumes,
        "rows": [_wasted(venue, one, sum_) for (venue, one), sum_ in zip(ordered, shown, strict=True)],
        "money": money(whole, currency), "money_at_least": money(least, currency),
        "each": None if whole is None or serves <= 0 else format(half_up(EXACT.divide(whole, serves), 6), "f"),
        "percent_of_sales": percent(percent_of_sales(whole, net_sales), 2),
        "missing": [{"drink": drink, "item": item, "field": field} for drink, item, field in missing],
    }  # fmt: skip


def _wasted(venue: str | None, one: Wasted, shown: str | None) -> Json:
    taken, stored = one.taken, one.taken.stored
    share = None
    if one.thrown is not None:
        share = percent(EXACT.divide(EXACT.multiply(HUNDRED, one.thrown), EXACT.add(taken.used, one.thrown)))
    return {
        "venue": venue, "item": stored.ref, "kind": "opened" if stored.part is None else "part", "base": stored.base,
        "batch": None if stored.batch is None else quantity(stored.batch), "life_days": stored.life_days,
        "used": quantity(taken.used), "thrown": None if one.thrown is None else quantity(one.thrown),
        "thrown_percent": share, "money": shown,
    }  # fmt: skip
