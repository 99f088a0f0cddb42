"""Costs against sums done by hand, the fraction oracle, and properties H6, H7, H11, H13."""

import decimal
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from service.costing import (
    Allowances,
    CostLine,
    LineCost,
    PreparationCost,
    ServeCost,
    labour_cost,
    line_cost,
    preparation_unit_cost,
    serve_costs,
    shares,
)
from service.errors import InputFault
from service.money import half_up, money_text
from tests import money_oracle as oracle
from tests.offered import GATE, counts, kept, offer, percents, picked, prices, sizes

pytestmark = pytest.mark.usefixtures("floats_are_refused")


# Lines, preparations, serves.


def unit(cost: str | None, base: str = "ml", at_least: str = "0", missing: Any = (), size: str | None = None) -> Any:
    known = None if cost is None else Decimal(cost)
    least = Decimal(at_least) if known is None else known
    return PreparationCost(base, known, least, missing, None if size is None else Decimal(size))


def priced(cost: str | None, role: str = "pour", by_volume: bool = True, at_least: str = "0") -> LineCost:
    line = CostLine(f"{role}-item", role, Decimal(1), "ml", by_volume)
    if cost is None:
        return LineCost(line, None, Decimal(at_least), ((line.ref, "offer"),))
    return LineCost(line, Decimal(cost), Decimal(cost))


def test_a_line_costs_its_quantity() -> None:
    line = CostLine("rum", "pour", Decimal(50), "ml", True)
    cost = line_cost(line, picked([offer()])).cost
    # 141.00 / 4200 x 50, the line of the contract's answer.
    assert cost is not None and format(half_up(cost, 6), "f") == "1.678571"


@pytest.mark.parametrize("quantity, units", [("1", 1), ("200", 1), ("200.001", 2), ("400", 2), ("600", 3), ("900", 5)])
def test_a_whole_unit_is_charged_as_opened(quantity: str, units: int) -> None:
    line = CostLine("tonic", "top", Decimal(quantity), "ml", True, whole_unit=True)
    bottles = picked([offer("24.00", "24", "200")])
    assert half_up(line_cost(line, bottles).cost or Decimal(0), 20) == units


def test_a_whole_unit_of_which_some_stays_in_the_bottle() -> None:
    # 700 ml need two bottles that give 690 ml each, at 23.50 a bottle.
    line = CostLine("rum", "pour", Decimal(700), "ml", True, whole_unit=True)
    cost = line_cost(line, picked([offer()], item=kept(residue_ml="10"))).cost
    assert cost is not None and half_up(cost, 20) == 47


def test_a_whole_unit_through_a_density_that_does_not_divide() -> None:
    # A unit of 300 g at 0.9 g/ml is 333.33.. ml, so that 2000 ml are six units and not seven.
    line = CostLine("rum", "pour", Decimal(2000), "ml", True, whole_unit=True)
    choice = picked([offer("5.00", "1", "300", "g")], item=kept(g="0.9"))
    assert half_up(line_cost(line, choice).cost or Decimal(0), 20) == 30


def test_a_line_never_turns_grams_into_millilitres() -> None:
    with pytest.raises(ValueError, match="rum"):
        line_cost(CostLine("rum", "pour", Decimal(1), "g"), unit("1", "ml"))


def test_a_line_without_cost_or_amount_names_what_is_missing() -> None:
    line = CostLine("cordial", "pour", Decimal(10), "ml", True)
    gap = (("tea", "offer"),)
    assert line_cost(line, unit(None, at_least="0.02", missing=gap)) == LineCost(line, None, Decimal("0.20"), gap)
    unread = replace(line, quantity=None)
    assert line_cost(unread, unit("1")) == LineCost(unread, None, Decimal(0), (("cordial", "amount"),))


def test_a_preparation_costs_its_lines_over_its_yield() -> None:
    # The syrup of the contract's request: 0.5 kg at 1.20 and 20 g at 30.00 per kg, 1.20 in all, water free.
    lines = [priced("0.60"), priced("0.60"), priced("0")]
    assert preparation_unit_cost(lines, Decimal(750)).unit_cost == Decimal("0.0016")
    joint = preparation_unit_cost(lines, Decimal(300), "g", Decimal(25))
    assert (joint.unit_cost, joint.base, joint.missing) == (Decimal("0.001"), "g", ())
    lacking = preparation_unit_cost([*lines, priced(None, at_least="0.30"), priced(None)], Decimal(750))
    assert (lacking.unit_cost, lacking.at_least) == (None, Decimal("0.002"))
    assert lacking.missing == (("pour-item", "offer"),)
    with pytest.raises(InputFault) as fault:
        preparation_unit_cost(lines, Decimal(0))
    assert fault.value.code == "yield_zero"


