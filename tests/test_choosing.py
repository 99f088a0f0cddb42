"""The offer that an item is costed by, against sums done by hand, the fraction oracle, and properties H6, H11, H19."""

from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from service.choosing import KeptItem, chosen_offer, chosen_offers, unit_cost
from service.errors import InputFault
from service.money import EXACT, Rate, half_up
from tests import money_oracle as oracle
from tests.offered import DAY, GATE, TERMS, counts, kept, offer, percents, picked, prices, sizes

pytestmark = pytest.mark.usefixtures("floats_are_refused")

exchange = st.decimals(Decimal("0.000001"), 200000, places=6)


def cost_of(**changes: Any) -> Decimal:
    cost = unit_cost(offer(**changes), "EUR", (), DAY)
    assert cost is not None
    return cost


# One offer. Each expected figure is the sum in its comment, done by hand (arithmetic; common practice, no source).


@pytest.mark.parametrize(
    "changes, pack",
    [
        ({}, "141"),
        # Delivery is added, a rebate taken off, duty added: 141 + 9 - 5 + 20.
        ({"delivery": Decimal(9), "rebate": Decimal(5), "duty_amount": Decimal(20)}, "165"),
        # A tenth off the price alone, not off the delivery: 126.90 + 9.
        ({"discount_percent": Decimal(10), "delivery": Decimal(9)}, "135.90"),
        # 169.20 with 20 % tax inside is 141 without.
        ({"price": "169.20", "tax_included": True, "tax_rate_percent": Decimal(20)}, "141"),
        # A tax rate beside a price without tax says nothing about it.
        ({"tax_rate_percent": Decimal(20)}, "141"),
        # The deposit comes back.
        ({"deposit": Decimal(60)}, "141"),
    ],
)
def test_the_pack_costs(changes: dict[str, Any], pack: str) -> None:
    assert half_up(cost_of(**changes) * 4200, 20) == Decimal(pack)


def test_free_units_and_residue_change_what_comes_out() -> None:
    # 141 over 7 bottles of 700 ml; over 6 bottles of which 10 ml stay.
    assert half_up(cost_of(free_units=Decimal(1)) * 4900, 20) == 141
    cost = unit_cost(offer(), "EUR", (), DAY, Decimal(10))
    assert cost is not None and half_up(cost * 6 * 690, 20) == 141


def test_suspended_duty_leaves_the_cost_unknown() -> None:
    assert unit_cost(offer(duty_unknown=True), "EUR", (), DAY) is None
    choice = chosen_offer([offer(duty_unknown=True)], kept(), TERMS)
    assert (choice.unit_cost, choice.missing, choice.unit_size) == (None, (("rum", "duty"),), None)
    assert choice.reason == "the only one valid on 2026-11-25"
    assert choice.considered[0].reason.startswith("cost unknown: duty")


@pytest.mark.parametrize(
    "changes, residue, code, pointer",
    [
        ({"tax_included": True}, "0", "tax_rate_missing", "/offers/0/tax_rate_percent"),
        ({"rebate": Decimal("141.01")}, "0", "offer_below_zero", "/offers/0"),
        ({}, "700", "residue_exceeds_size", "/offers/0/pack/size"),
        ({"currency": "USD"}, "0", "rate_missing", "/pricing/rates"),
    ],
)
def test_an_offer_that_cannot_be_costed_is_a_fault(
    changes: dict[str, Any], residue: str, code: str, pointer: str
) -> None:
    with pytest.raises(InputFault) as fault:
        chosen_offer([offer(pointer="/offers/0", **changes)], kept(residue_ml=residue), TERMS)
    assert (fault.value.code, fault.value.pointer) == (code, pointer)


# Another currency. The rate is made up; 141 x 0.91.


def test_an_offer_in_another_currency() -> None:
    cost = unit_cost(offer(currency="USD"), "EUR", [Rate("USD", "EUR", Decimal("0.91"))], DAY)
    assert cost is not None and half_up(cost * 4200, 20) == Decimal("128.31")


# The choice of offer.

CHEAP = offer("20.00", "1", id="cheap", supplier="B", order=0)
DEAR = offer("21.00", "1", id="dear", supplier="A", order=1, preferred=True)
PAST = offer("10.00", "1", id="past", order=2, valid_to=date(2026, 11, 24))
FUTURE = offer("10.00", "1", id="future", order=3, valid_from=date(2026, 11, 26))


def test_the_cheapest_of_those_valid_on_the_day() -> None:
    choice = picked([PAST, DEAR, CHEAP, FUTURE])
    assert choice.offer is CHEAP
    assert choice.reason == "cheapest of 2 valid on 2026-11-25"
    assert [(row.offer, row.reason) for row in choice.considered] == [
        ("past", "not valid on 2026-11-25"), ("dear", "dearer"), ("cheap", "chosen"), ("future", "not valid on 2026-11-25"),
    ]  # fmt: skip
    assert [row.unit_cost is None for row in choice.considered] == [True, False, False, True]


