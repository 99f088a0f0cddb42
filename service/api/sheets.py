"""Which form of the books is asked for: JSON, CSV, a workbook or a page, by Accept (RFC 9110, 12.5.1)."""

from collections.abc import Callable, Mapping
from typing import Any, Final

from fastapi import Request, Response
from pydantic_core import to_json

from service.api.documentation import NOT_MADE, answered_with
from service.api.problems import Problem
from service.renderers import (
    book_html,
    book_xlsx,
    margins_csv,
    margins_html,
    margins_xlsx,
    moves_book,
    perishing_book,
    usage_book,
)
from service.renderers.book import Book, csv_of

JSON: Final = "application/json"
XLSX: Final = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"

FORMS: Final = (JSON, "text/csv", XLSX, "text/html")
"""The media types; the first is taken where everything is welcome."""

Body = dict[str, Any]
Writers = Mapping[str, Callable[[Body], bytes]]


def _writers(book_of: Callable[[Body], Book]) -> Writers:
    """What writes an answer whose book is all there is of it."""
    return {
        JSON: to_json,
        "text/csv": lambda body: csv_of(book_of(body)),
        XLSX: lambda body: book_xlsx.xlsx_of(book_of(body)),
        "text/html": lambda body: book_html.html_of(book_of(body)),
    }


ANSWERS: Final[Mapping[str, Writers]] = {
    "margins": {
        JSON: to_json,
        "text/csv": margins_csv.csv_of,
        XLSX: margins_xlsx.xlsx_of,
        "text/html": margins_html.html_of,
    },
    "usage": _writers(usage_book.book_of),
    "moves": _writers(moves_book.moves_book),
    "ladder": _writers(moves_book.ladder_book),
    "perishing": _writers(perishing_book.book_of),
}
"""What writes each answer of the books in each media type."""

_ENDINGS: Final = {"text/csv": "csv", XLSX: "xlsx"}
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
        return JSON
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


def formed(model: str, about: str) -> dict[int | str, dict[str, Any]]:
    """An answer in the document in every form that it comes in, and the refusal of any other."""
    told = answered_with(model, f"{about}; as CSV, a workbook or a page by Accept.")
    return {200: {**told, "content": {**told["content"], **OFFERED}}, **NOT_MADE}


def written(body: Body, media: str, answer: str) -> Response:
    """An answer of the books in one form; ``answer`` names its file."""
    headers = {"Cache-Control": "no-store", "Vary": "Accept, Authorization"}
    if media in _ENDINGS:
        headers["Content-Disposition"] = f'attachment; filename="{answer}.{_ENDINGS[media]}"'
    if media == "text/html":
        headers["Content-Security-Policy"] = _HTML_POLICY
    kind = media + "; charset=utf-8" if media.startswith("text/") else media
    return Response(ANSWERS[answer][media](body), headers=headers, media_type=kind)
