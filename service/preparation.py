"""A preparation becomes a substance: lines together, straining, steps, yield, gas.

Order: the lines are mixed; what is strained out leaves with the liquid it absorbs; the steps act; the yield
says what is left. Masses balance at every stage, and a measured figure that cannot be is refused.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import NamedTuple

from service.errors import InputFault, OutOfRange
from service.mixture import (
    Assumption,
    Leaf,
    Mixture,
    Part,
    Substance,
    changed,
    mixture,
    of_contents,
    scaled,
    water_for_volume,
)
from service.steps import Step, after_steps

OVER_YIELD = 1.02
"""How far a measured yield may stand above the computed one (contract, preparation)."""


class PreparationLine(NamedTuple):
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
    """A preparation with its amounts read. Shelf life in days; ``made_on`` starts it; ``products`` are ids of
    its outputs."""

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
    products: tuple[str, ...] = ()


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
        raise InputFault(
            "preparation_empty", f"Nothing of {spec.id} is left to pour: every line is strained out or dry.", "/lines"
        )
    strained = _after_absorption(spec, whole, warnings)
    finished, assumptions = after_steps(spec.id, strained, spec.steps, _spare(spec))
    gas = _gas_factor(spec, finished)
    batch, yield_ml = _after_yield(spec, finished, gas)
    if batch.volume_ml <= 0 or yield_ml <= 0:
        raise InputFault("preparation_empty", f"Nothing of {spec.id} is left to pour after its steps and yield.", "")
    product = _substance(spec, batch, gas, assumptions)
    return Prepared(
        spec, batch, finished.volume_ml, yield_ml, product, _abv_with_fruit_water(spec, kept, batch), tuple(warnings)
    )


def _spare(spec: PreparationSpec) -> dict[str, float]:
    """Grams that what is strained out may have given to the liquid; without bound where they are not known."""
    spare = dict.fromkeys(("water", "ethanol", "sugars"), 0.0)
    for line in spec.lines:
        if not line.strained_out or line.substance.undissolved:
            continue
        known = line.part is not None and bool(line.substance.contents)
        for name in spare:
            spare[name] += line.part.content(name) if known and line.part is not None else float("inf")
    return spare


def _after_absorption(spec: PreparationSpec, whole: Mixture, warnings: list[Warn]) -> Mixture:
    absorbed = sum(line.absorbs_ml for line in spec.lines)
    if not absorbed:
        return whole
    if spec.measured is not None:
        warnings.append(Warn("absorbs_ignored", "absorbs_ml is not used where the yield is measured.", spec.id))
        return whole
    if absorbed >= whole.volume_ml:
        most = max(range(len(spec.lines)), key=lambda index: spec.lines[index].absorbs_ml)
        detail = f"What {spec.id} absorbs is as much as its liquid; nothing is left."
        raise InputFault("absorbs_exceeds", detail, f"/lines/{most}/absorbs_ml")
    return scaled(whole, 1.0 - absorbed / whole.volume_ml)


def _gas_factor(spec: PreparationSpec, finished: Mixture) -> float:
    """Volume with gas over volume of liquid: by the overrun, or by a measured foam that is larger still."""
    if not spec.overrun_percent:
        return 1.0
    gas = 1.0 + spec.overrun_percent / 100.0
    measured = spec.measured
    if measured is not None and measured.dimension == "volume" and not measured.reduced:
        gas = max(gas, float(measured.quantity) / finished.volume_ml)
    return gas


def _after_yield(spec: PreparationSpec, finished: Mixture, gas: float) -> tuple[Mixture, float]:
    """The mixture that is left and the liquid volume that carries the cost."""
    if spec.loss_percent is not None:
        if spec.loss_percent >= 100:
            raise InputFault("yield_nothing", f"A loss of 100 % leaves nothing of {spec.id}.", "/yield/loss_percent")
        left = scaled(finished, 1.0 - spec.loss_percent / 100.0)
        return left, left.volume_ml
    if spec.measured is None:
        return finished, finished.volume_ml
    if spec.measured.dimension == "mass" and not finished.mass_g:
        raise InputFault(
            "density_unknown", f"A yield by mass needs the density of everything in {spec.id}.", "/yield/amount"
        )
    if spec.measured.reduced:
        reduced = _reduced(spec, spec.measured, finished, gas)
        return reduced, reduced.volume_ml
    quantity = float(spec.measured.quantity)
    measured_ml = (
        quantity / gas
        if spec.measured.dimension == "volume"
        else quantity * finished.volume_ml / (finished.mass_g or 1.0)
    )
    if measured_ml > finished.volume_ml * OVER_YIELD:
        raise InputFault(
            "yield_exceeds_inputs",
            f"The measured yield of {spec.id} is over 2 % above what its lines give; check the lines and the yield.",
            "/yield/amount",
        )
    return scaled(finished, min(1.0, measured_ml / finished.volume_ml)), measured_ml


def _reduced(spec: PreparationSpec, measured: MeasuredYield, finished: Mixture, gas: float) -> Mixture:
    """The mixture from which so much water has left that the measured mass or volume remains."""
    quantity = float(measured.quantity) / (gas if measured.dimension == "volume" else 1.0)
    whole = finished.volume_ml if measured.dimension == "volume" else finished.mass_g or 0.0
    if quantity > whole * OVER_YIELD:
        raise InputFault(
            "yield_exceeds_inputs", f"A reduction of {spec.id} cannot be more than its lines give.", "/yield/amount"
        )
    try:
        if measured.dimension == "mass":
            return changed(finished, water=finished.content("water") + quantity - whole)
        if finished.mass_g is None:
            return _shrunk(finished, quantity)
        return water_for_volume(finished, quantity)
    except OutOfRange:
        detail = f"{spec.id} holds more ethanol and dissolved matter than the reduced yield has room for."
        raise InputFault("yield_below_solids", detail, "/yield/amount") from None


def _shrunk(finished: Mixture, volume_ml: float) -> Mixture:
    """A mixture of unknown density reduced: what is unknown shrinks in proportion, of what is known the water
    leaves."""
    unknown_ml = finished.excess_ml * volume_ml / finished.volume_ml
    return water_for_volume(finished._replace(excess_ml=unknown_ml), volume_ml)


def _substance(spec: PreparationSpec, batch: Mixture, gas: float, assumptions: Sequence[Assumption]) -> Substance:
    volume = batch.volume_ml
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
        assumptions=(*_inherited(spec), *assumptions),
    )


def _inherited(spec: PreparationSpec) -> tuple[Assumption, ...]:
    """What the lines rest on, each once; the same assumption of one item is one object wherever it comes from."""
    inherited: dict[int, Assumption] = {}
    for made in {line.substance.id: line.substance for line in spec.lines}.values():
        inherited.update(zip(map(id, made.assumptions), made.assumptions, strict=True))
    return tuple(inherited.values())


def leaves_of(spec: PreparationSpec) -> Mapping[str, Leaf]:
    """Every bought item in the preparation, each with its first path; strained-out ones are not drunk.

    What brings nothing new is passed over at once: hundreds of preparations may name one another dozens of
    times.
    """
    leaves: dict[str, Leaf] = {}
    all_drunk = True
    for line in {(line.substance.id, line.strained_out): line for line in spec.lines}.values():
        kept = not line.strained_out
        if (all_drunk or not kept) and line.substance.leaves.keys() <= leaves.keys():
            continue
        for item_id, leaf in line.substance.leaves.items():
            drunk = leaf.drunk and kept
            known = leaves.get(item_id)
            if known is None:
                leaves[item_id] = Leaf(leaf.item, (spec.id, *leaf.path), drunk)
                all_drunk = all_drunk and drunk
            elif drunk and not known.drunk:
                leaves[item_id] = known._replace(drunk=True)
    return leaves


def _abv_with_fruit_water(spec: PreparationSpec, kept: Sequence[Part], batch: Mixture) -> float | None:
    """Strength if all water of fresh fruit that is strained out stayed in the liquid; ``None`` where there is
    no such fruit.

    Maceration in spirit draws water out of fresh fruit; how much is not known, so both bounds are shown.
    """
    water = 0.0
    for line in spec.lines:
        if line.strained_out and line.part is not None and line.substance.kind == "fruit":
            water += line.part.content("water")
    changes = spec.steps or (spec.measured is not None and spec.measured.reduced)
    if not water or changes or batch.abv_percent is None or batch.ethanol_g <= 0:
        return None
    together = mixture(kept)
    contents = dict(together.contents)
    contents["water"] = contents.get("water", 0.0) + water
    return of_contents(contents, together.excess_ml, None, together.unknown).abv_percent
