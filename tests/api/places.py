"""Walks a request body beside its JSON Schema: every value with its pointer and the models it may be of."""

from collections.abc import Iterator
from functools import cache
from typing import Any, NamedTuple, cast

from schemas.evaluation import EvaluationRequest


class Place(NamedTuple):
    """One value of a body; ``models`` are the names of the models whose object may stand here."""

    pointer: str
    value: Any
    models: tuple[str, ...]


@cache
def schema() -> dict[str, Any]:
    """The JSON Schema of the request."""
    return EvaluationRequest.model_json_schema()


def places(body: Any) -> list[Place]:
    """Every value in the body, the body itself first."""
    return list(_places("", body, [schema()]))


def leaves(body: Any) -> list[Place]:
    """Every value in the body that is neither an object nor an array."""
    return [place for place in places(body) if not isinstance(place.value, dict | list)]


def fields(body: Any) -> list[Place]:
    """One leaf for every field of the body, however many entries have that field."""
    first: dict[str, Place] = {}
    for place in leaves(body):
        first.setdefault("/".join("*" if step.isdigit() else step for step in place.pointer.split("/")), place)
    return list(first.values())


def objects(body: Any) -> list[Place]:
    """Every object in the body."""
    return [place for place in places(body) if isinstance(place.value, dict)]


def properties(model: str) -> dict[str, Any]:
    """The properties of one model by name; ``EvaluationRequest`` is the whole body."""
    found: dict[str, Any] = _model(model).get("properties", {})
    return found


def required(model: str) -> tuple[str, ...]:
    """The names that one model must have."""
    return tuple(_model(model).get("required", ()))


def replaced(body: dict[str, Any], pointer: str, value: Any) -> dict[str, Any]:
    """The body with another value at a pointer into it; the body given is left as it was."""
    return cast(dict[str, Any], _replaced(body, pointer.split("/")[1:], value))


def _replaced(node: Any, steps: list[str], value: Any) -> Any:
    step: Any = int(steps[0]) if isinstance(node, list) else steps[0]
    made = list(node) if isinstance(node, list) else dict(node)
    made[step] = value if len(steps) == 1 else _replaced(made[step], steps[1:], value)
    return made


def _model(name: str) -> dict[str, Any]:
    found: dict[str, Any] = schema() if name == "EvaluationRequest" else schema()["$defs"][name]
    return found


def _places(pointer: str, value: Any, nodes: list[dict[str, Any]]) -> Iterator[Place]:
    forms = [form for node in nodes for form in _forms(node)]
    names = tuple(form["title"] for form in forms if form.get("type") == "object" and "properties" in form)
    yield Place(pointer, value, names)
    if isinstance(value, list):
        inner = [form["items"] for form in forms if "items" in form]
        for index, child in enumerate(value):
            yield from _places(f"{pointer}/{index}", child, inner)
    elif isinstance(value, dict):
        for key, child in value.items():
            yield from _places(f"{pointer}/{key}", child, _inner(forms, key))


def _inner(forms: list[dict[str, Any]], key: str) -> list[dict[str, Any]]:
    stated = [form["properties"][key] for form in forms if key in form.get("properties", {})]
    free = [form["additionalProperties"] for form in forms if isinstance(form.get("additionalProperties"), dict)]
    return stated or free


def _forms(node: dict[str, Any]) -> Iterator[dict[str, Any]]:
    if "$ref" in node:
        yield from _forms(schema()["$defs"][node["$ref"].rsplit("/", 1)[1]])
    elif "anyOf" in node or "oneOf" in node:
        for form in (*node.get("anyOf", ()), *node.get("oneOf", ())):
            yield from _forms(form)
    elif "allOf" in node:
        for form in node["allOf"]:
            yield from _forms(form)
    else:
        yield node
