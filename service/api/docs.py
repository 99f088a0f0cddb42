"""/openapi.json, and /docs: one page of our own that lists every operation and loads nothing from another host."""

import json
from html import escape
from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse, JSONResponse, Response

router = APIRouter(include_in_schema=False)

_STYLE = (
    "body{font:16px/1.5 system-ui,sans-serif;max-width:60rem;margin:2rem auto;padding:0 1rem;"
    "color:#1b1b1b;background:#fff}"
    "h2{margin-top:2.5rem;border-top:1px solid #767676;padding-top:1rem}code,pre{font:14px/1.45 ui-monospace,monospace}"
    "pre{background:#f4f4f2;padding:.75rem;overflow:auto;max-height:24rem}summary{cursor:pointer}dt{font-weight:600}"
)
_POLICY = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"


@router.get("/openapi.json")
async def openapi(request: Request) -> Response:
    """The OpenAPI document."""
    return JSONResponse(request.app.openapi())


@router.get("/docs")
async def docs(request: Request) -> Response:
    """Every operation with its parameters, answers and examples."""
    return HTMLResponse(page(request.app.openapi()), headers={"Content-Security-Policy": _POLICY})


def page(document: dict[str, Any]) -> str:
    """The page as HTML."""
    parts = [
        "<!doctype html><html lang=en><meta charset=utf-8><meta name=viewport content='width=device-width'>",
        f"<title>{escape(document['info']['title'])}</title><style>{_STYLE}</style>",
        f"<h1>{escape(document['info']['title'])}</h1><p>{escape(document['info']['description'])}</p>",
        "<p>The machine-readable contract: <a href=openapi.json>openapi.json</a></p>",
    ]
    for path, operations in document["paths"].items():
        for method, operation in operations.items():
            parts.append(_operation(path, method, operation))
    return "".join(parts) + "</html>"


def _operation(path: str, method: str, operation: dict[str, Any]) -> str:
    parts = [
        f"<h2 id='{escape(operation['operationId'])}'><code>{method.upper()} {escape(path)}</code></h2>",
        f"<p>{escape(operation.get('description') or operation.get('summary', ''))}</p>",
    ]
    rows = operation.get("parameters", [])
    if rows:
        parts.append("<dl>" + "".join(_parameter(row) for row in rows) + "</dl>")
    body = operation.get("requestBody", {}).get("content", {}).get("application/json", {})
    parts += [_example("Request", name, example) for name, example in body.get("examples", {}).items()]
    for status, answer in operation["responses"].items():
        parts.append(f"<p><strong>{escape(status)}</strong> {escape(answer['description'])}</p>")
        for content in answer.get("content", {}).values():
            parts += [_example("Answer", name, example) for name, example in content.get("examples", {}).items()]
    return "".join(parts)


def _parameter(row: dict[str, Any]) -> str:
    required = " (required)" if row.get("required") else ""
    return f"<dt><code>{escape(row['name'])}</code>{required}</dt><dd>{escape(row.get('description', ''))}</dd>"


def _example(kind: str, name: str, example: dict[str, Any]) -> str:
    shown = escape(json.dumps(example["value"], indent=2, ensure_ascii=False))
    return f"<details><summary>{kind}: {escape(example.get('summary', name))}</summary><pre>{shown}</pre></details>"
