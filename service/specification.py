"""A drink and a preparation of the contract as the build and the batch want them."""

from collections.abc import Sequence

from schemas.drink import Drink
from schemas.preparation import Preparation
from service.amounts import Measures
from service.errors import InputFault
from service.glass import Glass
from service.icewater import Method, Water
from service.line import ResolvedLine, amount_of, part_of, quantities_of
from service.lookup import Place, outputs_of
from service.recipe import MeasuredYield, PreparationLine, PreparationSpec
from service.steps import Step


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
                step.kind,
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
        origin=place.origin,
        products=tuple(output.id for output in outputs_of(preparation)),
    )


def _line(line: ResolvedLine) -> PreparationLine:
    weaker = line.substance.weaker
    part = None
    if weaker is not None and not line.strained_out:
        part = part_of(line.amount, weaker, quantities_of(line.amount, weaker), 1)
    return PreparationLine(line.substance, line.part, line.strained_out, line.absorbs_ml, part)


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
