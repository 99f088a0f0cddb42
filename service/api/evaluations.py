"""POST /v1/evaluate: one drink, the whole answer. Items are looked up in the request first, then in the catalogue."""

import hashlib
import json
from datetime import UTC, date, datetime
from typing import NamedTuple

from fastapi import APIRouter, Request, Response
from msgspec.json import encode

from schemas.evaluation import EvaluationRequest
from service.api.body import body_of, document_of
from service.api.documentation import NOT_ACCEPTABLE, NOT_FOUND, REFUSALS, answered_with, json_body, printed
from service.api.housed import housed
from service.api.languages import PARAMETERS, headers_of, wording_of
from service.api.negotiation import JSON, chosen, headers_with
from service.api.patience import in_time
from service.api.printing import printed_text
from service.api.problems import Fault, of_faults, of_input
from service.api.stored_question import COST, LABEL
from service.api.validation import asked
from service.errors import InputFault, InputFaults
from service.evaluate import evaluate
from service.lookup import Catalogue
from service.reference import Reference
from service.report import answer
from service.report.delta import answer_with_delta
from service.report.wording import Wording
from service.variation import variation

router = APIRouter(tags=["evaluation"])

VARY = {"Vary": "Accept, Accept-Language, Authorization"}
"""What an answer differs by."""


@router.post(
    "/v1/evaluate",
    operation_id="evaluate_drink",
    summary="Evaluate one drink",
    response_model=None,
    responses={200: printed(answered_with("Answer", "The whole answer.")), **REFUSALS, **NOT_FOUND, **NOT_ACCEPTABLE},
    openapi_extra={**json_body("EvaluationRequest"), "parameters": PARAMETERS},
)
async def evaluate_drink(request: Request) -> Response:
    """Cost, price, strength, standard drinks, nutrition, allergens and balance of one drink, from a spec and offers.

    Items are looked up in the request, then the catalogue, then the embedded reference. With `venue` its offers,
    prices, taxes, rules and house hold as in GET /v1/drinks/{drink_id}/evaluation. Not legal advice: the answer defers
    to local codes and licensed practice. By Accept it comes as JSON, as linked data of a menu item, as the spec sheet
    (HTML), as a label panel (SVG) or as one row of a table (CSV).
    """
    state = request.app.state
    media_type = chosen(request.headers.getlist("accept"))
    wording = wording_of(request)
    raw = await body_of(request, state.settings.max_body_bytes, state.settings.body_timeout_s)
    principal, versions, today = request.state.principal, request.state.versions, datetime.now(UTC).date()
    sees = principal.sees_costs
    digest = hashlib.sha256(raw).digest()
    stamp = versions.cost if sees else versions.data
    key = ("evaluate", digest, today, stamp, sees, principal.venue, wording.asked, wording.language.code)
    kept: Response | None = state.answers.get(key)
    if kept is None:
        await request.state.spend("work", 1)
        asked_for = asked(document_of(raw), len(raw))
        day = asked_for.as_of or today
        snapshot = state.snapshots.known(versions.cost, day)
        if snapshot is None:
            snapshot = await in_time(request, state.snapshots.at, versions.cost, day)
        try:
            asked_for, catalogue = housed(asked_for, snapshot, principal, day, asked_for.include)
        except InputFault as fault:
            raise of_input(fault) from None
        made = Stamp(snapshot.data_version, snapshot.version) if snapshot.version else None
        content = answered(
            asked_for,
            digest.hex(),
            day,
            state.settings.jurisdictions,
            state.reference,
            catalogue,
            wording,
            sees_costs=sees,
            stamp=made,
        )
        kept = Response(
            content, media_type=JSON, headers=headers_of(wording) | {"Vary": "Accept, Accept-Language, Authorization"}
        )
        state.answers.keep(key, kept)
    if media_type == JSON:
        return kept
    sent = json.loads(raw)
    parts = {row["id"]: row for row in sent.get("preparations") or ()}
    names = {row["id"]: row["name"] for row in (*(sent.get("ingredients") or ()), *parts.values())}
    text = printed_text(media_type, json.loads(bytes(kept.body)), sent["drink"], wording, bodies=parts, names=names)
    headers, kind = headers_with(media_type)
    more = headers_of(wording) | VARY
    return Response(text.encode(), headers=more | headers, media_type=kind)


class Stamp(NamedTuple):
    """The versions of the catalogue that an answer was made from."""

    data_version: int
    cost_version: int


def evaluated(
    raw: bytes,
    today: date,
    jurisdictions: tuple[str, ...],
    reference: Reference,
    catalogue: Catalogue,
    wording: Wording | None = None,
) -> bytes:
    """The answer to a raw body, as bytes, in English unless ``wording`` says otherwise.

    Raises :class:`service.api.problems.Problem`; a venue too, since there are none without a store.
    """
    request = asked(document_of(raw), len(raw))
    if request.venue is not None:
        detail = "Here is no store with venues: state pricing, measures, house and offers in the request."
        raise of_faults([Fault("/venue", "venue_unknown", detail)])
    return answered(request, hashlib.sha256(raw).hexdigest(), today, jurisdictions, reference, catalogue, wording)


def answered(
    request: EvaluationRequest,
    request_sha256: str,
    day: date,
    jurisdictions: tuple[str, ...],
    reference: Reference,
    catalogue: Catalogue,
    wording: Wording | None = None,
    *,
    sees_costs: bool = True,
    stamp: Stamp | None = None,
) -> bytes:
    """The answer to a request, as bytes. Raises :class:`service.api.problems.Problem`.

    Without ``sees_costs`` the sections of money and the trace are left out, even of what the request itself states.
    """
    if not sees_costs:
        asked_for = LABEL if request.include is None else tuple(one for one in request.include if one not in COST)
        request = request.model_copy(update={"include": asked_for, "trace": False})
    try:
        if request.with_:
            both = variation(request, day, jurisdictions, reference, catalogue)
            body = answer_with_delta(both, request_sha256, wording)
        else:
            body = answer(evaluate(request, day, jurisdictions, reference, catalogue), request_sha256, wording)
    except (InputFault, InputFaults) as fault:
        raise of_input(fault) from None
    if stamp is not None:
        meta: dict[str, object] = body["meta"]  # type: ignore[assignment]  # the answer is plain JSON
        meta["data_version"] = stamp.data_version
        if sees_costs:
            meta["cost_version"] = stamp.cost_version
    return encode(body)
