"""How long an answer may take to be made. What only reads or computes is not waited for any longer; what writes is,
since a write that is said to have failed must have failed: the store's own limits bound it."""

import asyncio
from collections.abc import Callable
from functools import partial
from typing import Final, TypeVar

from anyio import to_thread
from fastapi import Request

from service.api.problems import TOO_SLOW, Problem

T = TypeVar("T")

BOOKS_S: Final = 60.0
"""How long the books of a period, and what a file of sales or prices would change, may take."""


async def in_time(request: Request, make: Callable[..., T], *given: object, seconds: float | None = None) -> T:
    """What ``make`` makes of ``given`` in another thread, where it takes no longer than ``seconds``, or than the
    settings allow. Raises :class:`Problem` 503 where it does; it then runs to its end unheard.
    """
    allowed: float = request.app.state.settings.answer_timeout_s if seconds is None else seconds
    try:
        async with asyncio.timeout(allowed) as limit:
            return await to_thread.run_sync(partial(make, *given), abandon_on_cancel=True)
    except TimeoutError:
        if not limit.expired():
            raise
        raise Problem(*TOO_SLOW, headers={"Retry-After": "1"}) from None
