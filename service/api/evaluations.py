"""POST /v1/evaluate: one drink, the whole answer. Nothing is stored."""

import hashlib
import json
from datetime import UTC, date, datetime

from fastapi import APIRouter, Request, Response
from pydantic_core import to_json

from service.api.body import body_of, document_of
from service.api.documentation import NOT_ACCEPTABLE, REFUSALS, answered_with, json_body, printed
from service.api.negotiation import JSON, chosen, rendered, response
from service.api.problems import of_input
from service.api.validation import asked
from service.errors import InputFault, InputFaults
from service.evaluate import evaluate
from service.lookup import Catalogue
from service.reference import Reference
from service.report import answer

router = APIRouter(tags=["evaluation"])


@router.post(
    "/v1/evaluate",
    operation_id="evaluate_drink",
    summary="Evaluate one drink",
    response_model=None,
    responses={200: printed(answered_with("Answer", "The whole answer.")), **REFUSALS, **NOT_ACCEPTABLE},
    openapi_extra=json_body("EvaluationRequest"),
)
async def evaluate_drink(request: Request) -> Response:
    """Cost, price, strength, standard drinks, nutrition, allergens and balance of one drink, from a spec and offers.

    Items are looked up in the request, then the catalogue, then the embedded reference. Not legal advice: the answer
    defers to local codes and licensed practice. By Accept it comes as JSON, as linked data of a menu item, as the spec
    sheet (HTML), as a label panel (SVG) or as one row of a table (CSV).
    """
    state = request.app.state
    media_type = chosen(request.headers.getlist("accept"))
    raw = await body_of(request, state.settings.max_body_bytes, state.settings.body_timeout_s)
    today = datetime.now(UTC).date()
    content = evaluated(raw, today, state.settings.jurisdictions, state.reference, state.catalogue)
    if media_type == JSON:
        return response(JSON, content)
    return rendered(media_type, json.loads(content), json.loads(raw)["drink"])


def evaluated(
    raw: bytes, today: date, jurisdictions: tuple[str, ...], reference: Reference, catalogue: Catalogue
) -> bytes:
    """The answer to a raw body, as bytes. Raises :class:`service.api.problems.Problem`."""
    request = asked(document_of(raw), len(raw))
    try:
        found = evaluate(request, today, jurisdictions, reference, catalogue)
        return to_json(answer(found, hashlib.sha256(raw).hexdigest()))
    except (InputFault, InputFaults) as fault:
        raise of_input(fault) from None
