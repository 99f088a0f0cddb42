"""Answers that renderers are tried on: every demo drink as the service answers it, and ways to change an answer."""

import copy
import json
from collections.abc import Callable
from functools import cache
from typing import Any

from schemas.evaluation import EvaluationRequest
from service.api.app import demo_catalogue
from service.api.evaluations import evaluated
from service.demo import demo
from service.reference import reference
from service.solve.compare import compare_answer, compared
from service.solve.question import Desk
from tests.asked import DAY

Json = dict[str, Any]

DRINKS = sorted(demo().drinks)
GUEST_SECTIONS = ["alcohol", "nutrition", "allergens", "balance"]
"""What a key without costs:read is answered."""


def body_of(drink_id: str, **more: Any) -> Json:
    """A demo drink as it is asked; what ``more`` names stands instead."""
    return {**copy.deepcopy(dict(demo().drinks[drink_id])), **more}


def answer_to(body: Json) -> Json:
    """What the service answers, read back from its bytes."""
    found: Json = json.loads(evaluated(json.dumps(body).encode(), DAY, ("EU",), reference(), demo_catalogue()))
    return found


@cache
def _demo(drink_id: str) -> str:
    return json.dumps(answer_to(body_of(drink_id)))


def demo_answer(drink_id: str) -> Json:
    """The whole answer to a demo drink, free to be changed."""
    found: Json = json.loads(_demo(drink_id))
    return found


def spec_of(drink_id: str) -> Json:
    """The drink as asked."""
    found: Json = body_of(drink_id)["drink"]
    return found


@cache
def _compared() -> str:
    desk = Desk(DAY, ("EU",), reference(), demo_catalogue())
    bodies = [EvaluationRequest.model_validate(body_of(one)) for one in ("breakwater-froth", "fog-signal")]
    return json.dumps(compare_answer(compared([(body, desk) for body in bodies])))


def compared_answer() -> Json:
    """Two demo drinks side by side, free to be changed."""
    found: Json = json.loads(_compared())
    return found


def packed_answer(drink_id: str = "bollard-serve") -> Json:
    """A demo drink sold in a package."""
    body = body_of(drink_id)
    return answer_to(body | {"house": body["house"] | {"sold_as": "prepacked"}})


def each_text(value: Any, change: Callable[[str], str]) -> Any:
    """A copy with every text changed; keys stay."""
    if isinstance(value, dict):
        return {key: each_text(inner, change) for key, inner in value.items()}
    if isinstance(value, list):
        return [each_text(inner, change) for inner in value]
    return change(value) if isinstance(value, str) else value


def emptied(value: Any) -> Any:
    """A copy in which every figure is unknown; flags, words and lists stay."""
    if isinstance(value, dict):
        return {key: emptied(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [emptied(inner) for inner in value]
    return None if isinstance(value, (int, float)) and not isinstance(value, bool) else value
