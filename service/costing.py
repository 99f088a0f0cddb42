"""What a drink costs: cost of a unit -> cost of a line -> cost of a preparation -> cost of a serve.

Every figure is an exact :class:`~decimal.Decimal`; nothing is rounded here but the shares, which are a split.
What is not known is ``None`` and named in ``missing`` as (item, field); what is known stands in ``at_least``.


"""

from collections.abc import Iterable, Sequence
from decimal import ROUND_CEILING, Decimal, localcontext
from itertools import chain
from typing import Protocol

from msgspec import Struct

from service.choosing import Missing
from service.errors import InputFault
from service.money import EXACT, HUNDRED, ONE, ZERO, snapped

SIXTY = Decimal(60)


class UnitCost(Protocol):
    """What a line is costed by: one unit of ``base``. A :class:`Choice` and a :class:`PreparationCost` are such."""

    @property
    def base(self) -> str: ...
    @property
    def unit_cost(self) -> Decimal | None: ...
    @property
    def at_least(self) -> Decimal: ...
    @property
    def missing(self) -> Missing: ...
    @property
    def unit_size(self) -> Decimal | None: ...


class PreparationCost(Struct, frozen=True):
    """Cost of one unit of ``base`` of a preparation; nobody opens a pack of it, so it has no ``unit_size``."""

    base: str
    unit_cost: Decimal | None
    at_least: Decimal
    missing: Missing = ()
    unit_size: Decimal | None = None


class CostLine(Struct, frozen=True):
    """One line of a drink or preparation; ``quantity`` is in base units of what ``ref`` names."""

    ref: str
    role: str
    quantity: Decimal | None
    base: str
    by_volume: bool = False
    whole_unit: bool = False


class LineCost(Struct, frozen=True):
    """A line with its cost, ``None`` where unknown, and the part of it that is known."""

    line: CostLine
    cost: Decimal | None
    at_least: Decimal
    missing: Missing = ()


class Allowances(Struct, frozen=True):
    """What is lost at the bar: over-pouring of what is poured by volume, spillage of everything."""

    over_pour_percent: Decimal = ZERO
    spillage_percent: Decimal = ZERO


class ServeCost(Struct, frozen=True):
    """Costs of one serve, unrounded. ``at_least`` is the known part of the pour cost, ``at_least_serve`` of all."""

    ingredients: Decimal | None
    garnish: Decimal | None
    allowances: Decimal | None
    pour_cost: Decimal | None
    consumables: Decimal | None
    labour: Decimal | None
    serve_cost: Decimal | None
    at_least: Decimal
    at_least_serve: Decimal
    missing: Missing

    @property
    def complete(self) -> bool:
        """Whether every line has its cost."""
        return not self.missing


def line_cost(line: CostLine, unit: UnitCost) -> LineCost:
    """Cost of one line: quantity x unit cost; with ``whole_unit`` the whole units of the pack that are opened.

    Both must be in one base: grams never turn into millilitres here.
    """
    if line.base != unit.base:
        raise ValueError(f"line of {line.ref} is in {line.base}, its cost per {unit.base}")
    quantity = line.quantity
    if quantity is None:
        return LineCost(line, None, ZERO, (*unit.missing, (line.ref, "amount")))
    if line.whole_unit and unit.unit_size is not None:
        units = snapped(EXACT.divide(quantity, unit.unit_size)).to_integral_value(ROUND_CEILING, EXACT)
        quantity = EXACT.multiply(units, unit.unit_size)
    if unit.unit_cost is None:
        return LineCost(line, None, EXACT.multiply(quantity, unit.at_least), unit.missing)
    cost = EXACT.multiply(quantity, unit.unit_cost)
    return LineCost(line, cost, cost)


def preparation_unit_cost(
    lines: Sequence[LineCost],
    yield_quantity: Decimal,
    base: str = "ml",
    cost_share_percent: Decimal = HUNDRED,
) -> PreparationCost:
    """Cost of one base unit of a preparation, or of one of its outputs: sum of lines x share / 100 / yield."""
    if yield_quantity <= 0:
        raise InputFault("yield_zero", "The preparation yields nothing, so that its cost per unit is not defined.")
    with localcontext(EXACT):
        known = sum([line.at_least for line in lines], ZERO) * cost_share_percent / (HUNDRED * yield_quantity)
    missing = _once(lines)
    return PreparationCost(base, None if missing else known, known, missing)


