"""A reformulation as the contract writes it."""

from service.report.figures import Json, shown
from service.solve.compare import Compared, compare_answer, minutes_of
from service.solve.meta import meta_of
from service.solve.reformulate import Reached, Reformulated

NOTE = (
    "Found by least squares from fixed starts and a search of the steps around them: the same request gives the same "
    "amounts. A figure says nothing of taste; water from ice follows the model that the answer names, so measure it."
)


def reformulate_answer(found: Reformulated) -> Json:
    """The answer of POST /v1/reformulate; money only where the key sees it."""
    rows = (Compared(found.before, minutes_of(found.before)), Compared(found.after, minutes_of(found.after)))
    unmet = [row for row in found.goals if not row.met]
    return {
        "solved": not unmet and not found.avoided,
        "amounts": [
            {
                "line": free.line,
                "item": line.ref,
                "unit": unit,
                "before": shown(before),
                "exact": shown(exact),
                "after": shown(after, 4, 6),
            }
            for free, line, unit, before, exact, after in found.free
        ],
        "goals": [_goal(row) for row in found.goals],
        "unmet": [_unmet(row) for row in unmet],
        "avoided": [
            {"allergen": row.allergen, "jurisdiction": row.jurisdiction, "state": row.state, "items": list(row.items)}
            for row in found.avoided
        ],
        "drink": found.drink.model_dump(mode="json", by_alias=True, exclude_defaults=True),
        "compared": compare_answer(rows)["drinks"],
        "notes": [NOTE],
        "meta": meta_of(found.before),
    }


def _goal(row: Reached) -> Json:
    goal = row.goal
    return {
        "figure": goal.figure,
        "min": goal.min,
        "max": goal.max,
        "target": goal.target,
        "before": shown(row.before),
        "exact": shown(row.exact),
        "after": shown(row.after),
        "met": row.met,
    }


def _unmet(row: Reached) -> Json:
    """What cannot be met, with the nearest together with the other goals and alone."""
    if row.met_exactly:
        why = "steps"
        detail = "It is met between the steps; smaller steps or other bounds would meet it."
    elif row.alone is not None and _inside(row, row.alone):
        why = "other_goals"
        detail = "It can be met alone, not together with the other goals."
    else:
        why = "bounds"
        detail = "The bounds of the free lines do not reach it, even alone."
    return {
        "figure": row.goal.figure,
        "nearest": shown(row.after),
        "nearest_alone": shown(row.alone),
        "why": why,
        "detail": detail,
    }


def _inside(row: Reached, figure: float) -> bool:
    goal = row.goal
    if goal.target is not None:
        return abs(figure - goal.target) <= 0.005 * max(goal.target, 1e-9)
    low = goal.min is None or figure >= goal.min * (1 - 1e-4)
    return low and (goal.max is None or figure <= goal.max * (1 + 1e-4))
