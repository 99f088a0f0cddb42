"""A key for labels learns nothing of prices: two stores that differ in nothing else answer it byte for byte alike."""

import itertools
import json
import random
import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest
import time_machine
from fastapi.routing import APIRoute

from service.api import answers, printing, stored, stored_question, visibility
from service.api.conditional import etag_of, tagged
from service.api.scopes import Principal, routes_of
from service.store.held import current
from service.store.kinds import text_of
from service.store.sold import Shelf
from tests.api.confidential import ASKED, Question, Twins, questions, told
from tests.api.test_scopes import admits

LABELS = frozenset(("labels:read",))
LEAST = 2000
"""Requests below which the comparison proves nothing."""

TOLD = re.compile(r"cost|price|margin|supplier|pricing|discount|rebate|deposit", re.IGNORECASE)


@pytest.fixture
def twins() -> Iterator[Twins]:
    """Two stores of one test."""
    made = Twins()
    with time_machine.travel(ASKED, tick=False):
        yield made
    made.close()


def test_a_key_for_labels_cannot_tell_the_two_stores_apart(twins: Twins) -> None:
    differences, statuses = [], dict.fromkeys((200, 304, 401, 403, 404, 405, 422), 0)
    asked = 0
    routes = list(routes_of(twins.one.app))
    answered: set[str] = set()
    for number, question in enumerate(questions()):
        if number % 150 == 149:  # What was kept before a price moved is asked for again after it.
            twins.move(number)
        answer, found = twins.compared(question)
        asked += 1
        if answer.status_code == 200:
            answered |= {route.path for route in routes if _is_of(route, question)}
        statuses[answer.status_code] = statuses.get(answer.status_code, 0) + 1
        if found is not None:
            differences.append(found)
        tag = answer.headers.get("etag")
        if tag is not None and question.method == "GET":
            for sent in (tag, "*", '"0"') if asked % 5 == 0 else (tag,):
                again = Question("GET", question.path, None, (("If-None-Match", sent),))
                asked += 1
                answer, found = twins.compared(again)
                statuses[304] += answer.status_code == 304
                if found is not None:
                    differences.append(found)
    assert not differences, "\n".join(differences[:5])
    reached = {route.path for route in routes for method in route.methods or () if admits(method, route.path, LABELS)}
    assert reached - answered - {"/v1/keys"} == set(), "routes that a key for labels reaches and that were not compared"
    assert asked >= LEAST
    assert statuses[200] > 800
    assert min(statuses[status] for status in (304, 403, 404, 405, 422)) >= 3, statuses
    assert 500 not in statuses


def _is_of(route: APIRoute, question: Question) -> bool:
    """Whether a route answers a question."""
    return (
        question.method in (route.methods or ()) and route.path_regex.match(question.path.partition("?")[0]) is not None
    )


def test_a_price_that_moves_between_two_questions_leaves_no_trace(twins: Twins) -> None:
    """Neither in the answer nor in what it is charged with: what was kept before is sent again."""
    paths = [
        "/v1/menus/evening/label", "/v1/menus/chalk/label", "/v1/drinks/quay-sour/label", "/v1/labels?menu=evening",
        "/v1/drinks/quay-sour/evaluation", "/v1/allergen-work?menu=evening", "/v1/changes/labels", "/v1/menus/evening",
    ]  # fmt: skip
    for number in range(3):
        for path in paths:
            assert twins.difference(Question("GET", path)) is None, (number, path)
        twins.move(number)


def test_the_two_stores_do_differ_for_a_key_that_sees_costs(twins: Twins) -> None:
    for client in (twins.one, twins.other):
        assert client.key("costs:read", "labels:read", secret="B" * 43, prefix="b" * 12)
    twins.key = {"Authorization": f"Bearer wl_{'b' * 12}_{'B' * 43}"}
    for path in ("/v1/drinks/quay-sour/cost", "/v1/offers", "/v1/menus/deck", "/v1/changes/costs", "/v1/costs"):
        assert twins.difference(Question("GET", path)) is not None


def test_no_name_or_figure_of_money_is_in_any_answer(twins: Twins) -> None:
    paths = [question for question in questions() if question.method == "GET" and "openapi" not in question.path]
    looked = 0
    for question in itertools.islice(paths, 0, None, 3):
        answer = told(twins.one, twins.key, question)
        if answer.status_code != 200 or "json" not in answer.headers["content-type"]:
            continue
        if question.path.partition("?")[0] in ("/v1/menus/board", "/v1/menus/chalk", "/v1/menus/chalk/label"):
            continue
        looked += 1
        names = {name for name, value in _names(answer.json()) if TOLD.search(name) and value is not None}
        assert names <= {"prices_public"}, (question.path, names)
    assert looked > 200


def _names(value: Any) -> Iterator[tuple[str, Any]]:
    if isinstance(value, dict):
        for name, inner in value.items():
            yield name, inner
            yield from _names(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _names(inner)


def _always_stamped(patch: pytest.MonkeyPatch) -> None:
    original = answers.stamped

    def leaky(body: Any, snapshot: Any, principal: Any, asked: Any) -> Any:
        made = original(body, snapshot, principal, asked)
        made["meta"]["cost_version"] = snapshot.version
        return made

    patch.setattr(answers, "stamped", leaky)
    patch.setattr(printing, "stamped", leaky)


def _tag_over_everything(patch: pytest.MonkeyPatch) -> None:
    def leaky(request: Any, kind: Any, entry_id: str, _: Any) -> Any:
        with request.app.state.store.reading() as connection:
            held = visibility.may_see(kind.name, current(connection, kind.name, entry_id), request.state.principal)
        content = visibility.shown(kind.name, held.text, request.state.principal)
        return tagged(request, content, tag=etag_of(held.text.encode()))

    patch.setattr(stored, "_read", leaky)


def _prices_counted_as_labels(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(Shelf, "moved_by", lambda *_, **__: True)


def _bodies_shown_whole(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(visibility, "label_view", lambda _, body: body)


def _pricing_read_for_labels(patch: pytest.MonkeyPatch) -> None:
    original = stored_question.settings_of
    patch.setattr(stored_question, "settings_of", lambda *given, **more: original(*given, **{**more, "priced": True}))


def _costs_for_everyone(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(Principal, "sees_costs", property(lambda _: True))


def _length_alone(patch: pytest.MonkeyPatch) -> None:
    original = visibility.shown

    def leaky(kind: str, text: str, principal: Principal) -> bytes:
        shown = original(kind, text, principal)
        return shown if principal.sees_prices else shown + b" " * (len(text_of(json.loads(text))) % 7)

    patch.setattr(stored, "shown", leaky)


@pytest.mark.parametrize("leak", [
    _always_stamped, _tag_over_everything, _prices_counted_as_labels, _bodies_shown_whole, _pricing_read_for_labels,
    _costs_for_everyone, _length_alone,
])  # fmt: skip
def test_a_planted_leak_is_found(monkeypatch: pytest.MonkeyPatch, leak: Callable[[pytest.MonkeyPatch], None]) -> None:
    leak(monkeypatch)
    twins = Twins()
    with time_machine.travel(ASKED, tick=False):
        mixed = random.Random(2026).sample(tuple(questions()), LEAST)  # A leak of one kind of address is met early.
        assert any(twins.difference(question) is not None for question in mixed)
    twins.close()
