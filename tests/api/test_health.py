"""/livez, /readyz, and the headers that every answer has."""

import pytest

from service.reference import reference
from service.rules import rules
from tests.api.conftest import Client


def test_the_process_lives(client: Client) -> None:
    answer = client.get("/livez")
    assert (answer.status_code, answer.json()) == (200, {"status": "ok"})


def test_readiness_states_the_versions(client: Client) -> None:
    assert client.get("/readyz").json() == {
        "status": "ok",
        "database": "sqlite",
        "disk": "ok",
        "rules_version": rules().version,
        "reference_version": reference().version,
        "reference_items": len(reference().items),
        "jurisdictions": len(rules().jurisdictions),
    }


@pytest.mark.parametrize("path", ["/livez", "/v1/evaluate", "/nowhere", "/v1/reference/items/nothing", "/docs"])
def test_every_answer_has_the_headers(client: Client, path: str) -> None:
    headers = client.get(path).headers
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["cache-control"] == "no-store"
    assert len(headers["x-request-id"]) == 32
    assert "server" not in headers


@pytest.mark.parametrize("request_id", ["a", "Till-7.order_12", "x" * 64])
def test_a_plain_request_id_is_returned(client: Client, request_id: str) -> None:
    assert client.get("/livez", headers={"X-Request-Id": request_id}).headers["x-request-id"] == request_id


@pytest.mark.parametrize("request_id", ["", "a b", "x" * 65, "<script>", "a\\r", "a;b", "caf\u00e9"])
def test_a_strange_request_id_is_replaced(client: Client, request_id: str) -> None:
    answer = client.get("/livez", headers={"X-Request-Id": request_id.encode("latin-1")})
    assert answer.headers["x-request-id"] != request_id
    assert len(answer.headers["x-request-id"]) == 32


@pytest.mark.parametrize(
    "path",
    [
        "/page",
        "/page/none.js",
        "/page/app.py",
        "/page/a/page.js",
        "/v1",
        "/v2/evaluate",
        "/livez/",
        "/v1/evaluate/",
        "http://bar.test//livez",
        "/v1/physics/none",
    ],
)
def test_an_unknown_address_is_a_404_problem(client: Client, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code == 404
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.json() == {
        "type": "urn:washline:problem:not-found",
        "title": "Not Found",
        "status": 404,
        "detail": "Nothing is served at this address.",
    }


@pytest.mark.parametrize(
    ("method", "path", "allow"),
    [
        ("GET", "/v1/evaluate", "POST"),
        ("DELETE", "/livez", "GET"),
        ("PUT", "/v1/reference/items", "GET"),
        ("TRACE", "/docs", "GET"),
    ],
)
def test_another_method_is_a_405_problem_with_allow(client: Client, method: str, path: str, allow: str) -> None:
    answer = client.ask(method, path)
    assert answer.status_code == 405
    assert answer.headers["allow"] == allow
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.json()["type"] == "urn:washline:problem:method-not-allowed"


@pytest.mark.parametrize("path", ["/livez", "/v1/reference/items", "/nowhere", "/v1/evaluate"])
def test_head_answers_as_get_does_without_the_content(client: Client, path: str) -> None:
    """RFC 9110, section 9.3.2."""
    got, headed = client.get(path), client.ask("HEAD", path)
    assert headed.content == b""
    assert headed.status_code == got.status_code
    assert headed.headers["content-length"] == str(len(got.content))


def test_no_other_origin_is_admitted(client: Client) -> None:
    headers = {"Origin": "https://elsewhere.test", "Access-Control-Request-Method": "POST"}
    answer = client.ask("OPTIONS", "/v1/evaluate", headers=headers)
    assert answer.status_code == 405
    assert not [name for name in answer.headers if name.startswith("access-control")]
