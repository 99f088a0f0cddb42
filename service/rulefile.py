"""Reads one rule file: a table becomes the frozen value of its kind, or a fault naming file, entry and key.

No key is let through that its kind does not have, and no value is bent into another type.
"""

import functools
import types
import typing
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from pathlib import Path
from types import MappingProxyType

import tomli
from msgspec import Struct
from msgspec.structs import fields

from service.errors import DataFault
from service.item import KINDS, PROCESSES
from service.nutritionrules import Energy
from service.ruleentry import COMPARATORS, STANDINGS, STATUSES, Dated, stated_fields
from service.rulekinds import UNMIXED, LabelText

HEAD = ("code", "name", "extends", "fallback", "authority")
"""Keys at the head of a jurisdiction's file."""

NEEDS = (
    "abv_percent", "ethanol_g", "energy_kj", "energy_kcal", "fat_g", "saturates_g", "trans_fat_g", "cholesterol_mg",
    "carbohydrate_g", "sugars_g", "fibre_g", "protein_g", "salt_g", "standard_drinks", "net_quantity_ml",
)  # fmt: skip
"""Figures that a duty may need; those that nothing here computes are always missing."""

CHOICES: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "standing": STANDINGS,
        "density_standing": STANDINGS,
        "status": STATUSES,
        "comparator": COMPARATORS,
        "abv_comparator": COMPARATORS,
        "binding": ("text", "information"),
        "level": ("info", "caution", "serious"),
        "unit": ("ml", "g", "mg", "kJ", "kcal", "Cal"),
        "kind": KINDS,
        "kinds": KINDS,
        "unless_kinds": KINDS,
        "process": PROCESSES,
        "sold_as": ("poured", "packed_for_direct_sale", "prepacked", "distance"),
        "item_holds": ("caffeine_mg", "quinine_mg", "glycyrrhizin_mg"),
        "per_l_comparator": COMPARATORS,
        "only": (*KINDS, UNMIXED),
        "option": ("chain_menu",),
        "needs": NEEDS,
        "prints": ("standard_drinks", "ethanol_g", "energy"),
        "measure": (
            "quinine_mg",
            "caffeine_mg",
            "glycyrrhizin_mg",
            "sulphites_mg",
            "polyols_g",
            "gluten_mg_per_kg",
        ),
        "figure": ("abv_percent", "sugars_g_per_l", "egg_yolk_g_per_l"),
        "commodity": ("spirits", "wine", "malt"),
    }
)
"""Keys whose text is one of a few words, in whatever entry they stand."""

MODES: Mapping[type, tuple[str, ...]] = MappingProxyType(
    {Energy: ("own_factors", "kj_over_4_18", "kcal_only"), LabelText: ("nearest", "up")}
)


def check_unique(path: Path, kind: str, entries: tuple[Dated, ...]) -> None:
    """Refuses an entry without a key, and two of one key and day."""
    seen: set[tuple[str, date]] = set()
    for entry in entries:
        if not entry.key:
            raise DataFault(f"{path.name}: {kind}: key: every entry needs one")
        if (entry.key, entry.since) in seen:
            raise DataFault(f"{path.name}: {kind} {entry.key}: two entries since {entry.since}")
        seen.add((entry.key, entry.since))


def toml(path: Path) -> dict[str, typing.Any]:
    """The file as TOML reads it, with exact decimals."""
    try:
        with path.open("rb") as file:
            return tomli.load(file, parse_float=Decimal)
    except (OSError, tomli.TOMLDecodeError) as fault:
        raise DataFault(f"{path.name}: cannot be read: {fault}") from fault


def dated_entries(
    path: Path, kinds: Mapping[str, type[Dated]], read: Mapping[str, typing.Any] | None = None
) -> dict[str, tuple[Dated, ...]]:
    """The entries of a file, ``read`` or not, by kind; each takes from its source what it does not say itself."""
    raw = toml(path) if read is None else read
    for key in raw:
        if key not in kinds and key not in (*HEAD, "sources"):
            raise DataFault(f"{path.name}: {key}: unknown key")
    sources = raw.get("sources", {})
    for name, source in sources.items():
        if set(source) != {"title", "standing", "since", "checked"}:
            raise DataFault(f"{path.name}: sources.{name}: needs title, standing, since and checked, and no more")
    found: dict[str, tuple[Dated, ...]] = {}
    for kind, shape in kinds.items():
        entries = []
        for number, entry in enumerate(raw.get(kind, ()), start=1):
            where = f"{path.name}: {kind} {entry.get('key', number)}"
            if entry.get("source") not in sources:
                raise DataFault(f"{where}: source: must name one of the file's sources")
            source = sources[entry["source"]]
            base = {key: source[key] for key in ("standing", "since", "checked")}
            entries.append(_built(shape, {**base, **entry, "source": source["title"]}, where))
        found[kind] = tuple(entries)
    return found


@functools.cache
def _shape(shape: type[typing.Any]) -> tuple[Mapping[str, typing.Any], frozenset[str]]:
    required = frozenset(field.name for field in fields(shape) if field.required)
    given = stated_fields(shape)
    return {name: hint for name, hint in typing.get_type_hints(shape).items() if name in given}, required


def _built(shape: type[typing.Any], raw: Mapping[str, typing.Any], where: str) -> typing.Any:
    hints, required = _shape(shape)  # type: ignore[arg-type]  # every class has a hash
    for key in raw:
        if key not in hints:
            raise DataFault(f"{where}: {key}: unknown key")
    for key in required:
        if key not in raw:
            raise DataFault(f"{where}: {key}: missing")
    values = {key: _value(hints[key], value, f"{where}: {key}") for key, value in raw.items()}
    for key, value in values.items():
        allowed = MODES.get(shape) if key == "mode" else CHOICES.get(key)
        if allowed and not set(value if isinstance(value, tuple) else (value,)) <= set(allowed):
            raise DataFault(f"{where}: {key}: must be one of {', '.join(allowed)}")
    return shape(**values)


def _value(hint: typing.Any, value: typing.Any, where: str) -> typing.Any:
    """A TOML value as the type that the field wants, or a fault; no value is bent into another type."""
    origin, arguments = typing.get_origin(hint), typing.get_args(hint)
    if origin is types.UnionType:
        return _value(arguments[0], value, where)
    if origin is tuple and isinstance(value, list):
        return tuple(_value(arguments[0], one, where) for one in value)
    if origin is Mapping and isinstance(value, dict):
        return MappingProxyType({key: _value(arguments[1], one, f"{where}.{key}") for key, one in value.items()})
    if isinstance(hint, type) and issubclass(hint, Struct) and isinstance(value, dict):
        return _built(hint, value, where)
    if hint is Decimal:
        if isinstance(value, int | Decimal) and not isinstance(value, bool) and Decimal(value).is_finite():
            return Decimal(value)
    elif type(value) is hint:
        return value
    raise DataFault(f"{where}: a value of another type is expected")
