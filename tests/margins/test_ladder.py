"""The price ladder against every choice there is."""

from decimal import Decimal
from itertools import product
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.errors import InputFault
from service.margins.ladder import Ladder, Rung, ladder, shortfall
from tests.margins.cases import of


def _after(rungs: list[Rung], prices: dict[str, Decimal]) -> list[Rung]:
    return [
        Rung(one.id, prices.get(one.id, one.price), one.quantity, one.cost, one.factor, one.points) for one in rungs
    ]


@pytest.mark.parametrize("case", of("ladder"))
def test_the_ladder(case: dict[str, Any]) -> None:
    rungs = [
        Rung(id_, Decimal(price), Decimal(quantity), Decimal(cost), Decimal(1), tuple(Decimal(one) for one in points))
        for id_, price, quantity, cost, points in case["rungs"]
    ]
    found = ladder(rungs, Decimal(case["margin"]))
    assert dict(found.prices) == {id_: Decimal(price) for id_, price in case["prices"].items()}
    assert (found.met, found.exact) == (True, True)


rung = st.builds(
    lambda price, quantity, cost, steps: (price, quantity, cost, steps),
    st.integers(10, 30), st.integers(0, 40), st.integers(1, 12), st.lists(st.integers(-3, 6), max_size=4),
)  # fmt: skip


@given(st.lists(rung, min_size=1, max_size=5), st.integers(40, 90), st.sampled_from(["1", "1.2"]))
def test_nothing_less_meets_the_margin(rows: list[Any], margin: int, factor: str) -> None:
    rungs = [
        Rung(f"d{at}", Decimal(price), Decimal(quantity), Decimal(cost), Decimal(factor),
             tuple(Decimal(price) + Decimal(step) / 2 for step in steps))
        for at, (price, quantity, cost, steps) in enumerate(rows)
    ]  # fmt: skip
    found = ladder(rungs, Decimal(margin))
    assert found.exact
    met: list[tuple[int, Decimal]] = []
    for choice in product(*[(one.price, *one.points) for one in rungs]):
        prices = {one.id: price for one, price in zip(rungs, choice, strict=True)}
        if shortfall(_after(rungs, prices), Decimal(margin)) <= 0:
            moves = [abs(price - one.price) for one, price in zip(rungs, choice, strict=True)]
            met.append((sum(1 for move in moves if move), sum(moves, Decimal(0))))
    assert found.met == bool(met)
    if met:
        current = {one.id: one.price for one in rungs}
        moves = [abs(price - current[id_]) for id_, price in found.prices]
        assert (found.changes, sum(moves, Decimal(0))) == min(met)
        assert shortfall(_after(rungs, dict(found.prices)), Decimal(margin)) <= 0


def test_beyond_its_steps_the_search_says_so_and_still_meets_the_margin() -> None:
    rungs = [
        Rung(f"d{at}", Decimal(10), Decimal(7 + at), Decimal(3), Decimal(1), tuple(map(Decimal, range(11, 16))))
        for at in range(14)
    ]  # fmt: skip
    found = ladder(rungs, Decimal(76), most_steps=20)
    assert (found.met, found.exact) == (True, False)
    assert shortfall(_after(rungs, dict(found.prices)), Decimal(76)) <= 0
    better = ladder(rungs, Decimal(76))
    assert better.changes == found.changes


def test_a_margin_that_is_met_changes_nothing_and_one_out_of_reach_says_so() -> None:
    rungs = [Rung("a", Decimal(10), Decimal(5), Decimal(2), Decimal(1), (Decimal(11),))]
    assert ladder(rungs, Decimal(80)) == Ladder((), True, True, 0)
    assert ladder(rungs, Decimal(95)) == Ladder((("a", Decimal(11)),), False, True, 0)
    with pytest.raises(InputFault, match="target_out_of_range"):
        ladder(rungs, Decimal(100))
