"""What is thrown away of what perishes: parts, opened bottles, cut garnish, kegs.

Demand over the life of a batch is taken as a Poisson count with the mean of sales a day x life in days: guests come
independently of one another at a steady rate. That is common practice for slow movers, no source; days that differ
much from one another make the true waste larger than the answer.
"""

from collections.abc import Iterable, Iterator
from decimal import ROUND_FLOOR, Decimal, localcontext
from typing import Final

from msgspec import Struct

from service.errors import InputFault
from service.money import EXACT, ONE, ZERO, snapped

MOST_SERVES: Final = 5000
"""Serves of the largest batch that is looked at, and the largest mean demand over a life."""

MOST_SUMMED: Final = 20_000
"""Serves of a batch whose Poisson demand is summed up term by term, where no size has to be looked for."""

FAR: Final = Decimal(200)


class Perishable(Struct, frozen=True):
    """``a_day`` serves sell in the mean, a batch keeps ``life_days``; ``serve_cost`` is what is in one serve.

    ``batch_cost`` is what each batch costs whatever its size, such as the labour of making it or of cleaning a line.
    """

    a_day: Decimal
    life_days: Decimal
    serve_cost: Decimal
    batch_cost: Decimal = ZERO

    @property
    def mean(self) -> Decimal:
        """Serves that are asked for over the life of a batch, in the mean."""
        return EXACT.multiply(self.a_day, self.life_days)


class Batch(Struct, frozen=True):
    """A batch of ``serves``: what of it is sold and thrown away in the mean, and the costs of one serve sold.

    ``waste_each`` is the cost line of what is thrown away, ``cost_each`` all of it: (batch cost + serves x serve
    cost) / sold. Both are ``None`` where nothing sells.
    """

    serves: int
    sold: Decimal
    thrown: Decimal
    waste_each: Decimal | None
    cost_each: Decimal | None


def _tails(mean: Decimal, upto: int) -> Iterator[Decimal]:
    """P(demand > k) for k = 0, 1, ... of a Poisson demand, exact to the digits of the context of money."""
    with localcontext(EXACT) as context:
        context.prec = 80
        likely = (-mean).exp()
        below = likely
        tails = []
        for count in range(upto):
            tails.append(max(ONE - below, ZERO))
            likely = likely * mean / (count + 1)
            below += likely
    yield from tails


def sold_of_batch(mean: Decimal, serves: Decimal) -> Decimal:
    """What sells in the mean of a batch of ``serves``, whole or not, where ``mean`` are asked for over its life.

    E[min(demand, serves)] = sum over k below floor(serves) of P(demand > k), and the rest of a serve x P(demand >
    floor(serves)): what is left of one batch is poured with the first of the next. Far from the mean no sum is made:
    where (serves - mean)^2 is over 200 x the larger of both, what a Poisson tail holds is below e^-100 (Chernoff's
    bound; standing: memory). Raises ``InputFault`` where near the mean there are over 20,000 serves.
    """
    with localcontext(EXACT):
        if (serves - mean) ** 2 > FAR * max(serves, mean):
            return min(serves, mean)
        whole = serves.to_integral_value(ROUND_FLOOR)
        if max(whole, mean) > MOST_SUMMED:
            raise InputFault("batch_out_of_range", f"Near the mean at most {MOST_SUMMED:,} serves are summed up.")
        *tails, last = _tails(mean, int(whole) + 1)
        return min(snapped(sum(tails, ZERO) + (serves - whole) * last), mean)


def batches(found: Perishable, upto: int) -> Iterator[Batch]:
    """The batches of 1 to ``upto`` serves.

    sold = E[min(demand, serves)] = sum over k below serves of P(demand > k); thrown = serves - sold; a batch that is
    sold out before its life ends is followed by the next at once, so one serve sold costs
    (batch cost + serves x serve cost) / sold and throws away serve cost x thrown / sold. Reference: arithmetic on the
    Poisson distribution (renewal reward).
    """
    if not 1 <= upto <= MOST_SERVES or found.mean > MOST_SERVES:
        detail = f"A batch, and what sells over its life, is at most {MOST_SERVES:,} serves."
        raise InputFault("batch_out_of_range", detail)
    sold = ZERO
    for number, tail in enumerate(_tails(found.mean, upto), 1):
        # The digits that are cut off may carry the sum past the mean, which it cannot exceed.
        sold = min(EXACT.add(sold, snapped(tail)), found.mean)
        yield _batch(found, number, sold)


def _batch(found: Perishable, serves: int, sold: Decimal) -> Batch:
    with localcontext(EXACT):
        thrown = serves - sold
        if sold <= 0:
            return Batch(serves, sold, thrown, None, None)
        whole = found.batch_cost + serves * found.serve_cost
        return Batch(serves, sold, thrown, found.serve_cost * thrown / sold, whole / sold)


def best_batch(found: Perishable, sizes: Iterable[int]) -> Batch | None:
    """The size among ``sizes`` of which one serve sold costs least, the smallest of equals; ``None``: nothing sells."""
    wanted = frozenset(sizes)
    best: Batch | None = None
    for one in batches(found, max(wanted)):
        if one.serves not in wanted or one.cost_each is None:
            continue
        if best is None or best.cost_each is None or snapped(one.cost_each) < snapped(best.cost_each):
            best = one
    return best


class Keg(Struct, frozen=True):
    """``size_ml`` of a keg, ``line_ml`` lost each time the line is filled or cleaned, ``cleanings`` over one keg."""

    size_ml: Decimal
    serve_ml: Decimal
    line_ml: Decimal
    cleanings: Decimal = ONE
    left_ml: Decimal = ZERO

    @property
    def lost_ml(self) -> Decimal:
        """What of the keg never reaches a glass."""
        return EXACT.add(EXACT.multiply(self.line_ml, self.cleanings), self.left_ml)

    @property
    def serves(self) -> int:
        """Whole serves of the keg. Raises ``InputFault`` where the line takes all of it."""
        poured = EXACT.divide(EXACT.subtract(self.size_ml, self.lost_ml), self.serve_ml)
        whole = int(poured.to_integral_value(ROUND_FLOOR))
        if whole < 1:
            raise InputFault("keg_all_lost", "Line loss and rest leave not one serve of the keg.")
        return whole

    def loss_each(self, keg_cost: Decimal) -> Decimal:
        """Cost of what is lost, for one serve of the keg: keg cost / serves - keg cost x serve / size."""
        with localcontext(EXACT):
            return keg_cost / self.serves - keg_cost * self.serve_ml / self.size_ml
