"""The band on what a serve costs: the same sums with each line poured a little over and under, exact decimals.

What an input does to the pour cost is half the difference of the two sums; effects add by squares, and two of the sum
either way are about 95 % (see :mod:`service.uncertainty`, which says the same in floats for what is no money).
"""

from collections.abc import Mapping, Sequence
from decimal import Decimal, localcontext

from msgspec import Struct

from service.costing import GROUPS, Allowances, LineCost, serve_costs
from service.money import EXACT, HUNDRED, ZERO

COVERAGE_FACTOR = Decimal(2)
HALF = Decimal("0.5")


class CostBand(Struct, frozen=True):
    """Unrounded money of one serve; ``shares_percent`` is of the square of the uncertainty, input by input."""

    low: Decimal
    high: Decimal
    standard: Decimal
    shares_percent: tuple[Decimal, ...]


class CostedLines(Struct, frozen=True):
    """The lines of a whole spec with their costs, by the numbers that the lines have in it."""

    lines: Mapping[int, LineCost]
    allowances: Allowances
    serves: int

    def pour_cost(self, poured: Mapping[int, Decimal]) -> Decimal | None:
        """The pour cost of one serve with some lines poured over or under; ``None`` where a cost is unknown.

        ``poured`` is the volume of a line over that of the spec. What is opened whole costs the same.
        """
        rows = [_scaled(row, poured.get(number)) for number, row in self.lines.items()]
        return serve_costs(rows, self.allowances, self.serves).pour_cost


def _scaled(row: LineCost, times: Decimal | None) -> LineCost:
    if times is None or row.cost is None or row.line.whole_unit or row.line.role not in GROUPS:
        return row
    cost = EXACT.multiply(row.cost, times)
    return LineCost(row.line, cost, cost, row.missing)


def cost_band(costed: CostedLines, moved: Sequence[tuple[Mapping[int, Decimal] | None, ...]]) -> CostBand | None:
    """The band on the pour cost; ``moved`` has, for each input, what is poured with it one down and one up.

    ``None`` in a pair stands for a drink that cannot be made so: the other side then stands for both. ``None`` as the
    result where the cost is not known.
    """
    centre = costed.pour_cost({})
    if centre is None:
        return None
    with localcontext(EXACT):
        effects = []
        for pair in moved:
            sides = [None if side is None else costed.pour_cost(side) for side in pair]
            effects.append(_effect(centre, sides[0], sides[1]))
        whole = sum([one * one for one in effects], ZERO)
        standard = whole.sqrt()
        width = COVERAGE_FACTOR * standard
        shares = tuple([HUNDRED * one * one / whole if whole else ZERO for one in effects])
        return CostBand(max(ZERO, centre - width), centre + width, standard, shares)


def _effect(centre: Decimal, low: Decimal | None, high: Decimal | None) -> Decimal:
    if low is not None and high is not None:
        return (high - low) * HALF
    if high is not None:
        return high - centre
    return ZERO if low is None else centre - low
