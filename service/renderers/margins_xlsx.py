"""The books as a workbook (ISO/IEC 29500) of several sheets; figures as numbers that equal the JSON to the cent."""

from decimal import Decimal
from io import BytesIO
from typing import Any, Final

from service.money import minor_unit_digits
from service.renderers.margins_csv import notes_of

TITLES: Final = {
    "quantity": "Serves", "gross": "Gross", "discount": "Discounts", "complimentary": "Given away",
    "service_charge": "Service", "deposit": "Deposits", "tax": "Tax", "net": "Net sales", "pour_cost": "Pour cost",
    "pour_cost_percent": "Pour cost %", "contribution": "Contribution", "contribution_each": "Contribution each",
    "gross_margin_percent": "Gross margin %", "channel_cost": "Channel costs", "after_channels": "After channels",
    "share_percent": "Share of sales %",
}  # fmt: skip
_QUANTITIES: Final = ("quantity",)


def xlsx_of(body: dict[str, Any]) -> bytes:
    """Sheets: notes, drinks, sections, menus, venues, channels, and where there are any, under target and effects.

    Every text is written as text: none becomes a formula or a link. Unknown figures say "not known".
    """
    import xlsxwriter  # loaded where a workbook is asked for, so that a start stays light

    held = BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    with xlsxwriter.Workbook(held, options) as book:
        book.set_properties({"title": "Margins", "comments": "See the sheet Notes."})
        sheets = _Sheets(book, body)
        sheets.notes()
        sheets.drinks()
        for kind in ("sections", "menus", "venues", "channels"):
            sheets.groups(kind)
        if body["under_target"]:
            sheets.under_target()
        if body["effects"] is not None:
            sheets.effects()
    return held.getvalue()


class _Sheets:
    """The sheets of one workbook with their formats."""

    def __init__(self, book: Any, body: dict[str, Any]) -> None:
        self._book, self._body = book, body
        digits = minor_unit_digits(body["currency"])
        decimals = f".{'0' * digits}" if digits else ""
        self._head = book.add_format({"bold": True, "bottom": 1, "text_wrap": True, "valign": "top"})
        self._bold = book.add_format({"bold": True})
        self._wrapped = book.add_format({"text_wrap": True, "valign": "top"})
        self._money = book.add_format({"num_format": f"#,##0{decimals};[Red]-#,##0{decimals}"})
        self._percent = book.add_format({"num_format": "0.0"})
        self._quantity = book.add_format({"num_format": "#,##0.###"})
        self._unknown = book.add_format({"italic": True, "align": "right"})

    def _sheet(self, name: str, heads: list[str], frozen: int) -> Any:
        sheet = self._book.add_worksheet(name)
        for column, head in enumerate(heads):
            sheet.write_string(0, column, head, self._head)
        sheet.freeze_panes(1, frozen)
        sheet.set_landscape()
        sheet.fit_to_pages(1, 0)
        sheet.repeat_rows(0)
        sheet.set_footer("&L" + self._body["period"]["name"].replace("&", "&&") + "&RPage &P of &N")
        return sheet

    def _figure(self, sheet: Any, row: int, column: int, figure: str | None, form: Any) -> None:
        if figure is None:
            sheet.write_string(row, column, "not known", self._unknown)
        else:
            # A cell of a workbook is a binary number; 15 digits of it are shown, which any sum of a bar fits in.
            sheet.write_number(row, column, Decimal(figure), form)

    def _form(self, name: str) -> Any:
        if name in _QUANTITIES:
            return self._quantity
        return self._percent if name.endswith("percent") else self._money

    def _figures(self, sheet: Any, row: int, column: int, figures: dict[str, Any]) -> None:
        for place, name in enumerate(TITLES):
            self._figure(sheet, row, column + place, figures[name], self._form(name))

    def notes(self) -> None:
        """What the figures rest on, first so that nobody misses it."""
        sheet = self._sheet("Notes", ["Note", "What it says"], 0)
        sheet.set_column(0, 0, 18)
        sheet.set_column(1, 1, 100)
        for row, (name, text) in enumerate(notes_of(self._body), 1):
            sheet.write_string(row, 0, name)
            sheet.write_string(row, 1, text, self._wrapped)

    def drinks(self) -> None:
        """One row a drink, the total at the end."""
        heads = ["Drink", "With", "Name", "Section", "Menu", *TITLES.values(), "Class"]
        sheet = self._sheet("Drinks", heads, 3)
        sheet.set_column(0, 4, 20)
        sheet.set_column(5, len(heads), 13)
        row = 0
        for row, one in enumerate(self._body["drinks"], 1):
            about = (one["drink"], " ".join(one["with"]), one["name"], one["section"] or "", one["menu"] or "")
            for column, text in enumerate(about):
                sheet.write_string(row, column, text)
            self._figures(sheet, row, 5, one["figures"])
            sheet.write_string(row, 5 + len(TITLES), one["in_words"] or "")
        sheet.write_string(row + 1, 0, "Total", self._bold)
        self._figures(sheet, row + 1, 5, self._body["total"])
        if row:
            sheet.autofilter(0, 0, row, len(heads) - 1)

    def groups(self, kind: str) -> None:
        """One row a group, the total at the end."""
        rows = self._body[kind]
        sheet = self._sheet(kind.capitalize(), [kind[:-1].capitalize(), *TITLES.values()], 1)
        sheet.set_column(0, 0, 28)
        sheet.set_column(1, len(TITLES), 13)
        for row, one in enumerate(rows, 1):
            sheet.write_string(row, 0, one["id"] or "(none)")
            self._figures(sheet, row, 1, one["figures"])
        sheet.write_string(len(rows) + 1, 0, "Total", self._bold)
        self._figures(sheet, len(rows) + 1, 1, self._body["total"])

    def under_target(self) -> None:
        """Drinks under target with the price that brings each back."""
        heads = ["Drink", "With", "Net each", "Asked net", "Menu price", "Target"]
        sheet = self._sheet("Under target", heads, 1)
        sheet.set_column(0, 5, 20)
        for row, one in enumerate(self._body["under_target"], 1):
            sheet.write_string(row, 0, one["drink"])
            sheet.write_string(row, 1, " ".join(one["with"]))
            for column, name in enumerate(("net_each", "asked_net", "menu_price"), 2):
                self._figure(sheet, row, column, one[name], self._money)
            sheet.write_string(row, 5, one["determined_by"])

    def effects(self) -> None:
        """Why the contribution differs."""
        effects = self._body["effects"]
        sheet = self._sheet("Effects", ["What", "Amount"], 1)
        sheet.set_column(0, 0, 40)
        sheet.set_column(1, 1, 16)
        rows = [("before", f"Contribution of {effects['compared_with']}")]
        rows += [(name, f"{name.capitalize()} effect") for name in ("price", "mix", "volume", "cost")]
        rows.append(("after", f"Contribution of {self._body['period']['name']}"))
        for row, (name, text) in enumerate(rows, 1):
            sheet.write_string(row, 0, text)
            self._figure(sheet, row, 1, effects[name], self._money)
        for row, key in enumerate(effects["left_out"], len(rows) + 2):
            sheet.write_string(row, 0, f"Left out, cost not known: {key}")
