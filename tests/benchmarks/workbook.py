"""XLSX: the books of 10,000 drinks as a workbook, against the library that writes it, given the same cells."""

from collections.abc import Sequence
from decimal import Decimal
from io import BytesIO
from typing import Any

import openpyxl
import xlsxwriter

from service.renderers.margins_xlsx import TITLES, xlsx_of
from tests.benchmarks.measuring import Figure, Result, Side, Size, cpu_seconds, in_turns

ROWS_A_CALL = 100
"""Drinks for each of the calls of a size; the full one has 10,000."""

Cells = tuple[tuple[str, tuple[tuple[str | float, ...], ...]], ...]
"""Name and rows of every sheet."""


def books_of(drinks: int) -> dict[str, Any]:
    """An answer of POST /v1/margins with so many drinks, whose figures are arithmetic on their number."""
    rows = [
        {
            "drink": f"drink-{number}", "with": ["double"] if number % 7 == 0 else [], "name": f"Drink {number}",
            "section": ("Short", "Long", "Sparkling")[number % 3], "menu": "menu", "figures": _figures(number),
            "in_words": "sells well and earns well",
        }
        for number in range(drinks)
    ]  # fmt: skip
    groups = {
        kind: [{"id": f"{kind}-{number}", "figures": _figures(number)} for number in range(3)]
        for kind in ("sections", "menus", "venues", "channels")
    }
    return {
        "currency": "EUR", "period": {"name": "2026-11", "first": "2026-11-01", "last": "2026-11-30", "days": 30},
        "rows": drinks, "rows_outside": 0, "total": _figures(drinks), "drinks": rows, **groups, "one_serve": [],
        "thresholds": None, "under_target": [], "effects": None, "missing": [],
        "at_list": [], "beside": None, "waste": None,
        "meta": {"rules_version": "r", "data_version": 1, "cost_version": 1, "as_of": "2026-11-30",
                 "valuation": "list", "venue": None},
    }  # fmt: skip


def _figures(number: int) -> dict[str, str]:
    return {name: str(Decimal(number * 100 + place) / 100) for place, name in enumerate(TITLES)}


def cells_of(content: bytes) -> Cells:
    """What a workbook holds, read back."""
    book = openpyxl.load_workbook(BytesIO(content), read_only=True)
    try:
        return tuple((sheet.title, tuple(sheet.iter_rows(values_only=True))) for sheet in book.worksheets)
    finally:
        book.close()


def written(sheets: Sequence[tuple[str, Sequence[Sequence[str | float | None]]]]) -> bytes:
    """The same cells by the library alone, without formats."""
    held = BytesIO()
    with xlsxwriter.Workbook(held, {"in_memory": True}) as book:
        for name, rows in sheets:
            sheet = book.add_worksheet(name)
            for row, cells in enumerate(rows):
                for column, cell in enumerate(cells):
                    if isinstance(cell, str):
                        sheet.write_string(row, column, cell)
                    elif cell is not None:
                        sheet.write_number(row, column, cell)
    return held.getvalue()


def result(size: Size) -> Result:
    """XLSX."""
    drinks = ROWS_A_CALL * size.calls
    body = books_of(drinks)
    cells = cells_of(xlsx_of(body))
    if cells_of(written(cells)) != cells:
        raise RuntimeError("the two sides do not write the same cells")
    found = in_turns(
        {"books": cpu_seconds(lambda: xlsx_of(body), 1), "alone": cpu_seconds(lambda: written(cells), 1)}, size.rounds
    )
    return Result(
        "XLSX",
        f"A workbook of {drinks:,} drinks, in process",
        (
            "over:  the books as a workbook: notes, drinks, sections, menus, venues, channels, with formats",
            "under: xlsxwriter given the same cells, read back from that workbook, without formats",
        ),
        (
            Figure("CPU time", Side("books", found["books"], "s"), Side("the writer alone", found["alone"], "s")),
        ),
        (f"{sum(len(rows) for _, rows in cells):,} rows on {len(cells)} sheets",),
    )  # fmt: skip