def test_allowances_are_added_and_never_compounded() -> None:
    # Volume 2.00 x 3 % + (2.00 + 0.50 by piece + 0.10 garnish) x 1 % = 0.06 + 0.026.
    lines = [priced("1.50"), priced("0.30", "top"), priced("0.20", "rinse"), priced("0.50", by_volume=False),
             priced("0.10", "garnish"), priced("0.05", "consumable")]  # fmt: skip
    cost = serve_costs(lines, Allowances(Decimal(3), Decimal(1)), 1, Decimal("1.25"))
    expected = ServeCost(
        Decimal("2.50"), Decimal("0.10"), Decimal("0.086"), Decimal("2.686"), Decimal("0.05"), Decimal("1.25"),
        Decimal("3.986"), Decimal("2.686"), Decimal("3.986"), (),
    )  # fmt: skip
    assert cost == expected
    assert cost.complete


def test_a_garnish_measured_by_volume_is_not_over_poured() -> None:
    cost = serve_costs([priced("1", "garnish", by_volume=True)], Allowances(Decimal(50), Decimal(0)))
    assert (cost.allowances, cost.pour_cost) == (Decimal(0), Decimal(1))


def test_the_costs_of_the_contracts_drink() -> None:
    # Lines by hand: rum 141/4200 x 50; syrup 1.20 / 742.3 ml x 15; juice 0.30/30 x 22.5; bitters 14/200 x 1.6;
    # garnish an eighth of 0.30. The yield is that of 1000 g of 50 Brix (1.2296 g/ml), less 40 ml, less 4 %.
    syrup = preparation_unit_cost([priced("0.60"), priced("0.60")], Decimal("742.3"))
    lines = [
        line_cost(CostLine("rum", "pour", Decimal(50), "ml", True), picked([offer()])),
        line_cost(CostLine("syrup", "pour", Decimal(15), "ml", True), syrup),
        priced("0.225"), priced("0.112"), priced("0.0375", "garnish", by_volume=False),
    ]  # fmt: skip
    cost = serve_costs(lines, Allowances(Decimal(3), Decimal(1)))
    texts = [money_text(figure, "EUR") for figure in
             (cost.pour_cost, cost.ingredients, cost.garnish, cost.allowances, cost.serve_cost) if figure is not None]  # fmt: skip
    assert texts == ["2.16", "2.04", "0.04", "0.08", "2.16"]
    assert cost.labour is None
    assert str(shares([line.cost for line in lines])[0]) == "80.8"
    assert cost.pour_cost is not None and abs(cost.pour_cost - Decimal("2.159289")) < Decimal("0.000005")


@pytest.mark.parametrize(
    "role, by_volume, known",
    [
        ("pour", True, {"garnish", "consumables"}),
        ("pour", False, {"garnish", "consumables"}),
        ("garnish", False, {"ingredients", "consumables"}),
        ("consumable", False, {"ingredients", "garnish", "allowances", "pour_cost"}),
    ],
)
def test_a_missing_line_leaves_null_what_needs_it(role: str, by_volume: bool, known: set[str]) -> None:
    lines = [priced("2.00"), priced("0.50", "garnish", False), priced("0.05", "consumable", False)]
    cost = serve_costs([*lines, priced(None, role, by_volume, "0.40")], Allowances(Decimal(2), Decimal(1)))
    figures = ("ingredients", "garnish", "allowances", "pour_cost", "consumables", "serve_cost")
    assert {name for name in figures if getattr(cost, name) is not None} == known
    assert (cost.complete, cost.missing) == (False, ((f"{role}-item", "offer"),))
    assert cost.at_least >= Decimal("2.50")
    assert cost.at_least_serve > cost.at_least


