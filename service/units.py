"""The units an amount may be written in, and the only place that knows pint.

``data/units.txt`` defines every unit by its ratio; ``data/tables/measures.toml`` holds the same factors
frozen, with the words that read each unit. The service works from the frozen factors, so that a start loads
no pint; a test builds the registry and holds both equal.
"""

import functools
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from decimal import Context, Decimal
from fractions import Fraction
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final, TypeVar

import tomli
from msgspec import Struct

from service.errors import DataFault

if TYPE_CHECKING:
    from pint import UnitRegistry

T = TypeVar("T")

DATA: Final = Path(__file__).parent / "data"
DEFINITIONS: Final = DATA / "units.txt"
MEASURES: Final = DATA / "tables" / "measures.toml"

OUNCES: Final = ("us", "imperial", "metric")
"""The ounces a house may pour by."""

STANDINGS: Final = ("confirmed", "secondary", "memory")
HOUSE_WORDS: Final = ("dash", "drop", "barspoon")

EXACT: Final = Context(prec=28)
"""A quotient that no decimal ends is kept to 28 significant digits, whatever the ambient decimal context."""


class Unit(Struct, frozen=True):
    """One unit: exactly ``numerator / denominator`` ml or g; ``factor`` is the same in at most 28 digits."""

    unit: str
    name: str
    dimension: str
    numerator: int
    denominator: int
    factor: Decimal
    words: tuple[str, ...]
    system: str
    status: str
    standing: str
    source: str
    since: date
    checked: date


class BareWord(Struct, frozen=True):
    """A word such as ``oz`` whose unit the house's ounce decides; it is ``mass`` for an item kept by mass."""

    name: str
    by_ounce: Mapping[str, Unit]
    mass: Unit | None
    allowed: tuple[str, ...]


class MeasureTable(Struct, frozen=True):
    """``measures.toml`` frozen: the units by name, and what each word, in plain lower case, reads."""

    units: Mapping[str, Unit]
    explicit: Mapping[str, Unit]
    bare: Mapping[str, BareWord]
    house: Mapping[str, str]
    ambiguous: Mapping[str, tuple[str, ...]]


def measure_table(path: Path = MEASURES) -> MeasureTable:
    """The table of ``path``, every key checked; a malformed entry is a :class:`DataFault` that names it."""
    with path.open("rb") as file:
        data = tomli.load(file)
    _check_keys(data, "file", {"sources", "measure", "bare", "house", "ambiguous"})
    units: dict[str, Unit] = {}
    for row in data["measure"]:
        unit = _unit(row, data["sources"])
        if unit.unit in units:
            raise DataFault(f"measures.toml: {unit.unit} stands twice.")
        units[unit.unit] = unit
    explicit = _by_word((unit.words, unit) for unit in units.values())
    bare = _by_word((row["words"], _bare_word(row, units)) for row in data["bare"])
    house = _by_word((row["words"], _house_word(row)) for row in data["house"])
    ambiguous = _by_word((row["words"], _allowed(row)) for row in data["ambiguous"])
    known = explicit.keys() | bare.keys() | house.keys()
    if len(known | ambiguous.keys()) < len(explicit) + len(bare) + len(house) + len(ambiguous):
        raise DataFault("measures.toml: a word is read in two ways.")
    for word, allowed in ambiguous.items():
        unread = set(allowed) - known - {"each", "piece", "parts", "fill"}
        if unread:
            raise DataFault(f"measures.toml: {word!r} proposes words that nothing reads: {sorted(unread)}.")
    frozen = MappingProxyType
    return MeasureTable(frozen(units), frozen(explicit), frozen(bare), frozen(house), frozen(ambiguous))


