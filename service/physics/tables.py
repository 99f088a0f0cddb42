"""The coefficient tables of ``service/data/tables``, read once at import, checked and frozen.

Every entry of a table carries ``source``, ``standing``, ``since``, ``checked`` and ``unit`` beside its
numbers. A key nobody expects, a missing one or a value of the wrong shape stops the start with a
:class:`DataFault`.
"""

import datetime
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Any

from service.errors import DataFault

TABLES = Path(__file__).resolve().parents[1] / "data" / "tables"

STANDINGS = ("confirmed", "secondary", "memory")
"""``confirmed``: checked against the source; ``secondary``: a transcription of it; ``memory``: neither."""

Value = float | tuple[float, ...] | tuple[tuple[float, ...], ...] | str


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of a table: where it comes from and its frozen values."""

    name: str
    title: str
    source: str
    standing: str
    since: datetime.date
    checked: datetime.date
    unit: str
    note: str
    values: Mapping[str, Value]

    def scalar(self, key: str) -> float:
        """The single number under ``key``."""
        value = self.values[key]
        if not isinstance(value, float):
            raise DataFault(f"{self.name}: '{key}' must be one number.")
        return value

    def row(self, key: str) -> tuple[float, ...]:
        """The list of numbers under ``key``."""
        value = self.values[key]
        row = tuple(number for number in value if isinstance(number, float)) if isinstance(value, tuple) else ()
        if not row or (isinstance(value, tuple) and len(row) != len(value)):
            raise DataFault(f"{self.name}: '{key}' must be a list of numbers.")
        return row

    def rows(self, key: str) -> tuple[tuple[float, ...], ...]:
        """The list of lists of numbers under ``key``."""
        value = self.values[key]
        rows = tuple(row for row in value if isinstance(row, tuple)) if isinstance(value, tuple) else ()
        if not rows or (isinstance(value, tuple) and len(rows) != len(value)):
            raise DataFault(f"{self.name}: '{key}' must be a list of lists of numbers.")
        return rows

    def interval(self, key: str) -> tuple[float, float]:
        """The pair of bounds under ``key``."""
        row = self.row(key)
        if len(row) != 2 or row[0] >= row[1]:
            raise DataFault(f"{self.name}: '{key}' must be a lower and an upper bound.")
        return row[0], row[1]

    def text(self, key: str) -> str:
        """The word under ``key``."""
        value = self.values[key]
        if not isinstance(value, str):
            raise DataFault(f"{self.name}: '{key}' must be a word.")
        return value


_REQUIRED = frozenset({"source", "standing", "since", "checked", "unit"})
_OPTIONAL = frozenset({"title", "note"})


def _number(value: Any, place: str) -> float:
    """One TOML number as a float; true and false are no numbers."""
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise DataFault(f"{place} must be a number, a list of numbers or a word.")
    return float(value)


def _frozen(value: Any, place: str) -> Value:
    """A TOML value made immutable, its integers turned into floats."""
    if isinstance(value, str):
        return value
    if not isinstance(value, list):
        return _number(value, place)
    if value and all(isinstance(row, list) for row in value):
        return tuple(tuple(_number(number, place) for number in row) for row in value)
    return tuple(_number(number, place) for number in value)


def _entry(place: str, raw: Any, keys: frozenset[str]) -> Entry:
    """One checked entry; ``place`` is the file and the entry's name, ``keys`` those of its values."""
    if not isinstance(raw, dict):
        raise DataFault(f"{place} must be a table.")
    unknown = sorted(raw.keys() - keys - _REQUIRED - _OPTIONAL)
    if unknown:
        raise DataFault(f"{place}: unknown key '{unknown[0]}'; expected {', '.join(sorted(keys | _REQUIRED))}.")
    missing = sorted((keys | _REQUIRED) - raw.keys())
    if missing:
        raise DataFault(f"{place}: the key '{missing[0]}' is missing.")
    for key in sorted((_REQUIRED | _OPTIONAL) - {"since", "checked"}):
        if not isinstance(raw.get(key, ""), str):
            raise DataFault(f"{place}: '{key}' must be text.")
    for key in ("since", "checked"):
        if not isinstance(raw[key], datetime.date):
            raise DataFault(f"{place}: '{key}' must be a date.")
    if raw["standing"] not in STANDINGS:
        raise DataFault(f"{place}: 'standing' must be one of {', '.join(STANDINGS)}.")
    return Entry(
        name=place,
        title=raw.get("title", ""),
        source=raw["source"],
        standing=raw["standing"],
        since=raw["since"],
        checked=raw["checked"],
        unit=raw["unit"],
        note=raw.get("note", ""),
        values=MappingProxyType({key: _frozen(raw[key], f"{place}: '{key}'") for key in sorted(keys)}),
    )