@pytest.mark.parametrize("day, valid", [(date(2026, 1, 1), True), (date(2026, 1, 31), True),
                                        (date(2025, 12, 31), False), (date(2026, 2, 1), False)])  # fmt: skip
def test_both_days_of_an_offer_are_inclusive(day: date, valid: bool) -> None:
    assert offer(valid_from=date(2026, 1, 1), valid_to=date(2026, 1, 31)).is_valid(day) is valid


def test_ties_go_by_supplier_then_order_even_where_the_packs_differ() -> None:
    # One third of a cent per ml from three packs: 7/2100, 21/6300, 1/300.
    one = offer("7", "3", id="one", supplier="B", order=0)
    two = offer("21", "9", id="two", supplier="A", order=2)
    three = offer("1", "1", "300", id="three", supplier="A", order=1)
    choice = picked([one, two, three])
    assert choice.offer is three
    assert [row.reason for row in choice.considered] == ["same cost, later by supplier or order"] * 2 + ["chosen"]


def test_a_tie_through_a_conversion_that_does_not_end_is_a_tie() -> None:
    # Kept in g at 0.9 g/ml, so 1.11.. ml a gram: 9.00 for 900 g and 9.00 for 1000 ml are both 0.01 per g.
    by_g = offer("9.00", "1", "900", "g", id="by-g", supplier="A")
    by_ml = offer("9.00", "1", "1000", "ml", id="by-ml", supplier="B")
    item = KeptItem("rum", "g", {"ml": EXACT.divide(Decimal(1), Decimal("0.9"))})
    choice = picked([by_ml, by_g], item=item)
    assert choice.offer is by_g
    assert choice.considered[0].reason == "same cost, later by supplier or order"


def test_preferred_ones_come_first_and_none_preferred_is_said() -> None:
    choice = picked([CHEAP, DEAR], "preferred")
    assert (choice.offer, choice.reason) == (DEAR, "the only one preferred and valid on 2026-11-25")
    assert [row.reason for row in choice.considered] == ["not preferred", "chosen"]
    dearer = replace(DEAR, id="dearer", price=Decimal(22))
    assert picked([dearer, CHEAP, DEAR], "preferred").reason == "cheapest of 2 preferred and valid on 2026-11-25"
    none = picked([CHEAP, replace(DEAR, preferred=False)], "preferred")
    assert (none.offer, none.reason) == (CHEAP, "none is preferred; cheapest of 2 valid on 2026-11-25")
    past = picked([CHEAP, replace(PAST, preferred=True)], "preferred")
    assert (past.offer, past.reason) == (CHEAP, "none is preferred; the only one valid on 2026-11-25")


def test_an_offer_named_by_its_id() -> None:
    choice = picked([CHEAP, DEAR, PAST], {"rum": "dear"})
    assert (choice.offer, choice.reason) == (DEAR, "named in choose")
    assert [row.reason for row in choice.considered] == [
        "another is named in choose", "chosen", "not valid on 2026-11-25",
    ]  # fmt: skip
    assert picked([CHEAP, DEAR], {"lime": "dear"}).reason == "cheapest of 2 valid on 2026-11-25"


@pytest.mark.parametrize("named, code", [("nowhere", "offer_unknown"), ("past", "offer_not_valid")])
def test_a_named_offer_that_does_not_serve_is_a_fault(named: str, code: str) -> None:
    with pytest.raises(InputFault) as fault:
        picked([CHEAP, PAST], {"rum": named})
    assert (fault.value.code, fault.value.pointer) == (code, "/pricing/choose/rum")


def test_offers_in_other_bases_are_compared_in_the_items_own() -> None:
    # Kept in ml at 0.8 g/ml: 8.00 for 1000 g is 0.0064 per ml, 7.00 for 1000 ml is 0.007.
    by_g = offer("8.00", "1", "1000", "g", id="by-g")
    by_ml = offer("7.00", "1", "1000", id="by-ml")
    by_piece = offer("0.01", "1", "1", "each", id="by-piece")
    choice = picked([by_ml, by_g, by_piece], item=kept(ml="1", g="0.8"))
    assert (choice.offer, choice.unit_cost, choice.unit_size) == (by_g, Decimal("0.0064"), Decimal(1250))
    assert choice.reason == "cheapest of 2 valid on 2026-11-25, 1 more with unknown cost"
    assert choice.considered[2] == (
        "by-piece",
        None,
        "offered by each, kept by ml, and nothing converts the two",
    )


