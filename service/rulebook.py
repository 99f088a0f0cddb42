"""The rules of a data folder: every file read, checked key by key and name by name, and frozen."""

import hashlib
import typing
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType

from msgspec import Struct

from service.allergenrules import AllergenName, Allergens, Exemption
from service.cautionrules import Advisory
from service.errors import DataFault
from service.jurisdiction import KEYED, SINGLE, Jurisdiction
from service.nutritionrules import Nutrition, NutritionTable
from service.ruleentry import Dated
from service.rulefile import HEAD, check_unique, dated_entries, toml


class RuleBook(Struct, frozen=True):
    """All rules; ``version`` is a short sha256 over the bytes of the files they were read from."""

    version: str
    jurisdictions: Mapping[str, Jurisdiction]
    allergens: Mapping[str, AllergenName]
    advisories: tuple[Advisory, ...]


def rule_book(folder: Path) -> RuleBook:
    """The rules of a data folder; a fault in a file is a :class:`DataFault` naming file, entry and key."""
    paths = sorted((folder / "jurisdictions").glob("*.toml"))
    digest = hashlib.sha256()
    for path in (*paths, folder / "allergens.toml", folder / "advisories.toml", folder / "rounding.toml"):
        digest.update(path.name.encode() + b"\0" + path.read_bytes())
    vocabulary = _vocabulary(folder / "allergens.toml")
    tables: dict[str, tuple[NutritionTable, ...]] = {}
    for table in dated_entries(folder / "rounding.toml", {"table": NutritionTable})["table"]:
        tables[table.key] = (*tables.get(table.key, ()), typing.cast(NutritionTable, table))
    known = _jurisdictions(paths, tables, vocabulary)
    advisories = dated_entries(folder / "advisories.toml", {"advisory": Advisory})["advisory"]
    check_unique(folder / "advisories.toml", "advisory", advisories)
    for advisory in typing.cast(tuple[Advisory, ...], advisories):
        for code in (*advisory.jurisdictions, *advisory.not_in):
            if code not in known:
                raise DataFault(f"advisories.toml: advisory {advisory.key}: jurisdictions: {code} is not held")
    return RuleBook(
        digest.hexdigest()[:12],
        MappingProxyType(known),
        vocabulary,
        typing.cast(tuple[Advisory, ...], advisories),
    )


def _vocabulary(path: Path) -> Mapping[str, AllergenName]:
    words = typing.cast(tuple[AllergenName, ...], dated_entries(path, {"allergen": AllergenName})["allergen"])
    check_unique(path, "allergen", words)
    vocabulary = {word.key: word for word in words}
    for word in words:
        for other in (*word.counts_as, *([word.group] if word.group else [])):
            if other not in vocabulary:
                raise DataFault(f"{path.name}: allergen {word.key}: {other} is not in the vocabulary")
    return MappingProxyType(vocabulary)


def _jurisdictions(
    paths: list[Path],
    tables: Mapping[str, tuple[NutritionTable, ...]],
    vocabulary: Mapping[str, AllergenName],
) -> dict[str, Jurisdiction]:
    kinds = {**SINGLE, **KEYED}
    files = {path.stem: (path, toml(path)) for path in paths}
    heads = {code: _head(path, raw) for code, (path, raw) in files.items()}
    built: dict[str, Jurisdiction] = {}

    def place(code: str, below: tuple[str, ...]) -> Jurisdiction:
        if code in built:
            return built[code]
        if code not in heads or code in below:
            raise DataFault(f"{below[-1]}.toml: extends or falls back on {code}, which is not held or is a circle")
        (path, raw), head = files[code], heads[code]
        entries = dated_entries(path, kinds, raw)
        _check_lists(path, entries, tables, vocabulary)
        parents = {key: place(head[key], (*below, code)) if key in head else None for key in ("extends", "fallback")}
        built[code] = Jurisdiction(
            code=code, name=head["name"], entries=MappingProxyType(entries), **parents, tables=tables,
            vocabulary=vocabulary, authority=head.get("authority"),
        )  # fmt: skip
        return built[code]

    for code in heads:
        place(code, ())
    return {code: built[code] for code in sorted(built)}


def _head(path: Path, raw: Mapping[str, typing.Any]) -> dict[str, str]:
    head = {key: value for key, value in raw.items() if key in HEAD}
    for key in ("code", "name"):
        if not isinstance(head.get(key), str):
            raise DataFault(f"{path.name}: {key}: text is required")
    if not isinstance(head.get("authority", ""), str):
        raise DataFault(f"{path.name}: authority: text is expected")
    if head["code"] != path.stem:
        raise DataFault(f"{path.name}: code: must be {path.stem}, as the file is named")
    return head


def _check_lists(
    path: Path,
    entries: Mapping[str, tuple[Dated, ...]],
    tables: Mapping[str, object],
    vocabulary: Mapping[str, object],
) -> None:
    """Names that stand for something elsewhere have to exist there."""
    for kind in KEYED:
        check_unique(path, kind, entries[kind])
    named: list[tuple[str, str]] = []
    for entry in entries["allergens"]:
        assert isinstance(entry, Allergens)
        members = (member for group in entry.members.values() for member in group)
        every = (
            *entry.listed,
            *entry.recommended,
            *entry.members,
            *members,
            *entry.separate_statement,
            *entry.names,
        )
        named += [("allergens", key) for key in every]
    for entry in entries["exemption"]:
        assert isinstance(entry, Exemption)
        named += [(f"exemption {entry.key}", key) for key in (entry.allergen, *entry.excluding) if key != "*"]
    for where, key in named:
        if key not in vocabulary:
            raise DataFault(f"{path.name}: {where}: {key} is not in allergens.toml")
    for entry in entries["nutrition"]:
        assert isinstance(entry, Nutrition)
        if entry.table not in tables:
            raise DataFault(f"{path.name}: nutrition: table {entry.table} is not in rounding.toml")
