"""A preparation becomes a substance: lines together, straining, steps, yield, gas.

Order: the lines are mixed; what is strained out leaves with the liquid it absorbs; the steps act; the yield
says what is left. Masses balance at every stage, and a measured figure that cannot be is refused.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from service.errors import InputFault, OutOfRange
from service.extremes import choice_of, tried
from service.leaves import Leaves, leaves_of_lines
from service.mixture import (
    CAUTIONED,
    MOST,
    POLYOL,
    Assumption,
    Mixture,
    Part,
    Substance,
    changed,
    mixture,
    scaled,
    water_for_volume,
    with_water,
)
from service.recipe import MeasuredYield, PreparationLine, PreparationSpec
from service.steps import after_steps
from service.stepwords import is_known

OVER_YIELD = 1.02
"""How far a measured yield may stand above the computed one (contract, preparation)."""

SATURATION = 0.667
"""Grams of sucrose in a gram of its saturated solution in water at 20 C: 66.7 % by mass, solubility tables of sucrose
(Vavrinecz; ICUMSA calls what is above it supersaturated); standing: memory."""


@dataclass(frozen=True, slots=True)
class Warn:
    """Something the reader should look at; the figures stand all the same."""

    code: str
    detail: str
    item: str | None = None


class Batch(NamedTuple):
    """What is left of one batch, the liquid volume that carries its cost, and how it came about: the volume before
    the yield, volume with gas over volume of liquid, and what the steps had to assume."""

    mixture: Mixture
    yield_ml: float
    computed_ml: float
    gas_factor: float
    assumptions: Sequence[Assumption]


@dataclass(frozen=True, slots=True)
class Prepared:
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
    batch = _batch(spec, whole, _spare(spec), warnings)
    wet = _weakest(spec)
    own = _substance(spec, batch, wet, _strongest(spec, batch))
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


class _Tried(NamedTuple):
    """Lines mixed, and the batch that they give."""

    whole: Mixture
    batch: Batch

    @property
    def abv_percent(self) -> float | None:
        return self.batch.mixture.abv_percent


def _strongest(spec: PreparationSpec, own: Batch) -> Batch | None:
    """The batch with the choices that make it strongest, ``None`` where that is its own; refused where one of them
    cannot be."""
    if not any(line.variants for line in spec.lines):
        return None
    rows = [[choice_of(part) for part in (line.part, *line.variants) if part is not None] for line in _kept(spec)]

    def made(parts: Sequence[Part]) -> _Tried:
        return _made(spec, parts, 0.0)

    found = tried(rows, made, lambda one: one.whole.abv_percent, 1.0)
    unknown = next((one.batch for one in found[1:] if one.abv_percent is None), None)
    if unknown is not None or found[0].abv_percent is None:
        return unknown
    strongest = max(found, key=lambda one: one.abv_percent or 0.0)
    return strongest.batch if (strongest.abv_percent or 0.0) > (own.mixture.abv_percent or 0.0) else None


def _weakest(spec: PreparationSpec) -> Batch | None:
    """The batch with the choices that make it weakest and all water of strained-out fresh fruit, its own and that of
    its parts.

    ``None`` where that is its own. Where what was measured does not go with all the water of the fruit, none of it is
    taken to have come; where it does not go with an alternative, the alternative is refused.
    """
    water = sum(
        line.part.content("water")
        for line in spec.lines
        if line.strained_out and line.part is not None and line.substance.kind == "fruit"
    )
    if not water and not any(line.variants for line in spec.lines):
        return None
    rows = []
    kept = _kept(spec)
    for line in kept:
        assert line.part is not None
        wet = line.substance.weaker is not None
        rows.append([choice_of(part) for part in (line.variants if wet else (line.part, *line.variants))])
    for grams_come in dict.fromkeys((water, 0.0)):

        def made(parts: Sequence[Part], come: float = grams_come) -> _Tried:
            return _made(spec, parts, come)

        try:
            found = tried(rows, made, lambda one: one.whole.abv_percent, -1.0)
        except InputFault as fault:
            if not grams_come and fault.pointer.endswith("/alternatives"):
                raise
        else:
            weakest = min(found, key=lambda one: (one.abv_percent is None, one.abv_percent or 0.0))
            is_own = weakest is found[0] and not grams_come and all(line.substance.weaker is None for line in kept)
            return None if is_own else weakest.batch
    return None


def _kept(spec: PreparationSpec) -> list[PreparationLine]:
    return [line for line in spec.lines if not line.strained_out and line.part is not None]


def _made(spec: PreparationSpec, parts: Sequence[Part], fruit_water_g: float) -> _Tried:
    """The batch of one choice for each line that is kept; a fault of one is at the first line with an alternative."""
    whole = with_water(mixture(parts), fruit_water_g)
    spare = _spare(spec)
    spare["water"] = max(spare["water"] - fruit_water_g, 0.0)
    try:
        return _Tried(whole, _batch(spec, whole, spare, []))
    except InputFault as fault:
        chosen = dict(zip([id(line) for line in _kept(spec)], parts, strict=True))
        for number, line in enumerate(spec.lines):
            part = chosen.get(id(line))
            if line.alternatives and part is not None and part.substance.id != line.substance.id:
                detail = f"With {part.substance.id} instead: {fault.detail}"
                raise InputFault(fault.code, detail, f"/lines/{number}/alternatives") from None
        raise


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
    return water_for_volume(finished._replace(excess_ml=unknown_ml), volume_ml)


def _substance(spec: PreparationSpec, batch: Batch, wet: Batch | None, strong: Batch | None) -> Substance:
    """What lines may name; with ``wet`` as its weaker and ``strong`` as its stronger variant."""
    leaves = _leaves(spec)
    inherited = _inherited(spec)
    weaker = None if wet is None else _of_batch(spec, wet, leaves, inherited)
    stronger = None if strong is None else _of_batch(spec, strong, leaves, inherited)
    made = _of_batch(spec, batch, leaves, inherited, weaker, stronger)
    return replace(made, most=most) if (most := _most(spec)) else made


def _most(spec: PreparationSpec) -> dict[str, float]:
    """What of :data:`CAUTIONED` a ml holds with the alternatives that have most of it, where that is more.

    It goes through the steps of the batch as constituents without mass, polyols with the share of sugars.
    """
    kept = [line for line in _kept(spec) if line.alternatives or line.substance.most]
    if not kept:
        return {}
    parts = [line.part for line in _kept(spec) if line.part is not None]
    more = {
        measure: sum(
            max(part.most_of(measure) for part in (line.part, *line.variants) if part is not None)
            - (0.0 if line.part is None else line.part.of(measure))
            for line in kept
        )
        for measure in CAUTIONED
    }
    whole = mixture(parts)
    names = {measure: POLYOL + MOST if measure == "polyols_g" else MOST + measure for measure in CAUTIONED}
    contents = {**whole.contents, **{names[measure]: amount for measure, amount in more.items() if amount > 0}}
    if len(contents) == len(whole.contents):
        return {}
    batch = _batch(spec, whole._replace(contents=contents), _spare(spec), []).mixture
    own = {measure: sum(batch.content(name) for name in held) for measure, held in CAUTIONED.items()}
    return {
        measure: (own[measure] + batch.content(name)) / batch.volume_ml
        for measure, name in names.items()
        if name in contents
    }


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
