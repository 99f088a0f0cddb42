"""Net sales, the statement, what is under target, the classes."""

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.errors import InputFault
from service.margins.classes import classes
from service.margins.sales import Channel, net_sale
from service.margins.statement import Figures, Placed, statement, under_target
from service.money import EXACT, half_up, snapped
from service.pricing import NO_TAX, PriceRound, Target, Tax
from tests.margins.cases import DAY, figures, key, net, of, sale


@pytest.mark.parametrize("case", of("net"))
def test_net_of_a_row(case: dict[str, Any]) -> None:
    more: dict[str, Any] = {
        name: case[name] for name in ("discount", "complimentary", "service_charge", "deposit") if name in case
    }
    tax = Tax.at_rate(Decimal(case["rate"]), case["included"])
    found = net_sale(sale("a", "1", case["gross"], **more), {None: tax}, {})
    assert (snapped(found.net), snapped(found.tax)) == (Decimal(case["net"]), Decimal(case["tax"]))


def test_channel_costs_stand_beside_the_margin() -> None:
    # 100.00 net at 15 % = 15.00; 8 serves at 0.25 and 0.30 = 4.40; together 19.40. Arithmetic.
    boat = Channel("boat", Decimal(15), Decimal("0.25"), Decimal("0.30"))
    row = net_sale(sale("a", "8", "100.00", channel="boat"), {None: NO_TAX}, {"boat": boat})
    assert row.channel_cost == Decimal("19.40")
    found = statement([row], lambda one: Decimal(2), lambda row: Placed())
    assert found.total.contribution == Decimal(84)
    assert found.total.after_channels == Decimal("64.60")
    assert set(found.channels) == {"boat"}


def test_what_is_not_stated_of_a_row_is_refused_by_its_row() -> None:
    cases: list[tuple[dict[str, Any], str]] = [
        ({"channel": "boat"}, "channel_unknown"),
        ({"tax_class": "soft"}, "tax_class_unknown"),
    ]
    for more, code in cases:
        with pytest.raises(InputFault) as fault:
            net_sale(sale("a", "1", "1", **more), {None: NO_TAX}, {})
        assert fault.value.code == code
        assert fault.value.pointer.startswith("/sales/1/")


@pytest.mark.parametrize("case", of("statement"))
def test_a_statement(case: dict[str, Any]) -> None:
    rows = [net(sale(**row)) for row in case["rows"]]
    found = statement(rows, lambda one: Decimal(case["costs"][one.drink]), lambda row: Placed("s", "m", "v"))
    for total in (found.total, found.sections["s"], found.menus["m"], found.venues["v"]):
        assert total.net == Decimal(case["net"])
        assert total.pour_cost == Decimal(case["pour_cost"])
        assert total.contribution == Decimal(case["contribution"])
        assert total.contribution_each == Decimal(case["contribution_each"])
        assert total.pour_cost_percent == Decimal(case["pour_cost_percent"])
        assert total.gross_margin_percent == Decimal(case["gross_margin_percent"])


def test_each_row_is_costed_as_of_its_own_day() -> None:
    # 3 at 2.00 and 4 at 2.50 = 16.00. Arithmetic.
    later = DAY.replace(day=15)
    rows = [net(sale("a", "3", "30")), net(sale("a", "4", "40", day=later))]
    found = statement(rows, lambda one: Decimal("2.5") if one.day == later else Decimal(2), lambda row: Placed())
    assert found.total.pour_cost == Decimal(16)


def test_an_unknown_cost_is_never_0() -> None:
    rows = [net(sale("a", "3", "30")), net(sale("b", "1", "10"))]
    found = statement(rows, lambda one: Decimal(2) if one.drink == "a" else None, lambda row: Placed())
    total = found.total
    assert (total.complete, total.contribution, total.gross_margin_percent, total.pour_cost_percent) == (
        False, None, None, None,
    )  # fmt: skip
    assert (total.pour_cost, total.uncosted_net, total.missing) == (Decimal(6), Decimal(10), {("b", ())})
    assert found.drinks["a", ()].complete


