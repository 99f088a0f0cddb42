"""Which representation a request gets, by its Accept header (RFC 9110, section 12.5.1), and that representation.

Every one is written by a renderer from the one answer; none computes or rounds.
"""

import json
import re
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from starlette.responses import Response

from service.api.problems import Problem

if TYPE_CHECKING:
    from service.renderers.menu import MenuRow

JSON = "application/json"
JSON_LD = "application/ld+json"
HTML = "text/html"
SVG = "image/svg+xml"
CSV = "text/csv"

OFFERED = (JSON, JSON_LD, HTML, SVG, CSV)
"""What one drink is answered as; of two that are wanted alike the earlier one is sent."""

MENU_OFFERED = (JSON, JSON_LD, HTML, CSV)
"""What several drinks together are answered as."""

COMPARED_OFFERED = (JSON, HTML, SVG)
"""What drinks side by side are answered as."""

PARAMETERS: Mapping[str, Mapping[str, str]] = {
    JSON: {"charset": "utf-8"},
    HTML: {"charset": "utf-8"},
    CSV: {"charset": "utf-8", "header": "present"},
}
"""What a representation is beyond its type: a range that asks for another parameter does not match it."""

_TOKEN = r"[!#$%&'*+.^_`|~0-9A-Za-z-]+"  # noqa: S105  # a token as RFC 9110, section 5.6.2, has it
_QUOTED = r'"(?:[^"\\\x00-\x08\x0a-\x1f\x7f]|\\[\t\x20-\x7e])*"'
_PARAMETER = re.compile(rf"[ \t]*;[ \t]*(?:({_TOKEN})=({_TOKEN}|{_QUOTED}))?")
_RANGE = re.compile(rf"[ \t]*({_TOKEN})/({_TOKEN})")
_ELEMENT = re.compile(rf"(?:{_QUOTED}|[^,\"])*")
_WEIGHT = re.compile(r"(?:0(?:\.[0-9]{0,3})?|1(?:\.0{0,3})?)\Z")


class Range(NamedTuple):
    """One media range with its weight in thousandths."""

    kind: str
    subtype: str
    parameters: tuple[tuple[str, str], ...]
    weight: int

    def fit(self, media_type: str) -> int | None:
        """How closely it names a type: 0 for any, 1 for any of a kind, 2 and more for the type; None where not."""
        kind, _, subtype = media_type.partition("/")
        if self.kind == "*":
            return 0 if self.subtype == "*" and not self.parameters else None
        if self.kind != kind:
            return None
        if self.subtype == "*":
            return 1 if not self.parameters else None
        own = PARAMETERS.get(media_type, {})
        if self.subtype != subtype or any(own.get(name) != value.lower() for name, value in self.parameters):
            return None
        return 2 + len(self.parameters)


def ranges(accept: str) -> list[Range]:
    """The media ranges of an Accept header; an element that is none, or has no right weight, is passed over."""
    found = []
    at = 0
    while at <= len(accept):
        element = _ELEMENT.match(accept, at)
        assert element is not None  # it matches nothing at the least
        made = _range(element.group())
        if made is not None:
            found.append(made)
        # An unclosed quote spoils what is left of the header.
        if element.end() < len(accept) and accept[element.end()] != ",":
            break
        at = element.end() + 1
    return found


def _range(element: str) -> Range | None:
    head = _RANGE.match(element)
    if head is None:
        return None
    parameters: list[tuple[str, str]] = []
    weight = 1000
    at = head.end()
    while at < len(element):
        found = _PARAMETER.match(element, at)
        if found is None:
            return None if element[at:].strip(" \t") else Range(*_types(head), tuple(parameters), weight)
        at = found.end()
        name, value = found.group(1), found.group(2)
        if name is None:
            continue
        if name.lower() == "q":
            if not _WEIGHT.match(value):
                return None
            weight = int(value.replace(".", "").ljust(4, "0"))
        else:
            parameters.append((name.lower(), re.sub(r"\\(.)", r"\1", value[1:-1]) if value.startswith('"') else value))
    return Range(*_types(head), tuple(parameters), weight)


def _types(head: re.Match[str]) -> tuple[str, str]:
    return head.group(1).lower(), head.group(2).lower()


