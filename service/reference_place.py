"""Where a key of a data file stands, and the plain checks that name that place when they fail."""

import datetime
import math
from collections.abc import Collection, Mapping
from typing import Any

from msgspec import Struct

from service.errors import DataFault

STANDINGS = ("confirmed", "secondary", "memory")
"""How far a value is confirmed, best first."""

SOURCE_KEYS = ("title", "standing", "since", "checked")
"""What every source must state."""


class Source(Struct, frozen=True):
    """Where values come from, as the head of a file states it."""

    title: str
    standing: str
    since: str
    checked: str


class Place(Struct, frozen=True):
    """Where in the data a key stands, and the checks that name that place when they fail."""

    file: str
    entry: str

    def fault(self, key: str, text: str) -> DataFault:
        """The fault to raise for a key of this entry."""
        return DataFault(f"{self.file}, {self.entry}, {key}: {text}.")

    def only_keys(self, table: Mapping[str, object], allowed: Collection[str]) -> None:
        """Refuse a key that no reader would look at: it is a typing error that would pass for missing."""
        for key in table:
            if key not in allowed:
                raise self.fault(key, "unknown key")

    def table(self, key: str, value: object) -> Mapping[str, Any]:
        """The value as a table."""
        if not isinstance(value, dict):
            raise self.fault(key, "expected a table")
        return value

    def text(self, key: str, value: object) -> str:
        """The value as a text that is not blank."""
        if not isinstance(value, str) or not value.strip() or value != value.strip():
            raise self.fault(key, "expected a text without blanks around it")
        return value

    def one_of(self, key: str, value: object, allowed: Collection[str]) -> str:
        """The value as one of the allowed words."""
        if not isinstance(value, str) or value not in allowed:
            raise self.fault(key, f"expected one of {', '.join(sorted(allowed))}")
        return value

    def words(self, key: str, value: object, allowed: Collection[str] | None = None) -> tuple[str, ...]:
        """The value as a list of different texts."""
        if not isinstance(value, list) or len({str(word) for word in value}) != len(value):
            raise self.fault(key, "expected a list without repetition")
        return tuple(self.text(key, word) if allowed is None else self.one_of(key, word, allowed) for word in value)

    def number(self, key: str, value: object, high: float = math.inf, *, positive: bool = False) -> float:
        """The value as a finite number from 0 (or above it) to ``high``."""
        if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
            raise self.fault(key, "expected a finite number")
        if value < 0 or value > high or (positive and value == 0):
            raise self.fault(key, f"expected a number {'above' if positive else 'from'} 0 to {high:g}")
        return float(value)

    def day(self, key: str, value: object) -> str:
        """The value as an ISO date."""
        if not isinstance(value, datetime.date) or isinstance(value, datetime.datetime):
            raise self.fault(key, "expected a date")
        return value.isoformat()


def sources_of(file: str, value: object) -> Mapping[str, Source]:
    """The ``[sources]`` of a file by key."""
    head = Place(file, "file")
    if value is None:
        raise head.fault("sources", "a file must name its sources")
    return {key: _source_of(Place(file, f"source {key}"), table) for key, table in head.table("sources", value).items()}


def _source_of(place: Place, value: object) -> Source:
    table = place.table("source", value)
    place.only_keys(table, SOURCE_KEYS)
    for key in SOURCE_KEYS:
        if key not in table:
            raise place.fault(key, "missing")
    since, checked = place.day("since", table["since"]), place.day("checked", table["checked"])
    if checked < since:
        raise place.fault("checked", "lies before since")
    title = place.text("title", table["title"])
    return Source(title, place.one_of("standing", table["standing"], STANDINGS), since, checked)
