"""Each format read as it comes: encodings, delimiters, headers, formulas; and what none of them lets through."""

import codecs
import json
from datetime import datetime
from io import BytesIO

import pytest
from openpyxl import Workbook
from openpyxl.styles import numbers
from xlsxwriter import Workbook as Writer

from service.errors import InputFault
from tests.suppliers.lists import (
    CSV,
    HEADER,
    JSON,
    XLSX,
    codes,
    csv_of,
    one_row,
    price_list,
    reported,
    xlsx_of,
)  # fmt: skip

ROW = ("BC-100", "", "Gin de la jetée", "6x70cl", "1100,00")


# CSV


@pytest.mark.parametrize(
    ("data", "stated", "encoding"),
    [
        (csv_of(ROW), None, "utf-8"),
        (codecs.BOM_UTF8 + csv_of(ROW), None, "utf-8"),
        (csv_of(ROW).decode().encode("utf-16"), None, "utf-16"),
        (codecs.BOM_UTF16_BE + csv_of(ROW).decode().encode("utf-16-be"), None, "utf-16"),
        (csv_of(ROW).decode().encode("cp1252"), "windows-1252", "windows-1252"),
    ],
)
def test_encodings(data: bytes, stated: str | None, encoding: str) -> None:
    found = reported(data, encoding=stated)
    assert found.rows[0].name == "Gin de la jetée"
    assert found.read_as.encoding == encoding
    assert found.read_as.encoding_by == ("stated" if stated else "detected")


@pytest.mark.parametrize(
    ("data", "stated"),
    [
        (csv_of(ROW).decode().encode("cp1252"), None),
        (csv_of(ROW), "utf-16"),
        (b"\x81" + csv_of(ROW), "windows-1252"),
        (codecs.BOM_UTF16_LE + b"A", None),
    ],
)
def test_a_wrong_encoding_is_refused_with_its_place(data: bytes, stated: str | None) -> None:
    with pytest.raises(InputFault) as caught:
        price_list(data, encoding=stated)
    assert caught.value.code == "encoding_wrong"


def test_the_place_of_a_wrong_byte_is_named() -> None:
    with pytest.raises(InputFault, match="Near line 3 the file is not utf-8"):
        price_list(csv_of(("BC-103", "", "Cider", "30 l", "98,40"), ("BC-100",)) + b";\xff")


def test_the_delimiter_is_the_one_that_finds_the_header() -> None:
    header = ("Art,no", "EAN", "Article", "Content", "Net price")
    mapping = {"code": "Art,no", "pack": "Content", "price": "Net price"}
    assert reported(csv_of(ROW, header=header), mapping=mapping).read_as.delimiter == ";"
    assert reported(csv_of(ROW, delimiter="\t")).read_as.delimiter == "\t"


def test_a_header_that_is_not_there_is_named() -> None:
    with pytest.raises(InputFault, match="not found: Net price") as caught:
        price_list(csv_of(ROW, header=(*HEADER[:4], "Price")))
    assert caught.value.code == "header_missing"
    with pytest.raises(InputFault, match="header_missing"):
        price_list(b"")


def test_a_header_is_compared_without_case_and_spaces() -> None:
    assert (
        reported(csv_of(ROW, header=("ART.NO ", "ean", " article", "content", "NET  PRICE"))).rows[0].code == "BC-100"
    )


def test_a_column_that_stands_twice_is_refused() -> None:
    with pytest.raises(InputFault, match="header_twice"):
        price_list(csv_of((*ROW, "1"), header=(*HEADER, "net price")))


def test_a_second_header_row_is_refused_by_its_number() -> None:
    found = reported(csv_of(HEADER, ROW))
    assert [(row.row, row.outcome) for row in found.rows] == [(2, "refused"), (3, "unchanged")]
    assert codes(found.rows[0]) == ["header_repeated"]
    found = reported(csv_of(("", "", "", "", "in EUR"), ROW))
    assert [row.outcome for row in found.rows] == ["refused", "unchanged"]