def test_refunds_and_nothing_sold_have_sums_and_no_percentages() -> None:
    rows = [net(sale("a", "2", "20")), net(sale("a", "-2", "-20")), net(sale("b", "-1", "-10"))]
    found = statement(rows, lambda one: Decimal(3), lambda row: Placed())
    a, b = found.drinks["a", ()], found.drinks["b", ()]
    assert [a.quantity, a.net, a.pour_cost, a.contribution_each, a.gross_margin_percent] == [0, 0, 0, None, None]
    assert (b.contribution, b.gross_margin_percent) == (Decimal(-7), None)
    assert under_target(found.drinks, Target(Decimal(70)), lambda _: NO_TAX, None, "EUR") == []


row_of = st.builds(
    lambda drink, quantity, gross: net(sale(drink, str(quantity), str(gross))),
    st.sampled_from("abc"),
    st.integers(-20, 50),
    st.decimals(-500, 500, places=2, allow_nan=False),
)


@given(st.lists(row_of, max_size=30), st.integers(0, 9))
def test_the_parts_add_up_to_the_whole(rows: list[Any], cents: int) -> None:
    section = {"a": "short", "b": "long", "c": None}
    found = statement(rows, lambda one: Decimal(cents) + Decimal("0.33"), lambda row: Placed(section[row.sale.drink]))
    for group in (found.drinks, found.sections, found.menus, found.venues, found.channels):
        parts: list[Figures] = list(group.values())
        assert sum(one.net for one in parts) == found.total.net
        assert sum(one.pour_cost for one in parts) == found.total.pour_cost
        assert sum(one.quantity for one in parts) == found.total.quantity


def test_the_price_that_brings_a_drink_back() -> None:
    # Cost 3.00 at a margin of 75 % asks 12.00 net, 14.40 with 20 % tax, 14.50 on steps of 0.50. Arithmetic.
    drinks = {key("a"): figures("10", "100.00", "30.00"), key("b"): figures("10", "200.00", "30.00")}
    tax = Tax.at_rate(Decimal(20), True)
    step = PriceRound(Decimal("0.50"), "nearest")
    (found,) = under_target(drinks, Target(Decimal(75)), lambda _: tax, step, "EUR")
    assert (found.key, found.net_each, found.asked_net) == (("a", ()), Decimal(10), Decimal(12))
    assert found.back.suggested == Decimal("14.50")


@pytest.mark.parametrize(("currency", "back"), [("JPY", "1334"), ("KWD", "1333.334"), ("EUR", "1333.34")])
def test_the_price_back_is_payable_in_its_currency_and_never_below(currency: str, back: str) -> None:
    # 333.3333 / 0.25 = 1333.3332, up to the minor unit: 0, 3 and 2 digits by ISO 4217. Arithmetic.
    drinks = {key("a"): figures("1", "1000", "333.3333")}
    (found,) = under_target(drinks, Target(Decimal(75)), lambda _: NO_TAX, None, currency)
    assert found.back.suggested == Decimal(back)


@pytest.mark.parametrize("case", of("classes"))
def test_classes(case: dict[str, Any]) -> None:
    drinks = {
        key(drink): figures(quantity, str(Decimal(quantity) * (Decimal(each) + 1)), quantity)
        for drink, (quantity, each) in case["drinks"].items()
    }
    found = classes(drinks)
    assert found is not None
    assert {one.key[0]: one.words for one in found.drinks} == case["words"]
    assert (found.share_from, found.each_from) == (Decimal(case["share_from"]), Decimal(case["each_from"]))


def test_drinks_that_cannot_be_judged_are_left_out_of_the_classes() -> None:
    unknown = Figures(quantity=Decimal(5), missing={("u", ())})
    found = classes({key("a"): figures("5", "50", "10"), key("u"): unknown, key("r"): figures("-1", "-9", "-2")})
    assert found is not None
    assert found.left_out == (("u", ()), ("r", ()))
    assert classes({key("u"): unknown}) is None


@given(st.lists(st.tuples(st.integers(1, 400), st.integers(-300, 900)), min_size=1, max_size=12))
def test_somebody_always_sells_well_and_earns_well(rows: list[tuple[int, int]]) -> None:
    drinks = {
        key(f"d{at}"): figures(str(quantity), str(quantity * each), "0") for at, (quantity, each) in enumerate(rows)
    }
    found = classes(drinks)
    assert found is not None
    assert any(one.sells_well for one in found.drinks)
    assert any(one.earns_well for one in found.drinks)
    assert half_up(sum((one.share for one in found.drinks), Decimal(0)), 20) == 1
    assert EXACT.multiply(found.share_from, len(rows)) - Decimal("0.7") < Decimal("1e-50")
