"""The cost of one drink: offers chosen for what is bought, preparations costed in the order they are made.

The arithmetic is in :mod:`service.costing`; here is which offers stand behind which line.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal, localcontext

from msgspec import Struct
from msgspec.structs import replace

from service.choosing import Choice, KeptItem, Offer, Terms, choice_in_exact
from service.costing import (
    Allowances,
    CostLine,
    LineCost,
    PreparationCost,
    ServeCost,
    UnitCost,
    labour_cost,
    line_cost,
    preparation_unit_cost,
    serve_costs,
)
from service.item import Item
from service.line import ResolvedLine, exact, per_gram
from service.mixture import Assumption
from service.money import EXACT, HUNDRED, ONE, ZERO
from service.resolve import Resolved

FREE_KINDS = frozenset(("water", "ice"))
"""Kinds that cost nothing unless offered (contract, arithmetic 1)."""


class Labour(Struct, frozen=True):
    """``minutes`` for one serve at ``rate_per_hour``; preparations add their own minutes."""

    minutes: Decimal
    rate_per_hour: Decimal


class PricedLine(Struct, frozen=True):
    """A line with its cost for the whole spec, the choice of offer behind it, and the item it is priced by."""

    line: ResolvedLine
    cost: LineCost
    unit: UnitCost
    priced_from: str

    @property
    def offer(self) -> str | None:
        """The offer's id; ``None`` for a preparation, for what is free and where nothing is offered."""
        return self.unit.offer.id if isinstance(self.unit, Choice) and self.unit.offer is not None else None

    @property
    def reason(self) -> str | None:
        """Why this offer, in words."""
        return self.unit.reason if isinstance(self.unit, Choice) else None


class DrinkCost(Struct, frozen=True):
    """Everything that is known of the cost of a drink."""

    currency: str
    day: date
    lines: tuple[PricedLine, ...]
    serve: ServeCost
    preparations: Mapping[str, UnitCost]
    preparation_lines: Mapping[str, tuple[PricedLine, ...]]
    assumptions: tuple[Assumption, ...]


