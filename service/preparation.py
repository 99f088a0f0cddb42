"""A preparation becomes a substance: lines together, straining, steps, yield, gas.

Order: the lines are mixed; what is strained out leaves with the liquid it absorbs; the steps act; the yield says what is
left. Masses balance at every stage, and a measured figure that cannot be is refused.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from service.errors import InputFault, OutOfRange
from service.mixture import Assumption, Leaf, Mixture, Part, Substance, mixture, of_contents
from service.steps import Step, after_steps, water_for_volume

OVER_YIELD = 1.02
"""How far a measured yield may stand above the computed one (contract, preparation)."""


@dataclass(frozen=True, slots=True)
class PreparationLine:
    """One resolved line: ``part`` is ``None`` where a piece of unknown mass is strained out."""

    substance: Substance
    part: Part | None
    strained_out: bool = False
    absorbs_ml: float = 0.0


@dataclass(frozen=True, slots=True)
class MeasuredYield:
    """``quantity`` in ml or g (``dimension`` volume or mass)."""

    dimension: str
    quantity: Decimal
    reduced: bool = False


@dataclass(frozen=True, slots=True)
class PreparationSpec:
    """A preparation with its amounts read. Shelf life in days; ``made_on`` starts it."""

    id: str
    name: str
    lines: tuple[PreparationLine, ...]
    steps: tuple[Step, ...] = ()
    loss_percent: float | None = None
    measured: MeasuredYield | None = None
    overrun_percent: float | None = None
    made_on: date | None = None
    shelf_life_days: int | None = None
    storage: str | None = None
    minutes: float | None = None
    origin: str = "request"


@dataclass(frozen=True, slots=True)
class Warn:
    """Something the reader should look at; the figures stand all the same."""

    code: str
    detail: str
    item: str | None = None


@dataclass(frozen=True, slots=True)
class Prepared:
    """One batch: its mixture after all steps, the liquid volume it yields and the substance that lines may name."""

    spec: PreparationSpec
    batch: Mixture
    computed_ml: float
    yield_ml: float
    substance: Substance
    abv_percent_with_fruit_water: float | None
    warnings: tuple[Warn, ...]


def prepared(spec: PreparationSpec) -> Prepared:
    """The finished preparation. Raises ``InputFault`` (pointer relative to the preparation) where its balance fails."""
    warnings: list[Warn] = []
    kept = [line.part for line in spec.lines if not line.strained_out and line.part is not None]
    whole = mixture(kept)
    if whole.volume_ml <= 0:
        raise InputFault("preparation_empty", f"Nothing of {spec.id} is left to pour: every line is strained out or dry.", "/lines")
    strained = _after_absorption(spec, whole, warnings)
    finished, assumptions = after_steps(spec.id, strained, spec.steps)
    batch, yield_ml = _after_yield(spec, finished)
    product = _substance(spec, batch, assumptions)
    return Prepared(spec, batch, finished.volume_ml, yield_ml, product, _abv_with_fruit_water(spec, kept, batch), tuple(warnings))


def _after_absorption(spec: PreparationSpec, whole: Mixture, warnings: list[Warn]) -> Mixture:
    absorbed = sum(line.absorbs_ml for line in spec.lines)
    if not absorbed:
        return whole
    if spec.measured is not None:
        warnings.append(Warn("absorbs_ignored", "absorbs_ml is not used where the yield is measured.", spec.id))
        return whole
    if absorbed >= whole.volume_ml:
        raise InputFault("absorbs_exceeds", f"What {spec.id} absorbs is as much as its liquid; nothing is left.", "/lines")
    return scaled(whole, 1.0 - absorbed / whole.volume_ml)


def scaled(whole: Mixture, share: float) -> Mixture:
    """``share`` of a mixture, composition unchanged."""
    contents = {name: amount * share for name, amount in whole.contents.items()}
    mass = None if whole.mass_g is None else whole.mass_g * share
    return replace(whole, contents=contents, excess_ml=whole.excess_ml * share, volume_ml=whole.volume_ml * share, mass_g=mass)


def _after_yield(spec: PreparationSpec, finished: Mixture) -> tuple[Mixture, float]:
    """The mixture that is left and the liquid volume that carries the cost."""
    if spec.loss_percent is not None:
        if spec.loss_percent >= 100:
            raise InputFault("yield_nothing", f"A loss of 100 % leaves nothing of {spec.id}.", "/yield/loss_percent")
        left = scaled(finished, 1.0 - spec.loss_percent / 100.0)
        return left, left.volume_ml
    if spec.measured is None:
        return finished, finished.volume_ml
    measured_ml = _measured_ml(spec, finished)
    if spec.measured.reduced:
        reduced = _reduced(spec, finished, measured_ml)
        return reduced, reduced.volume_ml
    if measured_ml > finished.volume_ml * OVER_YIELD and not spec.overrun_percent:
        raise InputFault(
            "yield_exceeds_inputs",
            f"The measured yield of {spec.id} is over 2 % above what its lines can give; check the lines and the yield.",
            "/yield/amount",
        )
    return scaled(finished, min(1.0, measured_ml / finished.volume_ml)), measured_ml


def _measured_ml(spec: PreparationSpec, finished: Mixture) -> float:
    assert spec.measured is not None
    quantity = float(spec.measured.quantity)
    gas = 1.0 + (spec.overrun_percent or 0.0) / 100.0
    if spec.measured.dimension == "volume":
        return quantity / gas
    if finished.mass_g is None or finished.mass_g <= 0:
        raise InputFault("density_unknown", f"A yield by mass needs the density of everything in {spec.id}.", "/yield/amount")
    if spec.measured.reduced:
        return finished.volume_ml - (finished.mass_g - quantity) / 0.99820123
    return quantity * finished.volume_ml / finished.mass_g


def _reduced(spec: PreparationSpec, finished: Mixture, measured_ml: float) -> Mixture:
    if measured_ml > finished.volume_ml * OVER_YIELD:
        raise InputFault("yield_exceeds_inputs", f"A reduction of {spec.id} cannot be more than its lines give.", "/yield/amount")
    try:
        return water_for_volume(finished, measured_ml)
    except OutOfRange:
        raise InputFault(
            "yield_below_solids", f"{spec.id} holds more ethanol and dissolved matter than the reduced yield has room for.", "/yield/amount"
        ) from None


def _substance(spec: PreparationSpec, batch: Mixture, assumptions: Sequence[Assumption]) -> Substance:
    volume = batch.volume_ml
    gas = 1.0 + (spec.overrun_percent or 0.0) / 100.0
    inherited: dict[tuple[str, str | None], Assumption] = {}
    for line in spec.lines:
        for assumption in line.substance.assumptions:
            inherited.setdefault((assumption.code, assumption.item), assumption)
    return Substance(
        id=spec.id,
        name=spec.name,
        kind="preparation",
        origin=spec.origin,
        basis="ml",
        contents={name: amount / volume for name, amount in batch.contents.items()},
        unknown=batch.unknown,
        density_g_per_ml=None if batch.mass_g is None else batch.mass_g / volume,
        excess_ml=batch.excess_ml / volume,
        gas_factor=gas,
        leaves=leaves_of(spec),
        assumptions=(*inherited.values(), *assumptions),
    )


def leaves_of(spec: PreparationSpec) -> Mapping[str, Leaf]:
    """Every bought item in the preparation, each with its first shortest path; strained-out ones are not drunk."""
    leaves: dict[str, Leaf] = {}
    for line in spec.lines:
        for item_id, leaf in line.substance.leaves.items():
            drunk = leaf.drunk and not line.strained_out
            known = leaves.get(item_id)
            if known is None:
                leaves[item_id] = Leaf(leaf.item, (spec.id, *leaf.path), drunk)
            elif drunk and not known.drunk:
                leaves[item_id] = replace(known, drunk=True)
    return leaves


def _abv_with_fruit_water(spec: PreparationSpec, kept: Sequence[Part], batch: Mixture) -> float | None:
    """Strength if all water of fresh fruit that is strained out stayed in the liquid; ``None`` where there is no such fruit.

    Maceration in spirit draws water out of fresh fruit; how much is not known, so both bounds are shown.
    """
    water = 0.0
    for line in spec.lines:
        if line.strained_out and line.part is not None and line.substance.kind == "fruit":
            water += line.part.content("water")
    if not water or spec.steps or batch.abv_percent is None or batch.ethanol_g <= 0:
        return None
    together = mixture(kept)
    contents = dict(together.contents)
    contents["water"] = contents.get("water", 0.0) + water
    return of_contents(contents, together.excess_ml, None, together.unknown).abv_percent