def test_allowances_are_known_where_the_missing_line_does_not_count() -> None:
    lines = [priced("2.00"), priced(None, by_volume=False)]
    assert serve_costs(lines, Allowances(Decimal(5))).allowances == Decimal("0.1")
    assert serve_costs(lines, Allowances()).allowances == 0
    assert serve_costs([priced(None)], Allowances()).allowances == 0
    assert serve_costs([priced(None)], Allowances(Decimal(5))).allowances is None


def test_labour() -> None:
    assert labour_cost(Decimal(3), Decimal("18.50")) == Decimal("0.925")


# Shares.


@pytest.mark.parametrize(
    "costs, expected",
    [(["1", "1", "1"], ["33.4", "33.3", "33.3"]), (["1", "2"], ["33.3", "66.7"]), (["5"], ["100.0"]),
     (["0", "3"], ["0.0", "100.0"]), (["1"] * 7, ["14.3"] * 6 + ["14.2"]),
     (["4", "4", "1", "1", "2"], ["33.4", "33.3", "8.3", "8.3", "16.7"])],
)  # fmt: skip
def test_shares_by_hand(costs: list[str], expected: list[str]) -> None:
    assert [str(share) for share in shares([Decimal(cost) for cost in costs])] == expected


def test_shares_of_nothing_or_of_the_unknown_are_unknown() -> None:
    assert shares([]) == ()
    assert shares([Decimal(0), Decimal(0)]) == (None, None)
    assert shares([Decimal(1), None]) == (None, None)


# Properties.

quantities = st.decimals(Decimal("0.01"), 5000, places=4)
roles = st.sampled_from(["pour", "pour", "top", "rinse", "garnish", "consumable"])
drinks = st.lists(st.tuples(roles, st.booleans(), prices, counts, sizes, quantities), min_size=1, max_size=8)


def cost_lines(drink: list[Any], factor: Decimal = Decimal(1)) -> list[LineCost]:
    lines = []
    for role, by_volume, price, count, size, quantity in drink:
        choice = picked([offer(str(price), str(count), str(size))])
        lines.append(line_cost(CostLine("rum", role, quantity * factor, "ml", by_volume), choice))
    return lines


def close(one: Decimal | None, two: Decimal | Fraction | None) -> bool:
    """Equal before rounding: within what 60 digits leave of figures of this size."""
    assert one is not None and two is not None
    return abs(oracle.frac(one) - (two if isinstance(two, Fraction) else oracle.frac(two))) <= Fraction(1, 10**40)


@GATE
@given(drinks, percents, percents, st.integers(1, 12), prices)
def test_h11_the_costs_of_a_serve_are_the_exact_fractions(
    drink: list[Any], over_pour: Decimal, spillage: Decimal, serves: int, labour: Decimal
) -> None:
    cost = serve_costs(cost_lines(drink), Allowances(over_pour, spillage), serves, labour)
    exact_lines = [
        (role, by_volume, oracle.frac(price) / (count * oracle.frac(size)) * oracle.frac(quantity))
        for role, by_volume, price, count, size, quantity in drink
    ]
    exact = oracle.serve(exact_lines, oracle.frac(over_pour), oracle.frac(spillage), serves, oracle.frac(labour))
    for name, figure in exact.items():
        for places in (2, 6):
            assert format(half_up(getattr(cost, name), places), "f") == oracle.half_up_text(figure, places), name
    assert cost.at_least == cost.pour_cost and cost.at_least_serve == cost.serve_cost


@GATE
@given(drinks, st.data(), st.decimals(0, 10, places=2), st.decimals(0, 10, places=2), percents)
def test_h6_cost_is_linear_and_monotone_in_prices(
    drink: list[Any], data: st.DataObject, a: Decimal, b: Decimal, spillage: Decimal
) -> None:
    others = data.draw(st.lists(prices, min_size=len(drink), max_size=len(drink)))

    def serve_at(new_prices: list[Decimal]) -> Decimal:
        moved = [(*row[:2], price, *row[3:]) for row, price in zip(drink, new_prices, strict=True)]
        cost = serve_costs(cost_lines(moved), Allowances(Decimal(3), spillage)).serve_cost
        assert cost is not None
        return cost

    first = [row[2] for row in drink]
    mixed = [a * p + b * q for p, q in zip(first, others, strict=True)]
    with decimal.localcontext(prec=80):
        combined = a * serve_at(first) + b * serve_at(others)
    assert close(serve_at(mixed), combined)
    dearer = [price + (Decimal("0.01") if index == 0 else 0) for index, price in enumerate(first)]
    assert serve_at(dearer) > serve_at(first)


