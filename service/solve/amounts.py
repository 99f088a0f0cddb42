"""Amounts that make a mixture meet equations: Newton's method on the density model, since volumes do not add."""

from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

from service.mixture import Mixture, Part, Substance, mixture

Residual = Callable[[Mixture], float]

MOST_STEPS = 40
CLOSE = 1e-12
"""Residual over scale at which an equation holds; masses are then conserved far below 1e-9."""

NOTHING_G = 1e-9
"""Below this an amount is the rounding of nothing."""


class Equation(NamedTuple):
    """``residual`` of the mixture has to be 0; ``scale`` is what it is measured by."""

    name: str
    residual: Residual
    scale: float

    def value(self, mix: Mixture, amounts: Sequence[float]) -> float:
        """The scaled residual."""
        del amounts
        return self.residual(mix) / self.scale


class Proportion(NamedTuple):
    """Base units of columns, by their place, whose weighted sum has to be 0."""

    weights: Mapping[int, float]

    def value(self, mix: Mixture, amounts: Sequence[float]) -> float:
        """The residual in the unit of the weights."""
        del mix
        return sum(weight * amounts[place] for place, weight in self.weights.items())


def whole_of(fixed: Sequence[Part], columns: Sequence[Substance], amounts: Sequence[float]) -> Mixture:
    """The fixed parts with so many base units of each column."""
    return mixture([*fixed, *(Part(made, base) for made, base in zip(columns, amounts, strict=True))])


def solved(
    fixed: Sequence[Part],
    columns: Sequence[Substance],
    equations: Sequence[Equation | Proportion],
    start: Sequence[float],
) -> list[float] | None:
    """Base units of each column, as many as there are equations; ``None`` where there are none or some are below 0.

    All equations but those of a volume are linear, so that a few steps of Newton's method end it.
    """
    assert len(columns) == len(equations)
    amounts = list(start)
    for _ in range(MOST_STEPS):
        residuals = scaled_residuals(fixed, columns, amounts, equations)
        if max(map(abs, residuals), default=0.0) <= CLOSE:
            break
        step = linear_solution(jacobian(fixed, columns, amounts, equations, residuals), [-one for one in residuals])
        if step is None:
            return None
        amounts = _moved(amounts, step)
    else:
        return None
    if any(one < -NOTHING_G for one in amounts):
        return None
    return [max(one, 0.0) for one in amounts]


def _moved(amounts: Sequence[float], step: Sequence[float]) -> list[float]:
    """Amounts may pass below 0 only slightly on the way: the density model knows no negative masses."""
    return [amount + change for amount, change in zip(amounts, step, strict=True)]


def jacobian(
    fixed: Sequence[Part],
    columns: Sequence[Substance],
    amounts: Sequence[float],
    equations: Sequence[Equation | Proportion],
    residuals: Sequence[float],
) -> list[list[float]]:
    """How each scaled residual changes with each amount, by a small difference."""
    rows: list[list[float]] = [[] for _ in equations]
    for place, amount in enumerate(amounts):
        width = 1e-4 * max(abs(amount), 1.0)
        moved = list(amounts)
        moved[place] = amount + width
        for row, before, after in zip(rows, residuals, scaled_residuals(fixed, columns, moved, equations), strict=True):
            row.append((after - before) / width)
    return rows


def scaled_residuals(
    fixed: Sequence[Part],
    columns: Sequence[Substance],
    amounts: Sequence[float],
    equations: Sequence[Equation | Proportion],
) -> list[float]:
    """Scaled residuals. What lies below 0 counts linearly, so that Newton's method can come back from there."""
    above = [max(one, 0.0) for one in amounts]
    mix = whole_of(fixed, columns, above)
    found = [one.value(mix, above) for one in equations]
    for place, amount in enumerate(amounts):
        if amount < 0.0:
            raised = [one + (1.0 if number == place else 0.0) for number, one in enumerate(above)]
            more = whole_of(fixed, columns, raised)
            found = [
                value + amount * (one.value(more, raised) - value) for value, one in zip(found, equations, strict=True)
            ]
    return found


def linear_solution(rows: Sequence[Sequence[float]], right: Sequence[float]) -> list[float] | None:
    """The solution of a square system by elimination with pivots; ``None`` where it has none or many.

    >>> linear_solution([[2.0, 1.0], [1.0, 3.0]], [3.0, 5.0])
    [0.8, 1.4]
    """
    size = len(rows)
    table = [[*row, value] for row, value in zip(rows, right, strict=True)]
    largest = max((abs(one) for row in rows for one in row), default=0.0)
    for place in range(size):
        pivot = max(range(place, size), key=lambda number: abs(table[number][place]))
        if abs(table[pivot][place]) <= 1e-13 * largest:
            return None
        table[place], table[pivot] = table[pivot], table[place]
        for row in table[place + 1 :]:
            factor = row[place] / table[place][place]
            for column in range(place, size + 1):
                row[column] -= factor * table[place][column]
    found = [0.0] * size
    for place in reversed(range(size)):
        rest = sum(table[place][column] * found[column] for column in range(place + 1, size))
        found[place] = (table[place][size] - rest) / table[place][place]
    return found
