"""Query parameters as the contract takes them: each at most once."""

from collections import Counter
from collections.abc import Awaitable, Callable

from fastapi import Request
from pydantic import BaseModel

from service.api.problems import Fault, of_faults


def each_once(*models: type[BaseModel]) -> Callable[[Request], Awaitable[None]]:
    """A dependency that refuses a parameter sent twice, of which one would be passed over in silence."""
    known = frozenset(field.alias or name for model in models for name, field in model.model_fields.items())

    async def refuse_repeated(request: Request) -> None:
        counts = Counter(name for name, _ in request.query_params.multi_items())
        pointers = dict.fromkeys(f"/{name}" if name in known else "" for name, count in counts.items() if count > 1)
        if pointers:
            raise of_faults([Fault(pointer, "repeated", "Send this parameter once.") for pointer in pointers])

    return refuse_repeated