def test_blank_rows_are_skipped_and_counted() -> None:
    found = reported(csv_of(("",) * 5, ROW, ("",), ("", " "), ("BC-103", "", "Cider", "30 l", "98,40")))
    assert [row.row for row in found.rows] == [3, 6]


def test_a_quoted_cell_may_hold_a_break_and_the_delimiter() -> None:
    data = csv_of(("BC-100", "", '"Gin; of the\r\npier ""old"""', "6x70cl", "1100,00"), ROW[:0])
    assert reported(data).rows[0].name == 'Gin; of the pier "old"'


def test_a_quote_that_no_delimiter_makes_sense_of_is_told() -> None:
    with pytest.raises(InputFault, match="csv_unreadable"):
        price_list(b'"Art.no')


@pytest.mark.parametrize("cell", ['"Gin', '"Gin" of'])
def test_a_broken_quote_refuses_the_file_with_its_row(cell: str) -> None:
    with pytest.raises(InputFault, match="Row 3") as caught:
        price_list(csv_of(ROW, ("BC-103", "", cell, "30 l", "98,40")), delimiter=";")
    assert caught.value.code == "csv_unreadable"


def test_mixed_decimal_marks_refuse_the_rows_of_the_rarer_one() -> None:
    found = reported(csv_of(
        ROW, ("BC-103", "", "Cider", "30 l", "98.40"), ("BC-102", "", "Brut", "6x75cl", "60,00")
    ))  # fmt: skip
    assert [codes(row) for row in found.rows] == [[], ["decimal_mixed"], []]


def test_a_thousands_dot_alone_asks_for_the_mark() -> None:
    data = csv_of(("BC-100", "", "Gin", "6x70cl", "1.100"))
    with pytest.raises(InputFault, match="Row 2"):
        price_list(data)
    assert reported(data, decimal=",").rows[0].outcome == "unchanged"
    # Beside prices with a point, 1.100 is one and a tenth, or a thousand of a careless hand.
    found = reported(csv_of(("BC-100", "", "Gin", "6x70cl", "1.100"), ("BC-103", "", "Cider", "30 l", "98.40")))
    assert codes(found.rows[0]) == ["decimal_unclear"]


def test_a_last_row_that_is_cut_off_is_refused() -> None:
    data = csv_of(("BC-103", "", "Cider", "30 l", "98,40"), ROW)
    for cut in range(1, len("e;6x70cl;1100,00")):
        found = reported(data[:-cut])
        # What is left of a price may still read as one: it is caught by its change, unless only zeros are gone.
        assert not found.committable or found.rows[-1].new_price in ("1100.0", "1100"), cut


# XLSX


def test_sheets_are_named_or_the_first() -> None:
    data = xlsx_of(HEADER, ("BC-100", None, "Gin", "6x70cl", 1100), title="December")
    assert reported(data, XLSX).read_as.sheet == "December"
    assert reported(data, XLSX, sheet="December").rows[0].outcome == "unchanged"
    with pytest.raises(InputFault, match="sheet_missing"):
        price_list(data, XLSX, sheet="January")


def test_a_formula_without_a_saved_value_refuses_its_row_where_the_cell_is_used() -> None:
    data = xlsx_of(
        (*HEADER, "Note"),
        ("BC-100", None, "Gin", "6x70cl", "=1000+100", None),
        ("BC-103", None, "Cider", "30 l", 98.4, "=1+1"),
        ("BC-102", None, "=A4", "6x75cl", 60, None),
    )
    found = reported(data, XLSX)
    assert [(row.row, codes(row)) for row in found.rows] == [
        (2, ["formula_without_value"]), (3, []), (4, ["formula_without_value"]),
    ]  # fmt: skip


