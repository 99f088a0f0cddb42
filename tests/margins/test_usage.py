"""Usage: counts, movements, parts taken apart, variances that add up."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.errors import InputFault
from service.margins.bought import Part, Used, bought
from service.margins.calendar import month
from service.margins.counting import Counted, counted
from service.margins.usage import (
    DIRECTIONS,
    EXPLAINED,
    Count,
    Movement,
    MovementType,
    percent_of_sales,
    usage,
)
from tests.margins.cases import of

NOVEMBER = month(2026, 11)
BEFORE, LAST = date(2026, 10, 31), date(2026, 11, 30)


def _no_use(item: str, first: date, last: date) -> Decimal:
    return Decimal(0)


@pytest.mark.parametrize("case", of("usage"))
def test_usage(case: dict[str, Any]) -> None:
    moved = [Movement("gin", date(2026, 11, 9), name, Decimal(one)) for name, one in case["moved"].items()]
    (found,) = usage(
        NOVEMBER, [Count("gin", BEFORE, Decimal(case["opening"]))], [Count("gin", LAST, Decimal(case["closing"]))],
        moved, lambda item, first, last: Decimal(case["theoretical"]), {"gin": Decimal(case["unit_value"])},
    )  # fmt: skip
    assert found.actual == Decimal(case["actual"])
    assert found.variance == Decimal(case["variance"])
    assert found.unexplained == Decimal(case["unexplained"])
    money = found.money(found.unexplained)
    assert money == Decimal(case["money"])
    assert percent_of_sales(money, Decimal(case["net_sales"])) == Decimal(case["percent"])


amount = st.decimals(0, 9000, places=2, allow_nan=False)
movement = st.builds(
    Movement, st.just("gin"), st.dates(date(2026, 10, 20), date(2026, 12, 10)), st.sampled_from(get_args(MovementType)),
    amount,
)  # fmt: skip


@given(amount, amount, amount, st.lists(movement, max_size=15))
def test_a_variance_is_the_sum_of_what_explains_it_and_the_rest(
    opening: Decimal, closing: Decimal, sold: Decimal, moved: list[Movement]
) -> None:
    (found,) = usage(
        NOVEMBER, [Count("gin", BEFORE, opening)], [Count("gin", LAST, closing)], moved,
        lambda item, first, last: sold, {},
    )  # fmt: skip
    assert sum(found.explained.values(), found.unexplained) == found.variance
    within = [one for one in moved if NOVEMBER.holds(one.day)]
    flows = sum((DIRECTIONS[one.type] * one.quantity for one in within), Decimal(0))
    assert opening + flows - sold - found.unexplained == closing
    assert found.money(found.variance) is None
    assert set(found.explained) <= set(EXPLAINED)


def test_every_movement_has_a_direction() -> None:
    assert set(DIRECTIONS) == set(get_args(MovementType))


def test_a_count_beside_the_cut_off_is_refused_unless_it_may_be_rolled() -> None:
    early = Count("gin", LAST - timedelta(days=2), Decimal(1000))
    with pytest.raises(InputFault) as fault:
        usage(NOVEMBER, [Count("gin", BEFORE, Decimal(0))], [early], [], _no_use, {})
    assert (fault.value.code, fault.value.pointer) == ("count_beside_cut_off", "/closing/0/day")


def test_a_count_is_rolled_with_the_movements_shown() -> None:
    # Closing counted two days early: 1000 + 700 delivered - 50 spilt - 300 sold = 1350. Opening counted a day late:
    # 2000 - 100 delivered + 40 sold = 1940. Arithmetic.
    moved = [
        Movement("gin", date(2026, 11, 29), "delivery", Decimal(700)),
        Movement("gin", date(2026, 11, 30), "spill", Decimal(50)),
        Movement("gin", date(2026, 11, 1), "delivery", Decimal(100)),
        Movement("rum", date(2026, 11, 29), "delivery", Decimal(9)),
    ]

    def use_on(item: str, first: date, last: date) -> Decimal:
        return {date(2026, 11, 29): Decimal(300), date(2026, 11, 1): Decimal(40)}[first]

    (found,) = usage(
        NOVEMBER, [Count("gin", date(2026, 11, 1), Decimal(2000))], [Count("gin", date(2026, 11, 28), Decimal(1000))],
        moved, use_on, {}, roll=True,
    )  # fmt: skip
    assert (found.opening, found.closing) == (Decimal(1940), Decimal(1350))
    assert [len(one.moved) for one in found.rolled] == [1, 2]
    assert [one.sold for one in found.rolled] == [Decimal(40), Decimal(300)]


def test_an_item_counted_once_only_is_refused() -> None:
    opening, closing = [Count("gin", BEFORE, Decimal(1))], [Count("rum", LAST, Decimal(1))]
    with pytest.raises(InputFault, match="opening_missing"):
        usage(NOVEMBER, opening, closing, [], _no_use, {})
    with pytest.raises(InputFault, match="closing_missing"):
        usage(NOVEMBER, opening, [], [], _no_use, {})


def test_nothing_sold_gives_no_percentage() -> None:
    assert percent_of_sales(Decimal(1), Decimal(0)) is None
    assert percent_of_sales(None, Decimal(1)) is None


@pytest.mark.parametrize(
    ("found", "quantity"),
    [
        # 2 cases of 6 and 3 bottles of 700 ml: 15 x 700 = 10500. Arithmetic.
        (Counted(Decimal(700), Decimal(6), Decimal(2), Decimal(3)), "10500"),
        # Levels of 4 and 7 tenths of 700: 280 + 490. Arithmetic.
        (Counted(Decimal(700), tenths=(Decimal(4), Decimal(7))), "770"),
        # 887.5 g with a tare of 500 at 0.95 g/ml... 475 / 0.95 = 500 ml: 975 - 500 = 475. Arithmetic.
        (Counted(Decimal(700), weights=(Decimal(975),), tare_g=Decimal(500), g_per_unit=Decimal("0.95")), "500"),
        # Sugar by weight: 1 g a unit, 1250 - 250. Arithmetic.
        (Counted(Decimal(1000), weights=(Decimal(1250),), tare_g=Decimal(250), g_per_unit=Decimal(1)), "1000"),
        (Counted(Decimal(1), loose=Decimal("12.5")), "12.5"),
    ],
)
def test_what_a_count_found(found: Counted, quantity: str) -> None:
    assert counted(found) == Decimal(quantity)


def _weighed(weight: str, tare: str | None, density: str | None) -> Counted:
    held = [None if one is None else Decimal(one) for one in (tare, density)]
    return Counted(Decimal(700), weights=(Decimal(weight),), tare_g=held[0], g_per_unit=held[1])


@pytest.mark.parametrize(
    ("found", "code"),
    [
        (Counted(Decimal(700), tenths=(Decimal(11),)), "tenths_out_of_range"),
        (_weighed("900", None, "1"), "tare_missing"),
        (_weighed("900", "500", None), "density_missing"),
        (_weighed("400", "500", "1"), "weight_below_tare"),
        (_weighed("1400", "500", "1"), "weight_over_full"),
    ],
)  # fmt: skip
def test_a_count_that_cannot_be_right_is_refused(found: Counted, code: str) -> None:
    with pytest.raises(InputFault, match=code):
        counted(found)


SYRUP = Part("syrup", {"syrup": Decimal(1000)}, (Used("sugar", "g", Decimal(600)), Used("water", "ml", Decimal(600))))
CORDIAL = Part(
    "cordial", {"cordial": Decimal(500)}, (Used("syrup", "ml", Decimal(250)), Used("lime", "each", Decimal(4)))
)
PRESS = Part("press", {"lime-juice": Decimal(300), "lime-peel": Decimal(100)}, (Used("lime", "each", Decimal(10)),))


def test_parts_are_taken_apart_to_what_is_bought() -> None:
    # 1000 ml cordial = 2 batches: 500 ml syrup and 8 limes; with 100 ml syrup more: 600 ml = 0.6 batch: 360 g sugar.
    found = bought(
        [Used("cordial", "ml", Decimal(1000)), Used("syrup", "ml", Decimal(100)), Used("gin", "ml", Decimal(50))],
        {"syrup": SYRUP, "cordial": CORDIAL}, ("syrup", "cordial"),
    )  # fmt: skip
    assert found == {
        ("gin", "ml"): 50, ("sugar", "g"): 360, ("water", "ml"): 360, ("lime", "each"): 8,
    }  # fmt: skip


def test_joint_products_are_counted_once() -> None:
    # 600 ml juice = 2 batches, 50 g peel = half of one: 2 batches, 20 limes and not 25. Arithmetic.
    uses = [Used("lime-juice", "ml", Decimal(600)), Used("lime-peel", "g", Decimal(50))]
    assert bought(uses, {"press": PRESS}, ("press",)) == {("lime", "each"): Decimal(20)}


def test_parts_out_of_order_are_refused() -> None:
    with pytest.raises(InputFault, match="parts_out_of_order"):
        bought([Used("cordial", "ml", Decimal(1))], {"syrup": SYRUP, "cordial": CORDIAL}, ("cordial", "syrup"))
