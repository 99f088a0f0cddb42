"""S1: one drink in process, from the raw body to the bytes of the answer, in units of F."""

import hashlib
from collections.abc import Callable, Sequence

from msgspec.json import encode
from pydantic import TypeAdapter

from schemas.answer import Answer
from schemas.evaluation import EvaluationRequest
from service.api.body import document_of
from service.api.evaluations import evaluated
from service.evaluate import Evaluation, evaluate
from service.lookup import EMPTY_CATALOGUE
from service.reference import reference
from service.report import answer
from tests.benchmarks.drink import DAY, bench_drinks
from tests.benchmarks.measuring import Figure, Result, Side, Size, cpu_seconds, each_in_turn, in_turns, spread

JURISDICTIONS = ("EU",)
"""Used where a body states none; every body of the benches states its own."""

MICROSECONDS = 1e6


def answered(raw: bytes) -> bytes:
    """The service's answer to a body, without HTTP."""
    return evaluated(raw, DAY, JURISDICTIONS, reference(), EMPTY_CATALOGUE)


def floor_steps(raws: Sequence[bytes]) -> dict[str, Callable[[], object]]:
    """F in its two halves: the body read and checked by pydantic, an answer of the real size written by pydantic."""
    adapter = TypeAdapter(Answer)
    ready = [adapter.validate_json(answered(raw)) for raw in raws]
    return {
        "F: read and check": each_in_turn(EvaluationRequest.model_validate_json, raws),
        "F: write": each_in_turn(adapter.dump_json, ready),
    }


def stages(raws: Sequence[bytes]) -> dict[str, Callable[[], object]]:
    """The steps of ``evaluated``, each from what the one before it gave."""
    documents = [document_of(raw) for raw in raws]
    requests = [EvaluationRequest.model_validate(document) for document in documents]
    found = [_evaluation(request) for request in requests]
    digest = hashlib.sha256(raws[0]).hexdigest()
    contents = [answer(one, digest) for one in found]
    return {
        "read JSON, no key twice": each_in_turn(document_of, raws),
        "check by the schemas": each_in_turn(EvaluationRequest.model_validate, documents),
        "compute": each_in_turn(_evaluation, requests),
        "build the answer": each_in_turn(lambda one: answer(one, digest), found),
        "write JSON": each_in_turn(encode, contents),
    }


def _evaluation(request: EvaluationRequest) -> Evaluation:
    return evaluate(request, DAY, JURISDICTIONS, reference(), EMPTY_CATALOGUE)


def result(size: Size) -> Result:
    """S1, with what each step takes."""
    raws = bench_drinks()
    content = answered(raws[0])
    halves = floor_steps(raws)
    read, write = halves.values()
    steps = {**stages(raws), **halves}
    calls = {"floor": lambda: (read(), write()), "service": each_in_turn(answered, raws), **steps}
    found = in_turns({name: cpu_seconds(call, size.calls) for name, call in calls.items()}, size.rounds)
    ratio = Figure(
        "CPU time of one drink, in F",
        Side("the service", found["service"], "us", MICROSECONDS),
        Side("F", found["floor"], "us", MICROSECONDS),
        accept=6,
        aim=3,
    )
    f_seconds = ratio.under.spread.median
    return Result(
        "S1",
        "Evaluate in process: everything included, two jurisdictions, no trace",
        (
            f"over:  body of {len(raws[0])} bytes -> service.api.evaluations.evaluated -> answer of {len(content)}"
            f" bytes; reference and rules loaded; {len(raws)} bodies in turns, with other amounts and prices",
            "under: F = EvaluationRequest.model_validate_json(the same body) + TypeAdapter(Answer).dump_json(the same"
            " answer as a checked model), no work between",
        ),
        (ratio,),
        tuple(
            f"{name:24} {spread(found[name], MICROSECONDS).median:8.1f} us"
            f" {spread(found[name], MICROSECONDS).median / f_seconds:6.2f} F"
            for name in steps
        ),
    )
