"""S11: a reformulation of eight free lines over one evaluation of the same drink, both from bytes to bytes."""

import json
from typing import Any

from pydantic_core import to_json

from schemas.solve import ReformulateRequest
from service.api.body import document_of
from service.api.validation import asked_as
from service.lookup import EMPTY_CATALOGUE
from service.reference import reference
from service.solve.question import Desk
from service.solve.reformulate import reformulated
from service.solve.reformulate_report import reformulate_answer
from tests.benchmarks.drink import DAY, bench_drink
from tests.benchmarks.in_process import JURISDICTIONS, MICROSECONDS, answered
from tests.benchmarks.measuring import Figure, Result, Side, Size, cpu_seconds, in_turns

MILLISECONDS = 1e3

MET = (
    {"figure": "abv_percent", "min": 10.5, "max": 11.5},
    {"figure": "volume_ml", "min": 235, "max": 250},
    {"figure": "standard_drinks", "max": 1.6, "jurisdiction": "US"},
    {"figure": "cost", "max": 2.6},
)
"""Goals that can be met together."""

UNMET = (
    {"figure": "abv_percent", "min": 30},
    {"figure": "volume_ml", "min": 235, "max": 250},
    {"figure": "standard_drinks", "max": 1.0, "jurisdiction": "US"},
    {"figure": "cost", "max": 0.5},
)
"""Goals that exclude each other, each of which is looked at alone as well."""


def drink() -> dict[str, Any]:
    """The drink that the goals of S1 are stated for, with a syrup in the place of its garnish: eight liquid lines."""
    body: dict[str, Any] = json.loads(bench_drink())
    body["drink"]["lines"][-1] = {"item": "simple-syrup-1-1", "amount": "5 ml"}
    sugar = {**body["offers"][0], "id": "q99", "item": "simple-syrup-1-1", "pack": {"count": 1, "size": "1 l"}}
    body["offers"].append(sugar)
    return body


def raw(goals: Any) -> bytes:
    """The body of a reformulation with every line free."""
    body = drink()
    highs = (80, 40, 30, 30, 40, 5, 120, 20)
    free = [{"line": place, "min": 0, "max": high, "step": 0.5} for place, high in enumerate(highs)]
    return json.dumps({**body, "goals": goals, "free": free}).encode()


def reformulation(content: bytes) -> bytes:
    """The service's answer to a reformulation, without HTTP."""
    question = asked_as(ReformulateRequest, document_of(content), len(content))
    desk = Desk(DAY, JURISDICTIONS, reference(), EMPTY_CATALOGUE)
    return to_json(reformulate_answer(reformulated(question, desk)))


def result(size: Size) -> Result:
    """S11."""
    plain, met, unmet = json.dumps(drink()).encode(), raw(MET), raw(UNMET)
    calls = max(1, size.calls // 20)
    found = in_turns(
        {
            "one": cpu_seconds(lambda: answered(plain), size.calls),
            "met": cpu_seconds(lambda: reformulation(met), calls),
            "unmet": cpu_seconds(lambda: reformulation(unmet), calls),
        },
        size.rounds,
    )
    one = Side("one evaluation", found["one"], "us", MICROSECONDS)
    return Result(
        "S11",
        "Reformulate with 8 free lines",
        (
            "over:  body -> service.solve.reformulate -> answer; 4 goals, steps of 0.5 ml, both drinks compared",
            "under: the same drink -> service.api.evaluations.evaluated -> answer",
        ),
        (
            Figure("goals that can be met", Side("met", found["met"], "ms", MILLISECONDS), one, 60, 30),
            Figure(
                "goals that cannot, each looked at alone",
                Side("unmet", found["unmet"], "ms", MILLISECONDS),
                one,
                60,
                30,
            ),
        ),
    )
