"""Rows of a list whatever its format: cells as text, the header found, every size bounded."""

import re
import unicodedata
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Final, NamedTuple

from schemas.price_list import ROWS, ColumnMapping, Found
from service.errors import InputFault

COLUMNS: Final = 200
"""The most columns that are looked at."""

HEADER_WITHIN: Final = 20
"""The header is one of the first rows; what stands above it is the supplier's letterhead."""

LONGEST_CELL: Final = 1000
"""Characters of a cell that is used; a longer one refuses its row."""

_UNSEEN: Final = re.compile(
    "[\\x00-\\x1f\\x7f-\\x9f\\xad\\u034f\\u061c\\u115f\\u1160\\u17b4\\u17b5\\u180b-\\u180e\\u200b-\\u200f\\u2028-\\u202e"
    "\\u2060-\\u206f\\u3164\\ud800-\\udfff\\ufdd0-\\ufdef\\ufeff\\uffa0\\ufff0-\\uffff\\U000e0000-\\U000e007f]"
)
"""Control, invisible and bidirectional characters, halves of surrogates and non-characters."""
_BREAKS: Final = str.maketrans("\t\r\n\u00a0\u2007\u2009\u202f", "       ")


class NumberText(str):
    """The figure of a cell that is a number in its file, so that no decimal mark has to be guessed."""

    __slots__ = ()


class BadCell(str):
    """A cell that its format could not read; the fault counts only where the cell is used."""

    fault: InputFault

    @classmethod
    def of(cls, code: str, detail: str) -> "BadCell":
        """A cell that stands for this fault."""
        cell = cls("?")
        cell.fault = InputFault(code, detail)
        return cell

    def __reduce__(self) -> tuple[Callable[[str, str], "BadCell"], tuple[str, str]]:
        """As its fault, which no base class would keep."""
        return BadCell.of, (self.fault.code, self.fault.detail)


def kept(fault: InputFault) -> InputFault:
    """A fault to be kept with its row: without the frames that it went through, which hold the row in turn."""
    fault.__context__ = None
    return fault.with_traceback(None)


_READ: Final = frozenset((NumberText, BadCell))


class Row(NamedTuple):
    """One row that is not blank; ``fault`` where the row as a whole could not be read."""

    number: int
    cells: Sequence[str]
    fault: InputFault | None = None


@dataclass(frozen=True, slots=True)
class Table:
    """A list as read from its format: ``columns`` says in which cell of a row a field of the mapping stands.

    ``rows()`` starts from the first row below the header, and holds one row at a time.
    """

    format: str
    encoding: str
    columns: dict[str, int]
    rows: Callable[[], Iterator[Row]]
    encoding_by: Found = "fixed"
    delimiter: str | None = None
    delimiter_by: Found = "fixed"
    sheet: str | None = None
    header_row: int | None = None


class Header(NamedTuple):
    """Where the header stands, how many cells it has, and the column of each field."""

    row: int
    width: int
    columns: dict[str, int]
    names: tuple[str, ...]


def clean(cell: str) -> str:
    """A cell in normal form C with single spaces; raises where it is too long, unread or holds unseen characters.

    >>> clean("  Harbour \\n gin ")
    'Harbour gin'
    """
    if type(cell) is BadCell:
        raise cell.fault
    if len(cell) > LONGEST_CELL:
        raise InputFault("cell_too_long", f"A cell that is used has at most {LONGEST_CELL:,} characters.")
    if cell.isascii() and cell.isprintable():
        return _single(cell) if " " in cell and ("  " in cell or " " in (cell[0], cell[-1])) else cell
    cell = cell.translate(_BREAKS)
    if _UNSEEN.search(cell):
        raise InputFault(
            "text_character", "Control, invisible and bidirectional characters are not accepted in a cell."
        )
    return unicodedata.normalize("NFC", _single(cell))


def plain(cell: str) -> str:
    """A cell as it is used, or what says why it cannot be; the figure of a number cell needs no cleaning."""
    if (cell.isascii() and cell.isprintable() and " " not in cell and len(cell) <= LONGEST_CELL) or type(cell) in _READ:
        return cell
    try:
        return clean(cell)
    except InputFault as fault:
        return BadCell.of(fault.code, fault.detail)


def _single(cell: str) -> str:
    return " ".join(part for part in cell.split(" ") if part)


def heading(text: str) -> str:
    """A header as it is compared: normal form, single spaces, case folded."""
    try:
        return clean(text).casefold()
    except InputFault:
        return ""


def fields_of(mapping: ColumnMapping) -> dict[str, str]:
    """The fields of a mapping with their headers as they are compared."""
    return {field: heading(header) for field, header in mapping.model_dump(exclude_none=True).items()}


def header_among(rows: Iterator[Sequence[str]], mapping: ColumnMapping) -> Header | list[str]:
    """The header among the first rows, or the headers that the best of them lacks."""
    wanted = fields_of(mapping)
    missing = list(mapping.model_dump(exclude_none=True).values())
    for number, cells in enumerate(islice(rows, HEADER_WITHIN), 1):
        names = tuple(heading(cell) for cell in cells[:COLUMNS])
        lacking = [
            header for field, header in mapping.model_dump(exclude_none=True).items() if wanted[field] not in names
        ]
        if not lacking:
            for header in wanted.values():
                if names.count(header) > 1:
                    raise InputFault(
                        "header_twice", f"Row {number}: a column of the mapping stands twice in the header."
                    )
            columns = {field: names.index(header) for field, header in wanted.items()}
            return Header(number, _width(names), columns, names)
        if len(lacking) < len(missing):
            missing = lacking
    return missing


def _width(names: Sequence[str]) -> int:
    """Cells of the header up to the last one that is named."""
    return max(index for index, name in enumerate(names, 1) if name)


def header_missing(missing: Sequence[str]) -> InputFault:
    """No row has all headers of the mapping."""
    shown = ", ".join(missing)
    detail = f"None of the first {HEADER_WITHIN} rows has every column of the mapping; not found: {shown}."
    return InputFault("header_missing", detail)


def body_rows(rows: Iterator[Sequence[str]], header: Header, *, strict_width: bool) -> Iterator[Row]:
    """The rows below a header, blank ones skipped and counted; ``strict_width`` refuses one of another width."""
    count, named = 0, len(header.names)
    for number, cells in enumerate(rows, 1):
        if number <= header.row or not "".join(cells).strip():
            continue
        count += 1
        if count > ROWS:
            raise too_many_rows()
        fault = None
        width = len(cells)
        if strict_width and (width < header.width or (width > named and any(cells[named:]))):
            detail = f"The row has {width} cells, the header {named}; a cell with a delimiter is quoted."
            fault = InputFault("row_width", detail)
        elif _repeats(cells, header):
            fault = InputFault("header_repeated", "The row repeats the header; leave it out.")
        yield Row(number, cells, fault)


def _repeats(cells: Sequence[str], header: Header) -> bool:
    """Whether a row has the header's words in all of the mapping's columns; a first letter says no of nearly all."""
    for index in header.columns.values():
        cell, name = cells[index] if index < len(cells) else "", header.names[index]
        if cell.isascii() and cell.lstrip()[:1].lower() != name[:1]:
            return False
        if heading(cell) != name:
            return False
    return True


def too_many_rows() -> InputFault:
    """The list is over the limit of rows."""
    return InputFault("too_many_rows", f"A list has at most {ROWS:,} rows below its header; split it.")


def stated(option: object) -> Found:
    """Who decided: the caller where an option is given, else the file."""
    return "detected" if option is None else "stated"