class CostTree:
    """Costs one resolved drink; each item's choice and each preparation is computed once."""

    def __init__(self, resolved: Resolved, offers: Mapping[str, Sequence[Offer]], terms: Terms) -> None:
        self._resolved = resolved
        self._offers = offers
        self._terms = terms
        self._choices: dict[tuple[str, str], tuple[UnitCost, str]] = {}
        self._preparations: dict[str, UnitCost] = {}
        self._assumptions: dict[str, Assumption] = {}

    def drink_cost(
        self, lines: Sequence[ResolvedLine], allowances: Allowances, labour: Labour | None, fill: Mapping[int, float]
    ) -> DrinkCost:
        """The cost of the drink; ``fill`` is the volume for one serve of a line that fills the glass, by index."""
        with localcontext(EXACT):
            return self._drink_cost(lines, allowances, labour, fill)

    def _drink_cost(
        self, lines: Sequence[ResolvedLine], allowances: Allowances, labour: Labour | None, fill: Mapping[int, float]
    ) -> DrinkCost:
        preparation_lines: dict[str, tuple[PricedLine, ...]] = {}
        for prep_id, rows in self._resolved.preparation_lines.items():
            made = self._resolved.preparations[prep_id]
            priced = tuple([self._priced(row, "pour", None) for row in rows])
            preparation_lines[prep_id] = priced
            with_gas = EXACT.multiply(exact(made.yield_ml), exact(made.substance.gas_factor))
            if made.yield_ml <= 0:
                continue
            self._preparations[prep_id] = preparation_unit_cost([row.cost for row in priced], with_gas)
        serves = self._resolved.drink.serves
        poured = tuple(
            [
                self._priced(line, line.role, exact(fill[line.number]) * serves if line.number in fill else None)
                for line in lines
            ]
        )
        work = None if labour is None else self._work(lines, labour, serves, fill)
        serve = serve_costs([row.cost for row in poured], allowances, serves, work)
        return DrinkCost(
            self._terms.currency,
            self._terms.day,
            poured,
            serve,
            self._preparations,
            preparation_lines,
            tuple(self._assumptions.values()),
        )

    def _work(
        self, lines: Sequence[ResolvedLine], labour: Labour, serves: int, fill: Mapping[int, float]
    ) -> Decimal | None:
        """Labour of one serve: its own minutes, and its share of each preparation's batch, nested ones included.

        ``None`` where it is not known how much of a part that takes minutes is in it.
        """
        per_unit: dict[str, tuple[str, Decimal]] = {}
        for prep_id, made in self._resolved.preparations.items():
            minutes = _used(self._resolved.preparation_lines[prep_id], per_unit, {})
            if minutes is None:
                return None
            minutes += exact(made.spec.minutes or 0.0)
            with_gas = EXACT.multiply(exact(made.yield_ml), exact(made.substance.gas_factor))
            per_unit[prep_id] = "ml", EXACT.divide(minutes, with_gas)
            for product_id in made.spec.products:
                product = self._resolved.products[product_id]
                share = EXACT.multiply(minutes, EXACT.divide(product.cost_share_percent, HUNDRED))
                per_unit[product_id] = product.base, EXACT.divide(share, product.quantity)
        filled = {number: EXACT.multiply(exact(ml), Decimal(serves)) for number, ml in fill.items()}
        used = _used(lines, per_unit, filled)
        if used is None:
            return None
        return labour_cost(labour.minutes + EXACT.divide(used, Decimal(serves)), labour.rate_per_hour)

    def _priced(self, line: ResolvedLine, role: str, filled_ml: Decimal | None) -> PricedLine:
        quantities = line.quantities if filled_ml is None else {"ml": filled_ml}
        base = self._base(line, quantities)
        unit, priced_from = self._unit(line, base)
        by_volume = line.amount.dimension in ("volume", "fill", "part")
        quantity = quantities.get(base)
        if line.whole_unit and quantity is not None:
            return PricedLine(line, self._opened(line, role, quantity, base, by_volume, unit), unit, priced_from)
        cost_line = CostLine(line.ref, role, quantity, base, by_volume)
        return PricedLine(line, line_cost(cost_line, unit), unit, priced_from)

    def _opened(
        self, line: ResolvedLine, role: str, quantity: Decimal, base: str, by_volume: bool, unit: UnitCost
    ) -> LineCost:
        """Whole units of the pack, opened for each serve (contract, lines: a bottle opened per serve)."""
        serves = self._resolved.drink.serves if line.pointer.startswith("/drink/") else 1
        each = CostLine(line.ref, role, quantity / serves, base, by_volume, True)
        opened = line_cost(each, unit)
        cost = None if opened.cost is None else opened.cost * serves
        return LineCost(replace(each, quantity=quantity), cost, opened.at_least * serves, opened.missing)

    def _base(self, line: ResolvedLine, quantities: Mapping[str, Decimal]) -> str:
        product = self._resolved.products.get(line.ref)
        if product is not None:
            return product.base
        if line.ref in self._resolved.preparations:
            return "ml"
        base = line.substance.basis
        if base in quantities or not quantities:
            return base
        return next(iter(quantities))

    def _unit(self, line: ResolvedLine, base: str) -> tuple[UnitCost, str]:
        ref = line.ref
        known = self._choices.get((ref, base))
        if known is not None:
            return known
        product = self._resolved.products.get(ref)
        if product is not None:
            rows = tuple(
                self._priced(row, "pour", None).cost for row in self._resolved.preparation_lines[product.preparation]
            )
            unit = preparation_unit_cost(rows, product.quantity, base, product.cost_share_percent)
            known = self._choices[ref, base] = unit, ref
        elif ref in self._preparations:
            known = self._preparations[ref], ref
        else:
            known = self._choices[ref, base] = self._chosen(line, self._resolved.items[ref], base)
        return known

    def _chosen(self, line: ResolvedLine, item: Item, base: str) -> tuple[UnitCost, str]:
        offers = self._offers.get(item.id, ())
        if not offers and item.kind in FREE_KINDS:
            detail = f"{item.name} costs nothing unless it is offered."
            self._assumptions[item.id] = Assumption("no_cost", detail, item.id)
            return PreparationCost(base, ZERO, ZERO), item.id
        if not offers and item.squeezed_from is not None and base == "ml":
            fruit = item.squeezed_from.item
            if fruit in self._offers:
                return self._squeezed(item, fruit), fruit
        residue = exact(item.bottle_residue_ml) if item.bottle_residue_ml else ZERO
        # Most items are sold as they are kept; what else one unit of their base is takes a division for each base.
        converts = residue or any(offer.base != base for offer in offers)
        kept = KeptItem(item.id, base, _per_base(line, base) if converts else {}, residue)
        return choice_in_exact(offers, kept, self._terms), item.id

    def _squeezed(self, item: Item, fruit: str) -> UnitCost:
        """The cost of a juice from the fruit it is squeezed from, by the reference's yield."""
        assert item.squeezed_from is not None
        detail = f"{item.name} is priced as squeezed from {fruit}: {item.squeezed_from.ml_each:g} ml each."
        self._assumptions[item.id] = Assumption("squeezed", detail, item.id)
        each_g = self._resolved.items[fruit].each_g if fruit in self._resolved.items else None
        return choice_in_exact(self._offers[fruit], squeezed_as(item, each_g), self._terms)


def kept_as(item: Item, line: ResolvedLine, base: str) -> KeptItem:
    """How an item is kept, with every base that one unit of ``base`` can be told in."""
    residue = exact(item.bottle_residue_ml) if item.bottle_residue_ml else ZERO
    return KeptItem(item.id, base, _per_base(line, base), residue)


def squeezed_as(item: Item, each_g: float | None) -> KeptItem:
    """How a juice is kept that is priced by its fruit, of which a piece weighs ``each_g`` where that is known."""
    assert item.squeezed_from is not None
    ml_each = exact(item.squeezed_from.ml_each)
    per_base = {"each": EXACT.divide(ONE, ml_each)}
    if each_g is not None:
        per_base["g"] = EXACT.divide(exact(each_g), ml_each)
    return KeptItem(item.id, "ml", per_base)


def _per_base(line: ResolvedLine, base: str) -> Mapping[str, Decimal]:
    """How much of each other base one unit of ``base`` is."""
    gram = per_gram(line.substance)
    if base == "g":
        return gram
    if base not in gram:
        return {}
    per = {"g": EXACT.divide(ONE, gram[base])}
    per |= {other: EXACT.divide(factor, gram[base]) for other, factor in gram.items() if other != base}
    return per


def _used(
    lines: Sequence[ResolvedLine], per_unit: Mapping[str, tuple[str, Decimal]], filled: Mapping[int, Decimal]
) -> Decimal | None:
    """Minutes of the parts on these lines; ``None`` where the amount of one that takes any is not known."""
    minutes = ZERO
    for line in lines:
        base, each = per_unit.get(line.ref, ("ml", ZERO))
        if each:
            quantity = filled[line.number] if line.number in filled else line.quantities.get(base)
            if quantity is None:
                return None
            minutes += EXACT.multiply(each, quantity)
    return minutes
