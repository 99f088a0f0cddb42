"""/metrics: counts and times by route template, never by address, key or price."""

from typing import Final

from fastapi import APIRouter
from prometheus_client import CollectorRegistry, Counter, Histogram
from prometheus_client.exposition import CONTENT_TYPE_LATEST, generate_latest
from starlette.responses import PlainTextResponse, Response
from starlette.types import Scope

router = APIRouter(tags=["health"])

REGISTRY: Final = CollectorRegistry()
REQUESTS: Final = Counter(
    "washline_requests_total", "Requests by route template, method and status.", ("route", "method", "status"),
    registry=REGISTRY,
)  # fmt: skip
SECONDS: Final = Histogram(
    "washline_request_seconds", "Seconds to answer by route template and method.", ("route", "method"),
    buckets=(0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0), registry=REGISTRY,
)  # fmt: skip


def template_of(scope: Scope) -> str:
    """The template of the route that answered; all unknown addresses are one."""
    return getattr(scope.get("route"), "path", None) or "(none)"


@router.get(
    "/metrics", operation_id="read_metrics", summary="Counts and times for a monitor", response_class=PlainTextResponse,
)  # fmt: skip
async def read_metrics() -> Response:
    """In the text format that monitors read."""
    return Response(generate_latest(REGISTRY), media_type=CONTENT_TYPE_LATEST)
