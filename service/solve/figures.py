"""The figures that a reformulation aims at, of a build of other amounts; fast, since a search asks for thousands."""

from collections.abc import Callable, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from schemas.solve import Goal, ReformulateRequest
from service.build import Build, built
from service.errors import InputFault
from service.evaluate import Evaluation
from service.glass import Glass
from service.icewater import Method
from service.labelling import standard_drink_count
from service.line import ResolvedLine
from service.mixture import Mixture, Part
from service.nutrition import basis_on, energy
from service.rules import Rules
from service.specification import glass_of, method_of
from service.substance import ETHANOL_G_PER_ML

Reader = Callable[[Build], float]


class Model(Struct, frozen=True):
    """A drink whose free lines have other amounts: ``per_unit`` are base units a serve of one unit of each."""

    lines: tuple[ResolvedLine, ...]
    places: tuple[int, ...]
    per_unit: tuple[float, ...]
    method: Method
    glass: Glass
    serves: int
    fractions: Mapping[str, float]
    cost_fixed: float | None
    cost_per_unit: tuple[float, ...]
    cost_scale: float

    def build(self, amounts: Sequence[float]) -> Build:
        """The drink with these amounts, in the units of the free lines for the whole spec."""
        lines = list(self.lines)
        for place, per, amount in zip(self.places, self.per_unit, amounts, strict=True):
            line = lines[place]
            lines[place] = replace(line, part=Part(line.substance, per * amount) if amount > 0 else None)
        kept = [line for line in lines if line.part is not None or line.amount.dimension == "fill"]
        return built(kept, self.method, self.glass, self.serves, self.fractions)

    def cost(self, amounts: Sequence[float]) -> float:
        """The pour cost of one serve as the search sees it; the answer computes it exactly."""
        assert self.cost_fixed is not None
        return self.cost_fixed + sum(per * amount for per, amount in zip(self.cost_per_unit, amounts, strict=True))


def model_of(evaluation: Evaluation, places: Sequence[int], units: Sequence[str]) -> Model:
    """The model of a drink as evaluated, some lines of it free in these units."""
    request, serves = evaluation.request, evaluation.request.drink.serves
    fractions = {str(kind): value for kind, value in request.measures.water_fraction.items()}
    per_unit = []
    for place, unit in zip(places, units, strict=True):
        line = evaluation.lines[place]
        assert line.part is not None
        per_unit.append(line.part.base / float(line.quantities[unit]))
    fixed, per_cost, scale = _costs(evaluation, places, units)
    lines = tuple([
        replace(line, part=None) if line.number in evaluation.build.fill else line for line in evaluation.lines
    ])  # fmt: skip
    return Model(
        lines, tuple(places), tuple(per_unit), method_of(request.drink), glass_of(request.drink), serves, fractions,
        fixed, per_cost, scale,
    )  # fmt: skip


def _costs(
    evaluation: Evaluation, places: Sequence[int], units: Sequence[str]
) -> tuple[float | None, tuple[float, ...], float]:
    """Pour cost of what is fixed, and of one unit of each free line, allowances included."""
    cost = evaluation.cost
    if cost is None or cost.serve.pour_cost is None:
        return None, (0.0,) * len(places), 1.0
    pricing, serves = evaluation.request.pricing, evaluation.request.drink.serves
    over = spill = 0.0
    if pricing is not None:
        over, spill = float(pricing.allowances.over_pour_percent), float(pricing.allowances.spillage_percent)
    per_unit = []
    free = 0.0
    for place, unit in zip(places, units, strict=True):
        priced = cost.lines[place]
        assert priced.cost.cost is not None
        by_volume = priced.cost.line.by_volume
        share = 1.0 + (spill + (over if by_volume else 0.0)) / 100.0
        whole = float(priced.cost.cost) / serves * share
        quantity = float(priced.line.quantities[unit])
        per_unit.append(whole / quantity)
        free += whole
    total = float(cost.serve.pour_cost)
    return total - free, tuple(per_unit), max(total, 0.01)


