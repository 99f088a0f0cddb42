"""An application that reads and checks the same body as the service and answers a constant, behind the same limits."""

import os
from pathlib import Path

from fastapi import FastAPI, Request, Response

from schemas.evaluation import EvaluationRequest
from service.api.body import body_of
from service.api.limits import Limits
from service.settings import Settings

ANSWER_FILE = "BENCH_ANSWER_FILE"
"""The environment variable that names the file with the constant."""


def create_app() -> FastAPI:
    """The application; its constant is read once."""
    constant = Path(os.environ[ANSWER_FILE]).read_bytes()
    settings = Settings()
    app = FastAPI(docs_url=None, redoc_url=None, openapi_url=None)

    @app.post("/v1/evaluate", response_model=None)
    async def checked(request: Request) -> Response:
        """Checks the body, computes nothing."""
        EvaluationRequest.model_validate_json(await body_of(request, settings.max_body_bytes, settings.body_timeout_s))
        return Response(constant, media_type="application/json")

    app.add_middleware(Limits)
    return app
