"""The band on a cost in exact decimals, against sums by hand."""

from decimal import Decimal

from service.costband import CostedLines, cost_band
from service.costing import Allowances, CostLine, LineCost


def line(ref: str, cost: str | None, role: str = "pour", whole: bool = False) -> LineCost:
    amount = None if cost is None else Decimal(cost)
    return LineCost(CostLine(ref, role, Decimal(1), "ml", True, whole), amount, amount or Decimal(0))


def costed(*lines: LineCost, over: str = "0", serves: int = 1) -> CostedLines:
    return CostedLines(dict(enumerate(lines)), Allowances(Decimal(over)), serves)


def moved(number: int, by: str) -> tuple[dict[int, Decimal], dict[int, Decimal]]:
    return {number: 1 - Decimal(by)}, {number: 1 + Decimal(by)}


def test_two_pours_add_by_squares_exactly() -> None:
    # 3.00 and 4.00, a tenth each: 0.3 and 0.4 make 0.5 exactly; 7.00 less and more twice that (arithmetic).
    found = cost_band(costed(line("a", "3.00"), line("b", "4.00")), [moved(0, "0.1"), moved(1, "0.1")])
    assert found is not None
    assert (found.low, found.high, found.standard) == (Decimal(6), Decimal(8), Decimal("0.5"))
    assert found.shares_percent == (Decimal(36), Decimal(64))


def test_allowances_and_serves_go_with_the_pours() -> None:
    # 3.00 for two serves with 10 % over-pour is 1.65 each, a tenth of which is 0.165 (arithmetic).
    found = cost_band(costed(line("a", "3.00"), over="10", serves=2), [moved(0, "0.1")])
    assert found is not None
    assert found.standard == Decimal("0.165")


def test_what_is_opened_whole_and_what_is_no_drink_do_not_move() -> None:
    lines = costed(line("a", "3.00", whole=True), line("b", "1.00", "consumable"))
    found = cost_band(lines, [moved(0, "0.1"), moved(1, "0.1")])
    assert found is not None
    assert (found.low, found.high, found.standard) == (Decimal(3), Decimal(3), Decimal(0))


def test_a_side_that_cannot_be_made_is_stood_in_for_by_the_other() -> None:
    found = cost_band(
        costed(line("a", "2.00")), [({0: Decimal("0.5")}, None), (None, {0: Decimal("1.5")}), (None, None)]
    )
    assert found is not None
    assert found.shares_percent == (Decimal(50), Decimal(50), Decimal(0))


def test_an_unknown_cost_has_no_band_and_a_low_end_is_never_below_nothing() -> None:
    assert cost_band(costed(line("a", None)), [moved(0, "0.1")]) is None
    found = cost_band(costed(line("a", "1.00")), [moved(0, "0.9")])
    assert found is not None
    assert found.low == 0
