"""A preparation becomes a substance: lines together, straining, steps, yield, gas.

Order: the lines are mixed; what is strained out leaves with the liquid it absorbs; the steps act; the yield
says what is left. Masses balance at every stage, and a measured figure that cannot be is refused.
"""

from collections.abc import Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from service.bounds import most, spare_of, stronger, weakest
from service.errors import InputFault, OutOfRange
from service.leaves import Leaves, leaves_of_lines
from service.mixture import (
    Assumption,
    Mixture,
    Substance,
    changed,
    mixture,
    scaled,
    water_for_volume,
)
from service.recipe import Batch, MeasuredYield, PreparationSpec
from service.steps import after_steps
from service.stepwords import is_known

OVER_YIELD = 1.02
"""How far a measured yield may stand above the computed one (contract, preparation)."""

SATURATION = 0.667
"""Grams of sucrose in a gram of its saturated solution in water at 20 C: 66.7 % by mass, solubility tables of sucrose
(Vavrinecz; ICUMSA calls what is above it supersaturated); standing: memory."""


class Warn(Struct, frozen=True):
    """Something the reader should look at; the figures stand all the same."""

    code: str
    detail: str
    item: str | None = None


class Prepared(Struct, frozen=True):
    """One batch: its mixture after all steps, the liquid volume it yields and the substance that lines may name.

    ``with_fruit_water`` is the same batch if all water of the fresh fruit that is strained out of it had stayed:
    maceration draws water out of fresh fruit, how much is not known, so both bounds are shown.
    """

    spec: PreparationSpec
    batch: Mixture
    computed_ml: float
    yield_ml: float
    substance: Substance
    with_fruit_water: Batch | None
    warnings: tuple[Warn, ...]


def prepared(spec: PreparationSpec) -> Prepared:
    """The finished preparation. Raises ``InputFault`` (pointer relative to the preparation) where its balance fails."""
    warnings: list[Warn] = []
    whole = mixture([line.part for line in spec.lines if not line.strained_out and line.part is not None])
    if whole.volume_ml <= 0:
        raise InputFault(
            "preparation_empty", f"Nothing of {spec.id} is left to pour: every line is strained out or dry.", "/lines"
        )
    batch = _batch(spec, whole, spare_of(spec), warnings)
    wet = weakest(spec, _other_batch)
    strong, others = stronger(spec, batch, _other_batch)
    own = _substance(spec, batch, wet, strong, others)
    _warn_of_sugar(spec, batch.mixture, warnings)
    _warn_of_steps(spec, warnings)
    shown = wet if _holds_fruit(spec) else None
    return Prepared(spec, batch.mixture, batch.computed_ml, batch.yield_ml, own, shown, tuple(warnings))


def _holds_fruit(spec: PreparationSpec) -> bool:
    """Whether fresh fruit is strained out of it or of one of its parts, so that water may have come from it."""
    return any(
        line.substance.kind == "fruit" if line.strained_out else line.substance.weaker is not None
        for line in spec.lines
    )


def _other_batch(spec: PreparationSpec, whole: Mixture, spare: Mapping[str, float]) -> Batch:
    """A batch of other choices for the lines, which the reader is not warned of."""
    return _batch(spec, whole, spare, [])


def _batch(spec: PreparationSpec, whole: Mixture, spare: Mapping[str, float], warnings: list[Warn]) -> Batch:
    """``whole`` after absorption, steps and yield."""
    strained = _after_absorption(spec, whole, warnings)
    finished, assumptions = after_steps(spec.id, strained, spec.steps, spare)
    gas = _gas_factor(spec, finished)
    left, yield_ml = _after_yield(spec, finished, gas)
    if left.volume_ml <= 0 or yield_ml <= 0:
        raise InputFault("preparation_empty", f"Nothing of {spec.id} is left to pour after its steps and yield.", "")
    return Batch(left, yield_ml, finished.volume_ml, gas, assumptions)


def _warn_of_sugar(spec: PreparationSpec, batch: Mixture, warnings: list[Warn]) -> None:
    sugars = batch.content("sugars")
    if sugars > SATURATION * (sugars + batch.content("water")):
        detail = (
            f"{spec.id} holds more sugar than its water dissolves of sucrose at 20 C ({100 * SATURATION:.1f} % by "
            "mass): some may stay undissolved or crystallise, and its figures hold where all is dissolved. Honey and "
            "invert sugar dissolve further."
        )
        warnings.append(Warn("sugar_above_saturation", detail, spec.id))


