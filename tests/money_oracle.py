"""A slow oracle of costs and prices in whole fractions, written from the contract and not from the service's code.

It knows nothing of decimals, contexts or data classes of the service: numbers come in as :class:`Fraction`, texts go
out. Where the contract says half up, it is done on integers.
"""

from fractions import Fraction
from math import ceil, floor

ONE_HUNDRED = Fraction(100)


def frac(number: object) -> Fraction:
    """The exact fraction of a decimal or of its text."""
    return Fraction(str(number))


def half_up_text(exact: Fraction, places: int) -> str:
    """Nearest decimal with ``places`` places, halves away from zero, as text."""
    scale = 10**places
    magnitude = abs(exact) * scale
    units = (2 * magnitude.numerator + magnitude.denominator) // (2 * magnitude.denominator)
    sign = "-" if exact < 0 and units else ""
    whole, rest = divmod(units, scale)
    return f"{sign}{whole}.{rest:0{places}d}" if places else f"{sign}{whole}"


def pack_unit_cost(
    *,
    price: Fraction,
    count: Fraction,
    size: Fraction,
    discount_percent: Fraction = Fraction(0),
    delivery: Fraction = Fraction(0),
    rebate: Fraction = Fraction(0),
    duty: Fraction = Fraction(0),
    free_units: Fraction = Fraction(0),
    tax_percent_inside: Fraction = Fraction(0),
    rate: Fraction = Fraction(1),
    residue: Fraction = Fraction(0),
) -> Fraction:
    """What one ml, g or piece costs: everything paid for the pack, net of tax, over everything that comes out."""
    paid = price - price * discount_percent / ONE_HUNDRED + delivery - rebate + duty
    net = paid / (1 + tax_percent_inside / ONE_HUNDRED)
    comes_out = sum((size - residue for _ in range(int(count + free_units))), Fraction(0))
    return net * rate / comes_out


def serve(
    lines: list[tuple[str, bool, Fraction]],
    over_pour_percent: Fraction,
    spillage_percent: Fraction,
    serves: int,
    labour: Fraction = Fraction(0),
) -> dict[str, Fraction]:
    """Contract, arithmetic 3, on lines given as (role, measured by volume, cost), for one serve."""
    poured = [(volume, cost) for role, volume, cost in lines if role in ("pour", "top", "rinse")]
    ingredients = sum((cost for _, cost in poured), Fraction(0))
    garnish = sum((cost for role, _, cost in lines if role == "garnish"), Fraction(0))
    consumables = sum((cost for role, _, cost in lines if role == "consumable"), Fraction(0))
    over_pour = sum((cost for volume, cost in poured if volume), Fraction(0)) * over_pour_percent / ONE_HUNDRED
    spillage = (ingredients + garnish) * spillage_percent / ONE_HUNDRED
    pour_cost = ingredients + garnish + over_pour + spillage
    return {
        "ingredients": ingredients / serves,
        "garnish": garnish / serves,
        "allowances": (over_pour + spillage) / serves,
        "pour_cost": pour_cost / serves,
        "consumables": consumables / serves,
        "serve_cost": (pour_cost + consumables) / serves + labour,
    }


def largest_remainder(costs: list[Fraction]) -> list[str]:
    """Shares in tenths of a percent that make 100.0, the seats going to the largest remainders, first come first."""
    total = sum(costs, Fraction(0))
    exact = [cost / total * 1000 for cost in costs]
    seats = [floor(share) for share in exact]
    queue = sorted(((floor(share) - share, index) for index, share in enumerate(exact)))
    for _, index in queue[: 1000 - sum(seats)]:
        seats[index] += 1
    return [f"{seat // 10}.{seat % 10}" for seat in seats]


def asked_net(cost: Fraction, target: dict[str, Fraction]) -> Fraction:
    """The highest net price that solves one of the targets for the price."""
    asked = []
    if "gross_margin_percent" in target:  # (p - c) / p = m
        asked.append(cost / (1 - target["gross_margin_percent"] / ONE_HUNDRED))
    if "pour_cost_percent" in target:  # c / p = s
        asked.append(cost / (target["pour_cost_percent"] / ONE_HUNDRED))
    if "markup_percent" in target:  # (p - c) / c = k
        asked.append(cost + cost * target["markup_percent"] / ONE_HUNDRED)
    if "cash_margin" in target:  # p - c = k
        asked.append(cost + target["cash_margin"])
    return max(asked)


def taxed(net: Fraction, taxes: list[tuple[Fraction, str]]) -> Fraction:
    """The price with taxes, each as (rate in percent, net or net_and_previous), added one after the other."""
    levied: list[Fraction] = []
    for rate, base in taxes:
        basis = net + sum(levied, Fraction(0)) if base == "net_and_previous" else net
        levied.append(basis * rate / ONE_HUNDRED)
    return net + sum(levied, Fraction(0))


def stepped(price: Fraction, step: Fraction, mode: str, offset: Fraction = Fraction(0)) -> Fraction:
    """The price on the grid offset + n x step, n a whole number that is not negative."""
    position = (price - offset) / step
    below, above = floor(position), ceil(position)
    if mode == "up":
        chosen = above
    elif mode == "down":
        chosen = below
    else:
        chosen = below if position - below < Fraction(1, 2) else below + 1
    return offset + max(chosen, 0) * step


def margins(price: Fraction, cost: Fraction, factor: Fraction, places: int) -> dict[str, str]:
    """Net, tax and percentages of a price that holds its taxes, as texts."""
    net = price / factor
    net_text = half_up_text(net, places)
    return {
        "net": net_text,
        "tax": half_up_text(price - Fraction(net_text), places),
        "gross_margin_percent": half_up_text((net - cost) / net * 100, 1),
        "pour_cost_percent": half_up_text(cost / net * 100, 1),
    }
