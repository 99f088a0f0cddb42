"""Puts the application together: routes, limits, problems, documentation."""

import gc

from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException

from service.amounts import Measures
from service.api import docs, evaluations, health, physics, reference
from service.api.body import Drained
from service.api.documentation import document
from service.api.limits import Limits
from service.api.pointer import faults_of
from service.api.problems import NOT_FOUND, Problem, of_faults, of_input
from service.errors import InputFault, InputFaults
from service.language import languages
from service.lookup import EMPTY_CATALOGUE, Catalogue
from service.offers import offers_by_item
from service.reference import reference as embedded
from service.rules import jurisdiction, rules
from service.settings import Settings, settings

VERSION = "0.1.0"


def create_app(chosen: Settings | None = None) -> FastAPI:
    """The application, with the reference and the rules loaded and checked; a malformed data file stops it here."""
    current = chosen or settings()
    gc.disable()  # What is loaded here stays for good: walking it while it grows only costs time.
    app = FastAPI(
        title="Washline", version=VERSION, docs_url=None, redoc_url=None, openapi_url=None, redirect_slashes=False
    )
    app.openapi = lambda: document(app)  # type: ignore[method-assign]  # FastAPI's documented way to extend it
    app.state.settings = current
    app.state.reference = embedded()
    app.state.catalogue = demo_catalogue() if current.demo else EMPTY_CATALOGUE
    rules()
    languages()
    for code in current.jurisdictions:
        jurisdiction(code)
    for router in (evaluations.router, physics.router, reference.router, health.router):
        app.include_router(router)
    if current.demo:
        from service.api import demo  # an invented bar has no place in a start without it

        app.include_router(demo.router)
    if current.docs:
        app.include_router(docs.router)
    app.add_exception_handler(Problem, _problem)
    app.add_exception_handler(InputFault, _input_fault)
    app.add_exception_handler(InputFaults, _input_fault)
    app.add_exception_handler(RequestValidationError, _query_fault)
    app.add_exception_handler(HTTPException, _http_fault)
    app.add_middleware(Limits)
    gc.freeze()
    gc.enable()
    return app


def demo_catalogue() -> Catalogue:
    """The demo bar as the catalogue of a service that stores nothing."""
    from service.demo import demo  # as above

    bar = demo()
    offers = {
        item: tuple(offer._replace(pointer="") for offer in rows)
        for item, rows in offers_by_item(bar.offers, Measures()).items()
    }
    return Catalogue(bar.items, bar.preparations, offers)


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