def entries(path: Path, keys: Mapping[str, frozenset[str]]) -> Mapping[str, Entry]:
    """The entries of the table at ``path``; ``keys`` names each entry's values, ``*`` those of any other."""
    try:
        raw = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as fault:
        raise DataFault(f"{path.name} cannot be read: {fault}.") from fault
    missing = sorted(keys.keys() - {"*"} - raw.keys())
    if missing:
        raise DataFault(f"{path.name}: the entry '{missing[0]}' is missing.")
    checked: dict[str, Entry] = {}
    for name, entry in raw.items():
        expected = keys.get(name, keys.get("*"))
        if expected is None:
            raise DataFault(f"{path.name}: unknown entry '{name}'.")
        checked[name] = _entry(f"{path.name} [{name}]", entry, expected)
    return MappingProxyType(checked)


def _keys(**words: str) -> Mapping[str, frozenset[str]]:
    """The value keys of each entry, from words separated by spaces."""
    return {name: frozenset(text.split()) for name, text in words.items()}


KEYS: Mapping[str, Mapping[str, frozenset[str]]] = {
    "oiml_r22.toml": _keys(
        density="mass_fraction_range temperature_range_c a b c",
        ethanol="density_20c_kg_per_m3",
        gauging="temperature_f gallon_ml pound_g",
        weighing="air_kg_per_m3 weights_kg_per_m3",
    ),
    "sucrose_icumsa.toml": _keys(
        density="c water_numerator water_denominator",
        range="mass_fraction_range temperature_range_c",
    ),
    "solutes.toml": {"*": frozenset({"kind", "a", "b", "w_max"})},
    "acids.toml": {"*": frozenset({"molar_mass_g_per_mol", "protons"})},
    "juice_acids.toml": {"*": frozenset({"citric_g_per_l", "sd_g_per_l"})},
    "freezing.toml": _keys(
        ethanol="depression mass_fraction_range",
        sucrose="cryoscopic_k_kg_per_mol correction_kg_per_mol molality_range_mol_per_kg molar_mass_g_per_mol",
        margin="safety_margin_c",
    ),
    "dilution.toml": _keys(
        stirred="coefficients abv_fraction_range",
        shaken="coefficients abv_fraction_range",
        specific_heat="mass_fraction heat_j_per_g_k",
        heat="latent_j_per_g water_j_per_g_k ice_j_per_g_k sugars_j_per_g_k",
    ),
}
"""The tables of the physics floor and the keys of their entries."""

OIML_R22 = entries(TABLES / "oiml_r22.toml", KEYS["oiml_r22.toml"])
SUCROSE = entries(TABLES / "sucrose_icumsa.toml", KEYS["sucrose_icumsa.toml"])
SOLUTES = entries(TABLES / "solutes.toml", KEYS["solutes.toml"])
FREEZING = entries(TABLES / "freezing.toml", KEYS["freezing.toml"])
ACIDS = entries(TABLES / "acids.toml", KEYS["acids.toml"])
JUICE_ACIDS = entries(TABLES / "juice_acids.toml", KEYS["juice_acids.toml"])
DILUTION = entries(TABLES / "dilution.toml", KEYS["dilution.toml"])