@pytest.mark.parametrize(
    "bases, base, missing",
    [(["g"], "ml", "density_g_per_ml"), (["ml"], "g", "density_g_per_ml"), (["each"], "g", "pieces"),
     (["g"], "each", "pieces"), (["each", "g"], "ml", "pieces"), ([], "ml", "offer")],
)  # fmt: skip
def test_an_unknown_cost_names_the_field_that_is_missing(bases: list[str], base: str, missing: str) -> None:
    choice = picked([offer(base=name) for name in bases], item=kept(base))
    assert (choice.unit_cost, choice.missing) == (None, (("rum", missing),))
    assert (choice.offer is None) == (missing == "offer")


def test_reasons_where_there_is_no_choice() -> None:
    assert picked([]).reason == "no offer"
    assert (picked([PAST, FUTURE]).reason, picked([PAST]).offer) == ("none of 2 valid on 2026-11-25", None)
    both = picked([offer(base="g", id="a"), offer(base="g", id="b", order=1)])
    assert both.reason == "first of 2 valid on 2026-11-25, none with a known cost"


def test_a_known_cost_is_taken_before_an_unknown_one() -> None:
    assert picked([replace(CHEAP, duty_unknown=True), DEAR]).offer is DEAR
    preferred = picked([CHEAP, replace(DEAR, duty_unknown=True)], "preferred")
    assert (preferred.offer is not CHEAP, preferred.unit_cost) == (True, None)


def test_the_residue_of_a_bottle_sold_by_mass() -> None:
    # 10 ml of 1.25 g/ml stay: 12.5 g of 1000 g; 9.875 for the 987.5 g left is 0.01 per g, 0.0125 per ml.
    by_mass = offer("9.875", "1", "1000", "g")
    in_ml = picked([by_mass], item=kept("ml", "10", g="1.25"))
    assert (in_ml.unit_cost, in_ml.unit_size) == (Decimal("0.0125"), Decimal(790))
    in_g = picked([by_mass], item=kept("g", "10", ml="0.8"))
    assert (in_g.unit_cost, in_g.unit_size) == (Decimal("0.01"), Decimal("987.5"))
    assert picked([by_mass], item=kept("g", "10")).unit_size == 1000


def test_all_choices_of_a_drink_are_those_made_one_by_one() -> None:
    lime = KeptItem("lime", "each", {})
    offers = {"rum": [CHEAP, DEAR]}
    made = chosen_offers(offers, [kept(), lime], TERMS)
    assert made == {"rum": picked([CHEAP, DEAR]), "lime": chosen_offer((), lime, TERMS)}


# Properties.


@GATE
@given(prices, counts, sizes, percents, prices, st.integers(0, 3), percents, exchange, st.booleans())
def test_h11_the_unit_cost_is_the_exact_fraction(
    price: Decimal, count: int, size: Decimal, discount: Decimal, delivery: Decimal, free: int,
    tax: Decimal, rate: Decimal, taxed: bool,
) -> None:  # fmt: skip
    for moved in (price, price + Decimal("0.01")):
        rebate = moved / 100
        given_ = offer(
            str(moved), str(count), str(size), currency="USD", discount_percent=discount, delivery=delivery,
            free_units=Decimal(free), tax_included=taxed, tax_rate_percent=tax, rebate=rebate,
        )  # fmt: skip
        cost = unit_cost(given_, "EUR", [Rate("USD", "EUR", rate)], DAY, Decimal("0.25"))
        exact = oracle.pack_unit_cost(
            price=oracle.frac(moved), count=Fraction(count), size=oracle.frac(size), rate=oracle.frac(rate),
            discount_percent=oracle.frac(discount), delivery=oracle.frac(delivery), free_units=Fraction(free),
            rebate=oracle.frac(rebate), residue=Fraction(1, 4),
            tax_percent_inside=oracle.frac(tax) if taxed else Fraction(0),
        )  # fmt: skip
        assert cost is not None
        for places in (2, 6, 9):
            assert format(half_up(cost, places), "f") == oracle.half_up_text(exact, places)


@GATE
@given(prices, prices, prices)
def test_h6_an_offer_that_is_not_used_moves_nothing(price: Decimal, unused: Decimal, other: Decimal) -> None:
    named = {"rum": "used"}
    used = offer(str(price), id="used")
    costs = {picked([used, offer(str(another), id="unused")], named).unit_cost for another in (unused, other)}
    assert costs == {unit_cost(used, "EUR", (), DAY)}


@GATE
@given(prices, counts, sizes, st.integers(2, 50), percents, prices)
def test_h19_k_packs_at_k_times_the_price_cost_the_same(
    price: Decimal, count: int, size: Decimal, k: int, tax: Decimal, delivery: Decimal
) -> None:
    facts: dict[str, Any] = {"tax_included": True, "tax_rate_percent": tax}
    one = offer(str(price), str(count), str(size), delivery=delivery, **facts)
    many = offer(str(price * k), str(count * k), str(size), delivery=delivery * k, **facts)
    assert unit_cost(one, "EUR", (), DAY) == unit_cost(many, "EUR", (), DAY)
