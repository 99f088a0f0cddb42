"""An answer of the books as sheets of rows: what CSV, workbook and page are written from; no cell becomes live."""

import csv
from collections.abc import Iterable, Mapping, Sequence
from io import StringIO
from typing import Any, Final, NamedTuple

_LIVE: Final = ("=", "+", "-", "@", "\t", "\r", "\n", "|", "%", "＝", "＋", "－", "＠")
"""First characters by which spreadsheets take a cell for a formula or a command; the last four in full width."""

TEXT: Final = "text"
MONEY: Final = "money"
QUANTITY: Final = "#,##0.###"
PERCENT: Final = "0.0"
"""Forms of a column: text, money in the digits of its currency, or a number format of a workbook."""


def inert(text: str) -> str:
    """Text that no spreadsheet runs: an apostrophe stands before a first character that would make it live.

    >>> inert("=1+1"), inert("Fog Signal"), inert(" @x")
    ("'=1+1", 'Fog Signal', "' @x")
    """
    return "'" + text if text.lstrip(" \u00a0\u3000").startswith(_LIVE) else text


class Column(NamedTuple):
    """``key`` heads it in CSV, ``title`` elsewhere; ``absent`` is what stands there for ``None``."""

    key: str
    title: str
    form: str = TEXT
    absent: str = "not known"


class Sheet(NamedTuple):
    """Rows in the order of the columns; the last ``totals`` of them are sums; ``frozen`` columns stay in sight."""

    name: str
    columns: tuple[Column, ...]
    rows: Sequence[Sequence[str | None]]
    totals: int = 0
    frozen: int = 1


class Book(NamedTuple):
    """``about`` says of what it is; the valuation stands on every sheet."""

    title: str
    about: str
    currency: str
    valuation: str
    notes: tuple[tuple[str, str], ...]
    sheets: tuple[Sheet, ...]


def sheet(name: str, columns: tuple[Column, ...], rows: Iterable[Mapping[str, Any]], **more: int) -> Sheet:
    """A sheet of rows that hold each figure by the key of its column; what a row lacks is empty."""
    return Sheet(name, columns, [[cell(row.get(one.key, "")) for one in columns] for row in rows], **more)


def cell(figure: Any) -> str | None:
    """A figure as text; lists with spaces between, yes or no."""
    if figure is None or isinstance(figure, str):
        return figure
    if isinstance(figure, bool):
        return "yes" if figure else "no"
    return " ".join(figure) if isinstance(figure, list | tuple) else str(figure)


def csv_of(book: Book) -> bytes:
    """One table, UTF-8 with a byte order mark: each row names its sheet, the notes come last; ``None`` is blank.

    Figures are those of the JSON answer, unchanged.
    """
    keys = list(dict.fromkeys(column.key for one in book.sheets for column in one.columns))
    out = StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(["sheet", "currency", *keys, "note", "says"])
    for one in book.sheets:
        places = [keys.index(column.key) for column in one.columns]
        for row in one.rows:
            cells = [""] * len(keys)
            for place, column, text in zip(places, one.columns, row, strict=True):
                cells[place] = "" if text is None else inert(text) if column.form == TEXT else text
            writer.writerow([one.name, book.currency, *cells, "", ""])
    for name, text in book.notes:
        writer.writerow(["Notes", book.currency, *[""] * len(keys), name, inert(text)])
    return b"\xef\xbb\xbf" + out.getvalue().encode("utf-8")


def meta_notes(body: Mapping[str, Any]) -> list[tuple[str, str]]:
    """What the figures of an answer with a meta rest on."""
    meta = body["meta"]
    return [
        ("currency", body["currency"]),
        ("venue", meta["venue"] or "the group"),
        ("valuation", meta["valuation"]),
        ("as of", meta["as_of"]),
        ("rules version", meta["rules_version"]),
        ("data version", str(meta["data_version"])),
        ("cost version", str(meta["cost_version"])),
    ]


def missing_notes(rows: Iterable[Mapping[str, Any]]) -> list[tuple[str, str]]:
    """What is not known, one row each."""
    found = [("missing", f"{one['drink']}: {one['item']}, {one['field']}") for one in rows]
    return found or [("missing", "nothing")]
