"""Asks the service as a caller does, from a body of JSON to an evaluation, an answer or the faults."""

import json
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

import pytest

from schemas.evaluation import EvaluationRequest
from service.errors import InputFault, InputFaults
from service.evaluate import Evaluation, evaluate
from service.preparation import Prepared
from service.reference import reference
from service.report import answer

DAY = date(2026, 11, 25)
Body = dict[str, Any]


def body_of(lines: list[Body], **more: Any) -> Body:
    """A request for a drink of these lines; ``method``, ``serve``, ``serves`` and ``parts_total`` go to the drink."""
    drink = {key: more.pop(key) for key in ("method", "serve", "serves", "parts_total") if key in more}
    return {"drink": {"id": "asked", "name": "Asked", "lines": lines, **drink}, **more}


def evaluation(body: Body) -> Evaluation:
    """The unrounded results; the body goes through JSON and the schemas as at the door."""
    return evaluate(EvaluationRequest.model_validate_json(json.dumps(body)), DAY, ["EU"], reference())


def answered(body: Body) -> Body:
    """The answer as a caller reads it; a figure that is not a number would not pass."""
    shown: Body = json.loads(json.dumps(answer(evaluation(body), "s"), allow_nan=False))
    return shown


def faults(body: Body) -> list[InputFault]:
    """All faults of a refused body; a body that is answered fails the test."""
    with pytest.raises((InputFault, InputFaults)) as caught:
        evaluation(body)
    fault = caught.value
    if isinstance(fault, InputFaults):
        return list(fault.faults)
    assert isinstance(fault, InputFault)
    return [fault]


def refused(body: Body) -> list[tuple[str, str]]:
    """Code and pointer of each fault."""
    return [(fault.code, fault.pointer) for fault in faults(body)]


def preparation(lines: Sequence[Mapping[str, Any]], **more: Any) -> Body:
    """A preparation of these lines with the id ``part``."""
    return {"id": "part", "name": "Part", "lines": lines, **more}


def with_part(part: Body, *others: Body, amount: str = "10 ml", **more: Any) -> Body:
    """A request whose drink is an amount of ``part`` alone."""
    return body_of([{"item": part["id"], "amount": amount}], preparations=[part, *others], **more)


def prepared(part: Body, *others: Body, **more: Any) -> Prepared:
    """The batch of a preparation as the service makes it."""
    return evaluation(with_part(part, *others, **more)).resolved.preparations[part["id"]]


def part_refused(part: Body, *others: Body, **more: Any) -> list[tuple[str, str]]:
    """Code and pointer of each fault of a preparation."""
    return refused(with_part(part, *others, **more))