def chosen(accept: Sequence[str], offered: Sequence[str] = OFFERED) -> str:
    """The type to answer in, of ``offered``, for the values of all Accept headers; the first without any.

    The closest range decides a type's weight; 0 refuses it. Raises :class:`Problem` 406 where all are refused.
    """
    header = ", ".join(accept).strip()
    if not header:
        return offered[0]
    asked = ranges(header)
    best, most = None, 0
    for media_type in offered:
        fits = [(fit, one.weight) for one in asked if (fit := one.fit(media_type)) is not None]
        weight = max(fits, default=(0, 0), key=lambda row: row[0])[1]
        if weight > most:
            best, most = media_type, weight
    if best is None:
        detail = f"This is answered as {', '.join(offered)}; Accept asks for none of them."
        raise Problem(406, "not-acceptable", detail, headers={"Vary": "Accept"})
    return best


def text_of(
    media_type: str,
    answer: Mapping[str, Any],
    spec: Mapping[str, Any] | None = None,
    *,
    language: str = "en",
    **printed: Any,
) -> str:
    """One answer in one of the printed types; ``spec`` is the drink as asked, ``printed`` goes to the renderer."""
    # Each renderer is loaded when it is first asked for: a service that answers JSON alone needs none of them.
    if media_type == HTML:
        from service.renderers.sheet import sheet_of

        return sheet_of(answer, spec, language=language, **printed)
    if media_type == SVG:
        from service.renderers.label import label_of

        return label_of(answer, language=language, **printed)
    if media_type == JSON_LD:
        from service.renderers.json_ld import item_json_ld

        return item_json_ld(answer, language=language, **printed)
    if media_type == CSV:
        from service.renderers.csv_table import csv_of

        return csv_of([answer], **printed)
    return json.dumps(answer, ensure_ascii=False, allow_nan=False, separators=(",", ":"))


def rendered(
    media_type: str,
    answer: Mapping[str, Any],
    spec: Mapping[str, Any] | None = None,
    *,
    language: str = "en",
    **printed: Any,
) -> Response:
    """The response with :func:`text_of` in it."""
    return response(media_type, text_of(media_type, answer, spec, language=language, **printed).encode(), language)


def menu_text_of(
    media_type: str,
    answers: Sequence[Mapping[str, Any]],
    rows: Sequence["MenuRow"] | None = None,
    *,
    language: str = "en",
    **printed: Any,
) -> str:
    """Several answers as a menu (HTML, linked data), as a table or as an array; ``rows`` go with them one by one."""
    if media_type == HTML:
        from service.renderers.menu import menu_of

        return menu_of(answers, rows, language=language, **printed)
    if media_type == JSON_LD:
        from service.renderers.json_ld import menu_json_ld

        return menu_json_ld(answers, rows, language=language, **printed)
    if media_type == CSV:
        from service.renderers.csv_table import csv_of

        return csv_of(answers, **printed)
    return json.dumps(answers, ensure_ascii=False, allow_nan=False, separators=(",", ":"))


def rendered_menu(
    media_type: str,
    answers: Sequence[Mapping[str, Any]],
    rows: Sequence["MenuRow"] | None = None,
    *,
    language: str = "en",
    **printed: Any,
) -> Response:
    """The response with :func:`menu_text_of` in it."""
    return response(
        media_type, menu_text_of(media_type, answers, rows, language=language, **printed).encode(), language
    )


def compared_text_of(media_type: str, answer: Mapping[str, Any], **printed: Any) -> str:
    """Drinks side by side as a drawing, or as a page of the drawing and a table."""
    from service.renderers.comparison import comparison_html, comparison_svg  # as above

    return comparison_svg(answer, printed["words"]) if media_type == SVG else comparison_html(answer, **printed)


def response(media_type: str, content: bytes, language: str = "en") -> Response:
    """A representation with the headers that each has; a page or drawing with what a browser may do with it."""
    headers, kind = headers_with(media_type)
    return Response(content, headers={"Vary": "Accept", "Content-Language": language, **headers}, media_type=kind)


def headers_with(media_type: str) -> tuple[dict[str, str], str]:
    """What goes with a page or drawing, which is what a browser may do with it, and the type with its parameters."""
    headers: dict[str, str] = {}
    if media_type in (HTML, SVG):
        from service.renderers.page import POLICY  # as above

        headers["Content-Security-Policy"] = POLICY
    kind = f"{CSV}; charset=utf-8; header=present" if media_type == CSV else media_type
    return headers, kind
