"""The terms of linked data that this service writes, as the vocabularies' own files list them."""

import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import NamedTuple

from service.errors import DataFault

TABLE = Path(__file__).parents[1] / "data" / "tables" / "vocabulary.toml"
STANDINGS = frozenset({"confirmed", "secondary", "memory"})


class Vocabulary(NamedTuple):
    """Namespace, version and terms of one vocabulary."""

    namespace: str
    version: str
    terms: frozenset[str]


class Terms(NamedTuple):
    """All vocabularies by their prefix, and the code lists by name."""

    vocabularies: Mapping[str, Vocabulary]
    codes: Mapping[str, frozenset[str]]


@cache
def terms(path: Path = TABLE) -> Terms:
    """The table; a malformed one raises :class:`DataFault`."""
    with path.open("rb") as file:
        raw = tomllib.load(file)
    if set(raw) != {"sources", "vocabulary", "codes"}:
        raise DataFault(f"{path.name}: expected [sources], [[vocabulary]] and [[codes]] and nothing else.")
    for name, source in raw["sources"].items():
        if set(source) != {"title", "standing", "since", "checked"} or source["standing"] not in STANDINGS:
            raise DataFault(f"{path.name}: sources.{name}: needs title, standing, since and checked, and no more.")
    for kind, keys in (
        ("vocabulary", {"key", "namespace", "version", "source", "terms"}),
        ("codes", {"key", "source", "codes"}),
    ):
        for row in raw[kind]:
            if set(row) != keys or row["source"] not in raw["sources"]:
                raise DataFault(f"{path.name}: {kind} {row.get('key')}: wrong keys or unknown source.")
    return Terms(
        MappingProxyType(
            {
                row["key"]: Vocabulary(row["namespace"], row["version"], frozenset(row["terms"]))
                for row in raw["vocabulary"]
            }
        ),
        MappingProxyType({row["key"]: frozenset(row["codes"]) for row in raw["codes"]}),
    )
