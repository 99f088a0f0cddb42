"""Schemathesis makes requests from the OpenAPI document, legal ones and broken ones, against every operation."""

import itertools
from collections import Counter
from typing import Any

import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
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
from tests.campaign import DERANDOMIZED

CHECKS = [not_a_server_error, status_code_conformance, content_type_conformance, response_schema_conformance]
EXAMPLES = 8 if DERANDOMIZED else 1000
"""For every operation and each of the two kinds of request."""

FILES_AND_LINES = ["evaluate_drinks", "create_price_list", "create_margins"]
"""Operations whose bodies are no single JSON value, which it cannot write; their own tests send them broken bodies."""

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


app = create_app(Settings(demo=True))
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
    return made.exclude(operation_id=FILES_AND_LINES)


legal = _schema(GenerationMode.POSITIVE)
broken = _schema(GenerationMode.NEGATIVE).exclude(operation_id=UNBREAKABLE)


@legal.parametrize()
@gate
def test_legal_requests(case: Case[Any]) -> None:
    case.call_and_validate(checks=CHECKS)


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
    case.call_and_validate(checks=CHECKS)
