"""Periods of constant cost, worked by hand. Every expected figure is arithmetic."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from fractions import Fraction

from service.bulk.rows import Column, Row
from service.bulk.year import History, Period, change_days
from service.choosing import Offer, Terms
from service.money import Rate
from tests.offered import offer

RUM, GIN = (Column(item, "ml", (), Decimal(0), False) for item in ("rum", "gin"))


@dataclass
class Day:
    """One venue from a day on."""

    day: date
    rows: Mapping[str, Row | None]
    offers: Mapping[str, Sequence[Offer]]
    terms: Terms | None = None
    places: int = 2
    by_hand: dict[str, Decimal] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Costs in euros by the cheapest offer of the day unless stated."""
        self.terms = self.terms or Terms("EUR", self.day)

    def single(self, drink: str) -> Decimal | None:
        return self.by_hand.get(drink)


def told(states: Sequence[Day], last: date) -> list[tuple[str, int, int, str | None]]:
    """Drink, first and last day of January and cost of every period."""
    history = History()
    periods: list[Period] = [period for state in states for period in history.step(state)]
    periods += history.end(last)
    return [
        (one.drink, one.first.day, one.last.day, None if one.cost is None else str(one.cost)) for one in sorted(periods)
    ]


def day(number: int) -> date:
    return date(2026, 1, number)


def rum(price: str, **more: object) -> tuple[Offer, ...]:
    """A bottle of 1000 ml."""
    return (offer(price, "1", "1000", **more),)  # type: ignore[arg-type]  # fields of an offer


SHOT = Row({RUM: Fraction(50)}, True, True)
LONG = Row({RUM: Fraction(40), GIN: Fraction(20)}, True, True)


def test_a_price_moves_the_drinks_that_use_it_and_no_unknown_is_a_zero() -> None:
    """50 ml at 20 a litre are 1.00, at 22 1.10; the long one has gin without an offer until the ninth: 0.88 + 0.60."""
    gin = (offer("30", "1", "1000", item="gin"),)
    cheap, dear = rum("20"), rum("22")
    rows = {"shot": SHOT, "long": LONG}
    states = [Day(day(1), rows, {"rum": cheap}), Day(day(5), rows, {"rum": dear}),
              Day(day(9), rows, {"rum": dear, "gin": gin})]  # fmt: skip
    assert told(states, day(31)) == [
        ("long", 1, 8, None), ("long", 9, 31, "1.48"), ("shot", 1, 4, "1.00"), ("shot", 5, 31, "1.10"),
    ]  # fmt: skip


def test_a_price_that_moves_no_cent_begins_no_period() -> None:
    """50 ml at 20.01 a litre are 1.0005, which is 1.00."""
    rows = {"shot": SHOT}
    states = [Day(day(1), rows, {"rum": rum("20")}), Day(day(5), rows, {"rum": rum("20.01")})]
    assert told(states, day(6)) == [("shot", 1, 6, "1.00")]


def test_an_offer_that_ends_and_a_rate_that_begins_are_changes() -> None:
    """To the tenth 20; then the one in pounds, 16 x 1.5 = 24, makes 1.20; from the twentieth 16 x 2 makes 1.60."""
    both = (*rum("20", valid_to=day(10)), *rum("16", id="q2", currency="GBP", valid_from=day(11)))
    rates = (Rate("GBP", "EUR", Decimal("1.5")), Rate("GBP", "EUR", Decimal(2), day(20)))
    days = change_days(day(1), day(31), [rate.as_of for rate in rates], [one.valid_to for one in both])
    assert days == [day(1), day(11), day(20)]
    states = [Day(one, {"shot": SHOT}, {"rum": both}, Terms("EUR", one, rates=rates)) for one in days]
    assert told(states, day(31)) == [("shot", 1, 10, "1.00"), ("shot", 11, 19, "1.20"), ("shot", 20, 31, "1.60")]


def test_specs_change_come_and_go() -> None:
    """40 ml from the third are 0.80; the new one comes on the fifth and both of its lines hold to the seventh."""
    offers = {"rum": rum("20")}
    small = Row({RUM: Fraction(40)}, True, True)
    states = [Day(day(1), {"shot": SHOT}, offers), Day(day(3), {"shot": small}, offers),
              Day(day(5), {"shot": small, "new": SHOT}, offers), Day(day(8), {"shot": small}, offers)]  # fmt: skip
    assert told(states, day(9)) == [("new", 5, 7, "1.00"), ("shot", 1, 2, "1.00"), ("shot", 3, 9, "0.80")]


def test_a_drink_without_a_row_or_a_venue_without_a_currency_is_unknown() -> None:
    offers = {"rum": rum("20")}
    states = [Day(day(1), {"shot": None}, offers), Day(day(3), {"shot": SHOT}, offers),
              Day(day(5), {"shot": None}, offers)]  # fmt: skip
    assert told(states, day(9)) == [("shot", 1, 2, None), ("shot", 3, 4, "1.00"), ("shot", 5, 9, None)]


def test_a_drink_that_opens_whole_bottles_is_evaluated_by_itself() -> None:
    bottle = Row({RUM: Fraction(200)}, True, False)
    states = [Day(day(1), {"b": bottle}, {"rum": rum("20")}, by_hand={"b": Decimal("20.00")}),
              Day(day(2), {"b": bottle}, {"rum": rum("22")}, by_hand={"b": Decimal("22.00")})]  # fmt: skip
    assert told(states, day(3)) == [("b", 1, 1, "20.00"), ("b", 2, 3, "22.00")]
