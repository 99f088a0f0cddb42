"""Sheets of the books as a workbook (ISO/IEC 29500); figures are numbers that equal those of the JSON."""

from decimal import Decimal
from io import BytesIO
from typing import Any, Final

from service.money import minor_unit_digits
from service.renderers.book import MONEY, TEXT, Book, Column, Sheet

OPTIONS: Final = {
    "in_memory": True,
    "strings_to_formulas": False,
    "strings_to_urls": False,
    "strings_to_numbers": False,
}
"""Every text is written as text: none becomes a formula, a link or a number."""


def xlsx_of(book: Book) -> bytes:
    """The notes first, so that nobody misses them, then each sheet with its valuation under its rows."""
    import xlsxwriter  # loaded where a workbook is asked for, so that a start stays light

    held = BytesIO()
    with xlsxwriter.Workbook(held, OPTIONS) as file:
        file.set_properties({"title": book.title, "comments": "See the sheet Notes."})
        writer = _Writer(file, book)
        notes = (Column("note", "Note"), Column("says", "What it says"))
        writer.notes(Sheet("Notes", notes, book.notes, frozen=0))
        for one in book.sheets:
            writer.sheet(one)
    return held.getvalue()


class _Writer:
    """One workbook with its formats."""

    def __init__(self, file: Any, book: Book) -> None:
        self._file, self._book = file, book
        digits = minor_unit_digits(book.currency)
        decimals = f".{'0' * digits}" if digits else ""
        self._head = file.add_format({"bold": True, "bottom": 1, "text_wrap": True, "valign": "top"})
        self._bold = file.add_format({"bold": True})
        self._wrapped = file.add_format({"text_wrap": True, "valign": "top"})
        self._italic = file.add_format({"italic": True})
        self._unknown = file.add_format({"italic": True, "align": "right"})
        self._formats = {MONEY: file.add_format({"num_format": f"#,##0{decimals};[Red]-#,##0{decimals}"})}

    def _form(self, form: str) -> Any:
        if form not in self._formats:
            self._formats[form] = self._file.add_format({"num_format": form})
        return self._formats[form]

    def _made(self, one: Sheet) -> Any:
        made = self._file.add_worksheet(one.name)
        for column, held in enumerate(one.columns):
            made.write_string(0, column, held.title, self._head)
        made.freeze_panes(1, one.frozen)
        made.set_landscape()
        made.fit_to_pages(1, 0)
        made.repeat_rows(0)
        made.set_footer("&L" + self._book.about[:100].replace("&", "&&") + "&RPage &P of &N")
        return made

    def notes(self, one: Sheet) -> None:
        """What the figures rest on."""
        made = self._made(one)
        made.set_column(0, 0, 18)
        made.set_column(1, 1, 100)
        for row, (name, text) in enumerate(one.rows, 1):
            made.write_string(row, 0, name or "")
            made.write_string(row, 1, text or "", self._wrapped)

    def sheet(self, one: Sheet) -> None:
        """One row a row, and the valuation below."""
        made = self._made(one)
        forms = []
        for column, held in enumerate(one.columns):
            made.set_column(column, column, 22 if held.form == TEXT else 13)
            forms.append(None if held.form == TEXT else self._form(held.form))
        absent = [held.absent for held in one.columns]
        sums = len(one.rows) - one.totals
        for row, cells in enumerate(one.rows):
            bold = self._bold if row >= sums else None
            for column, (text, form) in enumerate(zip(cells, forms, strict=True)):
                if text is None:
                    made.write_string(row + 1, column, absent[column], self._unknown)
                elif form is None:
                    made.write_string(row + 1, column, text, bold)
                elif text:
                    # A cell of a workbook is a binary number; 15 digits of it are shown, which any sum of a bar fits.
                    made.write_number(row + 1, column, Decimal(text), form)
        if sums:
            made.autofilter(0, 0, sums, len(one.columns) - 1)
        made.write_string(len(one.rows) + 2, 0, f"Valuation: {self._book.valuation}", self._italic)
