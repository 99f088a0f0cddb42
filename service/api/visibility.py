"""What a key may see of stored entries, and which of them it may write."""

import json
from typing import Any

from service.api.problems import Problem
from service.api.scopes import Principal
from service.errors import NotFound
from service.store.held import Held
from service.store.kinds import GROUP, KINDS, label_view, text_of


def shown(kind: str, text: str, principal: Principal) -> bytes:
    """A body as a caller may see it: without selling prices where the key may not see them."""
    if principal.sees_prices:
        return text.encode()
    return text_of(label_view(kind, json.loads(text))).encode()


def may_see(kind: str, held: Held | None, principal: Principal) -> Held:
    """The entry, where the key may know of it: a key for one venue knows no other. Raises :class:`NotFound`."""
    missing = NotFound(f"There is no {KINDS[kind].one} of this id.")
    if held is None:
        raise missing
    if principal.venue is not None and not visible(kind, json.loads(held.text), principal):
        raise missing
    return held


def visible(kind: str, body: dict[str, Any], principal: Principal) -> bool:
    """Whether a key may know of an entry with this body: one for a venue knows what is the group's or its own."""
    only = principal.venue
    if only is None:
        return True
    if kind == "venues":
        return body["id"] in (only, GROUP)
    return kind not in ("menus", "offers") or body.get("venue") in (None, only)


def may_write(kind: str, body: dict[str, Any], principal: Principal) -> None:
    """A key for one venue writes what is that venue's alone. Raises :class:`Problem` 403."""
    only = principal.venue
    if only is None:
        return
    if kind in ("menus", "offers") and body.get("venue") == only:
        return
    if kind == "venues" and body["id"] == only:
        return
    raise Problem(403, "venue-only", "This key writes what belongs to its one venue, and nothing else.")
