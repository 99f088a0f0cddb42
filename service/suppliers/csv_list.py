"""A price list in CSV (RFC 4180): encoding and delimiter stated or found out, one record in memory at a time."""

import codecs
import csv
from collections.abc import Iterator, Sequence
from io import BytesIO, TextIOWrapper
from typing import Final

from schemas.price_list import PriceListOptions
from service.errors import InputFault
from service.suppliers.rows import Header, Row, Table, body_rows, header_among, header_missing, stated

DELIMITERS: Final = (",", ";", "\t")
_CODECS: Final = {"utf-8": "utf-8-sig", "utf-16": "utf-16", "windows-1252": "cp1252"}
_CHUNK: Final = 1 << 16


def csv_table(data: bytes, options: PriceListOptions) -> Table:
    """The table in ``data``; a byte order mark is taken off."""
    encoding = options.encoding or _found_encoding(data)
    _check_encoding(data, encoding)
    delimiter, header = _header(data, encoding, options)

    def rows() -> Iterator[Row]:
        return body_rows(_records(data, encoding, delimiter), header, strict_width=True)

    return Table(
        format="csv",
        encoding=encoding,
        encoding_by=stated(options.encoding),
        delimiter=delimiter,
        delimiter_by=stated(options.delimiter),
        header_row=header.row,
        columns=header.columns,
        rows=rows,
    )


def _found_encoding(data: bytes) -> str:
    return "utf-16" if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)) else "utf-8"


def _check_encoding(data: bytes, encoding: str) -> None:
    """Reads all of the text once, a piece at a time, so that no row can fail later."""
    if encoding == "utf-16" and not data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        raise InputFault("encoding_wrong", "UTF-16 text begins with a byte order mark, and this file has none.")
    decoder = codecs.getincrementaldecoder(_CODECS[encoding])()
    line = 1
    for start in range(0, len(data), _CHUNK):
        piece = data[start : start + _CHUNK]
        try:
            text = decoder.decode(piece, start + _CHUNK >= len(data))
        except UnicodeDecodeError as fault:
            line += piece[: max(fault.start, 0)].count(b"\n")
            detail = f"Near line {line} the file is not {encoding}; state its encoding, or save it as UTF-8."
            raise InputFault("encoding_wrong", detail) from None
        line += text.count("\n")


def _header(data: bytes, encoding: str, options: PriceListOptions) -> tuple[str, Header]:
    """The delimiter by which a row has every header of the mapping, and that header."""
    missing: list[str] | None = None
    for delimiter in (options.delimiter,) if options.delimiter else DELIMITERS:
        try:
            found = header_among(_records(data, encoding, delimiter), options.mapping)
        except InputFault as fault:
            # A quote that one delimiter makes no sense of may be right with another.
            if fault.code != "csv_unreadable" or options.delimiter:
                raise
            continue
        if isinstance(found, Header):
            return delimiter, found
        if missing is None or len(found) < len(missing):
            missing = found
    raise header_missing(
        missing if missing is not None else list(options.mapping.model_dump(exclude_none=True).values())
    )


def _records(data: bytes, encoding: str, delimiter: str) -> Iterator[Sequence[str]]:
    """The records of the file, header and blank ones too."""
    with TextIOWrapper(BytesIO(data), encoding=_CODECS[encoding], newline="") as text:
        reader = csv.reader(text, delimiter=delimiter, strict=True)
        number = 0
        while True:
            number += 1
            try:
                record = next(reader, None)
            except csv.Error:
                detail = (
                    f"Row {number} (from line {reader.line_num}) cannot be read: a quote is not closed or stands "
                    "within a cell, or a cell is longer than 131,072 characters."
                )
                raise InputFault("csv_unreadable", detail) from None
            if record is None:
                return
            yield record
