"""What POST /v1/reformulate answers. ``null`` is unknown."""

from typing import Any, Literal

from schemas._base import Output
from schemas.compare_answer import ComparedDrink
from schemas.desk_answer import DeskMeta
from schemas.solve import GoalFigure


class FreeAmount(Output):
    """A free line."""

    line: int
    """Its place, from 0."""
    item: str
    """What it pours."""
    unit: Literal["ml", "g"]
    """Of all figures."""
    before: float
    """As written, for the whole spec."""
    exact: float
    """Without steps."""
    after: float
    """In whole steps; 0: the line goes."""


class GoalAnswer(Output):
    """A goal and what was reached, of one serve."""

    figure: GoalFigure
    """Which figure."""
    min: float | None
    """As asked."""
    max: float | None
    """As asked."""
    target: float | None
    """As asked."""
    before: float
    """As written."""
    exact: float
    """Without steps."""
    after: float
    """In whole steps."""
    met: bool
    """Inside the range, or within 0.5 % of the target."""


class UnmetGoal(Output):
    """A goal that is not met."""

    figure: GoalFigure
    """Which figure."""
    nearest: float
    """Together with the other goals."""
    nearest_alone: float | None
    """If nothing else were asked for, without steps."""
    why: Literal["steps", "other_goals", "bounds"]
    """What stands against it."""
    detail: str
    """In words."""


class AvoidedAnswer(Output):
    """An allergen to avoid that a line still brings."""

    allergen: str
    """Its key."""
    jurisdiction: str
    """Under whose rules."""
    state: Literal["contains", "may_contain", "unknown"]
    """Unknown is never absent."""
    items: tuple[str, ...]
    """Lines that bring it."""


class ReformulateAnswer(Output):
    """A reformulated drink."""

    solved: bool
    """Whether every goal is met and nothing to avoid is left."""
    amounts: tuple[FreeAmount, ...]
    """The free lines."""
    goals: tuple[GoalAnswer, ...]
    """In the order asked."""
    unmet: tuple[UnmetGoal, ...]
    """With the nearest that can be met."""
    avoided: tuple[AvoidedAnswer, ...]
    """What could not be avoided."""
    drink: dict[str, Any]
    """The new drink, as POST /v1/evaluate takes it."""
    compared: tuple[ComparedDrink, ...]
    """The old and the new drink side by side."""
    notes: tuple[str, ...]
    """How far to rely on it."""
    meta: DeskMeta
    """By what the answer was made."""
