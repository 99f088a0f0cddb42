"""Puts the application together: routes, limits, problems, documentation."""

import asyncio
import gc
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, suppress

from fastapi import Depends, FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from msgspec.structs import replace
from starlette.exceptions import HTTPException

from service.amounts import Measures
from service.api import (
    access,
    answers,
    bulk,
    docs,
    evaluations,
    feeds,
    health,
    history,
    keys,
    margins,
    metrics,
    overviews,
    page,
    physics,
    price_lists,
    printing,
    reference,
    solve,
    stored,
    trail,
    whatif,
)
from service.api.body import Drained
from service.api.documentation import document
from service.api.door import Door
from service.api.kept import Answers
from service.api.limits import Limits
from service.api.pointer import faults_of
from service.api.problems import NOT_FOUND, Problem, of_faults, of_input, of_store
from service.api.scopes import admitted, undeclared
from service.errors import Conflict, InputFault, InputFaults, NotFound, Stale, StoreBusy, StoreFull, WashlineError
from service.language import languages
from service.lookup import Catalogue
from service.offers import offers_by_item
from service.reference import Reference
from service.reference import reference as embedded
from service.rules import jurisdiction, rules
from service.settings import Settings, settings
from service.store.demokeys import settle_demo_keys
from service.store.keys import mark_used
from service.store.snapshot import Snapshots
from service.store.store import Store
from service.store.transaction import Embedded

ROUTERS = (
    evaluations.router, bulk.router, history.router, solve.router, stored.router, answers.router, overviews.router,
    printing.router, feeds.router, trail.router, price_lists.router, margins.router, whatif.router, access.router,
    keys.router,
    physics.router, reference.router, health.router, metrics.router, page.router,
)  # fmt: skip

VERSION = "0.1.0"


def create_app(chosen: Settings | None = None) -> FastAPI:
    """The application, with the reference, the rules and the store checked; a fault in them stops it here."""
    current = chosen or settings()
    gc.disable()  # What is loaded here stays for good: walking it while it grows only costs time.
    app = FastAPI(
        title="Washline", version=VERSION, docs_url=None, redoc_url=None, openapi_url=None, redirect_slashes=False,
        dependencies=[Depends(admitted)], lifespan=_until_the_end,
    )  # fmt: skip
    app.openapi = lambda: document(app)  # type: ignore[method-assign]  # FastAPI's documented way to extend it
    app.state.settings = current
    app.state.reference = embedded()
    app.state.embedded = known_to_the_ledger(app.state.reference)
    languages()
    for code in current.jurisdictions:
        jurisdiction(code)
    app.state.store = Store(current.database_url, rules().version, app.state.reference.version)
    app.state.used_keys = {}
    app.state.snapshots = Snapshots(app.state.store)
    app.state.answers = Answers()
    app.state.turn = asyncio.Lock()  # One line of all streams is computed at a time, so that many delay as one does.
    try:
        if current.demo:
            from service.seeding import seed_demo  # an invented bar has no place in a start without it

            seed_demo(app.state.store, app.state.embedded)
        settle_demo_keys(app.state.store, wanted=current.demo and current.on_loopback)
    except Exception:
        app.state.store.close()
        raise
    for router in ROUTERS:
        app.include_router(router)
    if current.demo:
        from service.api import demo  # as above

        app.include_router(demo.router)
    if current.docs:
        app.include_router(docs.router)
    missing = undeclared(app)
    if missing:
        raise AssertionError(f"Operations without declared scopes: {', '.join(missing)}.")
    for fault, handler in (
        (Problem, _problem), (InputFault, _input_fault), (InputFaults, _input_fault), (StoreBusy, _store_fault),
        (StoreFull, _store_fault), (NotFound, _store_fault), (Conflict, _store_fault), (Stale, _store_fault),
        (RequestValidationError, _query_fault), (HTTPException, _http_fault),
    ):  # fmt: skip
        app.add_exception_handler(fault, handler)
    app.add_middleware(Door, store=app.state.store, current=current, used=app.state.used_keys)
    app.add_middleware(Limits)
    gc.freeze()
    gc.enable()
    return app


@asynccontextmanager
async def _until_the_end(app: FastAPI) -> AsyncIterator[None]:
    """At the end of serving, notes when keys were last used and gives the store back."""
    yield
    await asyncio.to_thread(_ended, app.state.store, app.state.used_keys)


def _ended(store: Store, used: dict[str, str]) -> None:
    with suppress(StoreBusy, StoreFull):  # A store that cannot be written now is no reason not to stop.
        if used:
            with store.writing() as connection:
                mark_used(connection, used)
    store.close()


def known_to_the_ledger(reference: Reference) -> Embedded:
    """The embedded reference as the ledger has to know it."""
    priced_from: dict[str, list[str]] = {}
    for item in reference.items.values():
        if item.squeezed_from is not None:
            priced_from.setdefault(item.squeezed_from.item, []).append(item.id)
    return Embedded(
        lambda item_id: item_id in reference.items,
        lambda item_id, also: reference.nearest_ids(item_id, also=tuple(also)),
        priced_from,
    )


def demo_catalogue() -> Catalogue:
    """The demo bar as the catalogue of a service that stores nothing."""
    from service.demo import demo  # as above

    bar = demo()
    offers = {
        item: tuple(replace(offer, pointer="") for offer in rows)
        for item, rows in offers_by_item(bar.offers, Measures()).items()
    }
    return Catalogue(bar.items, bar.preparations, offers)


async def _store_fault(_: Request, fault: Exception) -> Response:
    assert isinstance(fault, WashlineError)
    return of_store(fault).response()


async def _problem(_: Request, problem: Exception) -> Response:
    assert isinstance(problem, Problem)
    return Drained(problem) if problem.status == 413 else problem.response()


async def _input_fault(_: Request, fault: Exception) -> Response:
    assert isinstance(fault, InputFault | InputFaults)
    return of_input(fault).response()


async def _query_fault(request: Request, fault: Exception) -> Response:
    """Faults in query parameters; the pointer is into the parameters as an object."""
    assert isinstance(fault, RequestValidationError)
    sent = dict(request.query_params)
    errors = [{**error, "loc": tuple(error["loc"][1:])} for error in fault.errors()]
    return of_faults(faults_of(errors, sent)).response()  # type: ignore[arg-type]  # FastAPI passes pydantic's details on


async def _http_fault(_: Request, fault: Exception) -> Response:
    """What the router itself refuses: no such address, no such method."""
    assert isinstance(fault, HTTPException)
    if fault.status_code == 405:
        problem = Problem(405, "method-not-allowed", "This address does not take that method; see Allow.")
    elif fault.status_code == 404:
        problem = Problem(*NOT_FOUND)
    else:
        problem = Problem(fault.status_code, "refused", "The request was refused.")
    return problem.response(dict(fault.headers or {}))
