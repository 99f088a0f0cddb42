"""The price ladder: the fewest and smallest changes of price, over allowed price points, that meet a weighted margin.

What sells is taken to stay as it is: nobody knows how guests answer a price, and this does not guess it.
"""

from collections.abc import Sequence
from decimal import Decimal, localcontext
from itertools import accumulate
from typing import Final, NamedTuple

from msgspec import Struct

from service.errors import InputFault
from service.money import EXACT, HUNDRED, ZERO, snapped

MOST_STEPS: Final = 200_000
"""Steps of the exact search; a menu that asks for more is answered by the bounded method, and the answer says so."""


class Rung(Struct, frozen=True):
    """A drink on the menu: ``quantity`` that sells, ``cost`` of one, prices with tax by ``factor`` as printed."""

    id: str
    price: Decimal
    quantity: Decimal
    cost: Decimal
    factor: Decimal
    points: tuple[Decimal, ...]


class Ladder(Struct, frozen=True):
    """New prices by id of what changes; ``exact``: no other choice has as few and as small changes.

    ``met`` is false where even the highest points do not reach the margin; the prices are then these.
    """

    prices: tuple[tuple[str, Decimal], ...]
    met: bool
    exact: bool
    steps: int

    @property
    def changes(self) -> int:
        """How many prices change."""
        return len(self.prices)


class _Option(NamedTuple):
    """Moving one drink to one point: what it adds towards the margin, and by how much the price moves."""

    gain: Decimal
    move: Decimal
    point: Decimal


def shortfall(rungs: Sequence[Rung], margin_percent: Decimal) -> Decimal:
    """What is lacking to the margin in net money that counts in full towards it; 0 or less: it is met.

    margin met: sum of quantity x (net - cost) >= margin / 100 x sum of quantity x net, so the shortfall is
    sum of quantity x (cost - net x (1 - margin / 100)).
    """
    with localcontext(EXACT):
        keep = (HUNDRED - margin_percent) / HUNDRED
        return snapped(sum((one.quantity * (one.cost - one.price / one.factor * keep) for one in rungs), ZERO))


def ladder(rungs: Sequence[Rung], margin_percent: Decimal, most_steps: int = MOST_STEPS) -> Ladder:
    """The least changes that meet the margin: first as few prices as can be, then the least sum of moves.

    The fewest are known at once, since every drink counts for itself: the k largest gains reach the shortfall or no
    k do. Among all choices of that many the least sum of moves is searched by branch and bound; beyond ``most_steps``
    the best choice found so far stands, which begins with the largest gains each lowered to the least point that
    still does. Reference: checked against trying every choice.
    """
    if not 0 <= margin_percent < HUNDRED:
        raise InputFault("target_out_of_range", "Expected a margin from 0 to less than 100.", "/margin_percent")
    lacking = shortfall(rungs, margin_percent)
    if lacking <= 0:
        return Ladder((), True, True, 0)
    options = [_options(one, margin_percent) for one in rungs]
    best = sorted((rows[-1].gain for rows in options if rows), reverse=True)
    reach = list(accumulate(best))
    if not reach or reach[-1] < lacking:
        top = tuple((one.id, rows[-1].point) for one, rows in zip(rungs, options, strict=True) if rows)
        return Ladder(top, False, True, 0)
    fewest = next(number for number, gain in enumerate(reach, 1) if gain >= lacking)
    search = _Search(options, lacking, fewest, most_steps)
    search.begin()
    exact = search.run()
    chosen = sorted(search.chosen)
    return Ladder(tuple((rungs[index].id, one.point) for index, one in chosen), True, exact, search.steps)


def _options(rung: Rung, margin_percent: Decimal) -> list[_Option]:
    """Points that bring something, the least gain first: a gain grows with the move."""
    rows: list[_Option] = []
    if rung.quantity <= 0:
        return rows
    with localcontext(EXACT):
        keep = (HUNDRED - margin_percent) / HUNDRED
        for point in sorted(set(rung.points)):
            gain = snapped(rung.quantity * (point - rung.price) / rung.factor * keep)
            if gain > 0:
                rows.append(_Option(gain, abs(point - rung.price), point))
    return rows


class _Search:
    """Branch and bound over which drinks change and to which point."""

    def __init__(self, options: Sequence[list[_Option]], lacking: Decimal, fewest: int, most_steps: int) -> None:
        self.options = options
        self.lacking = lacking
        self.fewest = fewest
        self.most_steps = most_steps
        self.steps = 0
        self.chosen: list[tuple[int, _Option]] = []
        self.least: Decimal | None = None
        # What the drinks from a place on can bring at most with so many changes, and their least moves.
        self._tops = [
            list(accumulate(sorted((rows[-1].gain for rows in options[at:] if rows), reverse=True), initial=ZERO))
            for at in range(len(options) + 1)
        ]
        self._moves = [
            list(accumulate(sorted(rows[0].move for rows in options[at:] if rows), initial=ZERO))
            for at in range(len(options) + 1)
        ]

    def begin(self) -> None:
        """A first choice: the largest gains, each lowered in turn to the least point that still reaches."""
        order = sorted((at for at, rows in enumerate(self.options) if rows), key=lambda at: -self.options[at][-1].gain)
        taken = {at: self.options[at][-1] for at in order[: self.fewest]}
        total = sum((one.gain for one in taken.values()), ZERO)
        for at in order[: self.fewest]:
            rest = total - taken[at].gain
            taken[at] = next(one for one in self.options[at] if rest + one.gain >= self.lacking)
            total = rest + taken[at].gain
        self.chosen = list(taken.items())
        self.least = sum((one.move for one in taken.values()), ZERO)

    def run(self) -> bool:
        """Whether every choice was looked at or ruled out."""
        with localcontext(EXACT):
            return self._from(0, [], ZERO, ZERO)

    def _from(self, at: int, taken: list[tuple[int, _Option]], gain: Decimal, move: Decimal) -> bool:
        self.steps += 1
        if self.steps > self.most_steps:
            return False
        left = self.fewest - len(taken)
        assert self.least is not None
        if not left:
            if gain >= self.lacking and move < self.least:
                self.least, self.chosen = move, list(taken)
            return True
        tops, moves = self._tops[at], self._moves[at]
        if left >= len(tops) or gain + tops[left] < self.lacking or move + moves[left] >= self.least:
            return True
        for one in self.options[at]:
            if move + one.move + self._moves[at + 1][min(left - 1, len(self._moves[at + 1]) - 1)] >= self.least:
                break
            if not self._from(at + 1, [*taken, (at, one)], gain + one.gain, move + one.move):
                return False
        return self._from(at + 1, taken, gain, move)
