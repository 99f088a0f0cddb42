"""The examples of openapi-examples/: replayed exactly by tests, answered anew by ``python -m tests.examples --write``.

Each file holds ``summary``, ``request`` (method, path, optional query, headers, json or lines) and ``response``
(status, body or lines).
Requests are written by hand; the answers are the service's own, and a human reads their diff.
"""

import asyncio
import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx

from service.api.app import create_app
from service.settings import Settings

FOLDER = Path(__file__).parents[1] / "openapi-examples"


def example_files() -> Iterator[Path]:
    """Every example, in a fixed order."""
    yield from sorted(FOLDER.glob("*/*.json"))


async def answered(request: dict[str, Any]) -> dict[str, Any]:
    """What the service answers to one example's request, with the demo loaded."""
    app = create_app(Settings(demo=True))
    transport = httpx.ASGITransport(app=app)
    async with httpx.AsyncClient(transport=transport, base_url="http://washline.test") as client:
        response = await client.request(
            request["method"],
            request["path"],
            params=request.get("query"),
            headers=request.get("headers"),
            json=request.get("json"),
            content=_lines(request["lines"]) if "lines" in request else None,
        )
    if response.headers["content-type"] == "application/x-ndjson":
        return {"status": response.status_code, "lines": [json.loads(line) for line in response.text.splitlines()]}
    return {"status": response.status_code, "body": response.json()}


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
        example["response"] = asyncio.run(answered(example["request"]))
        path.write_text(dumped(example), encoding="utf-8")
    (FOLDER / "openapi.json").write_text(dumped(document()), encoding="utf-8")


if __name__ == "__main__" and sys.argv[1:] == ["--write"]:
    write()
