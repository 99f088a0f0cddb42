"""How sure the figures are: every input that has a tolerance is moved, and the widths of the figures follow.

Inputs: how each line is measured, the strength on each label, the acids of each juice, the water of the ice. One item
that stands on several lines has one strength and one acidity, so that its errors go together; pours are independent,
though one jigger may err the same way each time. A house-made part is taken as made to its spec: the strengths and
acids in it are moved, the weighing of its batch is not. Alternatives are another matter: the band is about the drink
as it is poured.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import NamedTuple

from msgspec import Struct

from schemas.drink import Drink
from schemas.evaluation import EvaluationRequest
from schemas.tolerance import TolerancesIn
from service.build import Build
from service.costband import CostBand, CostedLines, cost_band
from service.costing import Allowances
from service.costtree import DrinkCost
from service.errors import InputFault, OutOfRange
from service.line import ResolvedLine, exact
from service.mixture import Mixture
from service.nutrition import basis_on
from service.perturbation import Figures, Key, Varied
from service.resolve import Resolved
from service.rules import Rules
from service.specification import glass_of, method_of
from service.tolerances import (
    Tolerance,
    acid_tolerance,
    pour_tolerance,
    strength_tolerance,
    water_tolerance,
)
from service.uncertainty import COVERAGE_FACTOR, combined, effect, shares_percent, standard_uncertainty

STATED = "stated in the request"
POURED = ("pour", "top", "rinse")
SMALL_MEASURES = ("dash", "drop", "barspoon")
FIGURES = ("abv_percent", "ethanol_g", "energy_kj", "energy_kcal")


class Input(NamedTuple):
    """One input with its tolerance; ``standard`` is its standard uncertainty as the variation takes it."""

    key: Key
    item: str
    tool: str
    tolerance: Tolerance
    standard: float


class NotVaried(NamedTuple):
    """Something that is not certain either and is in no band."""

    item: str
    input: str
    reason: str


class Contribution(NamedTuple):
    """One input with its share of the square of a band's width."""

    input: Input
    share_percent: float


class Band(Struct, frozen=True):
    """A figure with its band; ``contributions`` are those that do something, the largest first."""

    figure: float
    low: float
    high: float
    standard: float
    contributions: tuple[Contribution, ...]


class CostSpread(Struct, frozen=True):
    """The band on the pour cost with its contributions, the largest first."""

    band: CostBand
    contributions: tuple[Contribution, ...]


class Bands(Struct, frozen=True):
    """The bands of one drink; a figure that is not known has none."""

    inputs: tuple[Input, ...]
    not_varied: tuple[NotVaried, ...]
    figures: Mapping[str, Band | None]
    cost: CostSpread | None


def bands_of(
    request: EvaluationRequest,
    drink: Drink,
    resolved: Resolved,
    build: Build,
    eaten: Mixture | None,
    rules: Sequence[Rules],
    cost: DrinkCost | None,
    day: date,
) -> Bands:
    """The bands of a request's drink; that on its cost only where the request asks for the cost."""
    measures = request.measures
    varied = Varied(resolved, build, method_of(drink), glass_of(drink), measures.fractions(), eaten, basis_on(day))
    costed = None
    if cost is not None and (request.include is None or "cost" in request.include):
        given = None if request.pricing is None else request.pricing.allowances
        allowances = Allowances() if given is None else Allowances(given.over_pour_percent, given.spillage_percent)
        costed = CostedLines({row.line.number: row.cost for row in cost.lines}, allowances, drink.serves)
    return bands(varied, measures.tolerances, [regime.code for regime in rules], day, costed)


def bands(varied: Varied, asked: TolerancesIn, codes: Sequence[str], day: date, costed: CostedLines | None) -> Bands:
    """The bands of a drink; ``costed`` are its lines with their costs where the cost was asked for."""
    gaps: list[NotVaried] = []
    inputs = tuple(_inputs(varied, asked, codes, day, gaps))
    centre = varied.figures({})
    sides = [tuple(_figures(varied, {one.key: sign * one.standard}) for sign in (-1, 1)) for one in inputs]
    for one, pair in zip(inputs, sides, strict=True):
        if pair == (None, None):
            gaps.append(NotVaried(one.item, one.key.kind, "The drink cannot be made with it moved either way."))
    figures = {name: _band(name, centre, inputs, sides) for name in FIGURES}
    cost = None if costed is None else _cost(costed, inputs, sides)
    return Bands(inputs, tuple(dict.fromkeys(gaps)), figures, cost)


def _figures(varied: Varied, moved: Mapping[Key, float]) -> Figures | None:
    try:
        return varied.figures(moved)
    except (InputFault, OutOfRange):
        return None


