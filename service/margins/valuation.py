"""What stock is worth: list price, last invoice, weighted average, first in first out; at invoice or net of rebates."""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal, localcontext
from typing import Final, Literal

from msgspec import Struct

from service.errors import InputFault
from service.money import EXACT, HUNDRED, ZERO

Method = Literal["list", "last_invoice", "weighted_average", "fifo"]
At = Literal["invoice", "net"]

METHODS: Final[tuple[Method, ...]] = ("list", "last_invoice", "weighted_average", "fifo")


class Tier(Struct, frozen=True):
    """From a sum of purchases on, ``percent`` comes back: of all of it, or of what lies above up to the next tier."""

    from_sum: Decimal
    percent: Decimal


class Purchase(Struct, frozen=True):
    """A delivery as invoiced: ``invoiced`` for ``quantity`` base units; ``free`` units came with it for nothing.

    ``discount`` stands on the invoice and lowers both its sum and the net; a credit note has negative figures.
    """

    day: date
    quantity: Decimal
    invoiced: Decimal
    free: Decimal = ZERO
    discount: Decimal = ZERO

    @property
    def received(self) -> Decimal:
        """Base units that came in."""
        return EXACT.add(self.quantity, self.free)

    @property
    def paid(self) -> Decimal:
        """The invoice less its discount."""
        return EXACT.subtract(self.invoiced, self.discount)


def rebate(bought: Decimal, tiers: Sequence[Tier], by_band: bool) -> Decimal:
    """What comes back of a sum of purchases.

    whole: bought x percent of the highest tier reached; by band: each part of the sum at the percent of its tier.
    Reference: arithmetic.

    >>> steps = (Tier(Decimal(1000), Decimal(2)), Tier(Decimal(5000), Decimal(4)))
    >>> str(rebate(Decimal(6000), steps, False)), str(rebate(Decimal(6000), steps, True))
    ('240', '120')
    """
    ordered = sorted(tiers, key=lambda tier: tier.from_sum)
    reached = [tier for tier in ordered if bought >= tier.from_sum]
    if not reached or bought <= 0:
        return ZERO
    with localcontext(EXACT):
        if not by_band:
            return bought * reached[-1].percent / HUNDRED
        back = ZERO
        for number, tier in enumerate(reached):
            upper = reached[number + 1].from_sum if number + 1 < len(reached) else bought
            back += (upper - tier.from_sum) * tier.percent / HUNDRED
        return back


class Stock(Struct, frozen=True):
    """What is known of one item: the opening stock with its value, the purchases, the list price of a base unit."""

    item: str
    opening: Decimal = ZERO
    opening_value: Decimal = ZERO
    purchases: tuple[Purchase, ...] = ()
    list_price: Decimal | None = None
    tiers: tuple[Tier, ...] = ()
    by_band: bool = False

    def costs(self, at: At) -> tuple[Decimal, ...]:
        """The cost of each purchase: as invoiced, or less its share of the rebate, by what was paid."""
        paid = [one.paid for one in self.purchases]
        if at == "invoice":
            return tuple(paid)
        total = sum(paid, ZERO)
        back = rebate(total, self.tiers, self.by_band)
        if not back:
            return tuple(paid)
        with localcontext(EXACT):
            return tuple([one - one * back / total for one in paid])


def value(stock: Stock, quantity: Decimal, method: Method, at: At = "net") -> Decimal | None:
    """What ``quantity`` base units are worth; ``None`` where the method has nothing to go by.

    list: quantity x list price, which is of the day and knows no invoice. last_invoice: quantity x cost of one unit
    of the latest delivery, credit notes apart. weighted_average: quantity x (opening value + purchases) / (opening +
    received). fifo: what is left is what came last, so the latest deliveries are taken until the quantity is reached,
    the opening stock at the end; a quantity beyond all of it is valued at the oldest unit cost that is known.
    Reference: arithmetic; common practice of stock-taking, no source.
    """
    with localcontext(EXACT):
        if method == "list":
            return None if stock.list_price is None else quantity * stock.list_price
        if method == "last_invoice":
            return _last(stock, at, quantity)
        if method == "weighted_average":
            received = stock.opening + sum((one.received for one in stock.purchases), ZERO)
            cost = stock.opening_value + sum(stock.costs(at), ZERO)
            return quantity * cost / received if received > 0 else None
        return _fifo(_lots(stock, at)[::-1], quantity)


