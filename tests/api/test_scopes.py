"""Routes x scopes: every operation of the application with every set of scopes, and everything that is no key.

The expectation is written here from the contract ("Errors, limits, scopes") and does not read the service's table.
"""

import itertools
import re
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from typing import Any

import pytest
import time_machine
from fastapi import APIRouter
from fastapi.routing import APIRoute

from service.api import app as application
from service.api import scopes
from service.api.door import Door
from service.api.scopes import routes_of
from service.settings import Settings
from service.store import keys
from tests.api.bar import write
from tests.api.conftest import Client

ALL = ("costs:read", "labels:read", "margins:read", "catalogue:write", "keys:admin")
SETS = [frozenset(chosen) for size in range(6) for chosen in itertools.combinations(ALL, size)]
READERS = set(ALL) - {"keys:admin"}
PUBLIC = {"/livez", "/readyz"}
ASKED = {
    "/v1/evaluate", "/v1/evaluations", "/v1/scale", "/v1/compare", "/v1/substitute", "/v1/reformulate", "/v1/make-part",
}  # fmt: skip
"""Questions that are asked by POST and change nothing."""
BOOKS: dict[str, frozenset[str]] = {
    "/v1/margins": frozenset(("margins:read",)), "/v1/margins/ladder": frozenset(("margins:read",)),
    "/v1/menus/{menu_id}/margins": frozenset(("margins:read",)),
    **dict.fromkeys(
        (
            "/v1/margins/moves", "/v1/price-lists/moves", "/v1/margins/usage", "/v1/margins/perishing",
            "/v1/costs/history",
        ),
        frozenset(("margins:read", "costs:read")),
    ),
}  # fmt: skip
MONEYED = ("/v1/offers", "/v1/suppliers")


def admits(method: str, path: str, held: frozenset[str]) -> bool:  # noqa: PLR0911  # one line of the contract each
    """What the contract says of one operation and one set of scopes."""
    if path in PUBLIC or path == "/" or path.startswith("/page/"):
        return True
    if path in BOOKS:
        return BOOKS[path] <= held
    if path.startswith("/v1/price-lists"):
        return {"catalogue:write", "costs:read"} <= held
    if path == "/v1/allergen-work":
        return bool(held & {"labels:read", "catalogue:write"})
    if path == "/v1/access":
        return bool(held)  # a key that may do anything may know what
    if path.startswith("/v1/keys"):
        return "keys:admin" in held
    if path == "/metrics":
        return bool(held & {"keys:admin", "margins:read"})
    if path == "/v1/audit":
        return {"margins:read", "costs:read"} <= held
    if path.endswith("/cost") or path in ("/v1/costs", "/v1/changes/costs"):
        return "costs:read" in held
    if path.endswith("/label") or path in ("/v1/labels", "/v1/changes/labels"):
        return "labels:read" in held
    if path.endswith("/margin"):
        return "margins:read" in held
    writes = method != "GET" and path not in ASKED
    if path.startswith(MONEYED):
        return {"catalogue:write", "costs:read"} <= held if writes else "costs:read" in held
    if writes:
        return "catalogue:write" in held
    if path.endswith("/revisions"):
        return bool(held & {"costs:read", "margins:read", "catalogue:write"})
    return bool(held & READERS)


@pytest.fixture(scope="module")
def closed() -> Iterator[Client]:
    """A service that asks a key of everyone, with the demo and the page of documentation."""
    made = Client(Settings(demo=True, require_keys=True))
    yield made
    made.close()


@pytest.fixture
def small() -> Iterator[Client]:
    """A service of one test that asks a key of everyone."""
    made = Client(Settings(require_keys=True))
    yield made
    made.close()


def _asked(client: Client) -> list[tuple[str, str, str]]:
    """Method, template and an address of each operation."""
    return [
        (method, route.path, re.sub(r"\{[a-z_]+\}", "no-such-thing", route.path))
        for route in routes_of(client.app)
        for method in sorted(route.methods or ())
    ]


