"""Effects between two periods: worked by hand, and adding up exactly whatever sold."""

from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.margins.effects import Sold, effects
from service.margins.sales import Key
from service.money import EXACT
from tests.margins.cases import of


def _sold(rows: dict[str, list[str]]) -> dict[Key, Sold]:
    return {(drink, ()): Sold(*(Decimal(one) for one in row)) for drink, row in rows.items()}


@pytest.mark.parametrize("case", of("effects"))
def test_effects(case: dict[str, Any]) -> None:
    found = effects(_sold(case["before"]), _sold(case["after"]))
    shown = {name: getattr(found, name) for name in ("price", "cost", "volume", "mix", "change")}
    assert shown == {name: Decimal(case[name]) for name in shown}


sold = st.builds(
    Sold,
    st.decimals(-50, 500, places=1, allow_nan=False),
    st.decimals(-900, 9000, places=3, allow_nan=False),
    st.decimals(-100, 3000, places=7, allow_nan=False),
)
periods = st.dictionaries(st.sampled_from([(name, ()) for name in "abcdef"]), sold, max_size=6)


@given(periods, periods)
def test_the_four_add_up_exactly(before: dict[Key, Sold], after: dict[Key, Sold]) -> None:
    found = effects(before, after)
    parts = [Fraction(one) for one in (found.price, found.cost, found.volume, found.mix)]
    assert sum(parts) == Fraction(found.after) - Fraction(found.before) == Fraction(found.change)


@given(periods, periods)
def test_mix_is_what_its_own_formula_says(before: dict[Key, Sold], after: dict[Key, Sold]) -> None:
    """Against the formula in fractions: sum of (q1 - q0) x m0 - volume, over drinks sold in both or new or gone."""
    if not sum(one.quantity for one in before.values()) or any(
        not one.quantity for one in (*before.values(), *after.values())
    ):
        return
    each = {key: Fraction(one.contribution) / Fraction(one.quantity) for key, one in before.items()}
    new = {key: Fraction(one.contribution) / Fraction(one.quantity) for key, one in after.items()}
    q0 = sum(Fraction(one.quantity) for one in before.values())
    q1 = sum((Fraction(one.quantity) for one in after.values()), Fraction(0))
    volume = (q1 - q0) * sum(Fraction(one.contribution) for one in before.values()) / q0
    moved = Fraction(0)
    for key in {*before, *after}:
        then = Fraction(before[key].quantity) if key in before else Fraction(0)
        now = Fraction(after[key].quantity) if key in after else Fraction(0)
        moved += (now - then) * each.get(key, new.get(key, Fraction(0)))
    assert abs(moved - volume - Fraction(effects(before, after).mix)) < Fraction(1, 10**30)


@given(periods)
def test_nothing_changed_means_no_effect(rows: dict[Key, Sold]) -> None:
    found = effects(rows, rows)
    assert found.change == 0
    for one in (found.price, found.cost, found.volume, found.mix):
        assert abs(one) < Decimal("1e-38")


def test_what_has_no_known_cost_is_left_out_and_named() -> None:
    rows = _sold({"a": ["10", "100", "20"], "b": ["10", "100", "20"]})
    found = effects(rows, rows, frozenset([("b", ())]))
    assert (found.before, found.left_out) == (Decimal(80), (("b", ()),))
    assert EXACT.prec == 60