def _last(stock: Stock, at: At, quantity: Decimal) -> Decimal | None:
    lots = [
        (one.day, place, one.received, cost)
        for place, (one, cost) in enumerate(zip(stock.purchases, stock.costs(at), strict=True))
        if one.received > 0
    ]
    if lots:
        _, _, received, cost = max(lots)
        return quantity * cost / received
    return quantity * stock.opening_value / stock.opening if stock.opening > 0 else None


def _lots(stock: Stock, at: At) -> list[tuple[Decimal, Decimal]]:
    """What came in with its cost, in the order in which it came, the opening stock first.

    A credit note is taken off what came before it, the latest first, and off what comes next where there is nothing
    before: no quantity and no money is lost. Reference: arithmetic; which delivery it credits is a convention.
    """
    found = [(stock.opening, stock.opening_value)] if stock.opening > 0 else []
    pairs = zip(stock.purchases, stock.costs(at), strict=True)
    owed, back = ZERO, ZERO
    for one, cost in sorted(pairs, key=lambda pair: (pair[0].day, pair[0].received <= 0)):
        quantity, worth = one.received + owed, cost + back
        while quantity <= 0 and found:
            received, paid = found.pop()
            quantity, worth = quantity + received, worth + paid
        owed, back = (quantity, worth) if quantity <= 0 else (ZERO, ZERO)
        if quantity > 0:
            found.append((quantity, worth))
    return found


def _fifo(lots: Sequence[tuple[Decimal, Decimal]], quantity: Decimal) -> Decimal | None:
    """What a quantity is worth, taken from lots in their order; what is beyond them, by the last one."""
    if not lots:
        return None
    left, worth = quantity, ZERO
    for received, cost in lots:
        taken = min(left, received)
        worth += taken * cost / received
        left -= taken
        if left <= 0:
            return worth
    received, cost = lots[-1]
    return worth + left * cost / received


def unit_cost(stock: Stock, used: Decimal, method: Method, at: At = "net") -> Decimal | None:
    """What one base unit of ``used`` units cost; ``None`` where the method has nothing to go by.

    fifo: what is used came first, so the opening stock and then the deliveries by their day are taken until the use
    is reached: their cost / used; a use beyond all of them is costed at the newest unit cost, one of 0 or less at the
    oldest. The others cost every unit alike, as :func:`value` does. Reference: arithmetic; common practice of
    stock-taking, no source.

    >>> lots = (Purchase(date(2026, 11, 3), Decimal(20), Decimal(240)),)
    >>> str(unit_cost(Stock("gin", Decimal(10), Decimal(100), lots), Decimal(16), "fifo"))
    '10.75'
    """
    if method != "fifo":
        return value(stock, Decimal(1), method, at)
    with localcontext(EXACT):
        lots = _lots(stock, at)
        if used <= 0 or not lots:
            return lots[0][1] / lots[0][0] if lots else None
        worth = _fifo(lots, used)
        return None if worth is None else worth / used


class Side(Struct, frozen=True):
    """One way to value: the method, and whether purchases stand at invoice or net of rebates."""

    method: Method
    at: At = "net"


class Compared(Struct, frozen=True):
    """One item under two ways; ``difference`` is the second less the first, ``None`` where one is not known."""

    item: str
    quantity: Decimal
    first: Decimal | None
    second: Decimal | None

    @property
    def difference(self) -> Decimal | None:
        """Second less first."""
        if self.first is None or self.second is None:
            return None
        return EXACT.subtract(self.second, self.first)


def side_by_side(stocks: Sequence[tuple[Stock, Decimal]], first: Side, second: Side) -> tuple[Compared, ...]:
    """Each item's quantity under two ways of valuing. Raises ``InputFault`` where both are the same."""
    if first == second:
        raise InputFault("valuations_same", "Name two different valuations.", "/valuation/beside")
    return tuple(
        Compared(
            stock.item,
            quantity,
            value(stock, quantity, first.method, first.at),
            value(stock, quantity, second.method, second.at),
        )
        for stock, quantity in stocks
    )
