"""A drink and a preparation of the contract as the build and the batch want them."""

from collections.abc import Iterator, Sequence

import schemas.preparation as contract
from schemas.drink import Drink
from schemas.preparation import Preparation
from service.amounts import Measures
from service.errors import InputFault
from service.fitting import FERMENTING
from service.glass import Glass
from service.icewater import Method, Water
from service.item_triggers import words_of
from service.line import ResolvedLine, amount_of, part_of, quantities_of
from service.lookup import Place, outputs_of
from service.mixture import Part, Substance
from service.pours import names_any
from service.recipe import MeasuredYield, PreparationLine, PreparationSpec
from service.steps import Step
from service.stepwords import BREWING, FREEZING, kind_of


def spec_of(
    preparation: Preparation, lines: Sequence[ResolvedLine], place: Place, measures: Measures
) -> PreparationSpec:
    """The preparation with its lines read, as physics wants it."""
    yield_ = preparation.yield_
    measured = None
    if yield_ is not None and yield_.amount is not None:
        measured = _measured(yield_.amount, yield_.reduced, measures)
    return PreparationSpec(
        id=preparation.id,
        name=preparation.name,
        lines=tuple([_line(line) for line in lines]),
        steps=tuple(
            Step(
                _kind(step, lines),
                {name: share for name, share in step.keeps if name in step.keeps.model_fields_set},
                {} if step.measured is None else step.measured.model_dump(exclude_none=True),
            )
            for step in preparation.steps
        ),
        loss_percent=None if yield_ is None else yield_.loss_percent,
        measured=measured,
        overrun_percent=preparation.overrun_percent,
        made_on=preparation.made_on,
        shelf_life_days=preparation.shelf_life_days,
        storage=preparation.storage,
        minutes=preparation.minutes,
        legal_name=preparation.legal_name,
        egg_yolk_g_per_l=preparation.egg_yolk_g_per_l,
        origin=place.origin,
        products=tuple(output.id for output in outputs_of(preparation)),
    )


_BREWED = (
    "coffee",
    "espresso",
    "tea",
    "chai",
    "mate",
    "rooibos",
    "hibiscus",
    "chamomile",
    "camomile",
    "cocoa",
    "cold-brew",
)


def _kind(step: contract.Step, lines: Sequence[ResolvedLine]) -> str:
    """The step that physics knows behind a house's word.

    Brewing is an infusion where coffee, tea and water are all there is, and fermenting anywhere else; freezing takes
    water out where something is kept back or measured after it.
    """
    kind = kind_of(step.kind)
    if kind == BREWING:
        named = [names_any(words_of(line.ref, line.substance.name), _BREWED) for line in lines]
        kept = zip(lines, named, strict=True)
        plain = all(is_named or line.strained_out or line.substance.kind in ("water", "ice") for line, is_named in kept)
        return "infusing" if plain and any(named) else FERMENTING
    if kind == FREEZING and (step.measured is not None or step.keeps.model_fields_set):
        return "freezing_out"
    return kind


def _line(line: ResolvedLine) -> PreparationLine:
    weaker: list[Part] = []
    variants: list[Part] = []
    if not line.strained_out and line.part is not None:
        for made in (line.substance, *line.alternatives):
            weaker += _same_amount(line, [made.weaker])
            variants += _same_amount(line, [made, made.stronger, *made.others])
    return PreparationLine(
        line.substance, line.part, line.strained_out, line.absorbs_ml, tuple(variants), tuple(weaker),
        line.alternatives,
    )  # fmt: skip


def _same_amount(line: ResolvedLine, variants: Sequence[Substance | None]) -> Iterator[Part]:
    """The line's amount of each of these that is not its own substance."""
    for variant in variants:
        if variant is None or variant is line.substance:
            continue
        try:
            part = part_of(line.amount, variant, quantities_of(line.amount, variant), 1)
        except InputFault as fault:
            raise fault.at(f"/lines/{line.number}/alternatives") from None
        if part is not None:
            yield part


def _measured(written: object, reduced: bool, measures: Measures) -> MeasuredYield:
    try:
        amount = amount_of(written, measures, by_mass=False, pieces=())
    except InputFault as fault:
        raise fault.at("/yield/amount") from None
    if amount.dimension not in ("volume", "mass"):
        raise InputFault("yield_unreadable", "A yield is a volume or a mass.", "/yield/amount")
    return MeasuredYield(amount.dimension, amount.quantity, reduced)


def method_of(drink: Drink) -> Method:
    """The method of a spec as the build wants it."""
    water = drink.method.water
    stated = None if water is None else Water(water.ml, water.fraction, water.ice_g, water.ice_c)
    return Method(drink.method.kind, stated)


def glass_of(drink: Drink) -> Glass:
    """The glass of a spec as the build wants it."""
    serve = drink.serve
    return Glass(serve.glass_ml, serve.line_ml, serve.ice.kind, serve.ice.ice_g)
