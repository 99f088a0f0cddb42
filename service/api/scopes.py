"""Which scopes each operation asks for. An operation that is not in the table is refused, and stops the start."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Final

from fastapi import FastAPI, Request
from fastapi.routing import APIRoute
from msgspec import Struct

from service.api.problems import Problem
from service.store.kinds import KINDS

Asked = tuple[frozenset[str], ...]
"""Sets of scopes, any one of which is enough if the key has all of it. None at all: open to everyone."""

READERS: Final = ("costs:read", "labels:read", "margins:read", "catalogue:write")


class Principal(Struct, frozen=True):
    """Who asks: a key, or nobody where the service is open."""

    key_id: str
    scopes: frozenset[str]
    venue: str | None = None

    @property
    def sees_costs(self) -> bool:
        """Whether costs, offers and what is made of them are shown."""
        return "costs:read" in self.scopes

    @property
    def sees_prices(self) -> bool:
        """Whether selling prices and the settings behind them are shown."""
        return bool(self.scopes & {"costs:read", "margins:read", "catalogue:write"})


OPEN: Final = Principal("open", frozenset(READERS))
"""Requests without a key, where the service is open: everything but the keys themselves."""


def _any(*scopes: str) -> Asked:
    return tuple(frozenset((scope,)) for scope in scopes)


def _all(*scopes: str) -> Asked:
    return (frozenset(scopes),)


def _table() -> dict[str, Asked]:
    reader, writer = _any(*READERS), _all("catalogue:write")
    table: dict[str, Asked] = {
        "live": (), "ready": (),
        "desk_page": (), "page_file": (),  # they hold no data: the page's own calls carry the key
        "evaluate_drink": reader, "evaluate_drinks": reader,
        "scale_drink": reader, "compare_drinks": reader, "substitute_item": reader, "reformulate_drink": reader,
        "make_part": reader,
        "list_items": reader, "read_item": reader, "list_measures": reader, "list_jurisdictions": reader,
        "read_jurisdiction": reader, "ethanol_density": reader, "sucrose_density": reader,
        "proof": reader, "freezing_point": reader, "dilution": reader,
        "list_demo_drinks": reader, "read_demo_drink": reader,
        "openapi": reader, "docs": reader,
        "read_drink_cost": _all("costs:read"), "read_drink_label": _all("labels:read"),
        "read_menu_label": _all("labels:read"),
        "read_drink_margin": _all("margins:read"), "read_drink_evaluation": reader,
        "read_cost_history": _all("costs:read", "margins:read"),
        "list_costs": _all("costs:read"), "list_labels": _all("labels:read"),
        "list_cost_changes": _all("costs:read"), "list_label_changes": _all("labels:read"),
        "list_audit": _all("margins:read", "costs:read"),
        "read_access": _any(*READERS, "keys:admin"),
        "list_keys": _all("keys:admin"), "create_key": _all("keys:admin"), "read_key": _all("keys:admin"),
        "revoke_key": _all("keys:admin"),
        "read_metrics": _any("keys:admin", "margins:read"),
        "list_allergen_work": _any("labels:read", "catalogue:write"),
        "create_margins": _all("margins:read"), "read_menu_margins": _all("margins:read"),
        "create_ladder": _all("margins:read"), "create_moves": _all("margins:read", "costs:read"),
        "create_price_list_moves": _all("margins:read", "costs:read"),
        "create_usage": _all("margins:read", "costs:read"), "create_perishing": _all("margins:read", "costs:read"),
    }  # fmt: skip
    for name, kind in KINDS.items():
        priced = name in ("offers", "suppliers")
        read = _all("costs:read") if priced else reader
        write = _all("catalogue:write", "costs:read") if priced else writer
        table[f"list_{name}"] = table[f"read_{kind.one}"] = read
        table[f"history_{kind.one}"] = read if priced else _any("costs:read", "margins:read", "catalogue:write")
        for verb in ("create", "put", "patch", "delete", "archive", "reinstate"):
            table[f"{verb}_{kind.one}"] = write
    for operation in (
        "create_price_list",
        "read_price_list",
        "list_price_list_rows",
        "commit_price_list",
        "drop_price_list",
    ):
        table[operation] = _all("catalogue:write", "costs:read")
    return table


SCOPES: Final[Mapping[str, Asked]] = _table()


def operation_of(route: APIRoute) -> str:
    """The operation's id; that of a page outside of the document is its function's name."""
    return route.operation_id or route.name


def undeclared(app: FastAPI) -> list[str]:
    """Operations that declare no scopes; none may exist."""
    return [operation_of(route) for route in routes_of(app) if operation_of(route) not in SCOPES]


def routes_of(router: object) -> Iterator[APIRoute]:
    """The routes of an application, those of the routers in it too.

    Raises :class:`AssertionError` for a route of another kind, which no scope would guard.
    """
    routes: Iterable[object] = getattr(router, "routes", ())
    for route in routes:
        inner = getattr(route, "original_router", None) or getattr(route, "router", None)
        if isinstance(route, APIRoute):
            yield route
        elif inner is not None:
            yield from routes_of(inner)
        else:
            raise AssertionError(f"A route of another kind: {route!r}.")


async def admitted(request: Request) -> None:
    """Lets a request through whose key has what its operation asks for. Raises :class:`Problem` 403."""
    asked = SCOPES.get(operation_of(request.scope["route"]))
    if asked is None:
        raise Problem(403, "scope-missing", "This operation declares no scopes and is closed.")
    if not asked:
        return
    scopes = request.state.principal.scopes
    if not any(one <= scopes for one in asked):
        names = " or ".join(" with ".join(sorted(one)) for one in asked)
        raise Problem(403, "scope-missing", f"This operation needs a key with the scope {names}.")