def test_cells_of_every_type() -> None:
    book = Workbook()
    sheet = book.active
    mapping = {"code": "c", "pack": "k", "price": "p", "tax_included": "t", "tax_rate_percent": "r", "valid_from": "d"}
    sheet.append(list(mapping.values()))
    sheet.append([1044, "6x70cl", 0.1 + 0.2, True, 21, "2026-12-01"])
    sheet.append([1045.0, "6x70cl", 12.3, False, None, 46357])
    sheet["F3"].number_format = numbers.FORMAT_DATE_YYYYMMDD2
    sheet.append(["N-3", "6x70cl", "#N/A", None, None, None])
    sheet.append(["N-4", "6x70cl", 1e300, None, None, None])
    out = BytesIO()
    book.save(out)
    items = {"1044": "gin", "1045": "gin", "N-3": "gin", "N-4": "gin"}
    judged = list(price_list(out.getvalue(), XLSX, mapping=mapping, items=items).judged())
    first, second, third, fourth = (one.listed for one in judged)
    # A spreadsheet shows 0.3 for 0.1 + 0.2, whose binary sum is 0.30000000000000004.
    assert (first.code, str(first.price), first.tax_included, str(first.tax_rate_percent)) == (
        "1044",
        "0.3",
        True,
        "21",
    )
    # Day 46357 of the 1900 system: 46023 is 2026-01-01, and 334 days lie before 1 December.
    assert (second.code, str(second.price), str(second.valid_from)) == ("1045", "12.3", "2026-12-01")
    assert [fault.code for fault in third.faults] == ["cell_error"]
    assert [fault.code for fault in fourth.faults] == ["price_unreadable"]


@pytest.mark.parametrize("from_1904", [False, True])
def test_a_workbook_of_another_writer(from_1904: bool) -> None:
    """Texts that cells share, text in several fonts, days of both calendars, formulas with and without their values."""
    out = BytesIO()
    with Writer(out, {"in_memory": True, "date_1904": from_1904, "strings_to_formulas": False}) as book:
        sheet = book.add_worksheet("Empty one")
        sheet = book.add_worksheet("Winter")
        mapping = {"code": "c", "name": "n", "pack": "k", "price": "p", "valid_from": "d"}
        sheet.write_row(0, 0, mapping.values())
        bold, day = book.add_format({"bold": True}), book.add_format({"num_format": 'd "of" mmmm yyyy'})
        money = book.add_format({"num_format": '[Red]#,##0.00 "day rate"'})
        sheet.write_row(1, 0, ["BC-100", None, "6x70cl"])
        sheet.write_rich_string(1, 1, "Gin of ", bold, "the pier")
        sheet.write_number(1, 3, 1100, money)
        sheet.write_datetime(1, 4, datetime(2026, 12, 1), day)
        sheet.write_row(3, 0, ["BC-103", "Cider", "1x30L keg"])
        sheet.write_formula(3, 3, "=49.2*2", money, 98.4)
        sheet.write_datetime(3, 4, datetime(2026, 12, 1, 12), day)
        sheet.write_row(4, 0, ["BC-102", "=1+1", "6x75cl"])
        sheet.write_formula(4, 3, "=A1", None, "")
        sheet.write_formula(5, 0, '=IF(1,"BC-104","")', None, "BC-104")
        sheet.write_row(5, 1, ["Limes", "box of 54", 18.4])
        sheet.write_formula(6, 0, "=1/0", None, "#DIV/0!")
    found = [one.listed for one in price_list(out.getvalue(), XLSX, mapping=mapping, sheet="Winter").judged()]
    assert [one.row for one in found] == [2, 4, 5, 6, 7]
    assert (found[0].name, str(found[0].price), str(found[0].valid_from)) == ("Gin of the pier", "1100", "2026-12-01")
    assert (str(found[1].price), [fault.code for fault in found[1].faults]) == ("98.4", ["day_unreadable"])
    assert (found[2].name, [fault.code for fault in found[2].faults]) == ("=1+1", ["formula_without_value"])
    assert (found[3].code, str(found[3].price), found[3].faults) == ("BC-104", "18.4", [])
    assert found[4].faults[0].code == "cell_error"


