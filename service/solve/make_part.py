"""POST /v1/make-part: a part to stated figures; its amounts are solved, and what comes out is a preparation."""

from msgspec import Struct

from schemas.drink import Drink, Line
from schemas.evaluation import EvaluationRequest
from schemas.part import (
    FoamPart,
    MakePartRequest,
    SpiritCutPart,
)
from schemas.preparation import Preparation, PreparationLine, Yield
from service.errors import InputFault, InputFaults
from service.evaluate import Evaluation
from service.mixture import Part
from service.preparation import Prepared
from service.solve.keeping import Keeping, keeping_of
from service.solve.question import Desk
from service.solve.recipe import Ingredient, Recipe


class MadePart(Struct, frozen=True):
    """A part with its amounts (none for a foam, whose lines are the caller's), what it becomes, and how it keeps."""

    request: MakePartRequest
    ingredients: tuple[Ingredient, ...]
    preparation: Preparation
    evaluation: Evaluation
    prepared: Prepared
    keeping: Keeping
    contraction_ml: float | None
    target_mmol_per_ml: float | None


def made_part(request: MakePartRequest, desk: Desk) -> MadePart:
    """The part. Raises ``InputFault`` or ``InputFaults`` with pointers into the request."""
    recipe = Recipe(request, desk)
    part = request.part
    if isinstance(part, FoamPart):
        lines: tuple[PreparationLine, ...] = part.lines
    else:
        recipe.solve()
        lines = recipe.lines()
    preparation = Preparation.model_validate({
        "id": request.id, "name": request.name, "lines": lines,
        "yield": Yield(loss_percent=request.loss_percent) if request.loss_percent else None,
        "overrun_percent": part.overrun_percent if isinstance(part, FoamPart) else None,
    })  # fmt: skip
    evaluation = _evaluated(request, preparation, desk)
    prepared = evaluation.resolved.preparations[request.id]
    keeping = keeping_of(part, prepared, evaluation)
    kept = preparation.model_copy(update={"shelf_life_days": keeping.days, "storage": keeping.storage})
    contraction = None
    if isinstance(part, SpiritCutPart):
        volumes = [Part(one.substance, one.base).volume_ml or 0.0 for one in recipe.ingredients]
        contraction = sum(volumes) - prepared.computed_ml
    return MadePart(
        request, tuple(recipe.ingredients), kept, evaluation, prepared, keeping, contraction, recipe.target_mmol_per_ml
    )


def _evaluated(request: MakePartRequest, preparation: Preparation, desk: Desk) -> Evaluation:
    """A drink that is 10 ml of the part, which shows its cost, its allergens and its cautions."""
    foam = isinstance(request.part, FoamPart)
    drink = Drink(id=request.id + "-" if len(request.id) < 64 else "probe", name=request.name, lines=(
        Line(item=request.id, amount="10 ml"),
    ))  # fmt: skip
    body = EvaluationRequest.model_construct(
        _fields_set=None, drink=drink, with_=(), ingredients=request.ingredients,
        preparations=(*request.preparations, preparation), offers=request.offers, pricing=request.pricing,
        measures=request.measures, house=request.house, jurisdictions=request.jurisdictions, as_of=request.as_of,
        include=None, trace=False,
    )  # fmt: skip
    own = f"/preparations/{len(request.preparations)}"
    try:
        return desk.evaluation(body)
    except (InputFault, InputFaults) as fault:
        rows = fault.faults if isinstance(fault, InputFaults) else (fault,)
        moved = [_moved(row, own, foam) for row in rows]
        raise (moved[0] if len(moved) == 1 else InputFaults(moved)) from None


def _moved(fault: InputFault, own: str, foam: bool) -> InputFault:
    """A fault of the part that was made up for the caller, at its place in the request."""
    if not fault.pointer.startswith((own, "/drink")):
        return fault
    rest = fault.pointer.removeprefix(own)
    if rest == "/id":
        return InputFault(fault.code, fault.detail, "/id")
    return InputFault(fault.code, fault.detail, "/part" + (rest if foam and rest.startswith("/lines") else ""))