def _once(lines: Iterable[LineCost]) -> Missing:
    """Every missing (item, field) once, in the order met."""
    distinct = {id(priced.missing): priced.missing for priced in lines if priced.missing}
    return tuple(dict.fromkeys(chain.from_iterable(distinct.values())))


def labour_cost(minutes: Decimal, rate_per_hour: Decimal) -> Decimal:
    """Labour of one serve: minutes x rate per hour / 60."""
    return EXACT.divide(EXACT.multiply(minutes, rate_per_hour), SIXTY)


GROUPS = {"pour": "ingredients", "top": "ingredients", "rinse": "ingredients", "garnish": "garnish"}
"""Role -> group of the pour cost; every other role is a consumable."""


def _sums(lines: Iterable[LineCost]) -> tuple[dict[str, Decimal], set[str]]:
    """Known cost of the spec by group, and the groups that lack a line; ``by_volume`` is part of ingredients."""
    sums = {"ingredients": ZERO, "garnish": ZERO, "consumables": ZERO, "by_volume": ZERO}
    gaps: set[str] = set()
    for priced in lines:
        group = GROUPS.get(priced.line.role, "consumables")
        volume = priced.line.by_volume and group == "ingredients"
        sums[group] += priced.at_least
        if volume:
            sums["by_volume"] += priced.at_least
        if priced.cost is None:
            gaps.update((group, "by_volume") if volume else (group,))
    return sums, gaps


def serve_costs(
    lines: Sequence[LineCost], allowances: Allowances, serves: int = 1, labour: Decimal | None = None
) -> ServeCost:
    """Costs of one serve from the lines of the whole spec.

    pour_cost = ingredients (pour, top, rinse) + garnish + allowances;
    allowances = lines measured by volume x over_pour / 100 + (ingredients + garnish) x spillage / 100, never
    compounded; serve_cost = pour_cost + consumables + ``labour``, which is of one serve already (``None``: none).
    """
    with localcontext(EXACT):
        sums, gaps = _sums(lines)
        over_pour, spillage = allowances.over_pour_percent, allowances.spillage_percent
        contents = sums["ingredients"] + sums["garnish"]
        ingredients, garnish = sums["ingredients"] / serves, sums["garnish"] / serves
        lost = (sums["by_volume"] * over_pour + contents * spillage) / (HUNDRED * serves)
        in_use = sums["consumables"] / serves
        known_pour = ingredients + garnish + lost
        known_serve = known_pour + in_use + (ZERO if labour is None else labour)
        contents_gap = "ingredients" in gaps or "garnish" in gaps
        allowance_gap = (over_pour and "by_volume" in gaps) or (spillage and contents_gap)
        return ServeCost(
            ingredients=None if "ingredients" in gaps else ingredients,
            garnish=None if "garnish" in gaps else garnish,
            allowances=None if allowance_gap else lost,
            pour_cost=None if contents_gap else known_pour,
            consumables=None if "consumables" in gaps else in_use,
            labour=labour,
            serve_cost=None if contents_gap or "consumables" in gaps else known_serve,
            at_least=known_pour,
            at_least_serve=known_serve,
            missing=_once(lines),
        )


def shares(costs: Sequence[Decimal | None], places: int = 1) -> tuple[Decimal | None, ...]:
    """Shares of ``costs`` in percent that add up to 100 exactly: largest remainder, ties by index.

    All ``None`` where one cost is missing or their sum is 0.

    >>> [str(share) for share in shares([Decimal(1), Decimal(1), Decimal(1)])]
    ['33.4', '33.3', '33.3']
    """
    known = [cost for cost in costs if cost is not None]
    with localcontext(EXACT):
        total = sum(known, ZERO)
        if len(known) < len(costs) or not total:
            return (None,) * len(costs)
        steps = HUNDRED.scaleb(places)
        factor = steps / total
        exact = [snapped(cost * factor) for cost in known]
        whole = [share // ONE for share in exact]
        left = int(steps - sum(whole))
        if left:
            lacking = [floor - share for floor, share in zip(whole, exact, strict=True)]
            for index in sorted(range(len(whole)), key=lacking.__getitem__)[:left]:
                whole[index] += ONE
        return tuple([share.scaleb(-places) for share in whole])
