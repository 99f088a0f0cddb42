"""POST /v1/reformulate: amounts of free lines that meet goals at once; what cannot be met, with the nearest."""

from collections.abc import Sequence

from msgspec import Struct

from schemas.drink import Drink
from schemas.solve import FreeLine, Goal, ReformulateRequest
from service.allergens import declaration, is_judged, left_open
from service.errors import InputFault, InputFaults
from service.evaluate import Evaluation, leaves_of
from service.line import ResolvedLine
from service.solve.figures import Model, Reader, model_of, readers
from service.solve.question import Desk, begun
from service.solve.search import Bounds, continuous, stepped, within
from service.solve.spec import text_of, with_lines

CLOSENESS = 1e-4
"""Weight of staying near the written amounts beside the goals, so that of equal solutions the nearest is chosen."""

MET_WITHIN = 1e-6
"""How far outside a range a figure counts as inside, as a share of it: far below any scale of a bar."""

TARGET_WITHIN = 0.005
"""How far from a target a figure may stand, as a share of it, where steps are measured; common practice, no source."""


class Reached(Struct, frozen=True):
    """A goal with the figure reached in whole steps and without them, and the nearest if it alone had to be met."""

    goal: Goal
    before: float
    exact: float
    after: float
    met: bool
    met_exactly: bool
    alone: float | None


class Avoided(Struct, frozen=True):
    """An allergen that is still in the drink, may be or is not known, with the items behind it."""

    allergen: str
    jurisdiction: str
    state: str
    items: tuple[str, ...]


class Reformulated(Struct, frozen=True):
    """What the search found, with the drink that it makes and its evaluation."""

    request: ReformulateRequest
    before: Evaluation
    after: Evaluation
    drink: Drink
    free: tuple[tuple[FreeLine, ResolvedLine, str, float, float, float], ...]
    """Each free line with its unit, the written amount, the exact and the stepped one."""
    goals: tuple[Reached, ...]
    avoided: tuple[Avoided, ...]


def reformulated(request: ReformulateRequest, desk: Desk) -> Reformulated:
    """The drink reformulated. Raises ``InputFault`` or ``InputFaults`` with pointers into the request."""
    asked, before = begun(request, desk)
    return _Reformulation(asked, desk, before).made()


