"""Files that mean harm: bombs, huge cells, lying archives, patterns that backtrack. Each is refused, and soon."""

import importlib
import io
import pkgutil
import random
import re
import time
import tracemalloc
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from xlsxwriter import Workbook as Writer

import service.suppliers
from service.errors import InputFault
from service.suppliers import workbook
from service.suppliers.listed import Listed
from service.suppliers.matching import NameIndex, gtin_of
from service.suppliers.newids import ids_of
from service.suppliers.packs import pack_of
from service.suppliers.prices import price_of
from service.suppliers.workbook import book_of
from tests.suppliers.lists import CSV, HEADER, JSON, XLSX, codes, csv_of, price_list, reported, xlsx_of

GOOD = ("BC-100", None, "Gin", "6x70cl", 1100)


@contextmanager
def within(seconds: float, megabytes: float) -> Iterator[None]:
    """Holds a block to a time and to a growth of memory; the bounds are wide for a busy machine."""
    tracemalloc.start()
    start = time.perf_counter()
    try:
        yield
        spent, peak = time.perf_counter() - start, tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert spent < seconds
    assert peak < megabytes * 1e6


def repacked(data: bytes, change: dict[str, bytes], compression: int = zipfile.ZIP_DEFLATED) -> bytes:
    """A workbook with some of its files exchanged or added."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as source, zipfile.ZipFile(out, "w", compression) as target:
        for entry in source.infolist():
            target.writestr(entry.filename, change.get(entry.filename, source.read(entry)))
        for name in change.keys() - set(source.namelist()):
            target.writestr(name, change[name])
    return out.getvalue()


BOOK = xlsx_of(HEADER, GOOD)
SHEET = "xl/worksheets/sheet1.xml"


def sheet_xml() -> bytes:
    with zipfile.ZipFile(io.BytesIO(BOOK)) as book:
        return book.read(SHEET)


def test_the_archive_that_is_repacked_here_is_a_good_one() -> None:
    assert reported(repacked(BOOK, {}), XLSX).committable


def refused(data: bytes, code: str) -> None:
    with within(2, 8), pytest.raises(InputFault) as caught:
        price_list(data, XLSX)
    assert caught.value.code == code


def test_a_bomb_is_refused_before_it_is_opened() -> None:
    bomb = repacked(BOOK, {"xl/media/zero.bin": bytes(60_000_000)})
    assert len(bomb) < 100_000
    refused(bomb, "workbook_too_large")
    # Under 50 MB, yet a thousand times its packed size.
    refused(repacked(BOOK, {"xl/sharedStrings.xml": bytes(40_000_000)}), "workbook_too_large")


def test_many_small_files_are_a_bomb_too() -> None:
    refused(repacked(BOOK, {f"x/{number}": b"" for number in range(1001)}), "workbook_too_large")
    # 51 files of 990 kB: each is below the bound of the ratio, together they are over 50 MB.
    refused(repacked(BOOK, {f"x/{number}": bytes(990_000) for number in range(51)}), "workbook_too_large")


def test_an_archive_that_lies_about_its_size_is_refused() -> None:
    data = bytearray(repacked(BOOK, {SHEET: sheet_xml() + b" " * 500_000}))
    for signature, offset in ((b"PK\x01\x02", 24), (b"PK\x03\x04", 22)):
        place = -1
        while (place := data.find(signature, place + 1)) >= 0:
            name_at = place + (46 if signature == b"PK\x01\x02" else 30)
            if data[name_at : name_at + len(SHEET)] == SHEET.encode():
                data[place + offset : place + offset + 4] = (100).to_bytes(4, "little")
    refused(bytes(data), "workbook_unreadable")


def test_entities_are_refused_where_they_are_declared() -> None:
    laughs = b'<?xml version="1.0"?><!DOCTYPE l [<!ENTITY a "ha"><!ENTITY b "&a;&a;">]>'
    refused(repacked(BOOK, {SHEET: laughs + sheet_xml()}), "workbook_doctype")
    # Over the edge of a piece that is read at once.
    late = laughs.replace(b"?>", b"?><!--" + b" " * 65_500 + b"-->")
    refused(repacked(BOOK, {SHEET: late + sheet_xml()}), "workbook_doctype")
    wide = laughs.removeprefix(b'<?xml version="1.0"?>').decode() + sheet_xml().decode()
    refused(repacked(BOOK, {SHEET: wide.encode("utf-16")}), "workbook_doctype")
    for part in ("xl/workbook.xml", "xl/styles.xml", "_rels/.rels"):
        refused(repacked(BOOK, {part: laughs + b"<a/>"}), "workbook_doctype")


def test_millions_of_empty_elements_take_no_memory() -> None:
    """In a row, outside of rows, and among the texts: packed little enough to pass the bound of the ratio."""
    noise = random.Random(1)  # padding that does not pack, no secret
    filler = "".join(f"<c/><x a='{noise.getrandbits(20)}'/>" for _ in range(50_000)).encode() * 2
    head, tail = sheet_xml().split(b"</row></sheetData>")
    for sheet in (head + filler + b"</row></sheetData>" + tail, head + b"</row></sheetData>" + filler + tail):
        with within(20, 8):
            assert reported(repacked(BOOK, {SHEET: sheet}, zipfile.ZIP_STORED), XLSX).committable


@pytest.mark.parametrize(
    "data", [b"", b"PK", b"PK\x03\x04" + bytes(100), csv_of(("a",)), BOOK[:-30], BOOK[: len(BOOK) // 2]]
)
def test_what_is_no_workbook_is_refused(data: bytes) -> None:
    refused(data, "workbook_unreadable")


@pytest.mark.parametrize("name", ["xl/workbook.xml", "[Content_Types].xml", SHEET, "xl/styles.xml"])
@pytest.mark.parametrize("part", [b"", b"<a/>", b"<worksheet", b"\x00" * 50])
def test_a_broken_part_is_refused_or_harmless(name: str, part: bytes) -> None:
    try:
        found = reported(repacked(BOOK, {name: part}), XLSX)
    except InputFault as fault:
        found = None
        code = fault.code
    # Without its styles a list is still a list.
    assert found.committable if found else code in ("workbook_unreadable", "header_missing", "sheet_missing")


def test_other_ways_of_packing_and_encryption_are_refused() -> None:
    refused(repacked(BOOK, {}, zipfile.ZIP_BZIP2), "workbook_locked")
    data = bytearray(BOOK)
    data[data.find(b"PK\x01\x02") + 8] |= 1
    refused(bytes(data), "workbook_locked")


def test_a_cell_at_the_far_end_costs_little() -> None:
    far = sheet_xml().replace(b"</sheetData>", b'<row r="1048576"><c r="XFD1048576"><v>1</v></c></row></sheetData>')
    with within(5, 30), pytest.raises(InputFault, match="too_many_rows"):
        price_list(repacked(BOOK, {SHEET: far}), XLSX)
    wide = sheet_xml().replace(b"</row></sheetData>", b'<c r="XFD2"><v>1</v></c></row></sheetData>')
    assert reported(repacked(BOOK, {SHEET: wide}), XLSX).committable


def test_too_many_tags_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(workbook, "ELEMENTS", 80_000)
    data = repacked(BOOK, {SHEET: sheet_xml().replace(b"</sheetData>", b"<x/>" * 80_000 + b"</sheetData>")})
    with pytest.raises(InputFault, match="workbook_too_large"):
        price_list(data, XLSX)


def with_cells(cells: str) -> bytes:
    """The workbook with other cells in its second row, behind a code and a pack."""
    start = sheet_xml().index(b'<row r="2"')
    fixed = '<c t="inlineStr"><is><t>BC-100</t></is></c><c/><c/><c t="inlineStr"><is><t>6x70cl</t></is></c>'
    return repacked(
        BOOK, {SHEET: sheet_xml()[:start] + f'<row r="2">{fixed}{cells}</row></sheetData></worksheet>'.encode()}
    )


@pytest.mark.parametrize(
    ("cell", "code"),
    [
        ("<c><v>1100</v></c>", None),
        ('<c t="str"><v>1100.00</v></c>', None),
        ('<c t="inlineStr"><is><t>1100</t><rPh><t>999</t></rPh></is></c>', None),
        ("<c><v>1e400</v></c>", "price_unreadable"),
        ("<c><v>11E+2</v></c>", None),
        ("<c><v>0x10</v></c>", "cell_unreadable"),
        ("<c><v>Infinity</v></c>", "cell_unreadable"),
        (f"<c><v>{'1' * 100}</v></c>", "cell_unreadable"),
        ('<c t="s"><v>7</v></c>', "cell_unreadable"),
        ('<c t="s"><v>-1</v></c>', "cell_unreadable"),
        ('<c t="e"><v>#REF!</v></c>', "cell_error"),
        ("<c><f>1+1</f></c>", "formula_without_value"),
        ("<c/>", "price_missing"),
        ('<c r="A1048576"><v>1</v></c>', "price_missing"),
    ],
)
def test_a_cell_that_is_crafted_is_refused_or_read(cell: str, code: str | None) -> None:
    row = reported(with_cells(cell), XLSX).rows[0]
    assert code in codes(row) if code else row.new_price in ("1100", "1100.00")


def test_rows_that_go_backwards_are_refused() -> None:
    data = sheet_xml().replace(b"</sheetData>", b'<row r="2"><c><v>1</v></c></row></sheetData>')
    refused(repacked(BOOK, {SHEET: data}), "workbook_unreadable")


def test_a_workbook_without_its_sheet_or_main_part_is_refused() -> None:
    refused(repacked(BOOK, {"_rels/.rels": b"<Relationships/>"}), "workbook_unreadable")
    gone = repacked(BOOK, {}).replace(b"xl/worksheets/sheet1.xml", b"xl/worksheets/sheet9.xml")
    refused(gone, "workbook_unreadable")


def test_too_many_shared_texts_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    out = io.BytesIO()
    with Writer(out, {"in_memory": True}) as book:
        book.add_worksheet().write_column(0, 0, [f"text {number}" for number in range(11)])
    monkeypatch.setattr(workbook, "STRINGS", 10)
    refused(out.getvalue(), "workbook_too_large")


def test_a_wrong_extent_hides_no_row() -> None:
    small = re.sub(rb'<dimension ref="[^"]*"', b'<dimension ref="A1:A1"', sheet_xml())
    assert len(reported(repacked(BOOK, {SHEET: small}), XLSX).rows) == 1


def test_a_cell_of_ten_million_characters_is_refused_in_every_format() -> None:
    huge = "x" * 10_000_000
    with within(3, 120), pytest.raises(InputFault, match="Row 2"):
        price_list(csv_of(("BC-100", "", huge, "6x70cl", "1100,00")), CSV)
    with within(3, 120):
        found = reported(
            f'[{{"Art.no": "BC-100", "Content": "6x70cl", "Net price": 1100, "Article": "{huge}"}}]'.encode(), JSON
        )
    assert codes(found.rows[0]) == ["cell_too_long"]
    inline = sheet_xml().replace(
        b"</row></sheetData>", f'<c r="B2" t="str"><v>{huge}</v></c></row></sheetData>'.encode()
    )
    refused(repacked(BOOK, {SHEET: inline}), "workbook_too_large")
    stored = repacked(BOOK, {SHEET: inline}, zipfile.ZIP_STORED)
    with within(5, 120):
        assert codes(reported(stored, XLSX).rows[0]) == ["cell_too_long"]


def test_a_file_without_any_break_is_one_header_that_is_missing() -> None:
    with within(3, 120), pytest.raises(InputFault, match=r"header_missing|csv_unreadable"):
        price_list(b"a;" * 5_000_000)
    with within(3, 120), pytest.raises(InputFault, match=r"csv_unreadable|header_missing"):
        price_list(b'"' + b"a" * 10_000_000)


def test_nul_everywhere_is_refused() -> None:
    with pytest.raises(InputFault, match="header_missing"):
        price_list(bytes(10_000))
    found = reported(csv_of(("BC-100\0", "", "Gin", "6x70cl", "1100,00")))
    assert "text_character" in codes(found.rows[0])


@pytest.mark.parametrize("mark", [*"=+-@＝＋－＠", "\t=", "\r=", '"'])
def test_a_cell_that_a_spreadsheet_would_run_stays_text(mark: str) -> None:
    name = f"{mark}1+1"
    written = '"' + name.replace('"', '""') + '"'
    row = reported(csv_of(("BC-100", "", written, "6x70cl", "1100,00"))).rows[0]
    assert row.name == name.strip()
    assert row.outcome == "unchanged"


def test_one_code_over_and_over_costs_no_more_than_other_rows() -> None:
    data = csv_of() + b"\n" + b"A;;G;1 l;1,00\n" * 20_000
    start = time.perf_counter()
    found = reported(data)
    assert time.perf_counter() - start < 30
    assert found.counts.refused == 20_000
    assert {codes(row)[0] for row in found.rows} == {"duplicate"}
    # Ten others at most are named.
    assert found.rows[-1].reasons[0].detail.count(",") < 11


def test_too_many_rows_are_refused() -> None:
    line = b"A;;G;1 l;1,00\n"
    data = csv_of() + b"\n" + line * 50_001
    with pytest.raises(InputFault, match="too_many_rows"):
        price_list(data)


HOSTILE = [
    "a" * 100_000, "1" * 100_000, " " * 100_000, "1," * 50_000, "1.234" * 20_000, "1 000" * 20_000, "a " * 50_000,
    "1x" * 50_000, "x1 " * 33_333, "'" * 100_000, "ab1 " * 25_000 + "!", "1" * 99_999 + "!", "-" * 100_000,
    "é" * 100_000,    "1.000." * 16_666 + "x", "a-" * 50_000 + "ß", "<x:" * 33_333, "<" + "a" * 99_999, "\t" * 100_000,
    "\u200b" * 100_000,
]  # fmt: skip


def patterns() -> dict[str, re.Pattern[str] | re.Pattern[bytes]]:
    found: dict[str, re.Pattern[str] | re.Pattern[bytes]] = {}
    for module in pkgutil.iter_modules(service.suppliers.__path__):
        held = vars(importlib.import_module(f"service.suppliers.{module.name}"))
        for name, value in held.items():
            if isinstance(value, re.Pattern):
                found[f"{module.name}.{name}"] = value
            elif isinstance(value, dict):
                found |= {
                    f"{module.name}.{name}.{key}": one for key, one in value.items() if isinstance(one, re.Pattern)
                }
    return found


def test_every_pattern_is_found() -> None:
    assert len(patterns()) >= 18


@pytest.mark.parametrize("name", patterns())
def test_no_pattern_backtracks(name: str) -> None:
    """Each pattern on 100,000 characters in at most 50 ms of CPU, the best of three."""
    pattern = patterns()[name]
    for text in HOSTILE:
        subject: str | bytes = text.encode() if isinstance(pattern.pattern, bytes) else text
        spent = []
        for _ in range(3):
            start = time.process_time()
            pattern.search(subject)  # type: ignore[arg-type]  # text and bytes go to their own patterns
            pattern.fullmatch(subject)  # type: ignore[arg-type]  # as above
            spent.append(time.process_time() - start)
            if spent[-1] < 0.05:
                break
        assert min(spent) < 0.05, text[:20]


@pytest.mark.parametrize("text", HOSTILE)
def test_readers_are_quick_on_long_texts(text: str) -> None:
    start = time.perf_counter()
    for read in (pack_of, gtin_of, lambda one: price_of(one, ".")):
        with pytest.raises(InputFault):
            read(text)
    NameIndex({"a": text}).suggestion(text)
    list(ids_of("bc", Listed(2, code=text[:200])))
    assert time.perf_counter() - start < 1


def test_a_good_archive_passes() -> None:
    assert book_of(io.BytesIO(BOOK), None).title == "List"
