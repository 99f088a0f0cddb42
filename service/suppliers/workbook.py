"""The parts of a workbook (ISO/IEC 29500) that a list needs, without a tree of its markup in memory.

The sizes in the archive are looked at before anything is unpacked; an entry never unpacks to more than it declares,
since the archive reader stops there and refuses it. A part that declares a document type, and with it entities, is
refused. What is parsed is kept as texts and numbers alone: a tree of 50 MB of empty elements would take over 1 GB.
"""

import posixpath
import re
import zipfile
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import IO, Final
from xml.parsers import expat

from service.errors import InputFault
from service.suppliers.rows import LONGEST_CELL

UNPACKED: Final = 50_000_000
"""The most bytes that all files of the archive may have together when unpacked."""
RATIO: Final = 200
"""How many times smaller than unpacked a file over 1 MB may be packed; sheets of a list are 5 to 40 times smaller."""
ENTRIES: Final = 1000
"""The most files in the archive."""
STRINGS: Final = 1_000_000
"""The most texts that the cells of a workbook may share, and the most styles, sheets or relations."""

ELEMENTS: Final = 8_000_000
"""The most tags in one part: a list of 50,000 rows and 40 columns has four for each cell."""

_CHUNK: Final = 1 << 16
_BROKEN: Final = (zipfile.BadZipFile, zlib.error, expat.ExpatError, EOFError, OSError, NotImplementedError, ValueError)
_DATES: Final = frozenset((*range(14, 23), *range(27, 37), *range(50, 59)))
"""Built-in number formats that show a day (ISO/IEC 29500-1, 18.8.30)."""
_NOT_SHOWN: Final = re.compile(r'"[^"]*+"|\\.|_.|\[[^\]]*+\]')

Attributes = dict[str, str]


@dataclass(frozen=True, slots=True)
class Book:
    """One sheet of a workbook: its rows are parsed anew each time they are asked for."""

    archive: zipfile.ZipFile
    sheet: str
    title: str
    strings: list[str]
    dates: frozenset[int]
    from_1904: bool


class Markup:
    """Feeds a part to two functions of an element's local name; ``text`` gathers what stands in the open element."""

    def __init__(self, start: Callable[[str, Attributes], None], end: Callable[[str], None] = lambda _: None) -> None:
        self._parser = expat.ParserCreate(namespace_separator=" ")
        self._parser.buffer_text = True
        self._parser.StartElementHandler = lambda name, found: start(name[name.rfind(" ") + 1 :], found)
        self._parser.EndElementHandler = lambda name: end(name[name.rfind(" ") + 1 :])
        self._parser.CharacterDataHandler = self._gather
        self._parser.StartDoctypeDeclHandler = _refuse_doctype
        self.gathering = False
        self.text: list[str] = []

    def _gather(self, text: str) -> None:
        if self.gathering:
            self.text.append(text)

    def fed(self, archive: zipfile.ZipFile, name: str) -> Iterator[None]:
        """Reads the part piece by piece; broken markup, or an archive that lies about it, is refused."""
        try:
            with archive.open(name) as part:
                tags = 0
                while piece := part.read(_CHUNK):
                    tags += piece.count(b"<")
                    if tags > ELEMENTS:
                        raise InputFault("workbook_too_large", f"A part of the workbook has over {ELEMENTS:,} tags.")
                    self._parser.Parse(piece, False)
                    yield
                self._parser.Parse(b"", True)
        except _BROKEN:
            raise unreadable() from None
        yield

    def read(self, archive: zipfile.ZipFile, name: str) -> None:
        """Reads the whole part."""
        for _ in self.fed(archive, name):
            pass


def book_of(file: IO[bytes], sheet: str | None) -> Book:
    """The named sheet of the workbook ``file``, or its first one."""
    archive = _archive(file)
    main = next(iter(_related(archive, "").get("officeDocument", {}).values()), "")
    if main not in archive.namelist():
        raise unreadable()
    parts = _related(archive, main)
    sheets, from_1904 = _sheets(archive, main)
    paths = parts.get("worksheet", {})
    chosen = [(title, paths[key]) for title, key in sheets if key in paths and sheet in (None, title)]
    if not chosen:
        raise InputFault("sheet_missing", "The workbook has no sheet of that name." if sheet else "There is no sheet.")
    title, path = chosen[0]
    if path not in archive.namelist():
        raise unreadable()
    strings = [text for part in parts.get("sharedStrings", {}).values() for text in _strings(archive, part)]
    dates = frozenset(style for part in parts.get("styles", {}).values() for style in _date_styles(archive, part))
    return Book(archive, path, title, strings, dates, from_1904)


