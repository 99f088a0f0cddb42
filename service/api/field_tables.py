"""The fields of requests and answers as HTML tables, made of the schemas of the OpenAPI document."""

import json
import re
from collections.abc import Iterator, Mapping
from html import escape
from typing import Any

Schema = Mapping[str, Any]

_PREFIX = "#/components/schemas/"
_WORDS = {"string": "text", "integer": "whole number", "number": "number", "boolean": "true or false", "null": "null"}
_LIMITS = {
    "minimum": "at least {}",
    "exclusiveMinimum": "over {}",
    "maximum": "at most {}",
    "exclusiveMaximum": "below {}",
    "minItems": "{} or more entries",
    "maxItems": "at most {} entries",
    "minLength": "{} or more characters",
    "maxLength": "at most {} characters",
    "maxProperties": "at most {} keys",
}


class FieldTables:
    """Writes each schema of a document once, where it first occurs; later mentions link to it."""

    def __init__(self, schemas: Mapping[str, Schema]) -> None:
        self._schemas = schemas
        self._written: set[str] = set()

    def tables_of(self, schema: Schema, level: int = 3) -> Iterator[str]:
        """A heading and a table for the schema that is referred to, and below it for everything nested in it."""
        for name in _references(schema):
            yield from self._table(name, "", level)

    def _table(self, name: str, place: str, level: int) -> Iterator[str]:
        if name in self._written:
            return
        self._written.add(name)
        schema = self._schemas[name]
        heading = f"h{min(level, 6)}"
        where = f" <code>{escape(place)}</code>" if place else ""
        yield f"<{heading} id='{escape(name)}'>{escape(name)}{where}</{heading}>"
        if schema.get("description"):
            yield f"<p>{prose(schema['description'])}</p>"
        fields = schema.get("properties", {})
        if not fields:
            yield f"<p>{self.kind_of(schema)}</p>"
            return
        yield "<table><thead><tr><th scope=col>field<th scope=col>type<th scope=col>what it is</thead><tbody>"
        for key, field in fields.items():
            yield self._row(key, field, key in schema.get("required", ()))
        if isinstance(schema.get("additionalProperties"), Mapping):
            yield self._row("any other key", schema["additionalProperties"], False)
        yield "</tbody></table>"
        for key, field in fields.items():
            yield from self._nested(field, f"{place}.{key}" if place else key, level + 1)
        yield from self._nested(schema.get("additionalProperties"), f"{place}.*" if place else "*", level + 1)

    def _nested(self, field: Any, place: str, level: int) -> Iterator[str]:
        if isinstance(field, Mapping):
            for name in _references(field):
                yield from self._table(name, place + ("[]" if _is_list(field) else ""), level)

    def _row(self, key: str, field: Schema, required: bool) -> str:
        about = field.get("description") or next(
            (self._schemas[name].get("description", "") for name in _references(field)), ""
        )
        kind = self.kind_of(field) + ("; required" if required else "")
        return f"<tr><th scope=row><code>{escape(key)}</code><td>{kind}<td>{prose(about)}"

    def kind_of(self, field: Schema) -> str:
        """What values a field takes, as HTML."""
        limits = [text.format(field[key]) for key, text in _LIMITS.items() if key in field]
        if "pattern" in field:
            limits.append(f"matching <code>{escape(field['pattern'])}</code>")
        if field.get("default") not in (None, [], {}):
            limits.append(f"default <code>{escape(json.dumps(field['default'], ensure_ascii=False))}</code>")
        return ", ".join([self._bare_kind(field), *limits])

    def _bare_kind(self, field: Schema) -> str:
        if "$ref" in field:
            name = field["$ref"].removeprefix(_PREFIX)
            return f"<a href='#{escape(name)}'>{escape(name)}</a>"
        if "anyOf" in field or "oneOf" in field:
            return self._choice(field.get("anyOf") or field["oneOf"])
        if "enum" in field or "const" in field:
            allowed = field.get("enum", [field.get("const")])
            return " or ".join(f"<code>{escape(str(value))}</code>" for value in allowed)
        return self._plain_kind(field)

    def _plain_kind(self, field: Schema) -> str:
        kind, values = field.get("type", ""), field.get("additionalProperties")
        if "prefixItems" in field:
            return f"list of {', '.join(self.kind_of(entry) for entry in field['prefixItems'])}"
        if kind == "array":
            return f"list of {self.kind_of(field.get('items', {}))}"
        if kind == "object":
            return f"object of {self.kind_of(values)}" if isinstance(values, Mapping) else "object"
        return "date, YYYY-MM-DD" if field.get("format") == "date" else _WORDS.get(kind, "any")

    def _choice(self, kinds: list[Schema]) -> str:
        """Alternatives in words; a number that may also stand as text is one of them, not two."""
        types = [kind.get("type") for kind in kinds]
        if "number" in types and "string" in types:
            number = next(kind for kind in kinds if kind.get("type") == "number")
            rest = [kind for kind in kinds if kind.get("type") not in ("number", "string")]
            return " or ".join([self.kind_of(number) + " (also as decimal text)", *map(self.kind_of, rest)])
        return " or ".join(map(self.kind_of, kinds))


def prose(text: str) -> str:
    """A description as HTML; what stands between backticks is code."""
    return re.sub(r"`([^`]+)`", r"<code>\1</code>", escape(text))


def _references(schema: Schema) -> Iterator[str]:
    """Names of the schemas that a field refers to, through lists, maps and alternatives."""
    if "$ref" in schema:
        yield schema["$ref"].removeprefix(_PREFIX)
    for kind in (*schema.get("anyOf", ()), *schema.get("oneOf", ()), *schema.get("prefixItems", ())):
        yield from _references(kind)
    for key in ("items", "additionalProperties"):
        if isinstance(schema.get(key), Mapping) and "properties" not in schema:
            yield from _references(schema[key])


def _is_list(schema: Schema) -> bool:
    return schema.get("type") == "array" or any(_is_list(kind) for kind in schema.get("anyOf", ()))
