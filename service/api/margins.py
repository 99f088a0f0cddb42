"""/v1/margins: the books of a period, and of a menu at its prices."""

from collections.abc import Callable
from typing import Annotated, Any, Final, TypeVar

from fastapi import APIRouter, Depends, Path, Query, Request, Response
from pydantic import BaseModel, ValidationError

from schemas.catalogue import Menu
from schemas.described import described
from schemas.margins import MarginsRequest, MenuMarginsQuery
from schemas.sales import SalesFileQuery
from service.api.body import body_of, document_of, file_of
from service.api.bookkeeping import margins_body, read
from service.api.books import Books
from service.api.documentation import NOT_FOUND, QUERY_REFUSALS, REFUSALS
from service.api.kept import today
from service.api.menu_question import menu_question
from service.api.parameters import each_once
from service.api.patience import BOOKS_S, in_time
from service.api.pointer import faults_of
from service.api.problems import Fault, of_faults, of_input
from service.api.questions import Question, Read, compared_period, question_of, question_of_file, stated_period
from service.api.sheets import form_of, formed, written
from service.api.stored_question import NO_MENU, venue_of
from service.api.validation import taken
from service.errors import InputFault, InputFaults, NotFound
from service.margins.calendar import Period
from service.till.sales_file import FORMATS, sales_of

router = APIRouter(tags=["margins"])

MOST_VALUES: Final = 100_000
"""Values of a JSON body: a row of sales has 15 at the most."""

Model = TypeVar("Model", bound=BaseModel)
_FILES: Final = tuple(media for media in FORMATS if media != "application/json")
_MEDIA: Final = {media: {"schema": {"type": "string", "format": "binary"}} for media in _FILES}
_BOOKS: Final = formed("Margins", "The books")
_BODY: Final[dict[str, Any]] = {
    "requestBody": {
        "required": True,
        "content": {
            "application/json": {"schema": {"$ref": "#/components/schemas/MarginsRequest"}},
            **_MEDIA,
        },
    },
    "parameters": [
        {
            "name": name,
            "in": "query",
            "description": about,
            "required": False,
            "schema": {"type": "string"},
        }
        for name, about in described(SalesFileQuery).items()
    ],
}


async def body_for(request: Request, model: type[Model], most: int = MOST_VALUES) -> Model:
    """A JSON body as its model. Raises :class:`Problem`."""
    settings = request.app.state.settings
    raw = await body_of(request, settings.max_body_bytes, settings.body_timeout_s)
    return taken(model, document_of(raw), most)


@router.post(
    "/v1/margins", operation_id="create_margins", summary="The books of a period: did we make our margin?",
    response_model=None, responses={**_BOOKS, **REFUSALS, **NOT_FOUND},
    openapi_extra=_BODY,
)  # fmt: skip
async def create_margins(request: Request) -> Response:
    """What sold as JSON, or a till's export (CSV, XLSX, or a JSON array) whose columns the query names.

    Each row is costed as of its trading day. A file with a fault in any row is refused as a whole, row by row.
    """
    media = request.headers.get("content-type", "application/json").partition(";")[0].strip().lower()
    if media in _FILES or (media == "application/json" and request.url.query):
        settings = request.app.state.settings
        data, media = await file_of(request, tuple(FORMATS), settings.max_import_bytes, settings.body_timeout_s)
        return await _told(request, await in_time(request, _of_file, request, data, media, seconds=BOOKS_S))
    asked = await body_for(request, MarginsRequest)
    return await _told(request, await in_time(request, _of_body, request, asked, seconds=BOOKS_S))


Prepared = tuple[Question, Read, Books]


async def _told(request: Request, prepared: Prepared) -> Response:
    question, found, books = prepared
    media = form_of(request)
    passes = 1 if question.values is None else question.values.passes
    await request.state.spend("work", max(1, passes * found.costs))
    return await in_time(
        request,
        lambda: written(caught(lambda: margins_body(question, found, books)), media, "margins"),
        seconds=BOOKS_S,
    )


def caught(make: Callable[[], Any]) -> Any:
    """What is made; its faults as the problem that the caller is told."""
    try:
        return make()
    except (InputFault, InputFaults) as fault:
        raise of_input(fault) from None


def _prepared(request: Request, venue: str | None, currency: str | None, ask: Callable[[Books], Question]) -> Prepared:
    principal = request.state.principal
    books = Books(request, venue_of(principal, venue), currency)

    def make() -> Prepared:
        question = ask(books)
        return question, read(question, books, lambda row: venue_of(principal, row) or books.venue), books

    found: Prepared = caught(make)
    return found


def _of_body(request: Request, asked: MarginsRequest) -> Prepared:
    return _prepared(request, asked.venue, asked.currency, lambda books: question_of(asked, books))


def _of_file(request: Request, data: bytes, media: str) -> Prepared:
    sent = dict(request.query_params)
    repeated = [name for name in sent if len(request.query_params.getlist(name)) > 1]
    if repeated:
        raise of_faults([Fault("", "repeated", "Send each parameter once.")])
    try:
        query = SalesFileQuery.model_validate(sent)
    except ValidationError as error:
        raise of_faults(faults_of(error.errors(include_url=False, include_input=False), sent)) from None

    def ask(books: Books) -> Question:
        return question_of_file(query, sales_of(data, media, query), books)

    return _prepared(request, query.venue, query.currency, ask)


@router.get(
    "/v1/menus/{menu_id}/margins", operation_id="read_menu_margins", summary="The margins of a menu at its prices",
    response_model=None, dependencies=[Depends(each_once(MenuMarginsQuery))],
    responses={**_BOOKS, **QUERY_REFUSALS, **NOT_FOUND},
)  # fmt: skip
async def read_menu_margins(
    request: Request,
    menu_id: Annotated[str, Path(description="A stored menu's id.")],
    query: Annotated[MenuMarginsQuery, Query()],
) -> Response:
    """The menu's prices and the costs of a day or of each day of a period, for one of each drink or a stated mix.

    Another period is compared by the menu as it stood on its last day, with the same mix.
    """

    def prepare() -> Prepared:
        return _of_menu(request, menu_id, query)

    return await _told(request, await in_time(request, prepare, seconds=BOOKS_S))


def _of_menu(request: Request, menu_id: str, query: MenuMarginsQuery) -> Prepared:
    asked = caught(lambda: stated_period(query))
    if asked is not None and query.as_of is not None:
        raise of_faults([Fault("/as_of", "period_unclear", "State a day or a period.")])
    day = asked.last if asked is not None else query.as_of or today()
    books = Books(request, venue_of(request.state.principal, query.venue), None)
    snapshot = books.snapshot(day)
    if snapshot.held("menus", menu_id) is None:
        raise NotFound(NO_MENU)
    menu: Menu = snapshot.model("menus", menu_id)
    if menu.venue is not None and books.venue not in (None, menu.venue):
        raise NotFound(NO_MENU)
    books.venue = books.venue or menu.venue
    name = str(day) if asked is None else asked.name
    period = Period(f"{menu.name}, {name}", day if asked is None else asked.first, day)

    def make() -> Prepared:
        question = menu_question(menu, period, compared_period(query, period), query, books)
        return question, read(question, books, lambda _: books.venue), books

    found: Prepared = caught(make)
    return found
