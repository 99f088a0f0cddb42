"""POST /v1/evaluations and GET /v1/costs/history: one line in, one line out."""

from typing import Annotated, Any

from pydantic import Field, StringConstraints

from schemas._base import Output
from schemas.evaluation import Section
from schemas.scalars import Id
from schemas.stored import DrinkQuery

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
