"""Sizes that a commodity may be packed in, and its reference serving: what the dated rules say of a net quantity.

Pure functions on the frozen rules. A commodity that is not known, or of which no size is held, is never judged.
"""

from decimal import Decimal
from typing import NamedTuple

from service.lawful import lawful_decimal, nearest_multiple, stands
from service.rulekinds import Fill, FillTolerance, Serving
from service.rules import Rules

_TENTH = Decimal("0.1")
_LITRE = Decimal(1000)


class FillRow(NamedTuple):
    """Whether a net quantity is a size that is held; otherwise the next smaller and larger one, where there are any."""

    rule: Fill
    is_standard: bool
    below_ml: Decimal | None
    above_ml: Decimal | None


class ServingRow(NamedTuple):
    """The reference serving, and how many of them the net quantity holds, to a tenth; ``None`` without one."""

    rule: Serving
    servings: Decimal | None


def fill_of(rules: Rules, commodity: str | None, net_ml: float | None) -> FillRow | None:
    """How a net quantity stands to the sizes of its commodity; ``None`` where either is not known or none is held."""
    rule = next((one for one in rules.fills if one.commodity == commodity), None)
    if rule is None or net_ml is None:
        return None
    net = lawful_decimal(net_ml)
    whole = rule.whole_litres_from_ml
    is_whole = whole is not None and net >= whole and net % _LITRE == 0
    return FillRow(rule, net in rule.ml or is_whole, *_beside(rule, net))


def _beside(rule: Fill, net: Decimal) -> tuple[Decimal | None, Decimal | None]:
    """The next smaller and the next larger size."""
    sizes = list(rule.ml)
    whole = rule.whole_litres_from_ml
    if whole is not None:
        near = net - net % _LITRE
        sizes += [size for size in (whole, near - _LITRE, near, near + _LITRE) if size >= whole]
    below, above = [size for size in sizes if size < net], [size for size in sizes if size > net]
    return max(below, default=None), min(above, default=None)


class FillSpan(NamedTuple):
    """Between which volumes the contents have to lie."""

    rule: FillTolerance
    low_ml: Decimal
    high_ml: Decimal


def fill_span(rules: Rules, commodity: str | None, net_ml: float | None) -> FillSpan | None:
    """How far the contents of a pack may lie from its net quantity; ``None`` where nothing is held of such a one.

    A net quantity between two sizes of the table, such as 375.5 ml, is in neither.
    """
    if net_ml is None:
        return None
    net = lawful_decimal(net_ml)
    for rule in rules.fill_tolerances:
        if rule.commodity == commodity and rule.from_ml <= net and (rule.up_to_ml is None or net <= rule.up_to_ml):
            return FillSpan(rule, net - net * rule.percent / 100, net + net * rule.percent / 100)
    return None


def serving_of(
    rules: Rules, commodity: str | None, abv_percent: float | None, net_ml: float | None
) -> ServingRow | None:
    """The reference serving of a commodity at a strength; ``None`` where either is not known or none is held."""
    if abv_percent is None:
        return None
    figure = lawful_decimal(abv_percent)
    for rule in rules.servings:
        under = rule.up_to_percent is None or figure <= rule.up_to_percent
        if rule.commodity == commodity and stands(figure, rule.comparator, rule.abv_percent) and under:
            held = None if net_ml is None else nearest_multiple(lawful_decimal(net_ml) / rule.ml, _TENTH)
            return ServingRow(rule, held)
    return None
