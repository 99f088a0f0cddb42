"""What one serve of a drink takes of everything that is bought: exact fractions, read off its evaluation.

The pour cost is a sum of amounts times unit costs. The amounts hang on the spec and on what is lost at the bar, not on
any price; which offer stands behind a unit cost is chosen for each day and venue, before the sum. Only a unit that is
opened whole for a serve makes the amount itself depend on the offer: such a drink is left to the single evaluation.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal, localcontext
from fractions import Fraction
from typing import NamedTuple

from service.choosing import Choice, KeptItem, Offer, Terms, choice_in_exact, exact_cost
from service.costing import GROUPS
from service.costtree import FREE_KINDS, PricedLine, kept_as, squeezed_as
from service.evaluate import Evaluation
from service.item import Item
from service.line import exact
from service.money import EXACT

HUNDRED = Fraction(100)


class Column(NamedTuple):
    """A bought item in the base it is counted in, with all that its unit cost hangs on besides offers.

    ``fruit`` is what a juice without offers is priced from, ``fruit_bases`` how; ``free``: costs nothing unless
    offered.
    """

    item: str
    base: str
    bases: tuple[tuple[str, Decimal], ...]
    residue_ml: Decimal
    free: bool
    fruit: str | None = None
    fruit_bases: tuple[tuple[str, Decimal], ...] = ()


@dataclass(frozen=True, slots=True)
class Row:
    """Amounts for the pour cost of one serve. ``known``: every amount is. ``linear``: none depends on an offer."""

    amounts: Mapping[Column, Fraction]
    known: bool
    linear: bool


def unit_cost(column: Column, offers: Mapping[str, Sequence[Offer]], terms: Terms) -> Fraction | None:
    """What one unit of a column costs by the offer chosen on the terms' day; ``None`` where it is not known.

    Raises ``InputFault`` where the terms name an offer that is not there or not valid.
    """
    own = offers.get(column.item, ())
    if not own and column.free:
        return Fraction(0)
    if not own and column.fruit is not None and column.fruit in offers:
        kept, own = KeptItem(column.item, "ml", dict(column.fruit_bases)), offers[column.fruit]
    else:
        kept = KeptItem(column.item, column.base, dict(column.bases), column.residue_ml)
    with localcontext(EXACT):
        choice = choice_in_exact(own, kept, terms)
    return exact_cost(choice)


@dataclass(slots=True)
class _Sum:
    """Amounts being added up, for one unit of a part or one serve."""

    amounts: dict[Column, Fraction] = field(default_factory=dict)
    known: bool = True
    linear: bool = True

    def add(self, other: "_Sum", times: Fraction) -> None:
        self.known &= other.known
        self.linear &= other.linear
        for column, amount in other.amounts.items():
            self.amounts[column] = self.amounts.get(column, Fraction(0)) + amount * times


def row_of(evaluation: Evaluation) -> Row:
    """The row of a drink that was evaluated with its cost, at whatever prices."""
    reader = _Reader(evaluation)
    return reader.row()


class _Reader:
    def __init__(self, evaluation: Evaluation) -> None:
        assert evaluation.cost is not None
        self._resolved = evaluation.resolved
        self._cost = evaluation.cost
        asked = evaluation.request.pricing
        lost = None if asked is None else asked.allowances
        self._over_pour = Fraction(0) if lost is None else Fraction(lost.over_pour_percent) / HUNDRED
        self._spilled = Fraction(0) if lost is None else Fraction(lost.spillage_percent) / HUNDRED
        self._parts: dict[str, _Sum] = {}

    def row(self) -> Row:
        for prep_id, made in self._resolved.preparations.items():
            lines = self._cost.preparation_lines[prep_id]
            with_gas = Fraction(exact(made.yield_ml)) * Fraction(exact(made.substance.gas_factor))
            if with_gas > 0:
                self._parts[prep_id] = self._batch(lines, 1 / with_gas)
            for product_id in made.spec.products:
                product = self._resolved.products[product_id]
                share = Fraction(product.cost_share_percent) / HUNDRED / Fraction(product.quantity)
                self._parts[product_id] = self._batch(lines, share)
        whole = _Sum()
        serves = self._resolved.drink.serves
        for priced in self._cost.lines:
            line = priced.cost.line
            group = GROUPS.get(line.role)
            if group is not None:
                lost = self._spilled + (self._over_pour if line.by_volume and group == "ingredients" else 0)
                whole.add(self._taken(priced), (1 + lost) / serves)
        return Row(whole.amounts, whole.known, whole.linear)

    def _batch(self, lines: Sequence[PricedLine], share: Fraction) -> _Sum:
        batch = _Sum()
        for priced in lines:
            batch.add(self._taken(priced), share)
        return batch

    def _taken(self, priced: PricedLine) -> _Sum:
        """What one line takes, in all."""
        line = priced.cost.line
        taken = _Sum()
        quantity = None if line.quantity is None else Fraction(line.quantity)
        item = self._resolved.items.get(line.ref)
        part = self._parts.get(line.ref)
        if part is not None and not isinstance(priced.unit, Choice):
            taken.add(part, Fraction(0) if quantity is None else quantity)
        elif item is not None:
            taken.linear = not line.whole_unit
            taken.amounts[self._column(item, priced)] = Fraction(0) if quantity is None else quantity
        else:
            taken.linear = False
        taken.known &= quantity is not None
        return taken

    def _column(self, item: Item, priced: PricedLine) -> Column:
        base = priced.cost.line.base
        kept = kept_as(item, priced.line, base)
        fruit: str | None = None
        fruit_bases: tuple[tuple[str, Decimal], ...] = ()
        if item.squeezed_from is not None and base == "ml":
            fruit = item.squeezed_from.item
            sold = self._resolved.items.get(fruit)
            fruit_bases = _sorted(squeezed_as(item, None if sold is None else sold.each_g).per_base)
        free = item.kind in FREE_KINDS
        return Column(item.id, base, _sorted(kept.per_base), kept.residue_ml, free, fruit, fruit_bases)


def _sorted(bases: Mapping[str, Decimal]) -> tuple[tuple[str, Decimal], ...]:
    return tuple(sorted(bases.items()))
