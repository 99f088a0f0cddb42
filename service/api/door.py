"""Who asks, and how much they have left: plain ASGI in front of the routes.

A key is checked against what this process knows of it as long as no key has changed anywhere: every change of a key
announces a new version, which is read with each request.
"""

import asyncio
import re
import time
from collections import OrderedDict
from datetime import UTC, datetime
from typing import Final

from starlette.datastructures import MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.api.problems import Problem
from service.api.scopes import OPEN, Principal
from service.errors import StoreBusy, StoreFull
from service.settings import Settings
from service.store import keys, quotas
from service.store.store import Store, Versions

PUBLIC: Final = frozenset(("/livez", "/readyz", "/"))
PAGE: Final = "/page/"
"""Files of the page: a browser asks for them without a key."""
WINDOW_S: Final = 60
_CHUNKS: Final = 20
"""A lease is this part of a quota."""
_LEASE_WAIT_MS: Final = 250
"""How long a request waits for others' writes before its worker counts alone."""
_MOST_FAILURES: Final = 60
"""Wrong keys from one address in a window before it is told to wait."""
_KEY_IN_URL: Final = re.compile(rb"(?:^|[?&=])wl_[0-9a-f]{12}_", re.ASCII)

NO_KEY: Final = (401, "key-missing", "Send a key of this service as Authorization: Bearer.")


def _unauthorised() -> Problem:
    return Problem(*NO_KEY, headers={"WWW-Authenticate": "Bearer"})


