"""Costs in bulk are those of the single evaluation, to the last decimal shown, whatever the prices."""

import os
import random
from collections import Counter
from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest

from service.bulk.recost import Recost, WholeMatrix
from service.bulk.rows import Column, Row, row_of, unit_cost
from service.choosing import Terms
from service.errors import InputFault
from service.lookup import Catalogue
from service.money import Rate, half_up
from tests.bulk.catalogues import DAY, catalogue, drink, evaluated, offers, parts

DRINKS = int(os.environ.get("WASHLINE_BULK_DRINKS", "2000"))
"""50,000 in the long form."""

ROUNDS = DRINKS // 250
RATES = (Rate("GBP", "EUR", Decimal("1.1523")),)


def units(columns: list[Column], held: Catalogue, choose: str = "cheapest") -> list[Fraction | None]:
    return [unit_cost(column, held.offers, Terms("EUR", DAY, choose, RATES)) for column in columns]


def single(request: object, held: Catalogue) -> Decimal | None:
    found = evaluated(request, held).cost  # type: ignore[arg-type]  # a request
    assert found is not None
    return None if found.serve.pour_cost is None else half_up(found.serve.pour_cost, 2)


@pytest.mark.parametrize("seed", range(ROUNDS))
def test_every_cost_is_that_of_the_single_evaluation(seed: int) -> None:
    """The oracle is the single evaluation at prices that the rows were not read from."""
    chance = random.Random(seed)
    made = parts(chance)
    choose = chance.choice(("cheapest", "preferred"))
    requests = [drink(chance, number, choose) for number in range(250)]
    first, second = (catalogue(made, offers(chance)) for _ in range(2))
    while True:  # A first price list that refuses a drink outright would leave no row to read.
        try:
            rows = [row_of(evaluated(request, first)) for request in requests]
            break
        except InputFault:
            first = catalogue(made, offers(chance))
    recost = Recost(rows, 2, lambda place: single(requests[place], second))
    recost.price(units(recost.columns, second, choose))
    found: Counter[str] = Counter()
    for place, (request, row) in enumerate(zip(requests, rows, strict=True)):
        cost = recost.cost(place)
        assert cost == single(request, second), place
        found["unknown" if cost is None else "known" if row.linear else "by hand"] += 1
    assert found["known"] >= 10


def plain(amounts: dict[str, str]) -> Row:
    columns = {item: Column(item, "ml", (), Decimal(0), False) for item in amounts}
    return Row({columns[item]: Fraction(amount) for item, amount in amounts.items()}, True, True)


def test_a_tie_goes_up_and_a_hair_below_it_down() -> None:
    """Arithmetic: 1/3 x 3.015 = 1.005, half up 1.01; less 1e-30 it is below the tie and becomes 1.00."""
    recost = Recost([plain({"a": "1/3"}), plain({"b": "1/3"})], 2)
    hair = Fraction(1, 10**30)
    prices = {"a": Fraction("3.015"), "b": Fraction("3.015") - hair}
    recost.price([prices[column.item] for column in recost.columns])
    assert [recost.cost(0), recost.cost(1)] == [Decimal("1.01"), Decimal("1.00")]


@pytest.mark.parametrize("places", [0, 2, 3])
def test_amounts_too_fine_for_their_scale_are_worked_out_in_fractions(places: int) -> None:
    """The oracle is half up on whole fractions."""
    chance = random.Random(places)
    rows = [plain({f"i{chance.randrange(5)}": f"{chance.randrange(1, 10**12)}/{10**10 + 19}"}) for _ in range(500)]
    rows += [plain({"i0": "1/2"}), plain({"i1": f"1/{2 * 10**7}"})]
    recost = Recost(rows, places)
    prices = {
        f"i{number}": Fraction(chance.randrange(1, 10**6), chance.choice((10**4, 700, 99_991))) for number in range(5)
    }
    recost.price([prices[column.item] for column in recost.columns])
    for place, row in enumerate(rows):
        total = sum((amount * prices[column.item] for column, amount in row.amounts.items()), Fraction(0))
        expected = Decimal((2 * total * 10**places + 1) // 2).scaleb(-places)
        assert recost.cost(place) == expected


def test_one_price_recosts_its_rows_alone_and_as_a_whole_would() -> None:
    chance = random.Random(7)
    rows = [plain({f"i{chance.randrange(40)}": str(chance.randrange(1, 99)) for _ in range(4)}) for _ in range(400)]
    recost, whole = Recost(rows, 2), Recost(rows, 2)
    prices: list[Fraction | None] = [Fraction(chance.randrange(1, 10**5), 4200) for _ in recost.columns]
    recost.price(prices)
    for _ in range(60):
        place = chance.randrange(len(prices))
        new = chance.choice([None, Fraction(chance.randrange(1, 10**6), chance.choice((4200, 77, 9_999_991)))])
        before = [recost.cost(row) for row in range(len(rows))]
        prices[place] = new
        touched = recost.reprice({place: new})
        using = [row for row, one in enumerate(rows) if recost.columns[place] in one.amounts]
        assert touched == using
        whole.price(prices)
        after = [recost.cost(row) for row in range(len(rows))]
        assert after == [whole.cost(row) for row in range(len(rows))]
        assert all(after[row] == before[row] for row in range(len(rows)) if row not in using)


def test_a_changed_spec_changes_its_row_alone() -> None:
    rows = [plain({"a": "10"}), plain({"a": "20", "b": "5"}), plain({"b": "7"})]
    recost = Recost(rows, 2)
    prices: dict[str, Fraction | None] = {"a": Fraction("0.05"), "b": Fraction("0.11"), "c": Fraction(2)}
    recost.price([prices[column.item] for column in recost.columns])
    recost.respec({1: plain({"c": "3", "a": "1"})}, lambda column: prices[column.item])
    # Arithmetic: 10 x 0.05; 3 x 2 + 0.05; 7 x 0.11.
    assert [recost.cost(place) for place in range(3)] == [Decimal("0.50"), Decimal("6.05"), Decimal("0.77")]


def test_sums_stay_within_64_bits() -> None:
    """Arithmetic: dear and cheap together, 40 lines of a thousand bottles at 9,999,999.99."""
    rows = [plain({f"i{number}": "1000.000001" for number in range(40)}), plain({"i0": "0.000001"})]
    recost = Recost(rows, 2)
    recost.price([Fraction("9999999.99")] * 40)
    exact = Fraction("1000.000001") * Fraction("9999999.99") * 40
    assert recost.cost(0) == Decimal((2 * exact * 100 + 1) // 2).scaleb(-2)
    assert recost.cost(1) == Decimal("10.00")


def test_the_matrix_holds_whole_numbers_alone() -> None:
    ends, columns = np.asarray([0, 1]), np.asarray([0], np.int32)
    matrix = WholeMatrix(ends, columns, np.asarray([3]), np.asarray([2]), np.asarray([False]), 1)
    matrix.price([Fraction(101, 3)])
    # Arithmetic: 3/2 x 101/3 = 50.5, half up 51.
    assert matrix.costs.dtype == np.int64
    assert matrix.costs.tolist() == [51]
