"""What every write of an entry goes through: the body read and tried out, done once for one Idempotency-Key."""

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

from fastapi import Request, Response
from sqlalchemy import Connection

from schemas._base import Input
from schemas.catalogue import StoredDrink, StoredIngredient, StoredOffer, StoredPreparation
from schemas.evaluation import EvaluationRequest
from service.amounts import Measures
from service.api.body import body_of, document_of, refuse_depth
from service.api.kept import today
from service.api.problems import Fault, Problem, of_faults
from service.api.stored_question import LABEL, evaluation_of, settings_of, snapshot_of
from service.api.validation import taken
from service.errors import InputFault, InputFaults
from service.lookup import outputs_of
from service.offers import offers_by_item
from service.store import idempotency
from service.store.kinds import Kind, normalised
from service.store.ledger import Ledger
from service.store.transaction import Actor


def ledger_of(request: Request, connection: Connection) -> Ledger:
    """The writes of one request."""
    state = request.app.state
    actor = Actor(request.state.principal.key_id, request.scope.get("washline_request_id", ""))
    return Ledger(connection, actor, datetime.now(UTC), state.embedded)


async def written_document(request: Request) -> tuple[bytes, dict[str, Any]]:
    """The raw body and the object in it, its text in NFC."""
    state = request.app.state
    raw = await body_of(request, state.settings.max_body_bytes, state.settings.body_timeout_s)
    document = document_of(raw)
    if not isinstance(document, dict):
        raise of_faults([Fault("", "wrong_type", "Expected an object.")])
    refuse_depth(document)
    return raw, normalised(document)


def checked(request: Request, kind: Kind, body: dict[str, Any], entry_id: str | None) -> dict[str, Any]:
    """A body that its model takes. Raises :class:`Problem` with a pointer for each fault."""
    if entry_id is not None:
        body = {"id": entry_id, **body}
        if body["id"] != entry_id:
            raise of_faults(
                [Fault("/id", "id_differs", "The id is the one in the address; leave it out or repeat it.")]
            )
    _try_out(request, taken(kind.model, body))
    return body


def once(request: Request, route: str, request_sha256: str, write: Callable[[Connection], Response]) -> Response:
    """Runs a creation in one transaction, or gives the answer that its Idempotency-Key was given before."""
    key = idempotency_key(request)
    with request.app.state.store.writing() as connection:
        before = answered_before(connection, request, route, request_sha256)
        if before is not None:
            return before
        response = write(connection)
        if key is not None:
            headers = {name: value for name, value in response.headers.items() if name in ("etag", "location")}
            given = idempotency.Answered(request_sha256, response.status_code, headers, bytes(response.body).decode())
            idempotency.keep(connection, request.state.principal.key_id, route, key, given)
    return response


def idempotency_key(request: Request) -> str | None:
    """The Idempotency-Key of a request. Raises :class:`Problem` 400 for what is none."""
    key = request.headers.get("idempotency-key")
    if key is not None and not (0 < len(key) <= 255 and key.isascii() and key.isprintable()):
        raise Problem(400, "idempotency-key", "An Idempotency-Key is 1 to 255 printable ASCII characters.")
    return key


def answered_before(connection: Connection, request: Request, route: str, request_sha256: str) -> Response | None:
    """The answer that this Idempotency-Key of this caller was given. Raises :class:`Problem` 422 for another body."""
    key = idempotency_key(request)
    before = None if key is None else idempotency.answered(connection, request.state.principal.key_id, route, key)
    if before is None:
        return None
    if before.request_sha256 != request_sha256:
        raise Problem(422, "idempotency-key-reused", "This Idempotency-Key was used with another request.")
    return Response(before.body.encode(), before.status, dict(before.headers), "application/json")


def merged(target: Any, patch: Any) -> Any:
    """A JSON merge patch (RFC 7396, section 2) applied: ``null`` takes a member away."""
    if not isinstance(patch, dict):
        return patch
    result = dict(target) if isinstance(target, dict) else {}
    for name, value in patch.items():
        if value is None:
            result.pop(name, None)
        else:
            result[name] = merged(result.get(name), value)
    return result


def _try_out(request: Request, model: Input) -> None:
    """Works with what is to be written, without its money, so that what cannot be worked with is refused.

    Raises :class:`Problem` 422 with pointers into the body. Names that are not known are told by the store.
    """
    if isinstance(model, StoredOffer):
        _refuse(lambda: offers_by_item([model], Measures()), "/offers/0")
        return
    ingredients = (model,) if isinstance(model, StoredIngredient) else ()
    preparations = (model,) if isinstance(model, StoredPreparation) else ()
    named = model.id if isinstance(model, StoredIngredient) else None
    if isinstance(model, StoredPreparation):
        outputs = outputs_of(model)
        named = outputs[0].id if outputs else model.id
    if isinstance(model, StoredDrink):
        drink, place = model, "/drink"
    elif named is not None:
        lines = [{"item": named, "amount": "1 ml"}]
        drink = StoredDrink.model_validate({"id": "tried-out", "name": "Tried out", "lines": lines})
        place = "/ingredients/0" if ingredients else "/preparations/0"
    else:
        return
    day = today()
    snapshot = snapshot_of(request, day, request.state.versions.cost)
    held = settings_of(snapshot, None)
    body = EvaluationRequest.model_construct(
        _fields_set=None, drink=drink, ingredients=ingredients, preparations=preparations, offers=(), pricing=None,
        measures=held.measures, house=held.house, jurisdictions=held.jurisdictions, as_of=day, include=LABEL,
        trace=False,
    )  # fmt: skip
    _refuse(lambda: evaluation_of(request, body, day, snapshot, held.measures, None), place)


def _refuse(work: Callable[[], object], place: str) -> None:
    """Does some work; its faults at or below a place are refused with the pointers from there on."""
    try:
        work()
    except (InputFault, InputFaults) as fault:
        rows = fault.faults if isinstance(fault, InputFaults) else (fault,)
        own = [row for row in rows if row.pointer.startswith(place) and row.code != "item_unknown"]
        if own:
            faults = [Fault(row.pointer.removeprefix(place), row.code, row.detail) for row in own]
            raise of_faults(faults) from None
