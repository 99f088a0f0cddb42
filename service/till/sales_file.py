"""Sales out of a till's export: every row read by its columns, or the file refused as a whole, row by row."""

import re
from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from io import BytesIO
from typing import IO, Any, Final

from pydantic import ValidationError

from schemas.sales import SaleIn, SalesFileQuery
from service.errors import InputFault, InputFaults
from service.suppliers.csv_list import csv_table
from service.suppliers.json_list import json_table
from service.suppliers.prices import Mark, price_of
from service.suppliers.rows import NumberText, Row, Table, clean
from service.suppliers.xlsx_list import xlsx_table

FORMATS: Final[Mapping[str, Callable[[IO[bytes], Any], Table]]] = {
    "text/csv": csv_table,
    "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet": xlsx_table,
    "application/json": json_table,
}
"""What reads each media type; the readers ask of their options what :class:`FileReading` has and no more."""

MOST_FAULTS: Final = 100
"""Faults that one refusal tells."""

_FIGURES: Final = ("quantity", "gross", "discount", "complimentary", "service_charge", "deposit")
_TEXTS: Final = ("drink", "external_id", "day", "at", "channel", "tax_class", "timed_price")
_SPLIT: Final = re.compile(r"[,;]")


class Columns:
    """Which header each field of a row stands under, as the readers of files ask for it."""

    def __init__(self, query: SalesFileQuery) -> None:
        self._columns = {
            name.removeprefix("col_"): header
            for name, header in query
            if name.startswith("col_") and header is not None
        }

    def model_dump(self, *, exclude_none: bool = True) -> dict[str, str]:
        """Fields with their headers."""
        return dict(self._columns)


class FileReading:
    """How the file is read, as the readers ask for it."""

    def __init__(self, query: SalesFileQuery) -> None:
        self.mapping = Columns(query)
        self.encoding: str | None = query.encoding
        self.delimiter: str | None = query.delimiter
        self.sheet: str | None = query.sheet


def sales_of(data: bytes, media_type: str, query: SalesFileQuery) -> list[tuple[int, SaleIn]]:
    """The rows of a file with their numbers. Raises ``InputFaults``: one for each fault of each row, with pointers
    ``/rows/<row>/<field>``, where any row cannot be read; nothing of the file is then used."""
    table = FORMATS[media_type](BytesIO(data), FileReading(query))
    found: list[tuple[int, SaleIn]] = []
    faults: list[InputFault] = []
    for row in table.rows():
        try:
            found.append((row.number, _sale(row, table.columns, query.decimal)))
        except InputFaults as several:
            faults += several.faults
        if len(faults) >= MOST_FAULTS:
            break
    if faults:
        raise InputFaults(faults[:MOST_FAULTS])
    if not found:
        raise InputFault("no_rows", "The file has no row below its header.")
    return found


def _sale(row: Row, columns: Mapping[str, int], decimal: Mark) -> SaleIn:
    faults: list[InputFault] = []
    if row.fault is not None:
        raise InputFaults([row.fault.at(f"/rows/{row.number}")])
    body: dict[str, Any] = {}
    for field, value in _cells(row, columns, faults):
        try:
            if field in _FIGURES:
                body[field] = format(_figure(value, decimal), "f")
            elif field == "modifiers":
                body["with"] = [part.strip() for part in _SPLIT.split(value) if part.strip()]
            elif field in _TEXTS:
                body[field] = value
        except InputFault as fault:
            faults.append(fault.at(f"/rows/{row.number}/{field}"))
    if not faults:
        try:
            return SaleIn.model_validate(body)
        except ValidationError as error:
            for one in error.errors(include_input=False, include_url=False):
                place = "".join(f"/{part}" for part in one["loc"])
                faults.append(InputFault(str(one["type"]), str(one["msg"]), f"/rows/{row.number}{place}"))
    raise InputFaults(faults)


def _cells(row: Row, columns: Mapping[str, int], faults: list[InputFault]) -> Iterator[tuple[str, str]]:
    """The cells that are not blank."""
    for field, index in columns.items():
        try:
            value = clean(row.cells[index]) if index < len(row.cells) else ""
        except InputFault as fault:
            faults.append(fault.at(f"/rows/{row.number}/{field}"))
            continue
        if value:
            kept = NumberText(value) if type(row.cells[index]) is NumberText else value
            yield field, kept


def _figure(text: str, decimal: Mark) -> Decimal:
    """A figure that may be negative: a minus before or behind it, or brackets, as ledgers write it."""
    bare, minus = text.strip(), False
    for before, behind in (("(", ")"), ("-", ""), ("−", ""), ("", "-")):
        if bare.startswith(before) and bare.endswith(behind) and (before or behind) and len(bare) > 1:
            bare, minus = bare[len(before) : len(bare) - len(behind)].strip(), True
            break
    plain = NumberText(bare) if type(text) is NumberText else bare
    figure = price_of(plain, decimal).figure
    return -figure if minus and figure else figure
