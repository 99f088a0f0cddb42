"""How far each input of a drink may lie from what is written: ``data/tables/tolerances.toml``, dated and sourced.

A half-width comes with the distribution it stands for and where it comes from. Nothing is made up: what the table
does not hold for a day has no tolerance, and the caller says so.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import NamedTuple, TypeVar

from service.errors import DataFault
from service.item import Item
from service.ruleentry import Dated
from service.rulefile import dated_entries
from service.rules import jurisdiction

TABLE = Path(__file__).parent / "data" / "tables" / "tolerances.toml"

DISTRIBUTIONS = ("rectangular", "normal")
"""``rectangular``: a half-width; ``normal``: a standard deviation."""

FALLBACK = "EU"
"""Whose label tolerance an item is given where no jurisdiction of the request has one."""


class Tolerance(NamedTuple):
    """``half_width`` in ``unit`` (% of the quantity, or % vol); of ``normal`` it is the standard deviation."""

    half_width: float
    unit: str
    distribution: str
    source: str
    standing: str


class PourTolerance(Dated, frozen=True, kw_only=True):
    """How far an amount may lie off that is measured with the tool ``key``: ``percent`` of it, or ``ml``."""

    percent: Decimal | None = None
    ml: Decimal | None = None
    below_ml: Decimal | None = None


class WaterTolerance(Dated, frozen=True, kw_only=True):
    """How far the water of a dilution model ``key`` may lie off."""

    percent: Decimal


class AcidTolerance(Dated, frozen=True, kw_only=True):
    """How far the acidity of a juice may lie off: ``key`` is an item, or ``juice`` for any other."""

    percent: Decimal
    distribution: str = "rectangular"


class StrengthTolerance(Dated, frozen=True, kw_only=True):
    """How far the strength of a label may lie off; ``mixed`` marks the tolerance of a packed mixed drink."""

    jurisdiction: str
    percent_vol: Decimal
    kinds: tuple[str, ...] = ()
    process: str | None = None
    words: tuple[str, ...] = ()
    up_to_percent: Decimal | None = None
    mixed: bool = False

    def fits(self, item: Item, abv_percent: Decimal) -> bool:
        """Whether an item of this strength falls under it."""
        name = item.name.lower()
        return (
            (not self.kinds or item.kind in self.kinds)
            and (self.process is None or self.process in item.process)
            and (not self.words or any(word in name for word in self.words))
            and (self.up_to_percent is None or abv_percent <= self.up_to_percent)
        )


class Tolerances(NamedTuple):
    """The table as it is read: entries of each kind in the order of the file."""

    pour: tuple[PourTolerance, ...]
    water: tuple[WaterTolerance, ...]
    acid: tuple[AcidTolerance, ...]
    strength: tuple[StrengthTolerance, ...]


_KINDS: Mapping[str, type[Dated]] = {
    "pour": PourTolerance, "water": WaterTolerance, "acid": AcidTolerance, "strength": StrengthTolerance,
}  # fmt: skip


@cache
def tolerances(path: Path = TABLE) -> Tolerances:
    """The tolerances of this installation, read once; a malformed entry raises :class:`DataFault`."""
    found = Tolerances(**dated_entries(path, _KINDS))  # type: ignore[arg-type]  # each kind has its own entries
    for pour in found.pour:
        if (pour.percent is None) == (pour.ml is None):
            raise DataFault(f"{path.name}: pour {pour.key}: give exactly one of percent and ml")
    for acid in found.acid:
        if acid.distribution not in DISTRIBUTIONS:
            raise DataFault(f"{path.name}: acid {acid.key}: distribution: must be one of {', '.join(DISTRIBUTIONS)}")
    return found


def pour_tolerance(tool: str, volume_ml: float | None, day: date) -> Tolerance | None:
    """The tolerance of an amount measured with a tool, in % of it; ``volume_ml`` is what one measure holds."""
    for entry in tolerances().pour:
        if entry.key != tool or not entry.applies_on(day):
            continue
        if entry.below_ml is not None and (volume_ml is None or volume_ml >= float(entry.below_ml)):
            continue
        if entry.percent is not None:
            return _of(entry, float(entry.percent))
        if volume_ml and entry.ml is not None:
            return _of(entry, min(100.0, 100.0 * float(entry.ml) / volume_ml))
    return None


def water_tolerance(model: str, day: date) -> Tolerance | None:
    """The tolerance of the water that a dilution model gives, in % of it."""
    entry = _keyed(tolerances().water, (model,), day)
    return None if entry is None else _of(entry, float(entry.percent))


def acid_tolerance(item_id: str, day: date) -> Tolerance | None:
    """The tolerance of the acids of a juice, in % of them."""
    entry = _keyed(tolerances().acid, (item_id, "juice"), day)
    return None if entry is None else _of(entry, float(entry.percent), distribution=entry.distribution)


def strength_tolerance(item: Item, abv_percent: float, codes: Sequence[str], day: date) -> Tolerance | None:
    """The tolerance of an item's label in % vol, by the first jurisdiction that has one, else by the Union's."""
    strength = Decimal(repr(abv_percent))
    for code in (*codes, FALLBACK):
        for held in _lineage(code):
            for entry in tolerances().strength:
                if entry.jurisdiction == held and entry.applies_on(day) and entry.fits(item, strength):
                    return _of(entry, float(entry.percent_vol), "% vol")
    return None


def packed_tolerance(code: str, item: Item | None, abv_percent: float, day: date) -> StrengthTolerance | None:
    """The tolerance of a packed drink under one jurisdiction; ``item`` where the whole drink is one item.

    ``None`` where none is held: no other jurisdiction's stands in for it.
    """
    strength = Decimal(repr(abv_percent))
    for held in _lineage(code):
        for entry in tolerances().strength:
            fits = entry.mixed if item is None else entry.fits(item, strength)
            if entry.jurisdiction == held and entry.applies_on(day) and fits:
                return entry
    return None


def _lineage(code: str) -> tuple[str, ...]:
    return tuple(place.code for place in jurisdiction(code).lineage())


_Entry = TypeVar("_Entry", bound=Dated)


def _keyed(entries: Sequence[_Entry], keys: Sequence[str], day: date) -> _Entry | None:
    for key in keys:
        for entry in entries:
            if entry.key == key and entry.applies_on(day):
                return entry
    return None


def _of(entry: Dated, half_width: float, unit: str = "%", distribution: str = "rectangular") -> Tolerance:
    source = f"{entry.source}; {entry.detail}" if entry.detail else entry.source
    return Tolerance(half_width, unit, distribution, source, entry.standing)
