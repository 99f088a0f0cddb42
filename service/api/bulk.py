"""POST /v1/evaluations: one drink a line, one answer a line, in the order asked, however many there are.

Lines are answered one at a time and between two of them everybody else has a turn, so that a long stream delays no
other caller by more than one drink. All lines are answered from the versions of the catalogue that the stream began
with.
"""

import asyncio
import hashlib
import json
import logging
from datetime import date
from typing import Any, Final

from fastapi import APIRouter, Request, Response
from msgspec.json import encode
from pydantic import TypeAdapter, ValidationError
from starlette.types import Receive

from schemas.bulk import EvaluationLine, Ref
from service.api import answers, evaluations, stored_question
from service.api.body import document_of
from service.api.documentation import REFUSALS, lines_answered, lines_body
from service.api.housed import housed
from service.api.kept import today
from service.api.languages import PARAMETERS, headers_of, wording_for, wording_of
from service.api.patience import in_time
from service.api.problems import SLOW_BODY, UNEXPECTED, Fault, Problem, of_faults, of_input, of_store
from service.api.streams import MEDIA_TYPE, Late, LineResponse, Writer, pieces
from service.api.validation import asked, taken
from service.bulk.lines import Line, Lines
from service.errors import InputFault, InputFaults, NotFound, WashlineError
from service.store.snapshot import Snapshot

router = APIRouter(tags=["evaluation"])

LONGEST_LINE: Final = 1024 * 1024
"""Bytes of one line."""

LINE_TOO_LONG: Final = (413, "line-too-long", "The line is longer than 1 MiB.")

NOT_STORED: Final = (404, "not-found", "There is no such stored drink, menu or venue.")

_LOG = logging.getLogger("washline")
_REF: Final[TypeAdapter[str | int | None]] = TypeAdapter(Ref | None)
_OF_REQUEST: Final[dict[int | str, dict[str, Any]]] = {
    status: row for status, row in REFUSALS.items() if status in (415, 422)
}


@router.post(
    "/v1/evaluations",
    operation_id="evaluate_drinks",
    summary="Evaluate many drinks, one a line",
    response_model=None,
    responses={200: lines_answered("EvaluationRecord", "One line for each line, then one that counts."), **_OF_REQUEST},
    openapi_extra={**lines_body("EvaluationLine", "EvaluationRequest"), "parameters": PARAMETERS},
)
async def evaluate_drinks(request: Request) -> Response:
    """Lines of JSON in and out: each a body of POST /v1/evaluate with a `ref`, or the id of a stored drink as `drink`.

    A line that cannot be answered has a problem and stops none of the others. The last line counts; an answer without
    it is cut short. Read while you send: a reader that stops is waited for, then cut off. A line is at most 1 MiB.
    """
    wording = wording_of(request)
    refuse_other_than_lines(request)
    return LineResponse(_Stream(request).answered, request.app.state.settings.reader_timeout_s, headers_of(wording))


def refuse_other_than_lines(request: Request) -> None:
    """Raises :class:`Problem` 415 where the body is said to be anything but plain lines of JSON."""
    media_type, _, parameter = request.headers.get("content-type", MEDIA_TYPE).partition(";")
    charset = parameter.strip().lower().replace('"', "")
    plain = media_type.strip().lower() == MEDIA_TYPE and charset in ("", "charset=utf-8")
    if not plain or "content-encoding" in request.headers:
        raise Problem(415, "media-type", f"Send {MEDIA_TYPE} in UTF-8, without content encoding.")


