"""A price list in a workbook (ISO/IEC 29500): sizes checked before it is opened, one row in memory at a time.

The archive is looked at before anything is unpacked. Numbers are taken with the 15 digits that spreadsheets show. A
formula counts by the value that was saved with it; one without such a value refuses its row.
"""

import re
import warnings
import zipfile
from collections.abc import Iterator, Sequence
from datetime import date, datetime
from decimal import Decimal
from io import BytesIO
from typing import Any, Final
from xml.etree.ElementTree import ParseError, iterparse

from schemas.price_list import ROWS, PriceListOptions
from service.errors import InputFault
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

UNPACKED: Final = 50_000_000
"""The most bytes that all files of the archive may have together when unpacked."""
RATIO: Final = 200
"""How many times smaller than unpacked a file over 1 MB may be packed; sheets of a list are 5 to 40 times smaller."""
ENTRIES: Final = 1000
"""The most files in the archive."""

_CHUNK: Final = 1 << 16
_FORMULA: Final = re.compile(rb"<(?:[A-Za-z0-9_]{1,20}:)?f[\s/>]")
_REFERENCE: Final = re.compile(r"([A-Z]{1,3})([0-9]{1,7})", re.ASCII)
_MOST_UNSAVED: Final = 100_000
_UNSAVED: Final = BadCell.of(
    "formula_without_value", "The cell is a formula without a saved value; open the list, save it, or write the value."
)
_ERROR: Final = BadCell.of("cell_error", "The cell holds an error of the spreadsheet.")
_ERRORS: Final = frozenset(("#NULL!", "#DIV/0!", "#VALUE!", "#REF!", "#NAME?", "#NUM!", "#N/A"))
_BROKEN: Final = (
    zipfile.BadZipFile, ParseError, KeyError, ValueError, TypeError, IndexError, AttributeError, EOFError, OSError,
    NotImplementedError, OverflowError,
)  # fmt: skip


def xlsx_table(data: bytes, options: PriceListOptions) -> Table:
    """The table in one sheet of the workbook ``data``."""
    check_archive(data)
    try:
        sheet = _sheet(_workbook(data), options.sheet)
        unsaved = _unsaved_formulas(sheet)
    except _BROKEN:
        raise _unreadable() from None
    found = header_among(_cells(sheet, unsaved, COLUMNS), options.mapping)
    if not isinstance(found, Header):
        raise header_missing(found)

    def rows() -> Iterator[Row]:
        return body_rows(_cells(sheet, unsaved, found.width), found, strict_width=False)

    return Table(
        format="xlsx", encoding="utf-8", columns=found.columns, rows=rows, sheet=sheet.title, header_row=found.row
    )


def check_archive(data: bytes) -> None:
    """Refuses an archive that would unpack to too much, is encrypted, or declares a document type; unpacks no more.

    An entry never unpacks to more than the size it declares: the archive reader stops there and refuses it.
    """
    try:
        with zipfile.ZipFile(BytesIO(data)) as archive:
            entries = archive.infolist()
            if len(entries) > ENTRIES:
                raise InputFault("workbook_too_large", f"The workbook holds over {ENTRIES:,} files.")
            if sum(entry.file_size for entry in entries) > UNPACKED:
                raise InputFault("workbook_too_large", "The workbook unpacks to over 50 MB.")
            for entry in entries:
                if entry.flag_bits & 1 or entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
                    raise InputFault("workbook_locked", "The workbook is encrypted or packed in an unknown way.")
                if entry.file_size > max(1_000_000, RATIO * entry.compress_size):
                    raise InputFault(
                        "workbook_too_large", f"A file of the workbook unpacks to over {RATIO} times itself."
                    )
            for entry in entries:
                if entry.filename.endswith((".xml", ".rels")):
                    _check_markup(archive, entry)
    except _BROKEN:
        raise _unreadable() from None


def _check_markup(archive: zipfile.ZipFile, entry: zipfile.ZipInfo) -> None:
    """Refuses a part with a document type, which could declare entities, and one that is not UTF-8."""
    tail = b""
    with archive.open(entry) as part:
        while piece := part.read(_CHUNK):
            if not tail and piece[:2] in (b"\xff\xfe", b"\xfe\xff", b"\x00<", b"<\x00"):
                raise _unreadable()
            if b"<!DOCTYPE" in tail + piece:
                raise InputFault("workbook_doctype", "The workbook declares a document type, which no list needs.")
            tail = piece[-16:]


