"""Which form of the books is asked for: JSON, CSV, a workbook or a page, by Accept (RFC 9110, 12.5.1)."""

from collections.abc import Callable, Mapping
from typing import Any, Final

from fastapi import Request, Response
from pydantic_core import to_json

from service.api.problems import Problem
from service.renderers.margins_csv import csv_of
from service.renderers.margins_html import html_of
from service.renderers.margins_xlsx import xlsx_of

XLSX: Final = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"

FORMS: Final[Mapping[str, Callable[[dict[str, Any]], bytes]]] = {
    "application/json": to_json,
    "text/csv": csv_of,
    XLSX: xlsx_of,
    "text/html": html_of,
}
"""What writes each media type; the first is taken where everything is welcome."""

_NAMES: Final = {"text/csv": "margins.csv", XLSX: "margins.xlsx"}
_HTML_POLICY: Final = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"

OFFERED: Final[dict[str, Any]] = {
    "text/csv": {"schema": {"type": "string"}},
    XLSX: {"schema": {"type": "string", "format": "binary"}},
    "text/html": {"schema": {"type": "string"}},
}
"""The forms beside JSON, for the document."""


def form_of(request: Request) -> str:
    """The media type to answer in. Raises :class:`Problem` 406 where none of those asked for is made."""
    header = ", ".join(request.headers.getlist("accept"))[:1000]
    ranges = [_range(part) for part in header.split(",")[:50] if part.strip()]
    if not ranges:
        return next(iter(FORMS))
    best, weight = "", 0.0
    for media in FORMS:
        found = _weight(media, ranges)
        if found > weight:
            best, weight = media, found
    if not best:
        raise Problem(406, "not-acceptable", f"The books come as one of {', '.join(FORMS)}.")
    return best


def _range(part: str) -> tuple[str, float]:
    media, *parameters = (one.strip().lower() for one in part.split(";"))
    weight = 1.0
    for one in parameters:
        if one.startswith("q="):
            try:
                weight = min(max(float(one[2:6]), 0.0), 1.0)
            except ValueError:
                weight = 0.0
    return media, weight


def _weight(media: str, ranges: list[tuple[str, float]]) -> float:
    """The weight of the most specific range that fits."""
    for wanted in (media, media.partition("/")[0] + "/*", "*/*"):
        weights = [weight for name, weight in ranges if name == wanted]
        if weights:
            return weights[0]
    return 0.0


def written(body: dict[str, Any], media: str) -> Response:
    """The books in one form."""
    headers = {"Cache-Control": "no-store", "Vary": "Accept, Authorization"}
    if media in _NAMES:
        headers["Content-Disposition"] = f'attachment; filename="{_NAMES[media]}"'
    if media == "text/html":
        headers["Content-Security-Policy"] = _HTML_POLICY
    kind = media + "; charset=utf-8" if media.startswith("text/") else media
    return Response(FORMS[media](body), headers=headers, media_type=kind)
