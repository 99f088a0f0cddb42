"""The examples of openapi-examples/: replayed exactly by tests, answered anew by ``python -m tests.examples --write``.

Each file holds ``summary``, ``request`` (method, path, optional query, headers, json, lines or text ``content``),
optional ``before`` (requests of the same form that set the scene), ``response`` (status, body or lines). Requests are
written by hand; the answers are the service's own, and a human reads their diff. All of it happens at one moment of one
day, and keys are made of zeros.
"""

import asyncio
import json
import sys
import uuid
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from unittest import mock

import httpx
import time_machine
from fastapi import FastAPI

from service.api.app import create_app
from service.settings import Settings
from service.store import keys

FOLDER = Path(__file__).parents[1] / "openapi-examples"
MOMENT = datetime(2026, 11, 25, 12, tzinfo=UTC)
ADMIN = {"prefix": "0" * 12, "secret": "A" * 43}
"""The key of the examples of /v1/keys; of zeros, since it is published."""

_UNTOUCHED: list[FastAPI] = []


def example_files() -> Iterator[Path]:
    """Every example, in a fixed order."""
    yield from sorted(FOLDER.glob("*/*.json"))


def answered(example: dict[str, Any]) -> dict[str, Any]:
    """What the service answers to one example's request, with the demo loaded."""
    with time_machine.travel(MOMENT, tick=False):
        app = _UNTOUCHED.pop() if _UNTOUCHED else _made()
        store = app.state.store
        before = store.versions()
        with (
            mock.patch("service.store.keys.secrets.token_hex", return_value="1" * 12),
            mock.patch("service.store.keys.secrets.token_urlsafe", return_value="B" * 43),
            mock.patch("service.store.keys.uuid.uuid4", return_value=uuid.UUID(int=1)),
        ):
            response = asyncio.run(_asked(app, [*example.get("before", ()), example["request"]]))
        lists = example["request"]["path"].startswith(
            "/v1/price-lists"
        )  # which announce nothing until they are taken in
        if store.versions() == before and not lists:
            _UNTOUCHED.append(app)
        else:
            store.close()
    if response.headers.get("content-type") == "application/x-ndjson":
        return {"status": response.status_code, "lines": [json.loads(line) for line in response.text.splitlines()]}
    is_json = response.headers.get("content-type", "").endswith("json")
    return {"status": response.status_code, "body": response.json() if is_json else None}


def _made() -> FastAPI:
    app = create_app(Settings(demo=True))
    with (
        app.state.store.writing() as connection,
        mock.patch("service.store.keys.uuid.uuid4", return_value=uuid.UUID(int=0)),
    ):
        keys.new_key(connection, "Office", ("keys:admin",), None, None, **ADMIN)
    return app


async def _asked(app: FastAPI, requests: list[dict[str, Any]]) -> httpx.Response:
    """The answer to the last of some requests."""
    transport = httpx.ASGITransport(app=app)
    async with httpx.AsyncClient(transport=transport, base_url="http://washline.test") as client:
        for request in requests:
            response = await client.request(
                request["method"],
                request["path"],
                params=request.get("query"),
                headers=request.get("headers"),
                json=request.get("json"),
                content=_lines(request["lines"]) if "lines" in request else request.get("content"),
            )
            assert request is requests[-1] or response.status_code < 300, response.text
    return response


def _lines(lines: list[Any]) -> bytes:
    """Lines of JSON as they are sent; a text stands for itself."""
    return b"".join((line if isinstance(line, str) else json.dumps(line)).encode() + b"\n" for line in lines)


def document() -> dict[str, Any]:
    """The OpenAPI document of the service with the demo loaded."""
    return create_app(Settings(demo=True)).openapi()


def dumped(value: object) -> str:
    """JSON as it is committed: indented, Unicode as it is, a newline at the end."""
    return json.dumps(value, indent=2, ensure_ascii=False) + "\n"


def write() -> None:
    """Answers every example anew and writes the OpenAPI document, which carries the examples."""
    for path in example_files():
        example = json.loads(path.read_text(encoding="utf-8"))
        example["response"] = answered(example)
        path.write_text(dumped(example), encoding="utf-8")
    (FOLDER / "openapi.json").write_text(dumped(document()), encoding="utf-8")


if __name__ == "__main__" and sys.argv[1:] == ["--write"]:
    write()