def _workbook(data: bytes) -> Any:
    # Loaded only where a workbook comes in, so that a start stays light.
    from openpyxl import load_workbook

    # It warns of styles and extensions that it does not read, which a list has no use for.
    warnings.filterwarnings("ignore", category=UserWarning, module=r"openpyxl\.")
    return load_workbook(BytesIO(data), read_only=True, data_only=True, keep_links=False)


def _sheet(workbook: Any, name: str | None) -> Any:
    sheets = workbook.worksheets
    if name is not None:
        sheets = [sheet for sheet in sheets if sheet.title == name]
    if not sheets:
        raise InputFault("sheet_missing", "The workbook has no sheet of that name." if name else "There is no sheet.")
    # The extent that a file states of its sheet may be wrong; the rows themselves are counted instead.
    sheets[0].reset_dimensions()
    return sheets[0]


def _cells(sheet: Any, unsaved: frozenset[tuple[int, int]], width: int) -> Iterator[Sequence[str]]:
    """Every row of the sheet as text, blank ones too."""
    last = ROWS + HEADER_WITHIN + 1000
    rows = sheet.iter_rows(min_row=1, max_col=width, values_only=True)
    number = 0
    while True:
        number += 1
        try:
            values = next(rows, None)
        except _BROKEN:
            raise InputFault("workbook_unreadable", f"Row {number} of the sheet cannot be read.") from None
        if values is None:
            return
        if number > last:
            raise too_many_rows()
        cells = [_text(value) for value in values]
        if unsaved:
            for index in range(len(cells)):
                if (number, index + 1) in unsaved:
                    cells[index] = _UNSAVED
        yield cells


def _text(value: object) -> str:  # noqa: PLR0911  # one return for each type of cell
    if value is None:
        return ""
    if isinstance(value, str):
        return _ERROR if value in _ERRORS else value
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return NumberText(value)
    if isinstance(value, datetime):
        return value.date().isoformat() if value.time() == datetime.min.time() else value.isoformat(" ")
    if isinstance(value, date):
        return value.isoformat()
    try:
        # A spreadsheet shows 15 digits of its binary number; what lies behind them is noise of its arithmetic.
        return NumberText(format(Decimal(format(value, ".15g")), "f"))
    except (ValueError, ArithmeticError, TypeError):
        return BadCell.of("cell_unreadable", "The cell is neither text, a number nor a date.")


def _unsaved_formulas(sheet: Any) -> frozenset[tuple[int, int]]:
    """Row and column of each formula without a saved value; the sheet is only parsed for it where it has formulas."""
    with sheet._get_source() as source:
        if not _has_formula(source):
            return frozenset()
    found: set[tuple[int, int]] = set()
    row = column = 0
    with sheet._get_source() as source:
        # The archive was refused if it declares a document type, and with it every entity.
        for event, element in iterparse(source, ("start", "end")):  # noqa: S314  # as the line above says
            name = element.tag.rpartition("}")[2]
            if event == "start" and name == "row":
                row, column = int(element.get("r", row + 1)), 0
            elif event == "end" and name == "c":
                place = _REFERENCE.fullmatch(element.get("r", ""))
                column = _column(place[1]) if place else column + 1
                parts = {part.tag.rpartition("}")[2]: part for part in element}
                if "f" in parts and not (parts["v"].text if "v" in parts else None):
                    found.add((row, column))
                    if len(found) > _MOST_UNSAVED:
                        raise InputFault(_UNSAVED.fault.code, "The sheet's formulas have no saved values.")
            if event == "end" and name in ("c", "row"):
                element.clear()
    return frozenset(found)


def _has_formula(source: Any) -> bool:
    tail = b""
    while piece := source.read(_CHUNK):
        if _FORMULA.search(tail + piece):
            return True
        tail = piece[-32:]
    return False


def _column(letters: str) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number


def _unreadable() -> InputFault:
    return InputFault("workbook_unreadable", "The file is not a workbook that can be read.")