def test_every_operation_answers_each_set_of_scopes_as_the_contract_says(closed: Client) -> None:
    operations = _asked(closed)
    assert len(operations) >= 80
    compared, faults = 0, []
    for held in SETS:
        header = closed.key(*held) if held else closed.key()
        for method, template, address in operations:
            body: dict[str, Any] = {"json": {}} if method in ("POST", "PUT", "PATCH") else {}
            answer = closed.ask(method, address, headers=header, **body)
            admitted = answer.status_code != 403
            if admitted != admits(method, template, held) or answer.status_code in (401, 429, 500):
                faults.append(f"{method} {template} {sorted(held)}: {answer.status_code} {answer.text[:100]}")
            if not admitted:
                assert answer.json()["type"] == "urn:washline:problem:scope-missing"
                assert ":" in answer.json()["detail"], "names the scope"
            compared += 1
    assert not faults, "\n".join(faults)
    assert compared == 32 * len(operations)


def test_without_a_key_a_closed_service_answers_the_probes_alone(closed: Client) -> None:
    for method, template, address in _asked(closed):
        answer = closed.ask(method, address)
        open_to_all = template in PUBLIC or template == "/" or template.startswith("/page/")
        assert (answer.status_code in (200, 404)) is open_to_all, template
        if not open_to_all:
            assert answer.status_code == 401
            assert answer.headers["www-authenticate"] == "Bearer"


def test_without_a_key_an_open_service_answers_all_but_the_keys(bar: Client) -> None:
    for method, template, address in _asked(bar):
        body: dict[str, Any] = {"json": {}} if method in ("POST", "PUT", "PATCH") else {}
        answer = bar.ask(method, address, **body)
        assert (answer.status_code == 403) is template.startswith("/v1/keys"), (method, template, answer.text)


def test_an_operation_without_declared_scopes_stops_the_start(monkeypatch: pytest.MonkeyPatch) -> None:
    router = APIRouter()

    @router.get("/v1/left-open", operation_id="left_open")
    async def left_open() -> dict[str, str]:
        return {}

    monkeypatch.setattr(application, "ROUTERS", (*application.ROUTERS, router))
    with pytest.raises(AssertionError, match="left_open"):
        application.create_app(Settings())


