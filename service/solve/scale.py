"""POST /v1/scale: a drink to so many serves, a container, a volume or one bottle of an item; amounts as measured."""

from collections.abc import Mapping
from datetime import date
from decimal import ROUND_HALF_UP, Decimal

from msgspec import Struct

from schemas.solve import ScaleRequest
from service.choosing import Choice, Offer
from service.errors import InputFault
from service.evaluate import Evaluation
from service.icewater import WATER_G_PER_ML
from service.line import ResolvedLine, exact
from service.mixture import Mixture, Part, mixture, scaled, with_water
from service.money import EXACT
from service.solve.freezer import Freezer, freezer
from service.solve.making import Needs, PartToMake, base_of, needs_of, parts_to_make, quantities
from service.solve.question import Desk, begun


class Measured(Struct, frozen=True):
    """An amount in one base: exact, and rounded to the house's step where there is one."""

    base: str
    exact: Decimal
    rounded: Decimal
    step: Decimal | None

    @property
    def error_percent(self) -> float:
        """By how much the rounded amount is off."""
        return float(100 * (self.rounded - self.exact) / self.exact) if self.exact else 0.0


class ScaledLine(Struct, frozen=True):
    """One line for all serves; ``in_batch`` if it goes into the pre-batch."""

    line: ResolvedLine
    in_batch: bool
    amount: Measured | None


class Purchase(Struct, frozen=True):
    """Packs of one offer that cover a need, and what is left of them in the base of the need."""

    item: str
    offer: Offer
    base: str
    need: Decimal
    packs: int
    left: Decimal


class Scaled(Struct, frozen=True):
    """A drink scaled; ``batch`` is the pre-batch of all serves as computed, ``measured`` as rounded amounts make it."""

    evaluation: Evaluation
    request: ScaleRequest
    factor: Decimal
    serves: Decimal
    lines: tuple[ScaledLine, ...]
    water: Measured | None
    water_missing: bool
    batch: Mixture
    measured: Mixture
    usable_ml: float | None
    needs: Needs
    unknown_needs: tuple[str, ...]
    parts: tuple[PartToMake, ...]
    purchases: tuple[Purchase, ...]
    freezer: Freezer | None
    serve_on: date
    batch_from_days: int | None


def scaled_drink(request: ScaleRequest, desk: Desk) -> Scaled:
    """The drink at its new size. Raises ``InputFault`` or ``InputFaults`` with pointers into the request."""
    asked, evaluation = begun(request, desk)
    return _scaled(asked, desk, evaluation)


def _scaled(asked: ScaleRequest, desk: Desk, evaluation: Evaluation) -> Scaled:
    build, spec_serves = evaluation.build, asked.drink.serves
    water_ml = build.dilution.water_ml if asked.water == "added" else 0.0
    if asked.water == "added" and water_ml is None:
        detail = "How much water the ice gives is not known: state method.water or measures.water_fraction."
        raise InputFault("water_unknown", detail, "/water")
    serve = with_water(build.base, water_ml * WATER_G_PER_ML) if water_ml else build.base
    usable = None
    if asked.to.container_ml is not None:
        usable = asked.to.container_ml * (1.0 - asked.headroom_percent / 100.0)
    factor = _factor(asked, desk, evaluation, serve, usable)
    serves = EXACT.multiply(factor, Decimal(spec_serves))
    steps = {base: exact(step) for base, step in asked.steps if step is not None}
    lines = tuple([_line(evaluation, line, factor, steps) for line in evaluation.lines])
    whole_water = EXACT.multiply(exact(water_ml or 0.0), serves)
    water = _measured("ml", whole_water, steps) if water_ml else None
    batches, needs, unknown = needs_of(evaluation, factor)
    if water is not None:
        needs["water", "ml"] = needs.get(("water", "ml"), Decimal(0)) + water.exact
    serve_on = asked.serve_on or desk.day_of(asked)
    batch = scaled(serve, float(serves))
    return Scaled(
        evaluation, asked, factor, serves, lines, water, build.dilution.water_ml is None, batch,
        _as_measured(lines, water, spec_serves), usable, needs, tuple(unknown),
        tuple(parts_to_make(evaluation, batches, serve_on)), _purchases(evaluation, needs),
        None if asked.set_c is None else freezer(batch, asked.set_c), serve_on,
        None if evaluation.use_by is None else evaluation.use_by.days,
    )  # fmt: skip