class _Stream:
    """One request of lines."""

    def __init__(self, request: Request) -> None:
        self._request = request
        self._state = request.app.state
        self._today = today()
        self._lang = request.query_params.get("lang")
        self._header = ", ".join(request.headers.getlist("accept-language"))
        self._results = 0
        self._problems = 0

    async def answered(self, receive: Receive, writer: Writer) -> None:
        """Answers line by line; what is ready is sent before more is waited for."""
        lines = Lines(LONGEST_LINE)
        try:
            async for piece in pieces(receive, self._state.settings.body_timeout_s):
                for line in lines.fed(piece):
                    await writer.write(await self._record(line))
                await writer.flush()
        except Late:
            await writer.write(self._last({"end": False, "problem": Problem(*SLOW_BODY).body()}))
            return
        for line in lines.rest():
            await writer.write(await self._record(line))
        await writer.write(self._last({"end": True}))

    def _last(self, record: dict[str, object]) -> bytes:
        return encode({**record, "results": self._results, "problems": self._problems}) + b"\n"

    async def _record(self, line: Line) -> bytes:
        """The answer to one line; nothing that goes wrong in it leaves it."""
        mark: list[str | int | None] = [None]
        try:
            name, content = b"result", await self._result(line, mark)
            self._results += 1
        except Exception as fault:  # noqa: BLE001  # a fault of one line must not end those of the others
            name, content = b"problem", encode(self._problem_of(fault).body())
            self._problems += 1
        ref = json.dumps(mark[0]).encode()
        return b'{"line":%d,"ref":%b,"%b":%b}\n' % (line.number, ref, name, content)

    def _problem_of(self, fault: Exception) -> Problem:
        if isinstance(fault, Problem):
            return fault
        if isinstance(fault, InputFault | InputFaults):
            return of_input(fault)
        if isinstance(fault, NotFound):
            return Problem(*NOT_STORED)
        if isinstance(fault, WashlineError):
            return of_store(fault)
        request_id = self._request.scope.get("washline_request_id")
        _LOG.error("unexpected fault", exc_info=fault, extra={"request_id": request_id})
        return Problem(*UNEXPECTED)

    async def _result(self, line: Line, mark: list[str | int | None]) -> bytes:
        if line.raw is None:
            raise Problem(*LINE_TOO_LONG)
        document = document_of(line.raw)
        if isinstance(document, dict) and "ref" in document:
            mark[0] = _ref_of(document.pop("ref"))
        await self._request.state.spend("work", 1)
        if isinstance(document, dict) and isinstance(document.get("drink"), str):
            return await self._stored(document)
        return await self._whole(document, line.raw)

    async def _whole(self, document: Any, raw: bytes) -> bytes:
        body = asked(document, len(raw))
        day = body.as_of or self._today
        snapshot = await self._snapshot(day, self._request.state.versions.cost)
        stamp = evaluations.Stamp(snapshot.data_version, snapshot.version) if snapshot.version else None
        principal = self._request.state.principal
        body, catalogue = housed(body, snapshot, principal, day, body.include)
        async with self._state.turn:
            content = evaluations.answered(
                body, hashlib.sha256(raw).hexdigest(), day, self._state.settings.jurisdictions, self._state.reference,
                catalogue, wording_for(self._header, self._lang), sees_costs=principal.sees_costs, stamp=stamp,
            )  # fmt: skip
            await asyncio.sleep(0)
        return content

    async def _stored(self, document: dict[str, Any]) -> bytes:
        query = taken(EvaluationLine, document)
        principal = self._request.state.principal
        day = query.as_of or self._today
        version = self._request.state.versions.cost
        if query.cost_version is not None or query.data_version is not None:
            version = await in_time(self._request, answers.version_asked, self._request, query, principal.sees_costs)
        snapshot = await self._snapshot(day, version)
        sections = (*stored_question.COST, *stored_question.LABEL) if query.include is None else query.include
        if not principal.sees_costs:
            sections = tuple(section for section in sections if section not in stored_question.COST)
        question = answers.asked_of(self._request, query, query.drink, day, sections, snapshot)
        async with self._state.turn:
            wording = wording_for(self._header, query.lang or self._lang)
            body = stored_question.answered(self._request, snapshot, question, wording)
            content = encode(answers.stamped(body, snapshot, principal, question))
            await asyncio.sleep(0)
        return content

    async def _snapshot(self, day: date, version: int) -> Snapshot:
        snapshots = self._state.snapshots
        found: Snapshot | None = snapshots.known(version, day)
        return found if found is not None else await in_time(self._request, snapshots.at, version, day)


def _ref_of(value: object) -> str | int | None:
    try:
        return _REF.validate_python(value)
    except ValidationError:
        detail = "A ref is a text of up to 100 characters or a whole number."
        raise of_faults([Fault("/ref", "ref", detail)]) from None
