"""Published shares of alcohol that stay in what is heated: a range, never one figure."""

import functools
import tomllib
from datetime import date
from pathlib import Path

from msgspec import Struct

from service.errors import DataFault

TABLE = Path(__file__).parent / "data" / "tables" / "retention.toml"


class Retention(Struct, frozen=True):
    """``retained_percent`` of the alcohol stays after the treatment that ``text`` names."""

    key: str
    text: str
    retained_percent: float
    source: str
    standing: str
    since: date
    checked: date


@functools.cache
def retentions(path: Path = TABLE) -> tuple[Retention, ...]:
    """All rows of the table; a malformed one raises :class:`DataFault`."""
    with path.open("rb") as file:
        raw = tomllib.load(file)
    if set(raw) != {"sources", "retention"}:
        raise DataFault(f"{path.name}: expected [sources] and [[retention]] and nothing else.")
    rows = []
    for row in raw["retention"]:
        if set(row) != {"key", "text", "retained_percent", "source"} or row["source"] not in raw["sources"]:
            raise DataFault(f"{path.name}: {row.get('key')}: wrong keys or unknown source.")
        source = raw["sources"][row["source"]]
        if set(source) != {"title", "standing", "since", "checked"}:
            raise DataFault(f"{path.name}: {row['source']}: wrong keys.")
        rows.append(
            Retention(
                row["key"], row["text"], float(row["retained_percent"]), source["title"], source["standing"],
                source["since"], source["checked"],
            )
        )  # fmt: skip
    return tuple(rows)
