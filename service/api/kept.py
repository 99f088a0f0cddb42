"""Answers that were given before: kept by all that they depend on, and sent again before anything is parsed."""

from collections import OrderedDict
from collections.abc import Callable, Coroutine
from datetime import UTC, date, datetime
from typing import Any, Final

from fastapi import Request, Response
from fastapi.routing import APIRoute

from service.api.conditional import matched
from service.api.scopes import Principal, operation_of

KEPT_BYTES = 64 * 1024 * 1024
"""Room of one process for answers."""

Key = tuple[object, ...]

_PRICED: Final = frozenset(("read_drink_cost", "read_drink_margin", "list_costs"))
"""Operations whose answers depend on costs; ``read_drink_evaluation`` and ``read_menu_label`` do where the key sees
costs or prices. Else what a question is charged with would tell that a price moved."""


class Answers:
    """Answers of one process by what they depend on, the most recently used ones."""

    def __init__(self) -> None:
        self._kept: OrderedDict[Key, Response] = OrderedDict()
        self._bytes = 0

    def get(self, key: Key) -> Response | None:
        """An answer that was given before."""
        found = self._kept.get(key)
        if found is not None:
            self._kept.move_to_end(key)
        return found

    def keep(self, key: Key, answer: Response) -> None:
        """Keeps an answer with its headers; the oldest ones make room."""
        if len(answer.body) > KEPT_BYTES // 16 or key in self._kept:
            return
        self._kept[key] = answer
        self._bytes += len(answer.body)
        while self._bytes > KEPT_BYTES:
            self._bytes -= len(self._kept.popitem(last=False)[1].body)


def today() -> date:
    """The day of an answer that names none."""
    return datetime.now(UTC).date()


def priced(operation: str, principal: Principal) -> bool:
    """Whether the answer of an operation may depend on costs."""
    if operation == "read_menu_label":
        return principal.sees_prices
    return operation in _PRICED or (operation == "read_drink_evaluation" and principal.sees_costs)


def key_of(request: Request, operation: str) -> Key:
    """All that an answer about stored things depends on: the question as sent, who asks, the day and what is stored.

    A label depends on no cost version, so that no change of a price makes it anew.
    """
    scope = request.scope
    principal, versions = scope["state"]["principal"], scope["state"]["versions"]
    stamp = versions.cost if priced(operation, principal) else versions.data
    chosen = tuple(row for row in scope["headers"] if row[0] in (b"accept", b"accept-language"))
    asked = (operation, scope["path"], scope["query_string"], chosen)
    return (*asked, today(), stamp, principal.scopes, principal.venue)


class KeptRoute(APIRoute):
    """A route whose kept answers are sent without its query being parsed again: what is kept was allowed and right."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """The framework's own handler, asked where no answer is kept."""
        made = super().get_route_handler()
        operation = operation_of(self)

        async def answered(request: Request) -> Response:
            kept: Response | None = request.app.state.answers.get(key_of(request, operation))
            return await made(request) if kept is None else matched(request, kept)

        return answered
