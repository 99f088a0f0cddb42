"""POST /v1/evaluations and GET /v1/costs/history: one line in, one line out."""

from typing import Annotated, Any, Self

from pydantic import Field, StringConstraints, model_validator
from pydantic_core import PydanticCustomError

from schemas._base import Output, Query
from schemas.evaluation import Section
from schemas.questions import DrinkQuery
from schemas.scalars import Day, Id

Ref = (
    Annotated[str, StringConstraints(strict=True, max_length=100)]
    | Annotated[int, Field(strict=True, ge=-(2**53), le=2**53)]
)


class EvaluationLine(DrinkQuery):
    """A line of POST /v1/evaluations that asks for a stored drink; any other line is a body of POST /v1/evaluate."""

    ref: Ref | None = None
    """The caller's own mark, up to 100 characters or a whole number, repeated with the answer."""
    drink: Id
    """The stored drink's id."""
    include: Annotated[tuple[Section, ...], Field(max_length=6)] | None = None
    """Sections of the answer; all that the key may see unless given."""


class HistoryQuery(Query):
    """A stretch of days whose costs are asked for."""

    from_: Annotated[Day, Field(alias="from")]
    """First day."""
    to: Day
    """Last day, inclusive; at most 731 days after the first."""
    venue: Id | None = None
    """Only this venue; every venue unless given."""
    menu: Id | None = None
    """Only the drinks that this menu sells on each day; every drink unless given."""

    @model_validator(mode="after")
    def forward(self) -> Self:
        """The days run forward and are not too many."""
        if not 0 <= (self.to - self.from_).days <= 731:
            raise PydanticCustomError("days", "The days run forward, 732 at most.")
        return self


class HistoryRecord(Output):
    """One line of the answer: a period of one drink, how far the answer is, or the last one, which counts."""

    venue: str | None = None
    """Where the drink is sold."""
    drink: str | None = None
    """The stored drink."""
    from_: Annotated[str | None, Field(alias="from")] = None
    """First day of the period."""
    to: str | None = None
    """Last day, inclusive."""
    currency: str | None = None
    """The venue's; null where none is set."""
    pour_cost: str | None = None
    """Ingredients, garnish and allowances of one serve; null where not known."""
    progress: dict[str, Any] | None = None
    """Between the periods: `done` steps `of` all of them, each a change day at a venue."""
    end: bool | None = None
    """On the last line alone; without it the answer is cut short."""
    periods: int | None = None
    """On the last line: how many periods there are."""
    drink_days: int | None = None
    """On the last line: how many days of drinks they cover."""
    meta: dict[str, Any] | None = None
    """On the last line: the days and the versions."""


class EvaluationRecord(Output):
    """One line of the answer: a result or a problem, in the order asked; the last one counts them."""

    line: int | None = None
    """Which line of the request, from 1; empty lines are not counted."""
    ref: str | int | None = None
    """The caller's mark; null where the line has none or could not be read."""
    result: dict[str, Any] | None = None
    """As POST /v1/evaluate answers."""
    problem: dict[str, Any] | None = None
    """Why this line, or the rest of the stream, could not be answered."""
    end: bool | None = None
    """On the last line alone: true where every line of the request was read. Without it the answer is cut short."""
    results: int | None = None
    """On the last line: how many results there are."""
    problems: int | None = None
    """On the last line: how many problems there are."""
