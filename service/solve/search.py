"""The search of a reformulation: least squares from several starts, then the measurable steps around what it found.

Everything is deterministic: fixed starts, no clock, no chance.
"""

from collections.abc import Callable, Sequence
from itertools import combinations, product
from math import ceil, floor

from msgspec import Struct

Residuals = Callable[[Sequence[float]], list[float]]

STARTS = 3
MOST_POINTS = 4000
"""Points that the search of the steps looks at; what is best so far stands when they are spent."""

SMALL_GRID = 300
"""A grid of so many points or fewer is looked at point by point."""


class Bounds(Struct, frozen=True):
    """A free amount: whole multiples of ``step`` between ``low`` and ``high``, beginning at ``start``."""

    low: float
    high: float
    step: float
    start: float

    @property
    def least(self) -> int:
        """The least multiple of the step."""
        return ceil(self.low / self.step - 1e-9)

    @property
    def most(self) -> int:
        """The greatest multiple of the step."""
        return floor(self.high / self.step + 1e-9)


def within(value: float, low: float, high: float) -> float:
    """``value`` where it lies between the bounds, else the nearer bound."""
    return min(max(value, low), high)


def continuous(residuals: Residuals, bounds: Sequence[Bounds]) -> list[list[float]]:
    """Amounts of least squared residuals from each start, the best first."""
    from scipy.optimize import least_squares  # a start without a solve need not load it

    found = []
    fixed = [one.high <= one.low for one in bounds]
    moving = [place for place, still in enumerate(fixed) if not still]

    def whole(part: Sequence[float]) -> list[float]:
        amounts = [one.low for one in bounds]
        for place, amount in zip(moving, part, strict=True):
            amounts[place] = float(amount)
        return amounts

    if not moving:
        return [whole(())]
    low = [bounds[place].low for place in moving]
    high = [bounds[place].high for place in moving]
    for start in starts(bounds):
        inside = [within(start[place], bounds[place].low, bounds[place].high) for place in moving]
        scale = [max(bounds[place].high - bounds[place].low, 1e-9) for place in moving]
        made = least_squares(
            lambda part: residuals(whole(part)), inside, bounds=(low, high), x_scale=scale, max_nfev=25, xtol=1e-10,
            ftol=1e-10, gtol=1e-10,
        )  # fmt: skip
        amounts = [within(one, bounds[number].low, bounds[number].high) for number, one in enumerate(whole(made.x))]
        found.append((float(made.cost), amounts))
        if made.cost < 1e-7:
            break  # Nothing is left to gain but closeness to the written amounts, which every start seeks.
    return [amounts for _, amounts in sorted(found, key=lambda row: row[0])]


def starts(bounds: Sequence[Bounds]) -> list[list[float]]:
    """The written amounts, the middle of the bounds, and a point near the upper ones."""
    return [
        [within(one.start, one.low, one.high) for one in bounds],
        [0.5 * (one.low + one.high) for one in bounds],
        [one.low + 0.9 * (one.high - one.low) for one in bounds],
    ][:STARTS]


def stepped(value: Callable[[Sequence[float]], float], bounds: Sequence[Bounds], near: Sequence[float]) -> list[float]:
    """Amounts in whole steps with the least value: every point of a small grid, else a walk from ``near``."""
    ranges = [range(one.least, one.most + 1) for one in bounds]
    size = 1
    for one in ranges:
        size = min(size * max(len(one), 1), SMALL_GRID + 1)
    if size <= SMALL_GRID:
        points = product(*ranges)
        best = min(points, key=lambda point: (value(_amounts(point, bounds)), point))
        return _amounts(best, bounds)
    return _walk(value, bounds, near)


def _amounts(point: Sequence[int], bounds: Sequence[Bounds]) -> list[float]:
    return [count * one.step for count, one in zip(point, bounds, strict=True)]


def _walk(value: Callable[[Sequence[float]], float], bounds: Sequence[Bounds], near: Sequence[float]) -> list[float]:
    """Moves of one amount, then of two at once, for as long as one of them lessens the value."""
    point = [
        int(within(round_half_up(amount / one.step), one.least, one.most))
        for amount, one in zip(near, bounds, strict=True)
    ]
    seen: dict[tuple[int, ...], float] = {}

    def at(one: Sequence[int]) -> float:
        key = tuple(one)
        if key not in seen:
            seen[key] = value(_amounts(one, bounds))
        return seen[key]

    best = at(point)
    moves = [*_single(len(bounds)), *_double(len(bounds))]
    improved = True
    while improved and len(seen) < MOST_POINTS:
        improved = False
        for move in moves:
            moved = list(point)
            for place, change in move:
                moved[place] += change
            if any(not bounds[place].least <= moved[place] <= bounds[place].most for place, _ in move):
                continue
            found = at(moved)
            if found < best - 1e-15:
                point, best, improved = moved, found, True
    return _amounts(point, bounds)


def round_half_up(value: float) -> int:
    """The nearest whole number, halves upwards, as a count of steps."""
    return floor(value + 0.5)


def _single(count: int) -> list[tuple[tuple[int, int], ...]]:
    return [((place, change),) for place in range(count) for change in (1, -1)]


def _double(count: int) -> list[tuple[tuple[int, int], ...]]:
    return [
        ((first, one), (second, other))
        for first, second in combinations(range(count), 2)
        for one, other in ((1, -1), (-1, 1), (1, 1), (-1, -1))
    ]
