"""The books as answered: money half up at the currency's minor unit, percentages at 0.1, what is not known ``null``."""

from collections.abc import Callable, Mapping, Sequence
from decimal import ROUND_FLOOR, Decimal
from typing import Any

from service.costing import shares
from service.margins.classes import Classes
from service.margins.effects import Effects
from service.margins.sales import Key
from service.margins.statement import Figures, Statement, UnderTarget
from service.money import EXACT, ZERO, half_up, minor_unit_digits, money_text, snapped
from service.report.figures import Json


def money(amount: Decimal | None, currency: str) -> str | None:
    """A sum, or ``None``."""
    return None if amount is None else money_text(amount, currency)


def percent(figure: Decimal | None, places: int = 1) -> str | None:
    """A percentage half up, or ``None``."""
    return None if figure is None else format(half_up(figure, places), "f")


def quantity(figure: Decimal) -> str:
    """A quantity half up at 0.001, without noughts behind it.

    >>> quantity(Decimal("12.000")), quantity(Decimal("0.12345")), quantity(Decimal("-3.50"))
    ('12', '0.123', '-3.5')
    """
    text = format(half_up(figure, 3), "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def apportioned(parts: Sequence[Decimal], places: int) -> list[Decimal]:
    """Parts at ``places`` decimals that add up to their sum half up: largest remainder, ties by place.

    >>> [str(part) for part in apportioned([Decimal("0.335"), Decimal("0.335"), Decimal("0.33")], 2)]
    ['0.34', '0.33', '0.33']
    """
    unit = Decimal(1).scaleb(-places)
    exact = [snapped(part) for part in parts]
    whole = [EXACT.multiply(EXACT.divide(part, unit).to_integral_value(ROUND_FLOOR), unit) for part in exact]
    left = int(EXACT.divide(half_up(sum(exact, ZERO), places) - sum(whole, ZERO), unit))
    by_rest = sorted(range(len(whole)), key=lambda at: whole[at] - exact[at])
    for at in by_rest[:left]:
        whole[at] += unit
    return [part + ZERO.scaleb(-places) for part in whole]


def one_serve(total: Figures, currency: str) -> list[Json]:
    """Where the gross of a mean serve goes; the parts add up to it. None where it is not known or nothing sold."""
    if not total.complete or total.quantity <= 0 or total.after_channels is None:
        return []
    off = total.discount + total.complimentary + total.service_charge + total.deposit
    rows = [
        ("discount", total.discount), ("complimentary", total.complimentary),
        ("service_charge", total.service_charge), ("deposit", total.deposit),
        ("tax", snapped(total.gross - off - total.net)), ("pour_cost", total.pour_cost),
        ("channel_cost", total.channel_cost), ("stays", total.after_channels),
    ]  # fmt: skip
    named = [(name, EXACT.divide(part, total.quantity)) for name, part in rows if part]
    each = apportioned([part for _, part in named], minor_unit_digits(currency))
    negative = any(part < 0 for _, part in named)
    split = [None] * len(named) if negative else list(shares([part for _, part in named]))
    return [
        {"part": name, "each": money(shown, currency), "share_percent": percent(share)}
        for (name, _), shown, share in zip(named, each, split, strict=True)
    ]


def key_text(key: Key) -> str:
    """A drink with its modifiers after plus signs."""
    return "+".join((key[0], *key[1]))


def figures_row(found: Figures, currency: str, share: Decimal | None) -> Json:
    """Sums of a drink or group."""
    return {
        "quantity": quantity(found.quantity), "gross": money(found.gross, currency),
        "discount": money(found.discount, currency), "complimentary": money(found.complimentary, currency),
        "service_charge": money(found.service_charge, currency), "deposit": money(found.deposit, currency),
        "tax": money(found.tax, currency), "net": money(found.net, currency),
        "pour_cost": money(found.pour_cost, currency) if found.complete else None,
        "pour_cost_at_least": money(found.pour_cost, currency),
        "pour_cost_percent": percent(found.pour_cost_percent), "contribution": money(found.contribution, currency),
        "contribution_each": money(found.contribution_each, currency),
        "gross_margin_percent": percent(found.gross_margin_percent),
        "channel_cost": money(found.channel_cost, currency), "after_channels": money(found.after_channels, currency),
        "share_percent": percent(share), "complete": found.complete,
    }  # fmt: skip


def beside_row(first: Statement, second: Statement, words: str, at_list: Sequence[str], currency: str) -> Json:
    """The same sales by a second valuation; differences are those of the sums as shown, so that the lines add up."""
    total = {name: figures_row(one.total, currency, None) for name, one in (("first", first), ("second", second))}
    rows = []
    for key in sorted(first.drinks):
        sums = [money(one.drinks[key].pour_cost, currency) if one.drinks[key].complete else None
                for one in (first, second)]  # fmt: skip
        rows.append({
            "drink": key[0], "with": list(key[1]), "pour_cost": sums[0], "pour_cost_beside": sums[1],
            "difference": _less(sums[1], sums[0]),
        })  # fmt: skip
    names = ("pour_cost", "pour_cost_percent", "contribution", "gross_margin_percent")
    return {
        "valuation": words, "at_list": list(at_list), "total": {name: total["second"][name] for name in names},
        "pour_cost_difference": _less(total["second"]["pour_cost"], total["first"]["pour_cost"]),
        "contribution_difference": _less(total["second"]["contribution"], total["first"]["contribution"]),
        "drinks": rows,
    }  # fmt: skip


def _less(second: Any, first: Any) -> str | None:
    """The difference of two sums as shown."""
    return None if second is None or first is None else format(Decimal(second) - Decimal(first), "f")


def _shares(rows: Mapping[object, Figures]) -> dict[object, Decimal | None]:
    """Shares of net sales that add up to 100; none where a part is negative."""
    nets = [one.net for one in rows.values()]
    if any(net < 0 for net in nets):
        return dict.fromkeys(rows)
    return dict(zip(rows, shares(nets), strict=True))


def groups(rows: Mapping[str | None, Figures], currency: str) -> list[Json]:
    """Sections, menus, venues or channels, in the order of their ids; what has none comes last."""
    split = _shares(dict(rows.items()))
    ordered = sorted(rows, key=lambda name: (name is None, name or ""))
    return [{"id": name, "figures": figures_row(rows[name], currency, split[name])} for name in ordered]


def drinks(
    found: Statement, classed: Classes | None, currency: str, told: Callable[[Key], tuple[str, str | None, str | None]]
) -> list[Json]:
    """Each drink; ``told`` gives its name, section and menu."""
    words = {} if classed is None else {one.key: one.words for one in classed.drinks}
    split = _shares(dict(found.drinks.items()))
    rows: list[Json] = []
    for key in sorted(found.drinks):
        name, section, menu = told(key)
        row: Json = {
            "drink": key[0],
            "with": list(key[1]),
            "name": name,
            "section": section,
            "menu": menu,
            "in_words": words.get(key),
            "figures": figures_row(found.drinks[key], currency, split[key]),
        }
        rows.append(row)
    return rows


def thresholds(classed: Classes | None, currency: str) -> Json | None:
    """From where on a drink sells and earns well."""
    if classed is None:
        return None
    return {
        "share_percent_from": percent(classed.share_from * 100),
        "contribution_each_from": money(classed.each_from, currency),
    }


def under_target_row(row: UnderTarget, currency: str) -> Json:
    """A drink under its target."""
    return {
        "drink": row.key[0], "with": list(row.key[1]), "net_each": money(row.net_each, currency),
        "asked_net": money(row.asked_net, currency), "menu_price": money(row.back.suggested, currency),
        "determined_by": row.back.determined_by,
    }  # fmt: skip


def effects_row(found: Effects, compared_with: str, currency: str) -> Json:
    """The effects at the minor unit, still adding up: price, cost and volume half up, mix what is left.

    What the rounding of the others leaves lies in the mix, a few minor units at the most.
    """
    places = minor_unit_digits(currency)
    before, after = half_up(found.before, places), half_up(found.after, places)
    price, cost, volume = (half_up(one, places) for one in (found.price, found.cost, found.volume))
    change = after - before
    shown = {
        "before": before, "after": after, "change": change, "price": price, "mix": change - price - cost - volume,
        "volume": volume, "cost": cost,
    }  # fmt: skip
    row: Json = {"compared_with": compared_with}
    row |= {name: money(one, currency) for name, one in shown.items()}
    row["left_out"] = [key_text(key) for key in found.left_out]
    return row