def unreadable() -> InputFault:
    """The file is no workbook, or a broken one."""
    return InputFault("workbook_unreadable", "The file is not a workbook that can be read.")


def _archive(file: IO[bytes]) -> zipfile.ZipFile:
    try:
        archive = zipfile.ZipFile(file)
    except _BROKEN:
        raise unreadable() from None
    entries = archive.infolist()
    if len(entries) > ENTRIES:
        raise InputFault("workbook_too_large", f"The workbook holds over {ENTRIES:,} files.")
    if sum(entry.file_size for entry in entries) > UNPACKED:
        raise InputFault("workbook_too_large", f"The workbook unpacks to over {UNPACKED // 10**6} MB.")
    for entry in entries:
        if entry.flag_bits & 1 or entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            raise InputFault("workbook_locked", "The workbook is encrypted or packed in an unknown way.")
        if entry.file_size > max(1_000_000, RATIO * entry.compress_size):
            raise InputFault("workbook_too_large", f"A file of the workbook unpacks to over {RATIO} times itself.")
    return archive


def _refuse_doctype(*_: object) -> None:
    raise InputFault("workbook_doctype", "The workbook declares a document type, which no list needs.")


def _related(archive: zipfile.ZipFile, source: str) -> dict[str, dict[str, str]]:
    """Parts that a part names, by the last word of their kind and by their id."""
    folder, name = posixpath.split(source)
    path = posixpath.join(folder, "_rels", f"{name}.rels")
    found: dict[str, dict[str, str]] = {}

    def start(element: str, row: Attributes) -> None:
        if element == "Relationship" and row.get("TargetMode") != "External":
            target = posixpath.normpath(posixpath.join("/", folder, row.get("Target", ""))).lstrip("/")
            found.setdefault(row.get("Type", "").rpartition("/")[2], {})[row.get("Id", "")] = target

    if path in archive.namelist():
        Markup(start).read(archive, path)
    return found


def _sheets(archive: zipfile.ZipFile, path: str) -> tuple[list[tuple[str, str]], bool]:
    """Sheets as title and relation, in their order, and whether days count from 1904."""
    found: list[tuple[str, str]] = []
    from_1904 = False

    def start(element: str, row: Attributes) -> None:
        nonlocal from_1904
        if element == "sheet" and len(found) < ENTRIES:
            key = next((value for name, value in row.items() if name.endswith(" id")), "")
            found.append((row.get("name", ""), key))
        elif element == "workbookPr":
            from_1904 = row.get("date1904") in ("1", "true")

    Markup(start).read(archive, path)
    return found, from_1904


def _strings(archive: zipfile.ZipFile, path: str) -> list[str]:
    """The texts that cells share; a reading aid of a text is left out, and what is over the length of a cell cut."""
    found: list[str] = []
    aside = False

    def start(element: str, _: Attributes) -> None:
        nonlocal aside
        if element == "t":
            markup.gathering = not aside
        elif element == "si":
            markup.text = []
        elif element == "rPh":
            aside = True

    def end(element: str) -> None:
        nonlocal aside
        if element == "t":
            markup.gathering = False
        elif element == "rPh":
            aside = False
        elif element == "si":
            if len(found) >= STRINGS:
                raise InputFault("workbook_too_large", f"The workbook holds over {STRINGS:,} texts.")
            found.append("".join(markup.text)[: LONGEST_CELL + 1])

    markup = Markup(start, end)
    if path in archive.namelist():
        markup.read(archive, path)
    return found


def _date_styles(archive: zipfile.ZipFile, path: str) -> set[int]:
    """Numbers of the cell styles that show a day."""
    dates = set(_DATES)
    found: set[int] = set()
    within, number = False, 0

    def start(element: str, row: Attributes) -> None:
        nonlocal within, number
        if element == "numFmt":
            shown = _NOT_SHOWN.sub("", row.get("formatCode", "")[:LONGEST_CELL]).lower()
            if "d" in shown or "y" in shown:
                dates.add(_whole(row.get("numFmtId", "")))
        elif element == "cellXfs":
            within = True
        elif element == "xf" and within:
            if _whole(row.get("numFmtId", "0")) in dates:
                found.add(number)
            number += 1

    def end(element: str) -> None:
        nonlocal within
        within = within and element != "cellXfs"

    if path in archive.namelist():
        Markup(start, end).read(archive, path)
    return found


def _whole(text: str) -> int:
    return int(text) if text.isascii() and text.isdigit() and len(text) <= 9 else -1