def _unit(row: Mapping[str, Any], sources: Mapping[str, Any]) -> Unit:
    name = str(row.get("unit"))
    optional = {"standing", "ml", "g"}
    _check_keys(row, name, {"unit", "name", "words", "system", "status", "source"}, optional)
    if ("ml" in row) == ("g" in row):
        raise DataFault(f"measures.toml: {name} needs exactly one of ml and g.")
    if row["source"] not in sources:
        raise DataFault(f"measures.toml: {name} names a source that [sources] lacks.")
    source = sources[row["source"]]
    _check_keys(source, row["source"], {"title", "standing", "since", "checked"})
    standing = row.get("standing", source["standing"])
    if standing not in STANDINGS:
        raise DataFault(f"measures.toml: {name} has a standing outside {STANDINGS}.")
    dimension, written = ("volume", row["ml"]) if "ml" in row else ("mass", row["g"])
    ratio = _ratio(written)
    return Unit(
        unit=name,
        name=row["name"],
        dimension=dimension,
        numerator=ratio.numerator,
        denominator=ratio.denominator,
        factor=EXACT.divide(Decimal(ratio.numerator), Decimal(ratio.denominator)),
        words=tuple(row["words"]),
        system=row["system"],
        status=row["status"],
        standing=standing,
        source=source["title"],
        since=source["since"],
        checked=source["checked"],
    )


def _ratio(written: str) -> Fraction:
    """A factor as written in the table: a decimal, or a quotient where no decimal ends."""
    numerator, _, denominator = written.partition("/")
    ratio = Fraction(numerator) / Fraction(denominator or 1)
    if ratio <= 0:
        raise DataFault(f"measures.toml: the factor {written} is not over 0.")
    return ratio


def _bare_word(row: Mapping[str, Any], units: Mapping[str, Unit]) -> BareWord:
    _check_keys(row, str(row.get("name")), {"name", "words"}, {"mass", *OUNCES})
    by_ounce = {ounce: units[row[ounce]] for ounce in OUNCES if ounce in row}
    mass = units[row["mass"]] if "mass" in row else None
    allowed = tuple(dict.fromkeys(unit.name for unit in by_ounce.values()))
    return BareWord(row["name"], MappingProxyType(by_ounce), mass, (*allowed, "ml"))


def _house_word(row: Mapping[str, Any]) -> str:
    _check_keys(row, str(row.get("name")), {"name", "words"})
    name: str = row["name"]
    if name not in HOUSE_WORDS:
        raise DataFault(f"measures.toml: a house sets {HOUSE_WORDS}, not {name!r}.")
    return name


def _allowed(row: Mapping[str, Any]) -> tuple[str, ...]:
    _check_keys(row, "ambiguous", {"words", "allowed"})
    return tuple(row["allowed"])


def _by_word(rows: Iterable[tuple[Sequence[str], T]]) -> dict[str, T]:
    table: dict[str, T] = {}
    for words, thing in rows:
        for word in words:
            if word in table or word != " ".join(word.lower().split()):
                raise DataFault(f"measures.toml: the word {word!r} stands twice, or not in plain lower case.")
            table[word] = thing
    return table


def _check_keys(row: Mapping[str, Any], name: str, needed: set[str], optional: set[str] | None = None) -> None:
    missing, unknown = needed - row.keys(), row.keys() - needed - (optional or set())
    if missing or unknown:
        raise DataFault(f"measures.toml: {name} lacks {sorted(missing)}, has unknown {sorted(unknown)}.")


@functools.cache
def registry() -> "UnitRegistry[Any]":
    """The pint registry of ``units.txt``, exact in Decimal; no text of a caller may ever reach its parser."""
    # The import stands here so that a start of the service, which needs only frozen factors, loads no pint.
    import pint

    units: UnitRegistry[Any] = pint.UnitRegistry(None, non_int_type=Decimal)
    units.load_definitions(DEFINITIONS)
    return units


def factor_by_definition(unit: Unit) -> Decimal:
    """The factor of a unit in ml or g as it follows from ``units.txt``, which proves the frozen one."""
    base = "millilitre" if unit.dimension == "volume" else "gram"
    return Decimal(registry().convert(Decimal(1), unit.unit, base))


TABLE: Final = measure_table()