def _warn_of_steps(spec: PreparationSpec, warnings: list[Warn]) -> None:
    for step in spec.steps:
        if not is_known(step.kind) and not step.measured.keys().isdisjoint(("mass_g", "volume_ml")):
            name = step.kind.replace("_", " ")
            detail = (
                f"What {name} does to {spec.id} is not known here: less measured after it is read as product lost, its "
                "composition unchanged. If it takes water out, name a step that does, such as reducing."
            )
            warnings.append(Warn("step_unknown", detail, spec.id))


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
    left: Mixture | None
    try:
        if measured.dimension == "mass":
            left = changed(finished, water=finished.content("water") + quantity - whole)
        elif finished.mass_g is None:
            left = _shrunk(finished, quantity)
        else:
            left = water_for_volume(finished, quantity)
    except OutOfRange:
        left = None
    if left is None or left.overfull:
        detail = f"{spec.id} holds more ethanol and dissolved matter than the reduced yield has room for."
        raise InputFault("yield_below_solids", detail, "/yield/amount")
    return left


def _shrunk(finished: Mixture, volume_ml: float) -> Mixture:
    """A mixture of unknown density reduced: what is unknown shrinks in proportion, of what is known the water
    leaves."""
    unknown_ml = finished.excess_ml * volume_ml / finished.volume_ml
    return water_for_volume(replace(finished, excess_ml=unknown_ml), volume_ml)


def _substance(
    spec: PreparationSpec, batch: Batch, wet: Batch | None, strong: Batch | None, others: Sequence[Batch]
) -> Substance:
    """What lines may name; ``wet`` is its weaker, ``strong`` its stronger variant, ``others`` are further ones."""
    leaves = _leaves(spec)
    inherited = _inherited(spec)
    weaker = None if wet is None else _of_batch(spec, wet, leaves, inherited)
    stronger = None if strong is None else _of_batch(spec, strong, leaves, inherited)
    made = _of_batch(spec, batch, leaves, inherited, weaker, stronger)
    beside = tuple([_of_batch(spec, other, leaves, inherited) for other in others])
    most_held = most(spec, _other_batch)
    return replace(made, most=most_held, others=beside) if most_held or beside else made


def _of_batch(
    spec: PreparationSpec,
    batch: Batch,
    leaves: Leaves,
    inherited: tuple[Assumption, ...],
    weaker: Substance | None = None,
    stronger: Substance | None = None,
) -> Substance:
    mix = batch.mixture
    volume = mix.volume_ml
    return Substance(
        id=spec.id,
        name=spec.name,
        kind="preparation",
        origin=spec.origin,
        basis="ml",
        contents={name: amount / volume for name, amount in mix.contents.items()},
        unknown=mix.unknown,
        density_g_per_ml=None if mix.mass_g is None else mix.mass_g / volume,
        leaves=leaves,
        excess_ml=mix.excess_ml / volume,
        gas_factor=batch.gas_factor,
        assumptions=(*inherited, *batch.assumptions),
        weaker=weaker,
        stronger=stronger,
    )


def _inherited(spec: PreparationSpec) -> tuple[Assumption, ...]:
    """What the lines rest on, each once; the same assumption of one item is one object wherever it comes from."""
    inherited: dict[int, Assumption] = {}
    named = {made.id: made for line in spec.lines for made in (line.substance, *line.alternatives)}
    for made in named.values():
        inherited.update(zip(map(id, made.assumptions), made.assumptions, strict=True))
    return tuple(inherited.values())


def _leaves(spec: PreparationSpec) -> Leaves:
    lines: dict[tuple[str, bool], Leaves] = {}
    for line in spec.lines:
        lines[line.substance.id, line.strained_out] = line.substance.leaves
        # What may be poured instead is in no amount of the batch, so no figure counts it.
        lines.update(((made.id, True), made.leaves) for made in line.alternatives)
    return leaves_of_lines(spec.id, [(held, not_known) for (_, not_known), held in lines.items()])
