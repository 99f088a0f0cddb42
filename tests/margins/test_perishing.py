"""What is thrown away: the Poisson distribution, the batch that costs least, kegs."""

from decimal import Decimal
from math import exp, factorial, lgamma, log
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.errors import InputFault
from service.margins.perishing import MOST_SERVES, Keg, Perishable, batches, best_batch, sold_of_batch
from tests.margins.cases import of


@pytest.mark.parametrize("case", of("perishing"))
def test_perishing(case: dict[str, Any]) -> None:
    found = Perishable(Decimal(case["a_day"]), Decimal(case["life_days"]), Decimal(1))
    *_, last = batches(found, case["serves"])
    assert abs(last.sold - Decimal(case["sold"])) < Decimal("1e-6")
    assert abs(last.thrown - Decimal(case["thrown"])) < Decimal("1e-6")


@given(st.integers(0, 40), st.integers(1, 60))
def test_what_sells_is_the_mean_of_the_smaller_of_demand_and_batch(mean: int, serves: int) -> None:
    """Against the definition summed in floats: sum of min(k, serves) x e^-mean mean^k / k!."""
    *_, last = batches(Perishable(Decimal(mean), Decimal(1), Decimal(1)), serves)
    expected = sum(min(k, serves) * exp(-mean) * mean**k / factorial(k) for k in range(mean + 130))
    assert float(last.sold) == pytest.approx(expected, abs=1e-9)
    assert last.sold + last.thrown == serves
    assert 0 <= last.sold <= min(mean, serves)


@given(st.integers(1, 30), st.integers(0, 500), st.integers(1, 100))
def test_the_best_batch_is_no_dearer_than_any(mean: int, cents: int, cost: int) -> None:
    found = Perishable(Decimal(mean), Decimal(1), Decimal(cost) / 100, Decimal(cents) / 100)
    best = best_batch(found, range(1, 61))
    assert best is not None
    assert best.cost_each is not None
    for one in batches(found, 60):
        assert one.cost_each is not None
        assert one.cost_each >= best.cost_each - Decimal("1e-20")
        assert one.waste_each is not None
        # One serve sold carries its own contents, the waste and its share of the batch: adds up.
        assert abs(found.serve_cost + one.waste_each + found.batch_cost / one.sold - one.cost_each) < Decimal("1e-20")


def test_work_for_each_batch_makes_larger_batches_cheaper() -> None:
    lazy = best_batch(Perishable(Decimal(10), Decimal(3), Decimal("0.50")), range(1, 80))
    busy = best_batch(Perishable(Decimal(10), Decimal(3), Decimal("0.50"), Decimal(12)), range(1, 80))
    assert lazy is not None
    assert busy is not None
    assert lazy.serves < busy.serves < 40
    only = best_batch(Perishable(Decimal(10), Decimal(3), Decimal("0.50"), Decimal(12)), [14, 28])
    assert only is not None
    assert only.serves in (14, 28)


def test_where_nothing_sells_all_is_thrown_away_and_no_cost_is_told() -> None:
    (one,) = batches(Perishable(Decimal(0), Decimal(3), Decimal(1)), 1)
    assert [one.sold, one.thrown, one.cost_each, one.waste_each] == [0, 1, None, None]
    assert best_batch(Perishable(Decimal(0), Decimal(3), Decimal(1)), [1, 2]) is None


def test_large_batches_are_bounded() -> None:
    with pytest.raises(InputFault, match="batch_out_of_range"):
        next(batches(Perishable(Decimal(1), Decimal(1), Decimal(1)), MOST_SERVES + 1))
    *_, last = batches(Perishable(Decimal(MOST_SERVES), Decimal(1), Decimal(1)), 300)
    assert last.thrown < Decimal("1e-30")


def test_a_keg_with_its_line_loss() -> None:
    # 30 l, 2 cleanings of 600 ml and 300 ml left: 28.5 l, 57 half litres; 60.00 / 57 - 60.00 / 60 = 0.0526. Arithmetic.
    keg = Keg(Decimal(30000), Decimal(500), Decimal(600), Decimal(2), Decimal(300))
    assert (keg.lost_ml, keg.serves) == (Decimal(1500), 57)
    assert abs(keg.loss_each(Decimal(60)) - Decimal("0.052631579")) < Decimal("1e-9")
    # 330 ml: 28500 / 330 = 86.36, so 86 whole serves.
    assert Keg(Decimal(30000), Decimal(330), Decimal(600), Decimal(2), Decimal(300)).serves == 86
    with pytest.raises(InputFault, match="keg_all_lost"):
        _ = Keg(Decimal(1000), Decimal(500), Decimal(600)).serves


@pytest.mark.parametrize("case", of("batch"))
def test_what_sells_of_a_batch(case: dict[str, Any]) -> None:
    found = sold_of_batch(Decimal(case["mean"]), Decimal(case["serves"]))
    assert abs(found - Decimal(case["sold"])) < Decimal("1e-6")


@given(st.integers(1, 60), st.integers(1, 60))
def test_a_batch_of_whole_serves_sells_what_the_sizes_of_batches_say(mean: int, serves: int) -> None:
    *_, last = batches(Perishable(Decimal(mean), Decimal(1), Decimal(1)), serves)
    assert abs(sold_of_batch(Decimal(mean), Decimal(serves)) - last.sold) < Decimal("1e-30")


def test_far_from_the_mean_the_sum_would_say_the_same() -> None:
    """Just beyond the bound and summed up nevertheless, in floats."""
    for mean, serves in ((10, 2100), (500, 180)):
        assert (serves - mean) ** 2 > 200 * max(serves, mean)
        summed = sum(min(k, serves) * exp(-mean + k * log(mean) - lgamma(k + 1)) for k in range(mean * 20))
        assert float(sold_of_batch(Decimal(mean), Decimal(serves))) == pytest.approx(summed, abs=1e-9)


def test_more_serves_than_are_summed_up_are_refused() -> None:
    with pytest.raises(InputFault, match="batch_out_of_range"):
        sold_of_batch(Decimal(30000), Decimal(30000))
