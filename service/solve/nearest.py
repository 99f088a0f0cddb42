"""The nearest amounts of 0 or more where equations cannot all hold: least squares on the density model."""

from collections.abc import Sequence

from service.mixture import Part, Substance
from service.solve.amounts import Equation, jacobian, scaled_residuals

ROUNDS = 12


def nearest(
    fixed: Sequence[Part], columns: Sequence[Substance], equations: Sequence[Equation], start: Sequence[float]
) -> list[float]:
    """Base units of each column, none below 0, that leave the least sum of squared scaled residuals.

    Volumes are nearly linear, so a few rounds of linear least squares with bounds end it.
    """
    import numpy as np  # a start without a solve need not load them
    from scipy.optimize import nnls

    amounts = list(start)
    for _ in range(ROUNDS):
        residuals = scaled_residuals(fixed, columns, amounts, equations)
        slopes = np.array(jacobian(fixed, columns, amounts, equations, residuals))
        right = slopes @ np.array(amounts) - np.array(residuals)
        found = [float(one) for one in nnls(slopes, right)[0]]
        moved = max((abs(one - other) for one, other in zip(found, amounts, strict=True)), default=0.0)
        amounts = found
        if moved <= 1e-12 * max(1.0, *amounts):
            break
    return amounts
