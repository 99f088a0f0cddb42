"""/openapi.json and /docs: what is served is documented, what is documented is served, with an example of each kind."""

import json
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from fastapi.routing import APIRoute
from openapi_spec_validator import validate

from service.api.field_tables import prose
from service.api.negotiation import JSON, OFFERED
from service.settings import Settings
from tests.api.conftest import Client

EXAMPLES = Path(__file__).parents[2] / "openapi-examples"

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@pytest.fixture(scope="module")
def document(demo_client: Client) -> dict[str, Any]:
    """The OpenAPI document as it is served, with the demo."""
    found: dict[str, Any] = demo_client.get("/openapi.json").json()
    return found


def _operations(document: dict[str, Any]) -> Iterator[tuple[str, str, dict[str, Any]]]:
    for path, operations in document["paths"].items():
        for method, operation in operations.items():
            yield path, method.upper(), operation


def test_the_document_is_valid(document: dict[str, Any]) -> None:
    assert document["openapi"].startswith("3.1")
    validate(document)


def test_no_reference_points_to_nothing(document: dict[str, Any]) -> None:
    named = set(re.findall(r'"#/components/schemas/([^"]+)"', json.dumps(document)))
    assert named <= set(document["components"]["schemas"])
    assert named >= set(document["components"]["schemas"]) - {"EvaluationRequest"}


def test_every_served_route_is_documented_and_the_reverse(demo_client: Client, document: dict[str, Any]) -> None:
    served = {
        (route.path, method)
        for route in _routes(demo_client.app.router)
        for method in route.methods or ()
        if route.include_in_schema
    }
    assert served == {(path, method) for path, method, _ in _operations(document)}
    hidden = {route.path for route in _routes(demo_client.app.router) if not route.include_in_schema}
    assert hidden == {"/openapi.json", "/docs", "/", "/page/{name}"}


def _routes(router: Any) -> list[APIRoute]:
    found: list[APIRoute] = []
    for route in router.routes:
        inner = getattr(route, "original_router", None) or getattr(route, "router", None)
        if isinstance(route, APIRoute):
            found.append(route)
        elif inner is not None:
            found += _routes(inner)
        else:
            raise AssertionError(f"a route of another kind: {route!r}")
    return found


def test_every_documented_operation_answers(demo_client: Client, document: dict[str, Any]) -> None:
    for path, method, _ in _operations(document):
        address = re.sub(r"\{[a-z_]+\}", "nothing", path)
        answer = demo_client.ask(method, address)
        if answer.headers["content-type"].startswith("text/plain"):
            assert answer.status_code == 200
            continue
        assert answer.json().get("detail") != "Nothing is served at this address." or "{" in path


def test_every_operation_says_what_it_does(document: dict[str, Any]) -> None:
    ids = [operation["operationId"] for _, _, operation in _operations(document)]
    assert len(set(ids)) == len(ids)
    for path, _, operation in _operations(document):
        assert operation["summary"].strip(), path
        assert operation["description"].strip(), path
        assert operation["tags"], path
        for parameter in operation.get("parameters", ()):
            assert parameter["in"] in ("query", "path", "header")


def test_every_refusal_is_a_problem(document: dict[str, Any]) -> None:
    for path, _, operation in _operations(document):
        for status, answer in operation["responses"].items():
            media = set(answer.get("content", ()))
            if status[0] == "2":
                assert media <= {JSON, "text/plain", "application/x-ndjson", XLSX} | set(OFFERED), path
                assert bool(media) == (status != "204"), path
            else:
                assert media == {"application/problem+json"}, (path, status)
    offered = document["paths"]["/v1/evaluate"]["post"]["responses"]["200"]["content"]
    assert set(offered) == set(OFFERED)
    assert all("examples" not in content for media_type, content in offered.items() if media_type != JSON)


def test_every_operation_has_a_good_and_a_refused_example(document: dict[str, Any]) -> None:
    folders = {folder.name for folder in EXAMPLES.iterdir() if folder.is_dir()}
    assert folders == {operation["operationId"] for _, _, operation in _operations(document)}
    for path, _, operation in _operations(document):
        files = list((EXAMPLES / operation["operationId"]).glob("*.json"))
        examples = [json.loads(file.read_text(encoding="utf-8")) for file in files]
        statuses = {example["response"].get("status") for example in examples}
        assert any(status is not None and status < 300 for status in statuses), path
        assert any(status is not None and 400 <= status < 500 for status in statuses), path
        shown = {
            name
            for answer in operation["responses"].values()
            for content in answer.get("content", {}).values()
            for name in content.get("examples", {})
        }
        silent = {
            file.stem for file in files if json.loads(file.read_text(encoding="utf-8"))["response"]["status"] == 204
        }
        assert shown == {file.stem for file in files} - silent, path