def _band(
    name: str, centre: Figures, inputs: Sequence[Input], sides: Sequence[tuple[Figures | None, ...]]
) -> Band | None:
    figure = getattr(centre, name)
    if figure is None:
        return None
    effects = []
    for pair in sides:
        low, high = (None if side is None else getattr(side, name) for side in pair)
        effects.append(effect(figure, low, high) or 0.0)
    width = COVERAGE_FACTOR * combined(effects)
    return Band(
        figure, max(0.0, figure - width), figure + width, combined(effects), _ranked(inputs, shares_percent(effects))
    )


def _ranked(inputs: Sequence[Input], shares: Sequence[float]) -> tuple[Contribution, ...]:
    rows = [Contribution(one, share) for one, share in zip(inputs, shares, strict=True) if share > 0.0]
    return tuple(sorted(rows, key=lambda row: -row.share_percent))


def _cost(
    costed: CostedLines, inputs: Sequence[Input], sides: Sequence[tuple[Figures | None, ...]]
) -> CostSpread | None:
    moved = [
        tuple(None if side is None else {line: exact(times) for line, times in side.poured.items()} for side in pair)
        for pair in sides
    ]
    found = cost_band(costed, moved)
    if found is None:
        return None
    return CostSpread(found, _ranked(inputs, [float(share) for share in found.shares_percent]))


def _inputs(
    varied: Varied, asked: TolerancesIn, codes: Sequence[str], day: date, gaps: list[NotVaried]
) -> Iterator[Input]:
    yield from _pours(varied, asked, day, gaps)
    yield from _items(varied, asked, codes, day, gaps)
    if varied.build.dilution.water_ml:
        held = _stated(asked.water_percent) or water_tolerance(varied.build.dilution.model, day)
        if held is None:
            gaps.append(NotVaried("ice", "water", "No tolerance of this model is held for the day."))
        elif held.half_width:
            yield _input(Key("water"), "ice", varied.build.dilution.model, held, 0.01)


def _input(key: Key, item: str, tool: str, held: Tolerance, unit: float) -> Input:
    return Input(key, item, tool, held, unit * standard_uncertainty(held.half_width, held.distribution))


def _stated(half_width: float | None, unit: str = "%") -> Tolerance | None:
    return None if half_width is None else Tolerance(half_width, unit, "rectangular", STATED, "house")


def _pours(varied: Varied, asked: TolerancesIn, day: date, gaps: list[NotVaried]) -> Iterator[Input]:
    for line in varied.resolved.lines:
        if line.role not in POURED:
            continue
        tool = _tool(line, asked.pour_with)
        stated = asked.pour_percent.get(tool)  # type: ignore[call-overload]  # the tools are its words
        held = _stated(stated) or pour_tolerance(tool, _measure_ml(line, varied.resolved.drink.serves), day)
        if held is None:
            gaps.append(NotVaried(line.ref, "pour", "No tolerance of this measure is held for the day."))
        elif held.half_width:
            yield _input(Key("pour", line=line.number), line.ref, tool, held, 0.01)


def _tool(line: ResolvedLine, pour_with: str) -> str:
    """What the amount is measured with, by the unit that was written."""
    amount = line.amount
    if amount.dimension != "volume":
        return amount.dimension
    return amount.unit if amount.unit in SMALL_MEASURES else pour_with


def _measure_ml(line: ResolvedLine, serves: int) -> float | None:
    """What one serve's measure of this line holds."""
    ml = line.quantities.get("ml")
    return None if ml is None else float(ml) / serves


def _items(
    varied: Varied, asked: TolerancesIn, codes: Sequence[str], day: date, gaps: list[NotVaried]
) -> Iterator[Input]:
    """The strength of every label and the acids of every juice that is drunk, through parts too."""
    resolved = varied.resolved
    seen: set[str] = set()
    for line in resolved.lines:
        if line.role not in POURED or (line.role == "rinse" and not line.residue_ml):
            continue
        if line.ref in resolved.products:
            gaps.append(NotVaried(line.ref, "composition", "A joint product is taken as it is stated."))
        for item_id, leaf in line.substance.leaves.items():
            if item_id in seen or not leaf.drunk or item_id not in resolved.items:
                continue
            seen.add(item_id)
            item = leaf.item
            if item.abv_percent:
                stated = _stated(asked.strength_percent_vol.get(item_id), "% vol")
                held = stated or strength_tolerance(item, item.abv_percent, codes, day)
                if held is None:
                    gaps.append(NotVaried(item_id, "strength", "No tolerance of this label is held for the day."))
                elif held.half_width:
                    yield _input(Key("strength", item_id), item_id, "label", held, 1.0)
            if item.kind == "juice" and any(table.acids_g for table in item.per_100):
                held = _stated(asked.acid_percent.get(item_id)) or acid_tolerance(item_id, day)
                if held is None:
                    gaps.append(NotVaried(item_id, "acid", "No tolerance of this juice is held for the day."))
                elif held.half_width:
                    yield _input(Key("acid", item_id), item_id, "fruit", held, 0.01)
