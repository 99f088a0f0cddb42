"""/openapi.json, and /docs: one page of our own that lists every operation and loads nothing from another host."""

import json
from collections.abc import Iterator, Mapping
from html import escape
from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse, JSONResponse, Response

from service.api.field_tables import FieldTables, prose

router = APIRouter(include_in_schema=False)

# Nothing is told by colour alone, so that the page reads the same in black and white.
_STYLE = (
    "body{font:16px/1.5 system-ui,sans-serif;max-width:60rem;margin:2rem auto;padding:0 1rem;"
    "color:#1b1b1b;background:#fff;overflow-wrap:anywhere}"
    "h1,h2,h3,h4,h5,h6{line-height:1.25}h2{margin-top:2.5rem;border-top:2px solid #1b1b1b;padding-top:1rem}"
    "h3{margin-top:2rem}h4,h5,h6{font-size:1rem;margin:1.5rem 0 .25rem}a{color:inherit}"
    "code,pre{font:14px/1.45 ui-monospace,monospace}"
    "h2 code{font-size:1.15rem;font-weight:600}"
    "pre{background:#f4f4f2;border:1px solid #767676;padding:.75rem;overflow:auto;max-height:24rem;"
    "overflow-wrap:normal}"
    "summary{cursor:pointer;padding:.25rem 0}"
    "table{border-collapse:collapse;width:100%;table-layout:fixed}"
    "th,td{text-align:left;vertical-align:top;padding:.3rem .75rem .3rem 0;border-bottom:1px solid #767676;"
    "font-weight:400}thead th{font-weight:600}th:first-child{width:28%}th:nth-child(2){width:34%}"
    "@media(max-width:40rem){table,tbody,tr,td,tbody th{display:block;width:auto!important}thead{display:none}"
    "td,tbody th{border:0;padding:0}tr{border-bottom:1px solid #767676;padding:.4rem 0}}"
    "@media print{pre{max-height:none}}"
)
_POLICY = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"


@router.get("/openapi.json")
async def openapi(request: Request) -> Response:
    """The OpenAPI document."""
    return JSONResponse(request.app.openapi())


@router.get("/docs")
async def docs(request: Request) -> Response:
    """Every operation with its parameters, fields, answers and examples."""
    return HTMLResponse(page(request.app.openapi()), headers={"Content-Security-Policy": _POLICY})


def page(document: dict[str, Any]) -> str:
    """The page as HTML."""
    tables = FieldTables(document["components"]["schemas"])
    title = escape(document["info"]["title"])
    parts = [
        "<!doctype html><html lang=en><meta charset=utf-8>",
        "<meta name=viewport content='width=device-width,initial-scale=1'>",
        f"<title>{title}</title><style>{_STYLE}</style>",
        f"<h1>{title}</h1><p>{prose(document['info']['description'])}</p>",
        "<p>The machine-readable contract: <a href=openapi.json>openapi.json</a></p>",
        *_contents(document),
    ]
    for path, method, operation in _operations(document):
        parts += _operation(path, method, operation, tables)
    problem = {"$ref": "#/components/schemas/Problem"}
    parts += [
        "<h2 id=refusals>Refusals</h2><p>Every refusal is one object of <code>application/problem+json</code>.</p>"
    ]
    parts += tables.tables_of(problem)
    return "".join(parts) + "</html>"


def _operations(document: dict[str, Any]) -> Iterator[tuple[str, str, dict[str, Any]]]:
    for path, operations in document["paths"].items():
        for method, operation in operations.items():
            yield path, method.upper(), operation


def _contents(document: dict[str, Any]) -> Iterator[str]:
    yield "<nav><h2 id=contents>Contents</h2><ul>"
    for path, method, operation in _operations(document):
        link = f"<a href='#{escape(operation['operationId'])}'><code>{method} {escape(path)}</code></a>"
        yield f"<li>{link} {escape(operation.get('summary', ''))}"
    yield "<li><a href='#refusals'>Refusals</a></ul></nav>"


def _operation(path: str, method: str, operation: dict[str, Any], tables: FieldTables) -> Iterator[str]:
    yield f"<h2 id='{escape(operation['operationId'])}'><code>{method} {escape(path)}</code></h2>"
    yield f"<p>{prose(operation.get('description') or operation.get('summary', ''))}</p>"
    rows = operation.get("parameters", [])
    if rows:
        yield "<table><thead><tr><th scope=col>parameter<th scope=col>type<th scope=col>what it is</thead><tbody>"
        yield from (_parameter(row, tables) for row in rows)
        yield "</tbody></table>"
    yield from _examples(operation)
    yield "<ul>"
    for status, answer in operation["responses"].items():
        yield f"<li><strong>{escape(status)}</strong> {prose(answer['description'])}"
    yield "</ul>"
    answers = operation["responses"]
    good = next((answer for status, answer in answers.items() if status[0] == "2"), None)
    for heading, content in (("Request", operation.get("requestBody")), ("Answer", good)):
        media = (content or {}).get("content", {})
        kinds = ("application/json", "application/x-ndjson")
        schema = next((found for kind in kinds if (found := media.get(kind, {}).get("schema"))), None)
        if schema is not None:
            written = list(tables.tables_of(schema, 4))
            yield f"<h3>{heading}</h3>" if written else f"<h3>{heading}: {tables.kind_of(schema)}</h3>"
            yield from written


def _parameter(row: Mapping[str, Any], tables: FieldTables) -> str:
    kind = tables.kind_of(row["schema"]) + ("; required" if row.get("required") else "")
    about = prose(row.get("description", ""))
    return f"<tr><th scope=row><code>{escape(row['name'])}</code><td>{kind}<td>{about}"


def _examples(operation: dict[str, Any]) -> Iterator[str]:
    """Requests and answers by example: the good ones first, a refused one marked in words."""
    body = operation.get("requestBody", {}).get("content", {}).get("application/json", {})
    requests = body.get("examples", {})
    for status, answer in sorted(operation["responses"].items()):
        for content in answer.get("content", {}).values():
            for name, example in content.get("examples", {}).items():
                mark = f"Refused ({escape(status)})" if int(status) >= 400 else "Good"
                if name in requests:
                    yield _example(f"{mark}, request", name, requests[name])
                yield _example(f"{mark}, answer", name, example)


def _example(kind: str, name: str, example: Mapping[str, Any]) -> str:
    shown = escape(json.dumps(example["value"], indent=2, ensure_ascii=False))
    return f"<details><summary>{kind}: {escape(example.get('summary', name))}</summary><pre>{shown}</pre></details>"
