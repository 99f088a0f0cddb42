"""Why the contribution of one period differs from another's: price, mix, volume and cost, which add up exactly."""

from collections.abc import Mapping
from decimal import Decimal, localcontext

from msgspec import Struct

from service.margins.sales import Key
from service.margins.statement import Figures
from service.money import EXACT, ZERO, snapped


class Sold(Struct, frozen=True):
    """What one drink brought in one period: serves, net sales, pour cost."""

    quantity: Decimal
    net: Decimal
    cost: Decimal

    @property
    def contribution(self) -> Decimal:
        """Net less cost."""
        return EXACT.subtract(self.net, self.cost)


class Effects(Struct, frozen=True):
    """``before`` and ``after`` are contributions; ``left_out`` drinks have an unknown cost in one of the periods."""

    before: Decimal
    after: Decimal
    price: Decimal
    cost: Decimal
    volume: Decimal
    mix: Decimal
    left_out: tuple[Key, ...] = ()

    @property
    def change(self) -> Decimal:
        """After less before."""
        return EXACT.subtract(self.after, self.before)


def sold_of(drinks: Mapping[Key, Figures]) -> tuple[dict[Key, Sold], set[Key]]:
    """What each drink brought, and the drinks whose cost is not known."""
    known = {key: Sold(one.quantity, one.net, one.pour_cost) for key, one in drinks.items() if one.complete}
    return known, set(drinks) - set(known)


def effects(before: Mapping[Key, Sold], after: Mapping[Key, Sold], left_out: frozenset[Key] = frozenset()) -> Effects:
    """The four effects between two periods; with q serves, p net price and c cost of one serve, m = p - c:

    price  = sum over drinks sold in both of q1 x (p1 - p0)
    cost   = sum over drinks sold in both of q1 x (c0 - c1)
    volume = (Q1 - Q0) x M0 / Q0, with Q all serves and M the contribution of all
    mix    = (M1 - M0) - price - cost - volume

    which is sum of (q1 - q0) x m0 less the volume effect, with m1 in the place of m0 for a drink that is new, and all
    of a drink's change where it has money and no serves. Where Q0 is 0 there is no mix to speak of and all is volume.
    Mix is taken as what is left, so the four add up to the change to the last digit. Reference: arithmetic.

    >>> one = {("a", ()): Sold(Decimal(10), Decimal(100), Decimal(20))}
    >>> two = {("a", ()): Sold(Decimal(12), Decimal(132), Decimal(24))}
    >>> found = effects(one, two)
    >>> [int(found.price), int(found.cost), int(found.volume), int(found.mix)]
    [12, 0, 16, 0]
    """
    with localcontext(EXACT):
        first = {key: one for key, one in before.items() if key not in left_out}
        second = {key: one for key, one in after.items() if key not in left_out}
        # Snapped to 40 decimals, so that every sum below is exact in the 60 digits of the context.
        m0 = snapped(sum((one.contribution for one in first.values()), ZERO))
        m1 = snapped(sum((one.contribution for one in second.values()), ZERO))
        q0 = sum((one.quantity for one in first.values()), ZERO)
        q1 = sum((one.quantity for one in second.values()), ZERO)
        price = cost = ZERO
        for key, now in second.items():
            then = first.get(key)
            if then is None or not then.quantity or not now.quantity:
                continue
            price += now.net - now.quantity * then.net / then.quantity
            cost += now.quantity * then.cost / then.quantity - now.cost
        price, cost = snapped(price), snapped(cost)
        volume = snapped((q1 - q0) * m0 / q0) if q0 else m1 - m0 - price - cost
        change = m1 - m0
        return Effects(m0, m1, price, cost, volume, change - price - cost - volume, tuple(sorted(left_out)))