def test_an_operation_without_declared_scopes_would_be_closed(bar: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(scopes, "SCOPES", {})
    for address in ("/v1/drinks", "/livez"):
        assert bar.get(address).status_code == 403


def test_every_declared_operation_that_is_served_is_a_route(closed: Client) -> None:
    served = [scopes.operation_of(route) for route in routes_of(closed.app)]
    assert len(set(served)) == len(served)
    assert all(isinstance(route, APIRoute) for route in routes_of(closed.app))


WRONG: dict[str, Callable[[str], list[str]]] = {
    "empty": lambda text: [""], "bearer alone": lambda text: ["Bearer"], "no scheme": lambda text: [text],
    "another scheme": lambda text: [f"Basic {text}"], "truncated": lambda text: [f"Bearer {text[:-1]}"],
    "upper case": lambda text: [f"Bearer {text.upper()}"], "trailing space": lambda text: [f"Bearer {text} "],
    "two spaces": lambda text: [f"Bearer  {text}"], "10 kB": lambda text: [f"Bearer {text * 160}"],
    "two headers": lambda text: [f"Bearer {text}", f"Bearer {text}"],
    "another secret": lambda text: [f"Bearer {text[:-1]}{'A' if text[-1] != 'A' else 'B'}"],
    "unknown prefix": lambda text: ["Bearer wl_000000000000_" + text.split("_", 2)[2]],
}  # fmt: skip


@pytest.mark.parametrize("required", [True, False])
def test_every_wrong_key_gets_the_same_refusal(required: bool) -> None:
    client = Client(Settings(require_keys=required))
    text = client.key("labels:read")["Authorization"].removeprefix("Bearer ")
    with time_machine.travel(datetime(2026, 11, 25, 12, tzinfo=UTC), tick=False):
        expired = client.key("labels:read", expires_on=datetime(2026, 11, 24, tzinfo=UTC).date())
        bodies = {
            name: client.get("/v1/drinks", headers=[("Authorization", value) for value in made(text)])
            for name, made in WRONG.items()
        }
        bodies["expired"] = client.get("/v1/drinks", headers=expired)
        bodies["in the address"] = client.get(f"/v1/drinks?key={text}")
        bodies["in the address, with a right one"] = client.get(
            f"/v1/drinks?key={text}", headers={"Authorization": f"Bearer {text}"}
        )
        assert (
            client.get("/v1/drinks", headers={"Authorization": f"bearer {text}"}).status_code == 200
        )  # RFC 9110, 11.1
    told = {(answer.status_code, answer.content) for answer in bodies.values()}
    assert len(told) == 1, {name: answer.text for name, answer in bodies.items()}
    assert bodies["empty"].status_code == 401
    assert all(answer.headers["www-authenticate"] == "Bearer" for answer in bodies.values())
    client.close()


def test_a_key_ends_at_once_and_the_others_go_on(small: Client) -> None:
    admin, other = small.key("keys:admin"), small.key("labels:read")
    made = small.ask("POST", "/v1/keys", json={"name": "Till", "scopes": ["labels:read"]}, headers=admin)
    assert made.status_code == 201
    header = {"Authorization": f"Bearer {made.json()['key']}"}
    assert small.get("/v1/drinks", headers=header).status_code == 200
    ended = small.ask("DELETE", f"/v1/keys/{made.json()['id']}", headers=admin)
    assert ended.status_code == 200
    assert "key" not in ended.json()
    assert small.get("/v1/drinks", headers=header).status_code == 401
    assert small.get("/v1/drinks", headers=other).status_code == 200
    assert made.json()["key"] not in small.get("/v1/keys", headers=admin).text
    with small.app.state.store.reading() as connection:
        trail = str(connection.exec_driver_sql("SELECT * FROM audit").all())
    assert made.json()["key"].split("_", 2)[2] not in trail


def test_a_key_that_is_revoked_while_it_is_read_is_not_remembered(
    small: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    header, other = small.key("labels:read"), small.key("labels:read")
    original = Door._read

    def slow(self: Door, prefix: str) -> keys.Key | None:
        found = original(self, prefix)
        if found is not None and prefix in header["Authorization"]:
            with small.app.state.store.writing() as connection:
                keys.revoke(connection, found.id)
            monkeypatch.setattr(Door, "_read", original)
            small_door(small)._known_at = small.app.state.store.versions().keys  # another request saw the change
        return found

    monkeypatch.setattr(Door, "_read", slow)
    small.get("/v1/drinks", headers=header)
    assert small.get("/v1/drinks", headers=other).status_code == 200
    assert small.get("/v1/drinks", headers=header).status_code == 401


def small_door(client: Client) -> Door:
    """The door that stands in front of an application."""
    here = client.app.middleware_stack
    while not isinstance(here, Door):
        here = here.app  # type: ignore[union-attr]  # every middleware has the next one
    return here


def test_exactly_the_quota_is_answered_by_several_processes_together(tmp_path_factory: pytest.TempPathFactory) -> None:
    url = f"sqlite:///{tmp_path_factory.mktemp('quota')}/bar.db"
    with time_machine.travel(datetime(2026, 11, 25, 12, 0, 30, tzinfo=UTC), tick=False):
        workers = [Client(Settings(database_url=url, requests_per_minute=50)) for _ in range(2)]
        header = workers[0].key("labels:read")
        statuses = [workers[number % 2].get("/v1/drinks", headers=header).status_code for number in range(70)]
        assert (statuses.count(200), statuses.count(429)) == (50, 20)
        refused = workers[0].get("/v1/drinks", headers=header)
        assert refused.headers["retry-after"] == "30"
        assert refused.headers["ratelimit-policy"] == '"requests";q=50;w=60, "work";q=60000;w=60'
        assert refused.headers["ratelimit"].startswith('"requests";r=0;t=30')
        other = workers[0].get("/v1/drinks", headers=workers[0].key("labels:read"))
        assert other.headers["ratelimit"].startswith('"requests";r=49;t=30')
    with time_machine.travel(datetime(2026, 11, 25, 12, 1, tzinfo=UTC), tick=False):
        assert workers[1].get("/v1/drinks", headers=header).status_code == 200
    for worker in workers:
        worker.close()


def test_a_menu_is_as_much_work_as_its_drinks() -> None:
    """Four drinks, or all of a menu, where allergens are asked about with each modifier that brings an item; with one
    less than that left, nothing is computed."""
    with time_machine.travel(datetime(2026, 11, 25, 12, tzinfo=UTC), tick=False):
        spare = Client(Settings(work_per_minute=1000, demo=True))
        drinks = len({row["drink"] for row in spare.get("/v1/menus/winter-harbour").json()["entries"]})
        brought = 0
        for drink in {row["drink"] for row in spare.get("/v1/menus/winter-harbour").json()["entries"]}:
            modifiers = spare.get(f"/v1/drinks/{drink}").json().get("modifiers", ())
            brought += sum(bool(one.get("add") or one.get("replace")) for one in modifiers)
        assert brought
        for path, scope, size in (
            ("/v1/costs?page_size=4", "costs:read", 4),
            ("/v1/labels?page_size=4", "labels:read", 4),
            ("/v1/allergen-work?menu=winter-harbour", "labels:read", drinks + brought),
            ("/v1/menus/winter-harbour/label", "labels:read", drinks),
        ):
            answer = spare.get(path, headers=spare.key(scope))
            assert 1000 - int(re.findall(r'"work";r=(\d+)', answer.headers["ratelimit"])[0]) == size, path
        spare.close()
        for quota, status in ((drinks, 200), (drinks - 1, 429)):
            client = Client(Settings(work_per_minute=quota, demo=True))
            answer = client.get("/v1/menus/winter-harbour/label", headers=client.key("labels:read"))
            assert answer.status_code == status
            client.close()


def test_work_is_counted_where_an_answer_is_computed() -> None:
    client = Client(Settings(work_per_minute=3, demo=True))
    header = client.key("labels:read")
    with time_machine.travel(datetime(2026, 11, 25, 12, tzinfo=UTC), tick=False):
        statuses = [
            client.get(f"/v1/drinks/fog-signal/label?as_of=2026-11-{day:02}", headers=header).status_code
            for day in range(1, 6)
        ]
        assert statuses == [200, 200, 200, 429, 429]
        assert client.get("/v1/drinks/fog-signal/label?as_of=2026-11-01", headers=header).status_code == 200
    client.close()


def test_wrong_keys_from_one_address_have_to_wait(small: Client) -> None:
    with time_machine.travel(datetime(2026, 11, 25, 12, tzinfo=UTC), tick=False):
        wrong = {"Authorization": "Bearer wl_000000000000_" + "A" * 43}
        statuses = [small.get("/v1/drinks", headers=wrong).status_code for _ in range(65)]
        assert statuses == [401] * 60 + [429] * 5
        assert small.get("/v1/drinks", headers=small.key("labels:read")).status_code == 200


def _fields(value: object, place: str = "") -> Iterator[str]:
    if isinstance(value, dict):
        for name, inner in value.items():
            yield f"{place}/{name}"
            yield from _fields(inner, f"{place}/{name}")
    elif isinstance(value, list):
        for number, inner in enumerate(value):
            yield from _fields(inner, f"{place}/{number}")


def test_adding_a_scope_never_removes_a_field() -> None:
    client = Client(Settings())
    write(client)
    headers = {held: client.key(*sorted(held)) for held in SETS if held}
    addresses = (
        "/v1/drinks", "/v1/drinks/quay-sour", "/v1/menus/deck", "/v1/menus", "/v1/venues/group", "/v1/venues",
        "/v1/drinks/quay-sour/evaluation", "/v1/drinks/quay-sour/label", "/v1/drinks/quay-sour/cost", "/v1/offers",
        "/v1/drinks/quay-sour/margin?menu=evening", "/v1/costs", "/v1/labels", "/v1/ingredients/pier-rum/revisions",
    )  # fmt: skip
    seen = {
        (address, held): set(_fields(answer.json()))
        for address in addresses
        for held, header in headers.items()
        if (answer := client.get(address, headers=header)).status_code == 200
    }
    assert len(seen) > 150
    for (address, held), fields in seen.items():
        for more in ALL:
            wider = seen.get((address, held | {more}))
            assert wider is not None, (address, held, more)
            assert fields <= wider, (address, held, more, fields - wider)
    client.close()
