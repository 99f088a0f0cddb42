"""What the OpenAPI document says beyond the routes: bodies read by hand, refusals, examples from openapi-examples/."""

import copy
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi
from pydantic.json_schema import models_json_schema

from schemas._base import Query
from schemas.described import described, models
from schemas.evaluation import EvaluationRequest
from schemas.problem import Problem as ProblemModel
from service.api.negotiation import JSON, OFFERED
from service.api.problems import title_of

EXAMPLES = Path(__file__).parents[2] / "openapi-examples"

_PROBLEM = {"application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}}

REFUSALS: dict[int | str, dict[str, Any]] = {
    status: {"description": description, "content": _PROBLEM}
    for status, description in (
        (400, "The body is not JSON as RFC 8259 has it, has a duplicate key, or nests over 64 levels."),
        (408, "The body did not arrive in time."),
        (413, "The body is over 1 MiB."),
        (415, "Not application/json in UTF-8, or with a content encoding."),
        (422, "Something in the request cannot be worked with; `errors` has one JSON Pointer per fault."),
    )
}
"""Refusals of an operation with a body."""

QUERY_REFUSALS: dict[int | str, dict[str, Any]] = {
    422: {"description": "A parameter cannot be worked with; `errors` points to it.", "content": _PROBLEM}
}

NOT_ACCEPTABLE: dict[int | str, dict[str, Any]] = {
    406: {"description": "Accept asks for nothing that this is answered as.", "content": _PROBLEM}
}

NOT_FOUND: dict[int | str, dict[str, Any]] = {404: {"description": "There is no such thing.", "content": _PROBLEM}}


NOT_MADE: dict[int | str, dict[str, Any]] = {
    406: {"description": "The books do not come in a form that Accept asks for.", "content": _PROBLEM}
}

WRITE_REFUSALS: dict[int | str, dict[str, Any]] = {
    status: {"description": description, "content": _PROBLEM}
    for status, description in (
        (403, "The key may not do this."),
        (409, "It does not fit what is stored: an id or a name is taken, or something still uses it."),
        (412, "It has changed since the ETag in If-Match."),
        (428, "A replacement names the ETag of what it replaces in If-Match."),
        (503, "The store cannot take this now; send it again."),
        (507, "The store has no space left."),
    )
}
"""Refusals of an operation that writes."""


def json_body(model: str) -> dict[str, Any]:
    """The request body of an operation that reads it by hand."""
    schema = {"$ref": f"#/components/schemas/{model}"}
    return {"requestBody": {"required": True, "content": {"application/json": {"schema": schema}}}}


def lines_body(*models: str) -> dict[str, Any]:
    """The request body of an operation that reads lines of JSON, each in the form of one of the models."""
    schema = {"anyOf": [{"$ref": f"#/components/schemas/{model}"} for model in models]}
    return {"requestBody": {"required": True, "content": {"application/x-ndjson": {"schema": schema}}}}


def lines_answered(model: str, description: str) -> dict[str, Any]:
    """An answer of lines of JSON, each in the form of a model."""
    schema = {"$ref": f"#/components/schemas/{model}"}
    return {"description": description, "content": {"application/x-ndjson": {"schema": schema}}}


def answered_with(model: str, description: str) -> dict[str, Any]:
    """An answer that is written by hand in the form of a model."""
    schema = {"$ref": f"#/components/schemas/{model}"}
    return {"description": description, "content": {"application/json": {"schema": schema}}}


def printed(answered: dict[str, Any], offered: Sequence[str] = OFFERED) -> dict[str, Any]:
    """An answer that Accept may ask for in every other type that is offered, each of which is text."""
    others = {media_type: {"schema": {"type": "string"}} for media_type in offered if media_type != JSON}
    return {**answered, "content": {**answered["content"], **others}}


def document(app: FastAPI) -> dict[str, Any]:
    """The OpenAPI document, built once: routes, the models of hand-read bodies, the committed examples."""
    from schemas.allergen_work import AllergenWork  # as below
    from schemas.answer import Answer  # the models of the answer serve this document alone; a start need not build them
    from schemas.bulk import EvaluationLine, EvaluationRecord, HistoryRecord  # as below
    from schemas.catalogue import (  # as below
        KeyRequest,
        Menu,
        StoredDrink,
        StoredIngredient,
        StoredOffer,
        StoredPreparation,
        Supplier,
        Venue,
    )
    from schemas.compare_answer import CompareAnswer  # as below
    from schemas.keys import Access, KeyList, KeyMade, KeyView  # as below
    from schemas.margins import MarginsRequest  # as below
    from schemas.margins_answer import Margins  # as below
    from schemas.moves import LadderAnswer, LadderRequest, Moves, MovesRequest  # as below
    from schemas.part import MakePartRequest  # as below
    from schemas.part_answer import MakePartAnswer  # as below
    from schemas.perishing import Perishing, PerishingRequest  # as below
    from schemas.price_lists import CommitRequest, KeptPriceList  # as below
    from schemas.reformulate_answer import ReformulateAnswer  # as below
    from schemas.scale_answer import ScaleAnswer  # as below
    from schemas.solve import CompareRequest, ReformulateRequest, ScaleRequest, SubstituteRequest  # as below
    from schemas.stored import BulkPage, EntryPage, Margin, MenuLabel, RevisionPage  # as below
    from schemas.substitute_answer import SubstituteAnswer  # as below
    from schemas.trail import AuditPage, Feed  # as below
    from schemas.usage import Usage, UsageRequest  # as below

    if app.openapi_schema:
        return app.openapi_schema
    for model in models():
        if issubclass(model, Query):  # The framework documents these by itself.
            for name, about in described(model).items():
                model.model_fields[name].description = about
    made = get_openapi(
        title="Washline",
        version=app.version,
        description="Turns a drink spec into what a bar can sell: cost, price, strength, allergens, energy. "
        "Not legal advice: the service defers to local codes and licensed practice.",
        routes=app.routes,
    )
    bodies = (
        EvaluationRequest, StoredIngredient, StoredPreparation, StoredDrink, StoredOffer, Supplier, Menu, Venue,
        KeyRequest, CommitRequest, MarginsRequest, MovesRequest, LadderRequest, PerishingRequest, UsageRequest,
        ScaleRequest, CompareRequest, SubstituteRequest, ReformulateRequest, MakePartRequest, EvaluationLine,
    )  # fmt: skip
    told = (
        Answer, ProblemModel, EntryPage, RevisionPage, Margin, BulkPage, Feed, AuditPage, KeyView, KeyMade, KeyList,
        Access, KeptPriceList, AllergenWork, MenuLabel, Margins, Moves, LadderAnswer, Perishing, Usage,
        ScaleAnswer, CompareAnswer, SubstituteAnswer, ReformulateAnswer, MakePartAnswer, EvaluationRecord,
        HistoryRecord,
    )  # fmt: skip
    _, extra = models_json_schema(
        [*((model, "validation") for model in bodies), *((model, "serialization") for model in told)],
        ref_template="#/components/schemas/{model}",
    )
    components = made.setdefault("components", {}).setdefault("schemas", {})
    components.pop("HTTPValidationError", None)
    components.pop("ValidationError", None)
    for schemas, in_order in ((components, False), (extra["$defs"], True)):
        _with_descriptions(schemas, in_order=in_order)
    components.update(extra["$defs"])
    for operations in made["paths"].values():
        for operation in operations.values():
            _without_frameworks_own(operation)
            _with_refusals_of_the_door(operation)
            _with_examples(operation)
    app.openapi_schema = made
    return made


def _with_descriptions(components: dict[str, Any], *, in_order: bool) -> None:
    """Adds what each field means, with the keys ``in_order`` of their names where the others are."""
    for model in models():
        properties = components.get(model.__name__, {}).get("properties", {})
        for name, text in described(model).items():
            field = model.model_fields[name]
            key = field.alias or name
            if key in properties and "description" not in properties[key]:
                about = {**properties[key], "description": text}
                properties[key] = dict(sorted(about.items())) if in_order else about


def _without_frameworks_own(operation: dict[str, Any]) -> None:
    """Drops the framework's own 422 (what is no id in an address is not found) and what a parameter says twice."""
    if "HTTPValidationError" in json.dumps(operation["responses"].get("422", {})):
        del operation["responses"]["422"]
    for parameter in operation.get("parameters", ()):
        if "description" in parameter:  # In the schema too, but only where no request came before the document.
            parameter["schema"].pop("description", None)


def _with_refusals_of_the_door(operation: dict[str, Any]) -> None:
    """Adds what every operation but the probes refuses: wrong keys, missing scopes, used up quotas, a busy store."""
    if operation["operationId"] in ("live", "ready"):
        return
    for status, description in (
        (401, "There is no key, or it is none that works."),
        (403, "The key may not do this; the detail names the scope."),
        (429, "The key's quota is used up; see Retry-After."),
        (503, "The store cannot take this now; send it again."),
    ):
        operation["responses"].setdefault(str(status), {"description": description, "content": copy.deepcopy(_PROBLEM)})
    operation["responses"] = dict(sorted(operation["responses"].items()))


def _with_examples(operation: dict[str, Any]) -> None:
    """Adds the committed examples of an operation to its body and answers."""
    folder = EXAMPLES / operation.get("operationId", "")
    if not folder.is_dir():
        return
    for path in sorted(folder.glob("*.json")):
        example = json.loads(path.read_text(encoding="utf-8"))
        status = example["response"]["status"]
        response = operation["responses"].setdefault(
            str(status),
            {"description": f"{title_of(status)}.", "content": copy.deepcopy(_PROBLEM)},
        )
        for media_type, content in response.get("content", {}).items():
            if JSON in response["content"] and media_type != JSON:
                continue
            content.setdefault("examples", {})[path.stem] = {
                "summary": example["summary"],
                "value": _value(example["response"], "body"),
            }
        for body in operation.get("requestBody", {}).get("content", {}).values():
            if "json" in example["request"] or "lines" in example["request"]:
                body.setdefault("examples", {})[path.stem] = {
                    "summary": example["summary"],
                    "value": _value(example["request"], "json"),
                }


def _value(message: dict[str, Any], name: str) -> Any:
    """The body of an example's message, of lines as the text that is sent."""
    if "lines" not in message:
        return message[name]
    return "".join(json.dumps(line, ensure_ascii=False) + "\n" for line in message["lines"])
