"""A price list in a workbook: the cells of one sheet as text, one row in memory at a time.

Numbers are taken with the 15 digits that spreadsheets show. A formula counts by the value that was saved with it; one
without such a value refuses its row.
"""

import re
from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from decimal import ROUND_HALF_EVEN, Context, Decimal, InvalidOperation
from functools import lru_cache
from typing import IO, Final

from schemas.price_list import ROWS, PriceListOptions
from service.suppliers.rows import (
    COLUMNS,
    HEADER_WITHIN,
    BadCell,
    Header,
    NumberText,
    Row,
    Table,
    body_rows,
    header_among,
    header_missing,
    too_many_rows,
)
from service.suppliers.workbook import Attributes, Book, Markup, book_of, unreadable

LAST_ROW: Final = ROWS + HEADER_WITHIN + 1000
"""Rows of a sheet that are looked at, blank ones included."""

_SHOWN: Final = Context(prec=15, rounding=ROUND_HALF_EVEN, traps=[InvalidOperation])
"""A spreadsheet shows 15 digits of its binary number; what lies behind them is noise of its arithmetic."""
_NUMBER: Final = re.compile(r"-?[0-9]{1,30}(?:\.[0-9]{1,30})?(?:[Ee][+-]?[0-9]{1,3})?", re.ASCII)
_REFERENCE: Final = re.compile(r"([A-Z]{1,3})[0-9]{1,7}", re.ASCII)
_LAST_DAY: Final = 2_958_465
"""9999-12-31 as a number of days."""

_UNSAVED: Final = BadCell.of(
    "formula_without_value", "The cell is a formula without a saved value; open the list, save it, or write the value."
)
_ERROR: Final = BadCell.of("cell_error", "The cell holds an error of the spreadsheet.")
_UNREAD: Final = BadCell.of("cell_unreadable", "The cell is neither text, a number nor a date.")


def xlsx_table(file: IO[bytes], options: PriceListOptions) -> Table:
    """The table in one sheet of the workbook ``file``."""
    book = book_of(file, options.sheet)
    found = header_among(_rows(book, COLUMNS), options.mapping)
    if not isinstance(found, Header):
        raise header_missing(found)

    def rows() -> Iterator[Row]:
        return body_rows(_rows(book, found.width), found, strict_width=False)

    return Table(
        format="xlsx", encoding="utf-8", columns=found.columns, rows=rows, sheet=book.title, header_row=found.row
    )


def _rows(book: Book, width: int) -> Iterator[Sequence[str]]:
    """Every row of the sheet to a number of columns, those that the file leaves out as blank ones."""
    sheet = _Sheet(book, width)
    number = 0
    for _ in sheet.markup.fed(book.archive, book.sheet):
        for row, cells in sheet.done:
            if row > LAST_ROW:
                raise too_many_rows()
            if row <= number:
                raise unreadable()
            for _ in range(number + 1, row):
                yield ()
            number = row
            yield cells
        sheet.done.clear()


class _Sheet:
    """Gathers the cells of a sheet as its markup goes by; ``done`` are rows that ended, with their numbers."""

    def __init__(self, book: Book, width: int) -> None:
        self.markup = Markup(self._start, self._end)
        self.done: list[tuple[int, list[str]]] = []
        self._book = book
        self._width = width
        self._row = 0
        self._column = 0
        self._cells: list[str] = []
        self._cell: Attributes = {}
        self._formula = self._aside = False

    def _start(self, element: str, found: Attributes) -> None:
        if element == "c":
            self._cell, self._formula, self.markup.text = found, False, []
            place = _REFERENCE.fullmatch(found.get("r", ""))
            self._column = _column(place[1]) if place else self._column + 1
        elif element == "v" or (element == "t" and not self._aside):
            self.markup.gathering = True
        elif element == "f":
            self._formula = True
        elif element == "rPh":
            self._aside = True
        elif element == "row":
            stated = found.get("r", "")
            self._row = int(stated) if stated.isascii() and stated.isdigit() and len(stated) < 10 else self._row + 1
            self._column, self._cells = 0, []

    def _end(self, element: str) -> None:
        if element == "c":
            if 0 < self._column <= self._width:
                self._cells += [""] * (self._column - len(self._cells))
                self._cells[self._column - 1] = self._text("".join(self.markup.text))
            self.markup.text = []
        elif element in ("v", "t"):
            self.markup.gathering = False
        elif element == "rPh":
            self._aside = False
        elif element == "row":
            self.done.append((self._row, self._cells))

    def _text(self, value: str) -> str:  # noqa: PLR0911  # one return for each type of cell
        kind = self._cell.get("t", "n")
        if self._formula and not value and kind != "str":
            return _UNSAVED
        if kind == "s":
            place = int(value) if value.isascii() and value.isdigit() and len(value) < 10 else -1
            return self._book.strings[place] if 0 <= place < len(self._book.strings) else _UNREAD
        if kind in ("str", "inlineStr", "d"):
            return value
        if kind == "e":
            return _ERROR
        if kind == "b":
            return "true" if value == "1" else "false"
        if not value:
            return ""
        style = self._cell.get("s", "")
        is_date = style.isascii() and style.isdigit() and len(style) < 10 and int(style) in self._book.dates
        return _day(value, self._book.from_1904) if is_date else _number(value)


@lru_cache(maxsize=4096)
def _number(value: str) -> str:
    if len(value) > 70 or _NUMBER.fullmatch(value) is None:
        return _UNREAD
    figure = _SHOWN.create_decimal(value)
    if not -30 < figure.adjusted() < 30:
        return NumberText(value)
    return NumberText(format(figure.normalize(_SHOWN), "f"))


@lru_cache(maxsize=1024)
def _day(value: str, from_1904: bool) -> str:
    """A date cell as YYYY-MM-DD; one with a time of day keeps it, and is then no day of a list."""
    if len(value) > 70 or _NUMBER.fullmatch(value) is None:
        return _UNREAD
    days = Decimal(value)
    # Day 60 of the 1900 system is a 29 February that never was; from day 61 on it counts from 1899-12-30.
    if not (0 if from_1904 else 61) <= days <= _LAST_DAY - (1462 if from_1904 else 0):
        return _UNREAD
    day = (date(1904, 1, 1) if from_1904 else date(1899, 12, 30)) + timedelta(days=int(days))
    return day.isoformat() if days == int(days) else f"{day.isoformat()} with a time"


def _column(letters: str) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number
