"""Where it went: what was on the shelf and what moved, against what the drinks that sold should have taken."""

from collections.abc import Callable, Mapping, Sequence
from datetime import date, timedelta
from decimal import Decimal, localcontext
from typing import Final, Literal

from msgspec import Struct

from service.errors import InputFault
from service.margins.calendar import Period
from service.money import EXACT, HUNDRED, ZERO

MovementType = Literal[
    "delivery", "credit_note", "return", "transfer_in", "transfer_out", "consignment", "spill", "breakage",
    "complimentary", "staff", "training", "development",
]  # fmt: skip

DIRECTIONS: Final[Mapping[str, int]] = {
    "delivery": 1, "transfer_in": 1, "consignment": 1,
    "credit_note": -1, "return": -1, "transfer_out": -1,
    "spill": -1, "breakage": -1, "complimentary": -1, "staff": -1, "training": -1, "development": -1,
}  # fmt: skip
"""Whether a movement adds to the shelf or takes from it. A credit note is for goods that were billed and not kept."""

EXPLAINED: Final = ("spill", "breakage", "complimentary", "staff", "training", "development")
"""Movements that are use without a sale; the others are no use at all."""


class Movement(Struct, frozen=True):
    """``quantity`` base units, 0 or more, that moved on a trading day; a delivery bears the day it came."""

    item: str
    day: date
    type: MovementType
    quantity: Decimal


class Count(Struct, frozen=True):
    """What was counted at the end of a trading day."""

    item: str
    day: date
    quantity: Decimal


class Rolled(Struct, frozen=True):
    """A count that was brought to the cut-off: what moved between, and what the sales between should have taken."""

    count: Count
    to: date
    moved: tuple[Movement, ...]
    sold: Decimal
    quantity: Decimal


UseOn = Callable[[str, date, date], Decimal]
"""Theoretical use of an item on the trading days from one to another, both in it."""


class ItemUse(Struct, frozen=True):
    """One item over a period, in base units; ``unit_value`` of one of them is ``None`` where it is not known."""

    item: str
    opening: Decimal
    moved: Mapping[str, Decimal]
    closing: Decimal
    theoretical: Decimal
    unit_value: Decimal | None
    rolled: tuple[Rolled, ...] = ()

    @property
    def actual(self) -> Decimal:
        """Opening and what came, less what went without being used and what is left."""
        with localcontext(EXACT):
            flows = sum((DIRECTIONS[name] * one for name, one in self.moved.items() if name not in EXPLAINED), ZERO)
            return self.opening + flows - self.closing

    @property
    def variance(self) -> Decimal:
        """Actual less theoretical use: over 0 is a loss."""
        return EXACT.subtract(self.actual, self.theoretical)

    @property
    def explained(self) -> dict[str, Decimal]:
        """What of the variance was written down, by type."""
        return {name: self.moved[name] for name in EXPLAINED if self.moved.get(name)}

    @property
    def unexplained(self) -> Decimal:
        """What of the variance nobody wrote down."""
        with localcontext(EXACT):
            return self.variance - sum(self.explained.values(), ZERO)

    def money(self, quantity: Decimal) -> Decimal | None:
        """The value of a quantity of it."""
        return None if self.unit_value is None else EXACT.multiply(quantity, self.unit_value)


def at_cut_off(count: Count, cut_off: date, movements: Sequence[Movement], use_on: UseOn, roll: bool) -> Rolled | None:
    """The count brought to the end of the trading day ``cut_off``; ``None`` where it was taken then.

    later: quantity at cut-off = counted - what moved in + what moved out + what sold between; earlier: the reverse.
    Raises ``InputFault`` where counts may not be rolled.
    """
    if count.day == cut_off:
        return None
    if not roll:
        detail = (
            f"{count.item} was counted at the end of {count.day}, the cut-off is the end of {cut_off}. Count again, or "
            "set roll_counts to bring it there by movements and sales."
        )
        raise InputFault("count_beside_cut_off", detail)
    sign = 1 if count.day < cut_off else -1
    first, last = min(count.day, cut_off) + timedelta(days=1), max(count.day, cut_off)
    between = tuple(one for one in movements if one.item == count.item and first <= one.day <= last)
    sold = use_on(count.item, first, last)
    with localcontext(EXACT):
        flows = sum((DIRECTIONS[one.type] * one.quantity for one in between), ZERO)
        return Rolled(count, cut_off, between, sold, count.quantity + sign * (flows - sold))


def usage(
    period: Period,
    openings: Sequence[Count],
    closings: Sequence[Count],
    movements: Sequence[Movement],
    use_on: UseOn,
    unit_values: Mapping[str, Decimal | None],
    roll: bool = False,
) -> tuple[ItemUse, ...]:
    """Each counted item over the period, in the order of the closing counts.

    actual use = opening + deliveries + transfers in + consignment - credit notes - returns - transfers out - closing;
    variance = actual - theoretical use = sum of explained + unexplained. Reference: arithmetic.
    """
    before = period.first - timedelta(days=1)
    opened = {one.item: one for one in openings}
    found = []
    for number, closing in enumerate(closings):
        opening = opened.pop(closing.item, None)
        if opening is None:
            detail = "The item has a closing count and no opening one; state 0 where there was none."
            raise InputFault("opening_missing", detail, f"/closing/{number}/item")
        rolled = []
        at: dict[str, Decimal] = {}
        for name, count, cut_off in (("opening", opening, before), ("closing", closing, period.last)):
            try:
                moved = at_cut_off(count, cut_off, movements, use_on, roll)
            except InputFault as fault:
                place = number if name == "closing" else list(openings).index(opening)
                raise fault.at(f"/{name}/{place}/day") from None
            at[name] = count.quantity if moved is None else moved.quantity
            rolled += [] if moved is None else [moved]
        flows: dict[str, Decimal] = {}
        for one in movements:
            if one.item == closing.item and period.holds(one.day):
                flows[one.type] = EXACT.add(flows.get(one.type, ZERO), one.quantity)
        theoretical = use_on(closing.item, period.first, period.last)
        value = unit_values.get(closing.item)
        found.append(ItemUse(closing.item, at["opening"], flows, at["closing"], theoretical, value, tuple(rolled)))
    if opened:
        place = next(number for number, one in enumerate(openings) if one.item in opened)
        detail = "The item has an opening count and no closing one; state 0 where nothing is left."
        raise InputFault("closing_missing", detail, f"/opening/{place}/item")
    return tuple(found)


def percent_of_sales(money: Decimal | None, net_sales: Decimal | None) -> Decimal | None:
    """Money in percent of net sales; ``None`` where one is not known or nothing sold."""
    if money is None or net_sales is None or net_sales <= 0:
        return None
    return EXACT.divide(EXACT.multiply(HUNDRED, money), net_sales)
