"""Keyset pagination: an opaque token that holds the last id, and the Link header of RFC 8288."""

import base64
import re
from collections.abc import Sequence
from typing import Protocol, TypeVar

from fastapi import Request

from service.errors import InputFault

_ID = re.compile(r"[a-z0-9][a-z0-9-]{0,63}\Z", re.ASCII)


class HasId(Protocol):
    """Something listed in the order of its id."""

    @property
    def id(self) -> str: ...


Row = TypeVar("Row", bound=HasId)


def page(rows: Sequence[Row], page_size: int, page_token: str | None) -> tuple[list[Row], str | None]:
    """One page of rows that are in the order of their ids, and the token of the next (``None``: the last)."""
    after = "" if page_token is None else token_read(page_token)
    left = [row for row in rows if row.id > after]
    shown = left[:page_size]
    return shown, token_of(shown[-1].id) if len(left) > page_size else None


def token_of(last_id: str) -> str:
    """The token of the page after an id."""
    return base64.urlsafe_b64encode(last_id.encode()).decode().rstrip("=")


def token_read(token: str) -> str:
    """The id after which a page begins."""
    try:
        last_id = base64.b64decode(token + "=" * (-len(token) % 4), b"-_", validate=True).decode("ascii")
    except ValueError:
        last_id = ""
    if not _ID.match(last_id):
        raise InputFault("page_token", "Send the next_page_token of an earlier answer.", "/page_token")
    return last_id


def next_link(request: Request, token: str | None) -> dict[str, str]:
    """The Link header to the next page, without a host."""
    if token is None:
        return {}
    target = request.url.include_query_params(page_token=token)
    return {"Link": f'<{target.path}?{target.query}>; rel="next"'}