class _Reformulation:
    """One reformulation on its way."""

    def __init__(self, asked: ReformulateRequest, desk: Desk, before: Evaluation) -> None:
        self._asked, self._desk, self._before = asked, desk, before
        self._refuse_unjudged()
        self._lines = [self._line(free, place) for place, free in enumerate(asked.free)]
        self._units = [line.substance.basis for line in self._lines]
        carried = self._carriers()
        self._bounds = [self._bound(place, carried) for place in range(len(self._lines))]
        self._readers = readers(asked, before)
        self._model: Model = model_of(before, [free.line for free in asked.free], self._units)

    def _refuse_unjudged(self) -> None:
        """An allergen that no rules asked for list is in no declaration, which would pass it as avoided."""
        for place, key in enumerate(self._asked.avoid):
            if not any(is_judged(rules, key) for rules in self._before.rules):
                detail = "No jurisdiction asked for lists this allergen, so that its declaration says nothing of it."
                raise InputFault("allergen_not_listed", detail, f"/avoid/{place}")

    def _line(self, free: FreeLine, place: int) -> ResolvedLine:
        pointer = f"/free/{place}/line"
        if free.line >= len(self._before.lines):
            raise InputFault("line_missing", f"The drink has {len(self._before.lines)} lines, from 0.", pointer)
        line = self._before.lines[free.line]
        usable = line.role in ("pour", "top") and line.amount.dimension != "fill" and line.part is not None
        if not usable or line.substance.gas_factor > 1.0 or line.substance.basis not in line.quantities:
            detail = "A free line is poured or topped, with an amount by volume or mass; a fill or a foam is not free."
            raise InputFault("line_not_free", detail, pointer)
        return line

    def _bound(self, place: int, carried: frozenset[int]) -> Bounds:
        free, line = self._asked.free[place], self._lines[place]
        unit = self._units[place]
        step = free.step or (1.0 if unit == "ml" else 0.1)
        high = 0.0 if place in carried and free.min == 0 else free.max
        found = Bounds(free.min, high, step, float(line.quantities[unit]))
        if found.least > found.most:
            raise InputFault("free_range", "No multiple of the step lies between min and max.", f"/free/{place}/step")
        return found

    def _carriers(self) -> frozenset[int]:
        """Places of free lines that hold, may hold or are unknown for an allergen to avoid."""
        return frozenset(place for place, line in enumerate(self._lines) if self._states([line]))

    def _states(self, lines: Sequence[ResolvedLine]) -> list[tuple[str, str, str]]:
        """(jurisdiction, allergen, state) of what is to be avoided in some lines."""
        found: list[tuple[str, str, str]] = []
        before = self._before
        if not self._asked.avoid or before.sulphites is None:
            return found
        leaves = leaves_of(lines)
        for rules in before.rules:
            declared = declaration(rules, self._asked.drink.id, leaves.values(), before.sulphites, None)
            for state in ("contains", "may_contain", "unknown"):
                held = getattr(declared, state)
                found += [(rules.code, key, state) for key in held if key in self._asked.avoid]
            found += [(rules.code, key, "unknown") for key in self._asked.avoid if left_open(declared, key)]
        return found

    def _violation(self, number: int, figure: float) -> float:
        """How far a figure is from its goal, as a share of it; 0 inside a range."""
        goal = self._asked.goals[number]
        scale = max(abs(one) for one in (goal.target, goal.min, goal.max) if one is not None) or 1.0
        if goal.target is not None:
            return (figure - goal.target) / scale
        low, high = goal.min, goal.max
        if low is not None and figure < low:
            return (figure - low) / scale
        return (figure - high) / scale if high is not None and figure > high else 0.0

    def _figures(self, amounts: Sequence[float]) -> list[float]:
        build = self._model.build(amounts)
        return [self._read(reader, build, amounts) for reader in self._readers]

    def _read(self, reader: Reader | None, build: object, amounts: Sequence[float]) -> float:
        return self._model.cost(amounts) if reader is None else reader(build)  # type: ignore[arg-type]  # a Build

    def _residuals(self, amounts: Sequence[float]) -> list[float]:
        rows = [self._violation(number, figure) for number, figure in enumerate(self._figures(amounts))]
        return [*rows, *self._distances(amounts)]

    def _distances(self, amounts: Sequence[float]) -> list[float]:
        weight = CLOSENESS if self._asked.near else CLOSENESS * 1e-2
        return [
            weight * (amount - within(one.start, one.low, one.high)) / max(one.high, 1e-9)
            for amount, one in zip(amounts, self._bounds, strict=True)
        ]

    def _value(self, amounts: Sequence[float]) -> float:
        return sum(one * one for one in self._residuals(amounts))

    def made(self) -> Reformulated:
        """The amounts found, what they reach, and the drink that they make."""
        exact = min(continuous(self._residuals, self._bounds), key=lambda one: (self._value(one), one))
        steps = stepped(self._value, self._bounds, exact)
        goals = self._goals(exact, steps)
        drink = self._drink(steps)
        try:
            after = self._desk.evaluation(self._asked.model_copy(update={"drink": drink}))
        except (InputFault, InputFaults):
            detail = "The drink with these amounts cannot be evaluated; narrow the bounds of the free lines."
            raise InputFault("reformulation_not_possible", detail, "/free") from None
        rows = zip(self._asked.free, self._lines, self._units, self._bounds, exact, steps, strict=True)
        free = tuple((one, line, unit, bound.start, amount, step) for one, line, unit, bound, amount, step in rows)
        return Reformulated(self._asked, self._before, after, drink, free, goals, self._avoided(after))

    def _goals(self, exact: Sequence[float], steps: Sequence[float]) -> tuple[Reached, ...]:
        start = [within(one.start, 0.0, one.start) for one in self._bounds]
        before, first, last = self._figures(start), self._figures(exact), self._figures(steps)
        rows = []
        for number, goal in enumerate(self._asked.goals):
            inside = TARGET_WITHIN if goal.target is not None else MET_WITHIN
            met = abs(self._violation(number, last[number])) <= inside
            exactly = abs(self._violation(number, first[number])) <= inside
            alone = None if met else self._alone(number, exact)
            rows.append(Reached(goal, before[number], first[number], last[number], met, exactly, alone))
        return tuple(rows)

    def _alone(self, number: int, exact: Sequence[float]) -> float:
        """The nearest that the figure comes to within the bounds if no other goal is asked for."""

        def residuals(amounts: Sequence[float]) -> list[float]:
            return [self._violation(number, self._figures(amounts)[number]), *self._distances(amounts)]

        found = continuous(residuals, self._bounds)
        nearest = min((*found, list(exact)), key=lambda one: sum(row * row for row in residuals(one)))
        return self._figures(nearest)[number]

    def _drink(self, steps: Sequence[float]) -> Drink:
        amounts = {
            free.line: (line.ref, text_of(amount, unit))
            for free, line, unit, amount in zip(self._asked.free, self._lines, self._units, steps, strict=True)
        }
        drink = with_lines(self._asked.drink, dict(amounts), [])
        if not drink.lines:
            raise InputFault("nothing_left", "With these amounts nothing is left of the drink.", "/goals")
        return drink

    def _avoided(self, after: Evaluation) -> tuple[Avoided, ...]:
        """What is still to be avoided in the new drink, line by line."""
        rows: dict[tuple[str, str], tuple[str, list[str]]] = {}
        order = ("contains", "may_contain", "unknown")
        for line in after.lines:
            for code, key, state in self._states([line]):
                known, items = rows.setdefault((code, key), (state, []))
                items.append(line.ref)
                if order.index(state) < order.index(known):
                    rows[code, key] = state, items
        return tuple(
            Avoided(key, code, state, tuple(dict.fromkeys(items))) for (code, key), (state, items) in rows.items()
        )
