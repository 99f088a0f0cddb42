"""POST /v1/{scale, compare, substitute, reformulate, make-part}: the developer's desk. Nothing is stored."""

import hashlib
import json
from collections.abc import Callable
from datetime import UTC, date, datetime
from typing import Any, Final, TypeVar

from fastapi import APIRouter, Request, Response
from pydantic_core import to_json

from schemas.evaluation import EvaluationRequest
from schemas.part import MakePartRequest
from schemas.solve import CompareRequest, ReformulateRequest, ScaleRequest, SubstituteRequest
from service.api.body import body_of, document_of
from service.api.documentation import NOT_ACCEPTABLE, NOT_FOUND, REFUSALS, answered_with, json_body, printed
from service.api.housed import housed
from service.api.languages import PARAMETERS, headers_of, wording_of
from service.api.negotiation import COMPARED_OFFERED, JSON, chosen, response
from service.api.patience import in_time
from service.api.printing import compared_text
from service.api.problems import Fault, Problem, of_faults, of_input
from service.api.stored_question import snapshot_of
from service.api.validation import asked, asked_as, taken
from service.errors import InputFault, InputFaults
from service.report.figures import Json
from service.solve.compare import compare_answer, compared
from service.solve.compared_words import compared_labels
from service.solve.make_part import made_part
from service.solve.make_part_report import make_part_answer
from service.solve.question import Desk
from service.solve.reformulate import reformulated
from service.solve.reformulate_report import reformulate_answer
from service.solve.scale import scaled_drink
from service.solve.scale_report import scale_answer
from service.solve.substitute import substituted
from service.solve.substitute_report import substitute_answer

router = APIRouter(tags=["desk"])

Model = TypeVar("Model", EvaluationRequest, MakePartRequest)

AtDesk = Callable[[Any], tuple[Any, Desk]]
"""Puts a question where it is answered: with its venue's settings under its own, at the desk of its day there."""
Answer = Callable[[Any, AtDesk], Json]

WORK: Final = {"scale": 2, "substitute": 4, "reformulate": 60, "make-part": 4}
"""What a question takes of a key's quota, in evaluations; a comparison takes one for each drink."""


async def _told(
    request: Request,
    name: str,
    read: Callable[[Any, int], Any],
    answer: Answer,
) -> Response:
    """The answer to one question, kept by its body, the day, the catalogue's version and what the key may see."""
    state = request.app.state
    raw = await body_of(request, state.settings.max_body_bytes, state.settings.body_timeout_s)
    principal, versions, today = request.state.principal, request.state.versions, datetime.now(UTC).date()
    sees = principal.sees_costs
    key = (name, hashlib.sha256(raw).digest(), today, versions.cost if sees else versions.data, sees, principal.venue)
    kept: Response | None = state.answers.get(key)
    if kept is None:
        question = read(document_of(raw), len(raw))
        await request.state.spend("work", WORK.get(name) or len(question.drinks))
        content = await in_time(request, _answered, request, question, today, sees, answer)
        kept = Response(content, media_type="application/json")
        state.answers.keep(key, kept)
    return kept


def _answered(request: Request, question: Any, today: date, sees: bool, answer: Answer) -> bytes:
    """The answer as bytes. Raises :class:`Problem`, 404 for a venue that is none of the key's."""
    if not sees:
        _refuse_costs(question)
    try:
        return to_json(answer(question, lambda asked: _desk(request, asked, today)))
    except (InputFault, InputFaults) as fault:
        raise of_input(fault) from None


def _desk(request: Request, question: Any, today: date) -> tuple[Any, Desk]:
    """A question with what holds at its venue, and the desk with the catalogue of its day there."""
    state, principal = request.app.state, request.state.principal
    day = question.as_of or today
    question, catalogue = housed(question, snapshot_of(request, day, request.state.versions.cost), principal, day)
    jurisdictions = tuple(state.settings.jurisdictions)
    return question, Desk(today, jurisdictions, state.reference, catalogue, principal.sees_costs)


def _side_by_side(question: CompareRequest, at_desk: AtDesk) -> Json:
    """The drinks of a comparison, each at a desk of its own, so that days and venues may differ."""
    drinks = []
    for number, drink in enumerate(question.drinks):
        try:
            drinks.append(at_desk(drink))
        except InputFault as fault:
            raise fault.at(f"/drinks/{number}") from None
    return compare_answer(compared(drinks))


def _refuse_costs(question: Any) -> None:
    """A goal for the cost would tell the cost by what is solved. Raises :class:`Problem` 403."""
    if isinstance(question, ReformulateRequest) and any(goal.figure == "cost" for goal in question.goals):
        raise Problem(403, "scope-missing", "A goal for the cost needs a key with the scope costs:read.")


