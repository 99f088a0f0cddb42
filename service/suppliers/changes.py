"""What a new price means beside the old one, and which changes look like a mistake of reading.

A list that suddenly states the price of a bottle for the case, or with the tax that was left out, is seen by the ratio
of the prices. Ratios are compared as products in the context of money; nothing is divided before the figure that is
shown, but for a quotient in binary that says which ratios are so far apart that no product need be taken.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal, NamedTuple

from service.errors import InputFault
from service.money import EXACT, half_up
from service.suppliers.packs import base_of

NEAR_COUNT: Final = Decimal("0.02")
"""How near to a pack count or its inverse is suspicious: 2 % (a choice of this service)."""
NEAR_FACTOR: Final = Decimal("0.005")
"""How near to a tax factor, or to 750/700, or to the inverse of one is suspicious: 0.5 % (as above)."""

_BINARY: Final = 1e-6
"""Far over what a quotient of two binary figures can be off (1e-15 of it); what is nearer is compared exactly."""
_LEAST_RATE: Final = Decimal(1)
"""A tax of 1 % or less cannot be told from an ordinary change."""
_ONE: Final = Decimal(1)
_HUNDRED: Final = Decimal(100)
_BOTTLES: Final = (Decimal(750), Decimal(700))


@dataclass(slots=True)
class Terms:
    """What one price buys: ``price`` of ``count`` units of ``size``; tax in percent of the net price if included."""

    count: int
    size: str
    price: Decimal
    tax_percent: Decimal | None = None


class Doubt(NamedTuple):
    """Something that must be confirmed."""

    code: str
    detail: str


Outcome = Literal["up", "down", "unchanged"]


class _Ratio(NamedTuple):
    """New over old as a quotient that is not taken."""

    new: Decimal
    old: Decimal

    @property
    def percent(self) -> Decimal | None:
        """The change in percent of the old one; ``None`` where that is 0."""
        if not self.old:
            return None
        apart = EXACT.multiply(EXACT.subtract(self.new, self.old), _HUNDRED)
        return half_up(EXACT.divide(apart, self.old), 2)

    def near(self, over: Decimal, under: Decimal, tolerance: Decimal) -> bool:
        """Whether the ratio lies within ``tolerance`` of over / under, the ends included."""
        aim = EXACT.multiply(self.old, over)
        apart = EXACT.subtract(EXACT.multiply(self.new, under), aim).copy_abs()
        return apart <= EXACT.multiply(aim, tolerance)

    def near_either(self, over: Decimal, under: Decimal, tolerance: Decimal) -> bool:
        """The same of over / under or of its inverse."""
        return self.near(over, under, tolerance) or self.near(under, over, tolerance)


@dataclass(slots=True)
class Change:
    """What a new price means beside the old one; ``differs`` says whether it is anything to write."""

    outcome: Outcome
    ratio: _Ratio
    doubts: tuple[Doubt, ...]
    differs: bool

    @property
    def percent(self) -> Decimal | None:
        """The change in percent with two decimals; ``None`` where the old price was 0 and the new one is not."""
        return self.ratio.percent


_SAME: Final = Change("unchanged", _Ratio(_ONE, _ONE), (), False)


def change_between(old: Terms, new: Terms, tax_rates_percent: Iterable[Decimal], limit_percent: Decimal) -> Change:
    """How ``new`` differs from ``old``; ``tax_rates_percent`` are the rates whose factor is suspicious.

    The outcome is by the price of one base unit without tax, or of the pack where its measure changed.

    >>> change = change_between(Terms(6, "70 cl", Decimal(120)), Terms(6, "70 cl", Decimal(20)), (), Decimal(25))
    >>> change.outcome, [doubt.code for doubt in change.doubts]
    ('down', ['near_pack_count', 'over_limit'])
    """
    if old == new:
        return _SAME
    packs = _Ratio(new.price, old.price)
    # The same pack with the same tax: both ratios are one.
    same = old.count == new.count and old.size == new.size and old.tax_percent == new.tax_percent
    units = packs if same else _unit_ratio(old, new)
    outcome: Outcome = "up" if units.new > units.old else "down" if units.new < units.old else "unchanged"
    doubts = _doubts(old, new, (packs,) if same else (packs, units), tax_rates_percent, limit_percent)
    return Change(outcome, units, tuple(doubts), _differs(old, new))


def _differs(old: Terms, new: Terms) -> bool:
    return not (
        old.price == new.price
        and old.count == new.count
        and base_of(old.size) == base_of(new.size)
        and old.tax_percent == new.tax_percent
    )


def _unit_ratio(old: Terms, new: Terms) -> _Ratio:
    """The ratio of the net prices of one ml, g or piece; of the pack where these differ."""
    old_size, old_base = base_of(old.size)
    new_size, new_base = base_of(new.size)
    over = EXACT.multiply(new.price, EXACT.add(_HUNDRED, old.tax_percent or Decimal(0)))
    under = EXACT.multiply(old.price, EXACT.add(_HUNDRED, new.tax_percent or Decimal(0)))
    if old_base == new_base:
        over = EXACT.multiply(over, EXACT.multiply(old_size, Decimal(old.count)))
        under = EXACT.multiply(under, EXACT.multiply(new_size, Decimal(new.count)))
    return _Ratio(over, under)


def _doubts(
    old: Terms, new: Terms, ratios: tuple[_Ratio, ...], rates: Iterable[Decimal], limit_percent: Decimal
) -> list[Doubt]:
    found: list[Doubt] = []
    if (old.count, base_of(old.size)) != (new.count, base_of(new.size)):
        found.append(Doubt("pack_changed", f"The pack was {old.count} x {old.size}."))
    if base_of(old.size)[1] != base_of(new.size)[1]:
        detail = "It was sold by another measure (volume, mass or pieces): the change shown is that of the whole pack."
        found.append(Doubt("measure_changed", detail))
    if old.tax_percent != new.tax_percent:
        found.append(Doubt("tax_changed", "The tax that the price holds changed."))
    if not new.price and old.price:
        found.append(Doubt("price_zero", "The price is now 0."))
    if not old.price and new.price:
        found.append(Doubt("price_from_zero", "The price was 0."))
    if not (old.price and new.price):
        return found
    about = [(float(ratio.new) / float(ratio.old), ratio) for ratio in ratios]
    counts = sorted({count for count in (old.count, new.count) if count > 1})
    near = [count for count in counts if _any_near(about, Decimal(count), _ONE, NEAR_COUNT)]
    if near:
        detail = f"The change is close to a factor of {near[0]}, the number in the pack: one unit instead of the pack?"
        found.append(Doubt("near_pack_count", detail))
    for rate in rates:
        if rate > _LEAST_RATE and _any_near(about, EXACT.add(_HUNDRED, rate), _HUNDRED, NEAR_FACTOR):
            shown = f"{rate.normalize():f}"
            found.append(
                Doubt("near_tax", f"The change is close to a tax of {shown} %: is the tax in the price or not?")
            )
            break
    if _any_near(about, *_BOTTLES, NEAR_FACTOR):
        found.append(Doubt("near_bottle_size", "The change is close to 750/700: did the size of the bottle change?"))
    if any(_over_limit(quotient, ratio, limit_percent) for quotient, ratio in about):
        found.append(Doubt("over_limit", f"The change is over {limit_percent.normalize():f} %."))
    return found


def _any_near(about: Iterable[tuple[float, _Ratio]], over: Decimal, under: Decimal, tolerance: Decimal) -> bool:
    aim, within = float(over) / float(under), float(tolerance) + _BINARY
    return any(
        (abs(quotient / aim - 1) <= within or abs(quotient * aim - 1) <= within)
        and ratio.near_either(over, under, tolerance)
        for quotient, ratio in about
    )


def _over_limit(quotient: float, ratio: _Ratio, limit_percent: Decimal) -> bool:
    if abs(quotient - 1) * 100 < float(limit_percent) * (1 - _BINARY) - _BINARY:
        return False
    apart = EXACT.subtract(ratio.new, ratio.old).copy_abs()
    return EXACT.multiply(apart, _HUNDRED) > EXACT.multiply(ratio.old, limit_percent)


def same_currency(old: str, new: str) -> None:
    """Refuses an offer that would change its currency."""
    if old != new:
        detail = f"The offer is in {old}; a change of currency needs a new offer, not a new price."
        raise InputFault("currency_changed", detail)
