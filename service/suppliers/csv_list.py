"""A price list in CSV (RFC 4180): encoding and delimiter stated or found out, one record in memory at a time."""

import codecs
import csv
from collections.abc import Iterator, Sequence
from io import TextIOWrapper
from typing import IO, Final

from schemas.price_list import PriceListOptions
from service.errors import InputFault
from service.suppliers.rows import Header, Row, Table, body_rows, header_among, header_missing, stated

DELIMITERS: Final = (",", ";", "\t")
_CODECS: Final = {"utf-8": "utf-8-sig", "utf-16": "utf-16", "windows-1252": "cp1252"}
_CHUNK: Final = 1 << 16


def csv_table(file: IO[bytes], options: PriceListOptions) -> Table:
    """The table in ``file``; a byte order mark is taken off."""
    mark = _bytes_from_start(file, 2)
    encoding = options.encoding or _found_encoding(mark)
    if encoding == "utf-16" and not _marked(mark):
        raise InputFault("encoding_wrong", "UTF-16 text begins with a byte order mark, and this file has none.")
    _check_encoding(file, encoding)
    delimiter, header = _header(file, encoding, options)

    def rows() -> Iterator[Row]:
        return body_rows(_records(file, encoding, delimiter), header, strict_width=True)

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


def _bytes_from_start(file: IO[bytes], count: int) -> bytes:
    file.seek(0)
    return file.read(count)


def _marked(mark: bytes) -> bool:
    return mark in (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)


def _found_encoding(mark: bytes) -> str:
    return "utf-16" if _marked(mark) else "utf-8"


def _check_encoding(file: IO[bytes], encoding: str) -> None:
    """Reads all of the text once, a piece at a time, so that no row can fail later."""
    file.seek(0)
    decoder = codecs.getincrementaldecoder(_CODECS[encoding])()
    line = 1
    following = file.read(_CHUNK)
    while piece := following:
        following = file.read(_CHUNK)
        try:
            text = decoder.decode(piece, not following)
        except UnicodeDecodeError as fault:
            line += piece[: max(fault.start, 0)].count(b"\n")
            detail = f"Near line {line} the file is not {encoding}; state its encoding, or save it as UTF-8."
            raise InputFault("encoding_wrong", detail) from None
        line += text.count("\n")


def _header(file: IO[bytes], encoding: str, options: PriceListOptions) -> tuple[str, Header]:
    """The delimiter by which a row has every header of the mapping, and that header."""
    missing: list[str] | None = None
    broken: InputFault | None = None
    for delimiter in (options.delimiter,) if options.delimiter else DELIMITERS:
        try:
            found = header_among(_records(file, encoding, delimiter), options.mapping)
        except InputFault as fault:
            # A quote that one delimiter makes no sense of may be right with another.
            if fault.code != "csv_unreadable" or options.delimiter:
                raise
            broken = fault
            continue
        if isinstance(found, Header):
            return delimiter, found
        if missing is None or len(found) < len(missing):
            missing = found
    if missing is None and broken is not None:
        raise broken
    raise header_missing(missing or [])


def _records(file: IO[bytes], encoding: str, delimiter: str) -> Iterator[Sequence[str]]:
    """The records of the file, header and blank ones too."""
    file.seek(0)
    text = TextIOWrapper(file, encoding=_CODECS[encoding], newline="")
    try:
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
    finally:
        text.detach()  # It would close the file with itself.
