"""Every refusal: application/problem+json as RFC 9457 has it."""

from schemas._base import Output


class ProblemError(Output):
    """One fault of a request."""

    pointer: str
    """JSON Pointer (RFC 6901) to the faulty place of the body; empty for the whole body."""
    code: str
    """Stable word for this kind of fault."""
    detail: str
    """What was expected and what to do; no value of the request is repeated."""


class Problem(Output):
    """A refusal; `type` and the codes of `errors` are stable."""

    type: str
    """URN of this kind of problem."""
    title: str
    """The phrase of the status."""
    status: int
    """The HTTP status."""
    detail: str
    """What went wrong, for a reader."""
    errors: tuple[ProblemError, ...] | None = None
    """One entry for each fault; absent where the whole request is refused."""