@GATE
@given(drinks, st.integers(1, 400), st.integers(1, 20), percents)
def test_h7_a_batch_is_n_drinks(drink: list[Any], many: int, times: int, over_pour: Decimal) -> None:
    allowances = Allowances(over_pour, Decimal(1))
    single = serve_costs(cost_lines(drink), allowances)
    batch = serve_costs(cost_lines(drink, Decimal(many)), allowances)
    nested = serve_costs(cost_lines(drink, Decimal(many * times)), allowances)
    per_serve = serve_costs(cost_lines(drink, Decimal(many)), allowances, serves=many)
    assert single.pour_cost is not None and batch.pour_cost is not None and nested.pour_cost is not None
    assert close(batch.pour_cost, oracle.frac(single.pour_cost) * many)
    assert close(nested.pour_cost, oracle.frac(batch.pour_cost) * times)
    assert close(per_serve.pour_cost, single.pour_cost)
    rounded = abs(half_up(batch.pour_cost, 2) - many * half_up(single.pour_cost, 2))
    assert rounded <= (many + 1) * Decimal("0.005")


@GATE
@given(drinks, st.integers(2, 9))
def test_a_nested_preparation_costs_what_its_lines_inlined_cost(drink: list[Any], parts: int) -> None:
    lines = cost_lines(drink)
    batch = sum((oracle.frac(line.cost) for line in lines), Fraction(0))
    prep = preparation_unit_cost(lines, Decimal(700 * parts))
    used = line_cost(CostLine("prep", "pour", Decimal(700), "ml", True), prep)
    assert close(used.cost, batch / parts)


shared = st.lists(st.decimals(0, 10**6, places=6), min_size=1, max_size=60).filter(any)


@GATE
@given(shared, st.integers(1, 97))
def test_h13_shares_add_up_and_are_those_of_the_oracle(costs: list[Decimal], divisor: int) -> None:
    with decimal.localcontext(prec=60):
        lines: list[Decimal | None] = [cost / divisor for cost in costs]
    made = shares(lines)
    known = [share for share in made if share is not None]
    assert sum(known) == 100
    assert [str(share) for share in known] == oracle.largest_remainder([oracle.frac(cost) for cost in costs])
    total = sum((oracle.frac(cost) for cost in costs), Fraction(0))
    for cost, share in zip(costs, known, strict=True):
        assert abs(oracle.frac(share) - oracle.frac(cost) / total * 100) < Fraction(1, 10)


@GATE
@given(st.lists(st.integers(0, 4), min_size=1, max_size=30).filter(any), st.randoms(use_true_random=False))
def test_h13_ties_go_by_index(costs: list[int], random: Any) -> None:
    order = list(range(len(costs)))
    random.shuffle(order)
    made = shares([Decimal(cost) for cost in costs])
    moved = shares([Decimal(costs[index]) for index in order])
    by_cost: dict[int, list[Decimal]] = {}
    for cost, share in zip(costs, made, strict=True):
        assert share is not None
        by_cost.setdefault(cost, []).append(share)
    for equals in by_cost.values():
        assert equals == sorted(equals, reverse=True), "of equal costs the earlier one has the larger share"
        assert equals[0] - equals[-1] <= Decimal("0.1")
    # Another order may give a tied tenth to another line (8.33 and 33.33 tie too), never more than that.
    for index, share in zip(order, moved, strict=True):
        before = made[index]
        assert share is not None and before is not None and abs(share - before) <= Decimal("0.1")


@GATE
@given(drinks, st.randoms(use_true_random=False))
def test_the_order_of_lines_moves_no_shown_figure(drink: list[Any], random: Any) -> None:
    allowances = Allowances(Decimal(3), Decimal(1))
    shuffled = drink[:]
    random.shuffle(shuffled)
    one, two = serve_costs(cost_lines(drink), allowances), serve_costs(cost_lines(shuffled), allowances)
    for name in ("ingredients", "garnish", "allowances", "pour_cost", "consumables", "serve_cost"):
        assert half_up(getattr(one, name), 6) == half_up(getattr(two, name), 6)