# JSON


def test_json_numbers_are_taken_as_they_are_written() -> None:
    text = '[{"Art.no": "BC-100", "Content": "6x70cl", "Net price": 1100.10, "More": {"a": [1]}}]'
    row = reported(text.encode(), JSON).rows[0]
    assert (row.new_price, row.row) == ("1100.10", 1)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "json_unreadable"),
        ("{}", "json_unreadable"),
        ('[{"a": 1}', "json_unreadable"),
        ('[{"a": 1},]', "json_unreadable"),
        ('[{"a": 1} {"a": 2}]', "json_unreadable"),
        ('[{"a": NaN}]', "json_unreadable"),
        ("[] []", "json_unreadable"),
        ("[{'a': 1}]", "json_unreadable"),
        ("[" * 100_000, "json_unreadable"),
        ('[{"a": ' + "[" * 100_000, "json_unreadable"),
        ('[{"a": ' * 50_000, "json_unreadable"),
    ],
)
def test_what_is_no_array_of_objects_is_refused(text: str, code: str) -> None:
    with pytest.raises(InputFault) as caught:
        price_list(text.encode(), JSON)
    assert caught.value.code == code


def test_too_many_rows_of_json_are_refused() -> None:
    with pytest.raises(InputFault, match="too_many_rows"):
        price_list(b"[" + b",".join([b"{}"] * 50_001) + b"]", JSON)


def test_json_may_say_true_of_the_tax() -> None:
    mapping = {"code": "c", "pack": "k", "price": "p", "tax_included": "t"}
    text = b'[{"c": "A", "k": "70 cl", "p": 1, "t": true}, {"c": "B", "k": "70 cl", "p": 1, "t": false}]'
    found = price_list(text, JSON, mapping=mapping, tax_rate_percent="21").judged()
    assert [one.listed.tax_included for one in found] == [True, False]


@pytest.mark.parametrize(
    ("row", "code"),
    [
        ('{"Art.no": "BC-100", "art.no": "BC-101", "Content": "6x70cl", "Net price": "1100.00"}', "key_twice"),
        ('{"Art.no": "BC-100", "Content": {"n": 6}, "Net price": "1100.00"}', "cell_nested"),
        ('{"Art.no": "BC-100", "Content": "6x70cl", "Net price": -1}', "price_negative"),
        ('{"Art.no": "BC-100", "Content": "6x70cl", "Net price": 1e9}', "price_unreadable"),
        ('{"Art.no": "BC-100", "Content": "6x70cl"}', "price_missing"),
        ('{"Art.no": "\\ud800", "Content": "6x70cl", "Net price": 1}', "text_character"),
        ('{"Art.no": "BC\\u0000", "Content": "6x70cl", "Net price": 1}', "text_character"),
        ("7", "row_not_object"),
        ("null", "row_not_object"),
    ],
)
def test_a_row_of_json_is_refused_with_its_reason(row: str, code: str) -> None:
    found = reported(f"[{row}]".encode(), JSON)
    assert code in codes(found.rows[0])
    assert not found.committable


def test_an_empty_list_is_read_and_holds_nothing_to_commit() -> None:
    for data, media_type in ((b"[]", JSON), (csv_of(), CSV), (xlsx_of(HEADER), XLSX)):
        found = reported(data, media_type)
        assert (found.rows, found.committable) == ((), False)


def test_json_is_utf_8() -> None:
    with pytest.raises(InputFault, match="encoding_wrong"):
        price_list(json.dumps([]).encode("utf-16"), JSON)


def test_tabs_and_no_break_spaces_are_spaces() -> None:
    row = one_row(
        "BC-100", "", "Gin\u00a0of\tthe  pier", "6\u00a0x\u202f70\u00a0cl", "1\u202f100,00\u00a0€", delimiter=";"
    )
    assert (row.name, row.new_price, row.outcome) == ("Gin of the pier", "1100.00", "unchanged")