class Door:
    """Names the principal of each request, counts it, and turns wrong keys away."""

    def __init__(self, app: ASGIApp, store: Store, current: Settings, used: dict[str, str]) -> None:
        self.app = app
        self._store = store
        self._required = current.require_keys
        self._quota = {"requests": current.requests_per_minute, "work": current.work_per_minute}
        self._known: OrderedDict[str, keys.Key] = OrderedDict()
        self._known_at = -1
        self._left: dict[tuple[str, str], tuple[int, int]] = {}
        self._spent: dict[tuple[str, str], int] = {}
        self._exhausted: dict[tuple[str, str], int] = {}
        self._leasing: dict[tuple[str, str], asyncio.Lock] = {}
        self._failures: OrderedDict[str, tuple[int, int]] = OrderedDict()
        self._used = used

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request through the door."""
        if scope["type"] != "http" or scope["path"] in PUBLIC or scope["path"].startswith(PAGE):
            await self.app(scope, receive, send)
            return
        try:
            versions = self._store.versions() if self._store.embedded else await asyncio.to_thread(self._store.versions)
            principal = await self._principal(scope, versions)
        except StoreBusy:
            await busy().response()(scope, receive, send)
            return
        except Problem as refusal:
            await refusal.response()(scope, receive, send)
            return
        state = scope.setdefault("state", {})
        state["principal"] = principal
        state["versions"] = versions
        if principal is OPEN:
            state["spend"] = _free
            await self.app(scope, receive, send)
            return
        await self._counted(principal, scope, receive, send)

    async def _principal(self, scope: Scope, versions: Versions) -> Principal:
        sent = [value for name, value in scope["headers"] if name == b"authorization"]
        if _KEY_IN_URL.search(scope.get("query_string", b"")) or len(sent) > 1:
            raise self._failed(scope)
        if not sent:
            if self._required:
                raise _unauthorised()
            return OPEN
        scheme, _, text = sent[0][:200].decode("latin-1").partition(" ")
        parts = keys.parts_of(text) if scheme.lower() == "bearer" else None
        if parts is None:
            raise self._failed(scope)
        if versions.keys != self._known_at:
            self._known.clear()
            self._known_at = versions.keys
        prefix, secret = parts
        key = self._known.get(prefix)
        if key is None:
            key = await asyncio.to_thread(self._read, prefix)
        now = datetime.now(UTC).isoformat(timespec="microseconds")
        if not keys.fits(key, secret) or key is None or not key.works_at(now):
            raise self._failed(scope)
        if versions.keys == self._known_at:  # Else keys changed while it was read, and it may be the old one.
            self._known[prefix] = key
        if len(self._known) > 1000:
            self._known.popitem(last=False)
        self._used[key.id] = now
        return Principal(key.id, key.scopes, key.venue)

    def _read(self, prefix: str) -> keys.Key | None:
        with self._store.reading() as connection:
            return keys.key_of_prefix(connection, prefix)

    def _failed(self, scope: Scope) -> Problem:
        """The same refusal for every wrong key; too many of them from one address wait for the next window."""
        address = (scope.get("client") or ("", 0))[0]
        window = int(time.time()) // WINDOW_S
        since, count = self._failures.get(address, (window, 0))
        count = count + 1 if since == window else 1
        self._failures[address] = (window, count)
        self._failures.move_to_end(address)
        if len(self._failures) > 10_000:
            self._failures.popitem(last=False)
        if count > _MOST_FAILURES:
            wait = WINDOW_S - int(time.time()) % WINDOW_S
            return Problem(429, "too-many", "Too many wrong keys; wait.", headers={"Retry-After": str(wait)})
        return _unauthorised()

    async def _counted(self, principal: Principal, scope: Scope, receive: Receive, send: Send) -> None:
        key_id = principal.key_id

        async def spend(measure: str, amount: int) -> None:
            """Takes work from the key's quota. Raises :class:`Problem` 429 where there is not enough left."""
            if not await self._take(key_id, measure, amount):
                wait = WINDOW_S - int(time.time()) % WINDOW_S
                detail = f"The quota of {measure} a minute is used up; wait for the next minute."
                raise Problem(429, "too-many", detail, headers={"Retry-After": str(wait)})

        scope["state"]["spend"] = spend

        async def with_limits(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                rest = WINDOW_S - int(time.time()) % WINDOW_S
                rows = [
                    (measure, quota, max(0, quota - self._spent.get((key_id, measure), 0)))
                    for measure, quota in self._quota.items()
                ]
                headers["RateLimit-Policy"] = ", ".join(f'"{name}";q={quota};w={WINDOW_S}' for name, quota, _ in rows)
                headers["RateLimit"] = ", ".join(f'"{name}";r={left};t={rest}' for name, _, left in rows)
            await send(message)

        try:
            await spend("requests", 1)
        except StoreBusy:
            await busy().response()(scope, receive, with_limits)
            return
        except Problem as refusal:
            await refusal.response()(scope, receive, with_limits)
            return
        await self.app(scope, receive, with_limits)

    async def _take(self, key_id: str, measure: str, amount: int) -> bool:
        """Takes from this worker's lease, or leases more."""
        window = int(time.time()) // WINDOW_S
        place = (key_id, measure)
        if self._left.get(place, (-1, 0))[0] != window:
            if len(self._left) > 10_000:
                self._left.clear()
                self._spent.clear()
                self._leasing.clear()
            self._left[place] = (window, 0)
            self._spent[place] = 0
        if self._left[place][1] < amount and self._exhausted.get(place) != window:
            async with self._leasing.setdefault(place, asyncio.Lock()):  # One lease serves all who wait for it.
                await self._lease_more(place, window, amount)
        left = self._left[place][1]
        fits = left >= amount
        if fits:
            left -= amount
            self._spent[place] += amount
        else:
            self._spent[place] = self._quota[measure] - left
        self._left[place] = (window, left)
        return fits

    async def _lease_more(self, place: tuple[str, str], window: int, amount: int) -> None:
        """Takes a lease, unless the one before it brought enough; where nothing can be written, counts alone.

        Reading goes on while the store takes no writes: a worker then lets a key have its quota once in the window.
        """
        left = self._left[place][1]
        if left >= amount or self._exhausted.get(place) == window:
            return
        key_id, measure = place
        wanted = max(amount - left, self._quota[measure] // _CHUNKS)
        try:
            given = await asyncio.to_thread(self._lease, key_id, measure, window, wanted)
        except (StoreBusy, StoreFull):
            given = self._quota[measure] - self._spent[place] - left
            self._exhausted[place] = window
        if given < wanted:
            self._exhausted[place] = window
        at, left = self._left[place]
        if at == window:  # Read again: others may have taken while the lease was made.
            self._left[place] = (window, left + given)

    def _lease(self, key_id: str, measure: str, window: int, wanted: int) -> int:
        used = dict(self._used)
        with self._store.writing(_LEASE_WAIT_MS) as connection:
            keys.mark_used(connection, used)
            for key, at in used.items():
                if self._used.get(key) == at:
                    del self._used[key]
            return quotas.leased(connection, key_id, measure, window, wanted, self._quota[measure])


async def _free(_: str, __: int) -> None:
    """Requests without a key on the loopback are not counted."""


def busy() -> Problem:
    """The store cannot take a request now."""
    return Problem(503, "store-busy", "The store cannot take this now; send it again.", headers={"Retry-After": "1"})