def _read(model: type[Model]) -> Callable[[Any, int], Model]:
    return lambda document, size: asked_as(model, document, size)


def _drinks(document: Any, size: int) -> CompareRequest:
    """The drinks of a comparison, each read like a body of its own, so that the work is bounded drink by drink."""
    rows = document.get("drinks") if isinstance(document, dict) and len(document) == 1 else None
    if not isinstance(rows, list) or not 2 <= len(rows) <= 8:
        return taken(CompareRequest, document)
    found = []
    for number, row in enumerate(rows):
        try:
            found.append(asked(row, size))
        except Problem as problem:
            if problem.status != 422:
                raise
            place = f"/drinks/{number}"
            raise of_faults([Fault(place + one.pointer, one.code, one.detail) for one in problem.errors]) from None
    return CompareRequest.model_construct(_fields_set=None, drinks=tuple(found))


@router.post(
    "/v1/scale",
    operation_id="scale_drink",
    summary="Scale a drink",
    response_model=None,
    responses={200: answered_with("ScaleAnswer", "The drink at its new size."), **REFUSALS, **NOT_FOUND},
    openapi_extra=json_body("ScaleRequest"),
)
async def scale_drink(request: Request) -> Response:
    """To so many serves, a container, a volume or one bottle of an item: amounts, parts, packs, freezer."""
    return await _told(request, "scale", _read(ScaleRequest), lambda one, at: scale_answer(scaled_drink(*at(one))))


@router.post(
    "/v1/compare",
    operation_id="compare_drinks",
    summary="Compare drinks",
    response_model=None,
    responses={
        200: printed(answered_with("CompareAnswer", "The drinks side by side."), COMPARED_OFFERED),
        **REFUSALS,
        **NOT_FOUND,
        **NOT_ACCEPTABLE,
    },
    openapi_extra={**json_body("CompareRequest"), "parameters": PARAMETERS},
)
async def compare_drinks(request: Request) -> Response:
    """Two to eight drinks: strength, water, sugars, acid, energy, allergens gained and lost, money, minutes, life.

    By Accept it comes as JSON, as a drawing (SVG), or as a page of the drawing and a table (HTML). In the language that
    is asked for the drawing and the page have its words, and the JSON holds them as `labels`.
    """
    media_type = chosen(request.headers.getlist("accept"), COMPARED_OFFERED)
    wording = wording_of(request)
    kept = await _told(request, "compare", _drinks, _side_by_side)
    content = bytes(kept.body)
    if media_type != JSON:
        content = compared_text(media_type, json.loads(content), wording).encode()
    elif wording.marked:
        body = json.loads(content)
        content = to_json({**body, "labels": compared_labels(body, wording)})
    told = response(media_type, content)
    told.headers.update(headers_of(wording) | {"Vary": "Accept, Accept-Language, Authorization"})
    return told


@router.post(
    "/v1/substitute",
    operation_id="substitute_item",
    summary="Replace an item and hold what matters",
    response_model=None,
    responses={200: answered_with("SubstituteAnswer", "The swap."), **REFUSALS, **NOT_FOUND},
    openapi_extra=json_body("SubstituteRequest"),
)
async def substitute_item(request: Request) -> Response:
    """Solves the amount of another item so that what matters stays as it is; equal acidity is not equal taste."""
    return await _told(
        request, "substitute", _read(SubstituteRequest), lambda one, at: substitute_answer(substituted(*at(one)))
    )


@router.post(
    "/v1/reformulate",
    operation_id="reformulate_drink",
    summary="Meet goals by changing amounts",
    response_model=None,
    responses={200: answered_with("ReformulateAnswer", "The drink reformulated."), **REFUSALS, **NOT_FOUND},
    openapi_extra=json_body("ReformulateRequest"),
)
async def reformulate_drink(request: Request) -> Response:
    """Amounts of free lines in measurable steps that meet all goals; what cannot be met, with the nearest that can."""
    return await _told(
        request, "reformulate", _read(ReformulateRequest), lambda one, at: reformulate_answer(reformulated(*at(one)))
    )


@router.post(
    "/v1/make-part",
    operation_id="make_part",
    summary="Make a part to stated figures",
    response_model=None,
    responses={200: answered_with("MakePartAnswer", "The part."), **REFUSALS, **NOT_FOUND},
    openapi_extra=json_body("MakePartRequest"),
)
async def make_part(request: Request) -> Response:
    """Syrups, acid solutions, saline, cut spirits, cordials, adjusted juices, foams: amounts, yield, cost, keeping."""
    return await _told(
        request, "make-part", _read(MakePartRequest), lambda one, at: make_part_answer(made_part(*at(one)))
    )
