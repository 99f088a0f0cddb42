"""Limits and headers of every request, as plain ASGI: address, headers, request id, and what a browser may do."""

import logging
import re
import time
import uuid

from starlette.datastructures import MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.api.metrics import REQUESTS, SECONDS, template_of
from service.api.problems import BAD_REQUEST, HEADERS_TOO_LARGE, UNEXPECTED, URL_TOO_LONG, Problem

LONGEST_URL = 8 * 1024
MOST_HEADERS = 100
LARGEST_HEADERS = 64 * 1024
_REQUEST_ID = re.compile(r"[A-Za-z0-9._-]{1,64}\Z", re.ASCII)
_LOG = logging.getLogger("washline")


class Limits:
    """Refuses what is too long or too much, and adds the headers that every answer has."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request through the limits."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        request_id = _request_id(scope)
        scope["washline_request_id"] = request_id
        started = False
        status = 500
        head = scope["method"] == "HEAD"
        if head:  # RFC 9110, section 9.3.2: as GET, without the content.
            scope = {**scope, "method": "GET"}

        async def with_headers(message: Message) -> None:
            nonlocal started, status
            if message["type"] == "http.response.start":
                started = True
                status = message["status"]
                headers = MutableHeaders(scope=message)
                headers["X-Request-Id"] = request_id
                headers["X-Content-Type-Options"] = "nosniff"
                headers.setdefault("Cache-Control", "no-store")
                if "app" in scope and getattr(scope["app"].state, "draining", False):
                    headers["Connection"] = "close"  # The client comes back by another connection, or to another one.
                if "principal" in scope.get("state", {}):
                    headers.setdefault("Vary", "Authorization")
            elif head:
                message = {**message, "body": b""}
            await send(message)

        refusal = _refusal(scope)
        app: ASGIApp = self.app if refusal is None else refusal.response()
        begun = time.perf_counter()
        try:
            await app(scope, receive, with_headers)
        except Exception:  # noqa: BLE001  # the last resort: no fault of ours may leave without an answer and a log line
            _LOG.exception("unexpected fault", extra={"request_id": request_id})
            if not started:
                await Problem(*UNEXPECTED).response()(scope, receive, with_headers)
        seconds = time.perf_counter() - begun
        route = template_of(scope)
        REQUESTS.labels(route, scope["method"], status).inc()
        SECONDS.labels(route, scope["method"]).observe(seconds)
        if _LOG.isEnabledFor(logging.INFO):
            principal = scope.get("state", {}).get("principal")
            _LOG.info(
                "request",
                extra={
                    "request_id": request_id, "key_id": None if principal is None else principal.key_id,
                    "route": route, "method": scope["method"], "status": status, "ms": round(1000 * seconds, 1),
                },
            )  # fmt: skip


def _request_id(scope: Scope) -> str:
    """The caller's X-Request-Id where it is short and plain, else one of our own."""
    for name, value in scope["headers"]:
        if name == b"x-request-id":
            text = value.decode("latin-1")
            if _REQUEST_ID.match(text):
                return str(text)
    return uuid.uuid4().hex


def _refusal(scope: Scope) -> Problem | None:
    if len(scope.get("raw_path") or b"") + len(scope.get("query_string", b"")) > LONGEST_URL:
        return Problem(*URL_TOO_LONG)
    headers = scope["headers"]
    if len(headers) > MOST_HEADERS or sum(len(name) + len(value) for name, value in headers) > LARGEST_HEADERS:
        return Problem(*HEADERS_TOO_LARGE)
    hosts = sum(name == b"host" for name, _ in headers)
    if hosts > 1 or (hosts == 0 and scope["http_version"] == "1.1"):  # RFC 9112, section 3.2
        return Problem(*BAD_REQUEST, headers={"Connection": "close"})
    return None
