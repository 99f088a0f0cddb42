"""Schemathesis makes requests from the OpenAPI document, legal ones and broken ones, against every operation.

Each request is sent with a key of all scopes, since few would reach anything otherwise; the first one of an operation
also with a key of each single scope, and in a campaign every later one with the next of these.
"""

import itertools
import json
from collections import Counter
from io import BytesIO
from typing import Any

import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE
from schemathesis import Case, GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)
from starlette.types import Receive, Scope, Send

from service.api.app import create_app
from service.settings import Settings
from service.store.keys import SCOPES, new_key
from tests.campaign import DERANDOMIZED

CHECKS = [not_a_server_error, status_code_conformance, content_type_conformance, response_schema_conformance]
EXAMPLES = 6 if DERANDOMIZED else 1000
"""For every operation and each of the two kinds of request."""

HEADS = (
    "Art.no;EAN;Article;Content;Net price", "drink,day,serves,gross", "external_id;quantity;net;discount;modifiers",
    "code;item;name;pack;price", "name",
)  # fmt: skip
CELLS = st.one_of(
    st.sampled_from(
        ("6x70cl", "24 x 200 ml", "1x30L keg", "12,50", "1.250,00", "-3", "0", "1e9", "2026-11-25", "", "fog-signal",
         "9520410001370", "=1+1", "\ufeff", '"')
    ),
    st.text(max_size=12),
)  # fmt: skip


@st.composite
def _rows(draw: st.DrawFn) -> list[list[str]]:
    head = draw(st.sampled_from(HEADS))
    mark = ";" if ";" in head else ","
    names = head.split(mark)
    return [names, *draw(st.lists(st.lists(CELLS, min_size=1, max_size=len(names) + 1), max_size=4))]


def _as_csv(rows: list[list[str]]) -> bytes:
    mark = ";" if len(rows) % 2 else ","
    return "\n".join(mark.join(row) for row in rows).encode(errors="replace")


def _as_xlsx(rows: list[list[str]]) -> bytes:
    book, written = Workbook(), BytesIO()
    for row in rows:
        book.active.append([ILLEGAL_CHARACTERS_RE.sub("", cell) for cell in row])
    book.save(written)
    return written.getvalue()


schemathesis.openapi.media_type("text/csv", st.one_of(_rows().map(_as_csv), st.binary(max_size=200)))
schemathesis.openapi.media_type(
    "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    st.one_of(_rows().map(_as_xlsx), st.binary(max_size=200)),
)


@schemathesis.serializer("application/x-ndjson")
def _as_line(_: object, value: object) -> bytes:
    """One line of a stream, which the document describes."""
    return json.dumps(value).encode() + b"\n"


gate = settings(
    max_examples=EXAMPLES,
    derandomize=DERANDOMIZED,
    database=None,
    deadline=None,
    phases=[Phase.generate],
    suppress_health_check=list(HealthCheck),
)


def _takes_nothing_that_can_be_broken(operation: dict[str, Any]) -> bool:
    """An operation without a body and without a parameter but an id, of which any text may be asked."""
    return "requestBody" not in operation and all(row["in"] == "path" for row in operation.get("parameters", ()))


app = create_app(Settings(demo=True, requests_per_minute=10**9, work_per_minute=10**9, answer_timeout_s=60))


def _header(*scopes: str) -> dict[str, str]:
    with app.state.store.writing() as connection:
        return {"Authorization": f"Bearer {new_key(connection, 'of a test', scopes, None, None)[1]}"}


SINGLE = {scope: _header(scope) for scope in SCOPES}
WHOLE = _header(*SCOPES)
MET: dict[tuple[object, str], Counter[str]] = {}
"""How often an operation was asked with a key of a single scope."""
UNBREAKABLE = sorted(
    operation["operationId"]
    for operations in app.openapi()["paths"].values()
    for operation in operations.values()
    if _takes_nothing_that_can_be_broken(operation)
)


async def standing(scope: Scope, receive: Receive, send: Send) -> None:
    """The application without its stop, which each case would bring about and which closes its store."""
    if scope["type"] != "lifespan":
        await app(scope, receive, send)
        return
    for word in ("startup", "shutdown"):
        await receive()
        await send({"type": f"lifespan.{word}.complete"})


def _schema(mode: GenerationMode) -> schemathesis.BaseSchema:
    made = schemathesis.openapi.from_asgi("/openapi.json", standing)
    made.config.generation.update(modes=[mode])
    return made


def _ask(case: Case[Any], kind: str) -> None:
    """One request with a key of all scopes and with single ones; what no scope admits is a documented refusal too."""
    met = MET.setdefault((case.operation.label, kind), Counter())
    later = [] if DERANDOMIZED else [SCOPES[met.total() % len(SCOPES)]]
    scopes = later if met else SCOPES
    for header in (WHOLE, *(SINGLE[scope] for scope in scopes)):
        case.call_and_validate(headers=header, checks=CHECKS)
    met.update(scopes)


legal = _schema(GenerationMode.POSITIVE)
broken = _schema(GenerationMode.NEGATIVE).exclude(operation_id=UNBREAKABLE)


@legal.parametrize()
@gate
def test_legal_requests(case: Case[Any]) -> None:
    _ask(case, "legal")


def test_legal_drinks_of_known_items_reach_the_calculation() -> None:
    """As generated, nearly all drinks name items that nobody has; here they name known ones."""
    statuses: Counter[int] = Counter()

    @gate
    @given(case=legal["/v1/evaluate"]["POST"].as_strategy())
    def ask(case: Case[Any]) -> None:
        assert isinstance(case.body, dict)
        _with_known_items(case.body)
        statuses[case.call_and_validate(checks=CHECKS).status_code] += 1

    ask()
    assert statuses[200] >= EXAMPLES // 5, statuses


def _with_known_items(body: dict[str, Any]) -> None:
    body.pop("jurisdictions", None)
    body.pop("as_of", None)
    body["drink"].pop("parts_total", None)
    body.pop("pricing", None)
    body.pop("offers", None)
    body["drink"]["lines"] = body["drink"]["lines"][:8]
    items = itertools.cycle(("lime-juice", "white-sugar", "egg-white", "sparkling-wine-dry", "gin-47", "almond-syrup"))
    for line, item in zip(body["drink"]["lines"], items, strict=False):
        line |= {"item": item, "amount": "20 ml", "alternatives": []}
        line.pop("residue_ml", None)
    for part in body.get("preparations", ()):
        part["lines"] = [{"item": "water", "amount": "1 l"}]


@broken.parametrize()
@gate
def test_broken_requests(case: Case[Any]) -> None:
    _ask(case, "broken")