class _Outside(HTMLParser):
    """Collects everything a page would load or run."""

    def __init__(self) -> None:
        super().__init__()
        self.loaded: list[str] = []
        self.tags: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.loaded += [
            value or "" for name, value in attrs if name in ("src", "href", "action", "srcset", "data", "style")
        ]
        self.loaded += [name for name, _ in attrs if name.startswith("on")]


def test_the_page_loads_nothing_from_another_host_and_runs_nothing(demo_client: Client) -> None:
    answer = demo_client.get("/docs")
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "text/html; charset=utf-8"
    found = _Outside()
    found.feed(answer.text)
    inside = [link for link in found.loaded if link.startswith("#")]
    assert [link for link in found.loaded if not link.startswith("#")] == ["openapi.json"]
    assert inside
    for link in set(inside):
        assert len(re.findall(rf"id='?{link[1:]}['>]", answer.text)) == 1, link
    assert not found.tags & {"script", "link", "iframe", "img", "object", "embed", "form", "base", "svg"}
    assert "url(" not in answer.text.partition("</style>")[0]
    assert "@import" not in answer.text
    policy = answer.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "script-src" not in policy


def test_the_page_shows_every_operation_and_its_examples(demo_client: Client, document: dict[str, Any]) -> None:
    text = demo_client.get("/docs").text
    for path, method, operation in _operations(document):
        assert f"<code>{method} {path}</code>" in text
        assert f"id='{operation['operationId']}'" in text
    assert text.count("<details>") >= 2 * len(list(_operations(document)))


def test_the_page_begins_with_its_contents(demo_client: Client, document: dict[str, Any]) -> None:
    contents = demo_client.get("/docs").text.partition("<nav>")[2].partition("</nav>")[0]
    linked = re.findall(r"href='#(\w+)'", contents)
    assert linked == [*(operation["operationId"] for _, _, operation in _operations(document)), "refusals"]


def test_good_examples_stand_before_refused_ones_which_say_so(demo_client: Client, document: dict[str, Any]) -> None:
    text = demo_client.get("/docs").text
    for _, _, operation in _operations(document):
        section = text.partition(f"<h2 id='{operation['operationId']}'>")[2].partition("<h2")[0]
        marks = [summary.split(",")[0] for summary in re.findall(r"<summary>(.*?)</summary>", section)]
        good = [mark for mark in marks if mark == "Good"]
        refused = [mark for mark in marks if re.fullmatch(r"Refused \(4\d\d\)", mark)]
        assert good or "204" in operation["responses"]
        assert refused
        assert marks == good + refused


def test_every_field_of_every_schema_stands_in_one_table(demo_client: Client, document: dict[str, Any]) -> None:
    text = demo_client.get("/docs").text
    for name, schema in document["components"]["schemas"].items():
        assert text.count(f"id='{name}'>") == 1
        section = re.split(r"<h\d", text.partition(f"id='{name}'>")[2])[0]
        found = re.findall(r"<th scope=row><code>([^<]+)</code>", section)
        extra = ["any other key"] if isinstance(schema.get("additionalProperties"), dict) and found else []
        assert found == [*schema.get("properties", {}), *extra]
        for field in schema.get("properties", {}).values():
            assert prose(field.get("description", "")) in section
    assert "$ref" not in re.sub(r"<pre>.*?</pre>", "", text, flags=re.DOTALL)


def test_a_field_says_what_it_takes(demo_client: Client) -> None:
    text = demo_client.get("/docs").text
    assert re.search(r"<code>serves</code><td>whole number, at least 1, at most 10000, default <code>1</code>", text)
    assert re.search(r"<code>lines</code><td>list of <a href='#Line'>Line</a>[^<]*; required", text)
    assert re.search(r"<code>as_of</code><td>date, YYYY-MM-DD or null", text)


def test_prose_escapes_and_marks_code() -> None:
    assert prose("`a<b` & <script>") == "<code>a&lt;b</code> &amp; &lt;script&gt;"


def test_the_documentation_can_be_left_out() -> None:
    client = Client(Settings(docs=False))
    assert client.get("/docs").status_code == 404
    assert client.get("/openapi.json").status_code == 404
    assert client.get("/livez").status_code == 200
    client.close()
