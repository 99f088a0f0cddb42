"""S4: every drink recosted exactly against the bare sparse product, and one price changed against all of them."""

import time
from collections.abc import Callable
from fractions import Fraction

import numpy as np
from scipy import sparse

from service.bulk.recost import WholeMatrix
from tests.benchmarks.measuring import Figure, Result, Side, Size, in_turns

LINES = 16
ITEMS = 1000
"""A change of one price then moves about 1.6 % of the drinks."""

DRINKS_PER_CALL = 10_000
"""A million drinks at the full size."""

CHANGES = 20
MILLISECONDS = 1e3


def result(size: Size) -> Result:
    """S4."""
    drinks = DRINKS_PER_CALL * size.calls
    made = np.random.default_rng(4)
    columns = made.integers(0, ITEMS, drinks * LINES, np.int32)
    numbers = made.integers(10, 1200, drinks * LINES)  # halves of a millilitre with 2 % over-pour, over 100
    ends = np.arange(0, drinks * LINES + 1, LINES)
    denominators = np.full(drinks, 1000)
    rounded = np.zeros(drinks * LINES, np.bool_)
    matrix = WholeMatrix(ends, columns.copy(), numbers, denominators, rounded, ITEMS)
    prices = [Fraction(int(price), 4200) for price in made.integers(500, 50_000, ITEMS)]
    matrix.price(prices)
    bare = sparse.csr_array((numbers.astype(float), columns, ends.astype(np.int32)), shape=(drinks, ITEMS))
    floats = np.asarray([float(price) for price in prices])
    matrix.reprice({0: prices[0]})
    affected: list[int] = []

    def change() -> None:
        place = int(made.integers(0, ITEMS))
        rows = matrix.reprice({place: Fraction(int(made.integers(500, 50_000)), 4200)})
        affected.append(len(rows))

    found = in_turns(
        {"exact": _wall(matrix.recost, 3), "bare": _wall(lambda: bare @ floats, 3), "one": _wall(change, CHANGES)},
        size.rounds,
    )
    share = sum(affected) / len(affected) / drinks
    exact = Side("exact whole numbers, half up to the cent", found["exact"], "ms", MILLISECONDS)
    return Result(
        "S4",
        f"Recost of {drinks:,} drinks of {LINES} lines over {ITEMS:,} items, in process",
        (
            "over:  WholeMatrix.recost: sums of 64-bit whole numbers, half up by each row's denominator; prices given"
            " as whole numbers",
            "under: scipy's product of the same matrix in floats with a vector, nothing rounded",
        ),
        (
            Figure("all drinks", exact, Side("bare product", found["bare"], "ms", MILLISECONDS), 1.5, 1.2),
            Figure(
                f"one price changed, {100 * share:.2f} % of the drinks use it",
                Side("the drinks that use it", found["one"], "ms", MILLISECONDS), exact,
                min(1.1, 6 * share), min(1.05, 4 * share),
            ),
        ),
    )  # fmt: skip


def _wall(call: Callable[[], object], calls: int) -> Callable[[], float]:
    """A round of ``call``: seconds for one, the process being alone in its arrays."""

    def one_round() -> float:
        begun = time.perf_counter()
        for _ in range(calls):
            call()
        return (time.perf_counter() - begun) / calls

    call()
    return one_round
