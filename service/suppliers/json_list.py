"""A price list in JSON: an array of objects whose keys are the headers, one object in memory at a time."""

import json
import re
from collections.abc import Iterator
from typing import IO, Any, Final

from schemas.price_list import ROWS, PriceListOptions
from service.errors import InputFault
from service.suppliers.rows import BadCell, NumberText, Row, Table, fields_of, heading, too_many_rows

_SPACE: Final = re.compile(r"[ \t\r\n]*+")
_NESTED: Final = BadCell.of("cell_nested", "A cell is text, a number, true, false or null.")


def json_table(file: IO[bytes], options: PriceListOptions) -> Table:
    """The table in ``file``; rows are numbered by their place in the array, from 1."""
    try:
        file.seek(0)
        text = file.read().decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputFault("encoding_wrong", "JSON is UTF-8.") from None
    fields = fields_of(options.mapping)

    def rows() -> Iterator[Row]:
        return _rows(text, fields)

    columns = {field: index for index, field in enumerate(fields)}
    return Table(format="json", encoding="utf-8", columns=columns, rows=rows)


def _rows(text: str, fields: dict[str, str]) -> Iterator[Row]:
    places = {header: index for index, header in enumerate(fields.values())}
    for number, entry in enumerate(_entries(text), 1):
        if number > ROWS:
            raise too_many_rows()
        if not isinstance(entry, _Pairs):
            yield Row(
                number, [""] * len(fields), InputFault("row_not_object", "A row is an object of header and cell.")
            )
            continue
        yield _row(number, entry, places)


def _row(number: int, entry: "_Pairs", places: dict[str, int]) -> Row:
    cells = [""] * len(places)
    seen: set[str] = set()
    fault = None
    for key, value in entry:
        header = key if key in places else heading(key)
        if header in seen:
            fault = InputFault("key_twice", "A key stands twice in this row.")
        seen.add(header)
        if header in places:
            cells[places[header]] = _cell(value)
    return Row(number, cells, fault)


class _Pairs(list[tuple[str, Any]]):
    """The keys and values of one object as they stand, so that a key that stands twice is seen."""


def _cell(value: Any) -> str:
    if isinstance(value, str):
        return value
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    return _NESTED


def _refused(word: str) -> Any:
    raise ValueError(word)


_DECODER: Final = json.JSONDecoder(
    object_pairs_hook=_Pairs, parse_float=NumberText, parse_int=NumberText, parse_constant=_refused
)


def _entries(text: str) -> Iterator[Any]:
    """The entries of the array, decoded one by one."""
    place = _after_space(text, 0)
    if text[place : place + 1] != "[":
        raise _unreadable("The list is an array of objects, one for each row.")
    place = _after_space(text, place + 1)
    number = 0
    while text[place : place + 1] != "]" or number:
        number += 1
        try:
            entry, place = _DECODER.raw_decode(text, place)
        except (ValueError, RecursionError):
            raise _unreadable(f"Row {number} is not JSON.") from None
        yield entry
        place = _after_space(text, place)
        mark = text[place : place + 1]
        if mark == "]":
            break
        if mark != ",":
            raise _unreadable(f"After row {number} a comma or the end of the array is missing.")
        place = _after_space(text, place + 1)
    if _after_space(text, place + 1) != len(text):
        raise _unreadable("Something stands after the end of the array.")


def _after_space(text: str, place: int) -> int:
    match = _SPACE.match(text, place)
    return match.end() if match else place


def _unreadable(detail: str) -> InputFault:
    return InputFault("json_unreadable", detail)
