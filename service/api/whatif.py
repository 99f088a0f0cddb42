"""/v1/margins/moves and its kin: what moves the books, what was used, what perishes."""

from collections.abc import Callable
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Query, Request, Response

from schemas.moves import LadderRequest, MovesRequest
from schemas.perishing import PerishingRequest
from schemas.price_lists import ListMovesQuery
from schemas.usage import UsageRequest
from service.api.body import spooled_file_of
from service.api.books import Books
from service.api.documentation import NOT_FOUND, REFUSALS, json_body
from service.api.kept import today
from service.api.list_reading import LIST_BODY
from service.api.list_trial import Listed, listed_of_file, listed_of_kept, tried
from service.api.margins import body_for, caught
from service.api.moving import keys_of, moves_body, moves_books
from service.api.parameters import each_once
from service.api.patience import BOOKS_S, in_time
from service.api.perishing import perishing_body
from service.api.rungs import ladder_body
from service.api.sheets import form_of, formed, written
from service.api.stored_question import venue_of
from service.api.usage import usage_body, usage_rows
from service.suppliers.price_list import FORMATS

router = APIRouter(tags=["margins"])


async def _answer(request: Request, make: Callable[[], Any], media: str, answer: str) -> Response:
    return await in_time(request, lambda: written(caught(make), media, answer), seconds=BOOKS_S)


@router.post(
    "/v1/margins/moves", operation_id="create_moves", summary="What a change of supplier prices does to every drink",
    response_model=None, responses={**formed("Moves", "Before and after"), **REFUSALS, **NOT_FOUND},
    openapi_extra=json_body("MovesRequest"),
)  # fmt: skip
async def create_moves(request: Request) -> Response:
    """New costs, margins and prices, who falls under target, and the price of each offer at which a drink breaks even.

    Nothing is changed. Whether guests then buy as before is not guessed.
    """
    asked = await body_for(request, MovesRequest)
    if asked.price_list is None:
        return await _moves(request, asked, None)
    listed = await in_time(request, listed_of_kept, request, asked.price_list, seconds=BOOKS_S)
    with listed.file:
        return await _moves(request, asked, listed)


@router.post(
    "/v1/price-lists/moves", operation_id="create_price_list_moves",
    summary="What a supplier's price list would do to every drink", response_model=None,
    dependencies=[Depends(each_once(ListMovesQuery))],
    responses={**formed("Moves", "Before and after"), **REFUSALS, **NOT_FOUND},
    openapi_extra={"requestBody": LIST_BODY},
)  # fmt: skip
async def create_price_list_moves(request: Request, query: Annotated[ListMovesQuery, Query()]) -> Response:
    """The list is read as in a dry run and its prices and new offers tried on the drinks; nothing is stored."""
    settings = request.app.state.settings
    limits = settings.max_import_bytes, settings.body_timeout_s
    file, media_type = await spooled_file_of(request, tuple(FORMATS), *limits)
    with file:
        listed = await in_time(request, listed_of_file, request, query, media_type, file, seconds=BOOKS_S)
        return await _moves(request, MovesRequest(menu=query.menu, venue=query.venue, as_of=query.as_of), listed)


async def _moves(request: Request, asked: MovesRequest, listed: Listed | None) -> Response:
    media = form_of(request)
    day = asked.as_of or (today() if listed is None else listed.day)
    books = await in_time(request, moves_books, request, asked, day, seconds=BOOKS_S)
    keys = await in_time(request, keys_of, books, asked.menu, day, seconds=BOOKS_S)
    await request.state.spend("work", 2 * len(keys) + 1)

    def body() -> Any:
        trial = None if listed is None else tried(request, listed, books.snapshot(day))
        return moves_body(asked, books, keys, day, trial)

    return await _answer(request, body, media, "moves")


@router.post(
    "/v1/margins/ladder", operation_id="create_ladder", summary="The fewest and smallest price changes for a margin",
    response_model=None, responses={**formed("LadderAnswer", "The changes"), **REFUSALS, **NOT_FOUND},
    openapi_extra=json_body("LadderRequest"),
)  # fmt: skip
async def create_ladder(request: Request) -> Response:
    """Which prices to move to which allowed points so that the weighted margin is met, if what sells stays as it is."""
    asked = await body_for(request, LadderRequest)
    media, day = form_of(request), asked.as_of or today()
    books = Books(request, venue_of(request.state.principal, asked.venue), asked.currency)
    await request.state.spend("work", len(asked.drinks))
    return await _answer(request, lambda: ladder_body(asked, books, day), media, "ladder")


@router.post(
    "/v1/margins/usage", operation_id="create_usage", summary="Where it went: counts against what sold",
    response_model=None, responses={**formed("Usage", "By item"), **REFUSALS, **NOT_FOUND},
    openapi_extra=json_body("UsageRequest"),
)  # fmt: skip
async def create_usage(request: Request) -> Response:
    """Opening, movements and closing against the theoretical use of what sold: variance explained and unexplained."""
    asked = await body_for(request, UsageRequest)
    media, principal = form_of(request), request.state.principal
    books = Books(request, venue_of(principal, asked.venue), asked.currency)

    def rows() -> Any:
        return caught(lambda: usage_rows(asked, books, lambda row: venue_of(principal, row) or books.venue))

    sold = await in_time(request, rows, seconds=BOOKS_S)
    await request.state.spend("work", len(sold) + 1)
    return await _answer(request, lambda: usage_body(asked, books, sold), media, "usage")


@router.post(
    "/v1/margins/perishing", operation_id="create_perishing", summary="What perishes, and the batch that costs least",
    response_model=None, responses={**formed("Perishing", "What is thrown away"), **REFUSALS},
    openapi_extra=json_body("PerishingRequest"),
)  # fmt: skip
async def create_perishing(request: Request) -> Response:
    """Expected waste of parts, opened bottles, garnish and kegs from sales a day and life. Nothing has to be stored."""
    asked = await body_for(request, PerishingRequest)
    media = form_of(request)
    await request.state.spend("work", len(asked.items))
    return await _answer(request, lambda: perishing_body(asked), media, "perishing")
