"""The page at / and its files under /page: read once at the start, sent with tags, and nothing else is let load."""

import functools
from pathlib import Path
from typing import Final, NamedTuple

from fastapi import APIRouter, Request, Response

from service.api.conditional import etag_of, tagged
from service.api.problems import NOT_FOUND, Problem

router = APIRouter(include_in_schema=False)

FOLDER: Final = Path(__file__).parents[1] / "page"
MEDIA: Final = {
    ".html": "text/html; charset=utf-8", ".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8",
}  # fmt: skip
POLICY: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "form-action 'none'; base-uri 'none'; frame-ancestors 'none'"
)
"""Nothing from another host, nothing written into the page, no form that leaves it, and no frame around it."""


class File(NamedTuple):
    """One file as it is sent."""

    content: bytes
    headers: dict[str, str]
    tag: str


@functools.cache
def files() -> dict[str, File]:
    """The files of the page by name; only those of a known kind are served."""
    found = {}
    for path in sorted(FOLDER.iterdir()):
        media_type = MEDIA.get(path.suffix)
        if media_type is not None:
            content = path.read_bytes()
            headers = {"Content-Security-Policy": POLICY, "Referrer-Policy": "no-referrer", "Content-Type": media_type}
            found[path.name] = File(content, headers, etag_of(content))
    return found


def _sent(request: Request, name: str) -> Response:
    """A file with its tag; a copy is asked about before it is used, so that a new version is seen at once."""
    file = files().get(name)
    if file is None:
        raise Problem(*NOT_FOUND)
    response = tagged(request, file.content, file.headers, file.tag)
    response.headers["Cache-Control"] = "no-cache"
    del response.headers["Vary"]  # the same for everyone: it holds no data
    return response


@router.get("/")
async def desk_page(request: Request) -> Response:
    """The page."""
    return _sent(request, "index.html")


@router.get("/page/{name}")
async def page_file(request: Request, name: str) -> Response:
    """A file of the page."""
    return _sent(request, name)