def readers(request: ReformulateRequest, evaluation: Evaluation) -> list[Reader | None]:
    """What reads each goal's figure of a build; ``None`` for a cost, which the model tells. Refuses the unknown."""
    found: list[Reader | None] = []
    for number, goal in enumerate(request.goals):
        pointer = f"/goals/{number}/figure"
        if goal.figure == "cost":
            if evaluation.cost is None or evaluation.cost.serve.pour_cost is None or not evaluation.cost.currency:
                missing = () if evaluation.cost is None else evaluation.cost.serve.missing
                names = ", ".join(dict.fromkeys(item for item, _ in missing))
                raise InputFault(
                    "figure_unknown", f"The cost is not known; without an offer: {names or 'all'}.", pointer
                )
            found.append(None)
            continue
        reader = _reader(goal, evaluation, f"/goals/{number}/jurisdiction")
        _refuse_unknown(goal, evaluation, pointer)
        found.append(reader)
    return found


NEEDS: Mapping[str, tuple[str, ...]] = {
    "abv_percent": ("abv_percent",), "standard_drinks": ("abv_percent",), "sugars_g": ("sugars_g",),
    "sugars_g_per_100_ml": ("sugars_g",), "acid_g": ("acids_g",), "acid_g_per_100_ml": ("acids_g",), "volume_ml": (),
    "energy_kcal": ("abv_percent", "carbohydrate_g", "protein_g", "fat_g", "fibre_g", "polyols_g", "acids_g"),
}  # fmt: skip


def _refuse_unknown(goal: Goal, evaluation: Evaluation, pointer: str) -> None:
    build = evaluation.build
    missing = build.undiluted.missing(*NEEDS[goal.figure])
    per_volume = goal.figure in ("abv_percent", "volume_ml", "sugars_g_per_100_ml", "acid_g_per_100_ml")
    if per_volume:
        missing = (*missing, *build.missing)
    if missing:
        names = ", ".join(f"{item} ({name})" for item, name in dict.fromkeys(missing))
        raise InputFault("figure_unknown", f"This figure is not known for want of: {names}. State it first.", pointer)


def _liquid(build: Build) -> Mixture:
    return build.undiluted if build.liquid is None else build.liquid


def _per_100(build: Build, amount: float) -> float:
    volume = _liquid(build).volume_ml
    return 100.0 * amount / volume if volume > 0 else 0.0


def _reader(goal: Goal, evaluation: Evaluation, pointer: str) -> Reader:  # noqa: PLR0911  # one return for each figure
    figure = goal.figure
    if figure == "abv_percent":
        return lambda build: _per_100(build, build.undiluted.ethanol_g / ETHANOL_G_PER_ML)
    if figure == "volume_ml":
        return lambda build: _liquid(build).volume_ml
    if figure == "sugars_g":
        return lambda build: build.undiluted.content("sugars")
    if figure == "acid_g":
        return lambda build: build.undiluted.acids_g
    if figure == "sugars_g_per_100_ml":
        return lambda build: _per_100(build, build.undiluted.content("sugars"))
    if figure == "acid_g_per_100_ml":
        return lambda build: _per_100(build, build.undiluted.acids_g)
    if figure == "energy_kcal":
        basis = basis_on(evaluation.day)
        return lambda build: energy(build.undiluted, basis).at_least_kcal or 0.0
    return _standard_drinks(goal, evaluation.rules, pointer)


def _standard_drinks(goal: Goal, rules: Sequence[Rules], pointer: str) -> Reader:
    held = {row.code: row for row in rules}
    code = goal.jurisdiction or next((row.code for row in rules if row.standard_drink is not None), None)
    regime = None if code is None else held.get(code)
    if regime is None:
        raise InputFault("jurisdiction_not_asked", "Name one of the request's jurisdictions.", pointer)
    one = standard_drink_count(regime, 10.0)
    if one is None or one.count is None:
        raise InputFault("no_standard_drink", "This jurisdiction has no single standard drink.", pointer)
    per_gram = float(one.count) / 10.0
    return lambda build: build.undiluted.ethanol_g * per_gram