def _factor(
    asked: ScaleRequest, desk: Desk, evaluation: Evaluation, serve: Mixture, usable_ml: float | None
) -> Decimal:
    """How many times the written spec is made."""
    to, spec_serves = asked.to, Decimal(asked.drink.serves)
    if to.serves is not None:
        return EXACT.divide(Decimal(to.serves), spec_serves)
    if to.item is not None:
        return _of_bottle(asked, desk, evaluation, to.item)
    place = "/to/container_ml" if to.container_ml is not None else "/to/total_ml"
    wanted = usable_ml if usable_ml is not None else to.total_ml
    assert wanted is not None
    if serve.volume_ml <= 0:
        raise InputFault("nothing_to_batch", "No line of role pour gives the pre-batch a volume.", place)
    return EXACT.divide(exact(wanted), EXACT.multiply(exact(serve.volume_ml), spec_serves))


def _of_bottle(asked: ScaleRequest, desk: Desk, evaluation: Evaluation, item: str) -> Decimal:
    """How many times the spec is made of one bottle, less what stays in it."""
    _, needs, _ = needs_of(evaluation, Decimal(1))
    need = needs.get((item, "ml"))
    if not need:
        named = ", ".join(sorted({one for one, base in needs if base == "ml"})[:8])
        detail = f"The drink needs no volume of this item; it needs of: {named}."
        raise InputFault("item_not_needed", detail, "/to/item")
    bottle = None if asked.to.bottle_ml is None else exact(asked.to.bottle_ml)
    if bottle is None:
        day = desk.day_of(asked)
        valid = [one for one in desk.offers(asked).get(item, ()) if one.base == "ml" and one.is_valid(day)]
        if not valid or not desk.sees_costs:
            raise InputFault("bottle_unknown", "State bottle_ml, the contents of one bottle.", "/to/bottle_ml")
        bottle = valid[0].size
    held = evaluation.resolved.items.get(item)
    bottle -= exact(held.bottle_residue_ml) if held is not None and held.bottle_residue_ml else Decimal(0)
    if bottle <= 0:
        raise InputFault("bottle_empty", "Nothing of the bottle can be poured.", "/to/bottle_ml")
    return EXACT.divide(bottle, need)


def _measured(base: str, amount: Decimal, steps: Mapping[str, Decimal]) -> Measured:
    step = steps.get(base)
    if step is None:
        return Measured(base, amount, amount, None)
    times = EXACT.divide(amount, step).to_integral_value(ROUND_HALF_UP, EXACT)
    return Measured(base, amount, EXACT.multiply(times, step), step)


def _line(evaluation: Evaluation, line: ResolvedLine, factor: Decimal, steps: Mapping[str, Decimal]) -> ScaledLine:
    found = quantities(evaluation, line, factor)
    # A piece that was written as a piece is counted, whatever it weighs.
    base = "each" if line.amount.dimension == "piece" and "each" in found else base_of(line, found)
    amount = None if base is None else _measured(base, found[base], steps)
    in_batch = line.role == "pour" and line.substance.gas_factor <= 1.0
    return ScaledLine(line, in_batch, amount)


def _as_measured(lines: tuple[ScaledLine, ...], water: Measured | None, serves: int) -> Mixture:
    """The pre-batch that the rounded amounts give."""
    parts = []
    for row in lines:
        amount, part = row.amount, row.line.part
        if row.in_batch and amount is not None and part is not None:
            written = row.line.quantities[amount.base]
            times = float(EXACT.divide(amount.rounded, written)) * serves
            parts.append(Part(part.substance, part.base * times))
    mix = mixture(parts)
    return with_water(mix, float(water.rounded) * WATER_G_PER_ML) if water is not None else mix


def _purchases(evaluation: Evaluation, needs: Needs) -> tuple[Purchase, ...]:
    """Whole packs of the offers that the cost rests on; none where costs are not seen."""
    cost = evaluation.cost
    if cost is None:
        return ()
    rows: dict[tuple[str, str], Purchase] = {}
    for priced in (*cost.lines, *(line for lines in cost.preparation_lines.values() for line in lines)):
        unit, item = priced.unit, priced.line.ref
        for base in ("ml", "g", "each"):
            need = needs.get((item, base))
            if need is None or (item, base) in rows or not isinstance(unit, Choice) or unit.offer is None:
                continue
            offer = unit.offer
            per = Decimal(1) if offer.base == base else _per(unit, base)
            if per is None:
                continue
            size = EXACT.multiply(EXACT.multiply(offer.units + offer.free_units, offer.size), per)
            packs = int(EXACT.divide(need, size).to_integral_value("ROUND_CEILING", EXACT))
            rows[item, base] = Purchase(item, offer, base, need, packs, EXACT.multiply(size, Decimal(packs)) - need)
    return tuple(rows.values())


def _per(unit: Choice, base: str) -> Decimal | None:
    """How much of ``base`` one unit of the offer's own base is, for an item kept in ``base``."""
    assert unit.offer is not None
    if unit.kept.base != base:
        return None
    factor = unit.kept.per_base.get(unit.offer.base)
    return None if not factor else EXACT.divide(Decimal(1), factor)
