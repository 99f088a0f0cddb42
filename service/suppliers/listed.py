"""One row of a list as an article: every field read, with all that is wrong and not only the first of it."""

import re
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from typing import Final, TypeVar

from schemas.price_list import Found, PriceListOptions
from service.errors import InputFault
from service.suppliers.matching import code_key, gtin_of
from service.suppliers.packs import WrittenPack, base_of, pack_of
from service.suppliers.prices import Mark, figure_of, price_of
from service.suppliers.rows import BadCell, Row, kept, plain

T = TypeVar("T")

LONGEST_TEXT: Final = 200
_ID: Final = re.compile(r"[a-z0-9][a-z0-9-]{0,63}", re.ASCII)
_DAY: Final = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", re.ASCII)
_COUNT: Final = re.compile(r"[1-9][0-9]{0,3}|10000", re.ASCII)
_GTIN_LENGTHS: Final = (8, 12, 13, 14)
_YES: Final = frozenset(("yes", "y", "true", "1", "incl", "incl.", "included"))
_NO: Final = frozenset(("no", "n", "false", "0", "excl", "excl.", "excluded"))
_MOST_PERCENT: Final = 1000


@dataclass(slots=True)
class Listed:
    """What a row says; a field is ``None`` where it is blank or could not be read, and then ``faults`` says why."""

    row: int
    code: str | None = None
    code_key: str | None = None
    gtin: str | None = None
    gtin_14: str | None = None
    name: str | None = None
    item: str | None = None
    pack_text: str | None = None
    pack: WrittenPack | None = None
    price: Decimal | None = None
    tax_included: bool = False
    tax_rate_percent: Decimal | None = None
    valid_from: date | None = None
    faults: list[InputFault] = field(default_factory=list)

    def marks(self) -> Iterator[str]:
        """Its code and its GTIN in one space of keys."""
        if self.code_key is not None:
            yield "c" + self.code_key
        if self.gtin_14 is not None:
            yield "g" + self.gtin_14


Step = Callable[[Listed, Row], None]
"""What reads some fields of a row."""


class Reader:
    """Reads rows by the columns and options of one list: what is used of a row is taken out of it, then read."""

    def __init__(self, columns: dict[str, int], options: PriceListOptions) -> None:
        self._columns = tuple(columns.values())
        self._places = {name: place for place, name in enumerate(columns)}
        self._options = options
        self.decimal: Mark | None = options.decimal
        self.decimal_by: Found = "stated" if options.decimal else "detected"
        self._steps = self._needed(columns, options)

    def taken(self, row: Row) -> Row:
        """The row with the cells that are used, each of them cleaned."""
        cells = row.cells
        width = len(cells)
        used = tuple([plain(cells[index]) if index < width else "" for index in self._columns])
        return Row(row.number, used, row.fault)

    def price_text(self, row: Row) -> str:
        """The price of a row as taken, blank where it cannot be read, which the reading of the row then says."""
        cell = row.cells[self._places["price"]]
        return "" if type(cell) is BadCell else cell

    def marks(self, row: Row) -> Iterator[str]:
        """The code as compared and the GTIN of 14 digits in one space of keys, as far as they are there to be read."""
        listed = Listed(row.number)
        with suppress(InputFault):
            self._identity(listed, row)
        return listed.marks()

    def listed(self, row: Row) -> Listed:
        """A row as taken with everything in it read."""
        listed = Listed(row.number)
        if row.fault is not None:
            listed.faults.append(row.fault)
            return listed
        for step in self._steps:
            self._take(listed, step, row)
        return listed

    def _needed(self, columns: dict[str, int], options: PriceListOptions) -> Sequence[Step]:
        """What is to be read of each row: a step whose columns are not there, and that no option asks for, is none."""
        steps: list[Step] = [self._identity]
        if "name" in columns or "item" in columns:
            steps.append(self._texts)
        steps += [self._pack, self._price]
        if options.tax_included or options.tax_rate_percent or columns.keys() & {"tax_included", "tax_rate_percent"}:
            steps.append(self._tax)
        if "valid_from" in columns or options.valid_from is not None:
            steps.append(self._day)
        return steps

    def _take(self, listed: Listed, step: Step, row: Row) -> None:
        try:
            step(listed, row)
        except InputFault as fault:
            listed.faults.append(kept(fault))

    def _cell(self, row: Row, name: str) -> str:
        place = self._places.get(name)
        if place is None:
            return ""
        cell = row.cells[place]
        if type(cell) is BadCell:
            raise cell.fault
        return cell

    def _identity(self, listed: Listed, row: Row) -> None:
        code = self._cell(row, "code")
        if len(code) > LONGEST_TEXT:
            raise InputFault("code_too_long", f"A code has at most {LONGEST_TEXT} characters.")
        if code:
            listed.code, listed.code_key = str(code), code_key(code)
        gtin = self._cell(row, "gtin")
        if gtin:
            listed.gtin = str(gtin)[:LONGEST_TEXT]
            listed.gtin_14 = gtin_of(gtin)
        if not code and not gtin:
            raise InputFault("article_unmarked", "A row needs the supplier's code or a GTIN.")

    def _texts(self, listed: Listed, row: Row) -> None:
        listed.name = self._cell(row, "name")[:LONGEST_TEXT] or None
        item = self._cell(row, "item")
        if item:
            if _ID.fullmatch(item) is None:
                raise InputFault("item_id", "The id of an item is lower-case letters, figures and hyphens.")
            listed.item = str(item)

    def _pack(self, listed: Listed, row: Row) -> None:
        count_text = self._cell(row, "pack_count")
        text = self._cell(row, "pack") if "pack" in self._places else self._size_text(row)
        listed.pack_text = " x ".join(part for part in (count_text, text) if part)[:LONGEST_TEXT] or None
        if not text:
            raise InputFault("pack_missing", "The pack is blank: write what the price buys, such as 6 x 70 cl.")
        pack = pack_of(text, self.decimal)
        if count_text:
            count = _count(count_text)
            if pack.count not in (1, count):
                raise InputFault("pack_contradicts", "The count in its column is not the one that the pack writes.")
            pack = replace(pack, count=count)
        if not pack.bunch:
            base_of(pack.size)
        listed.pack = pack

    def _size_text(self, row: Row) -> str:
        size, unit = self._cell(row, "size"), self._cell(row, "unit")
        return f"{size} {unit}" if size and unit else str(size)

    def _price(self, listed: Listed, row: Row) -> None:
        text = self._cell(row, "price")
        if not text:
            raise InputFault("price_missing", "The price is blank.")
        price = price_of(text, self.decimal, certain=self.decimal_by == "stated")
        currency = self._cell(row, "currency").upper()
        wanted = self._options.currency
        if (currency and currency != wanted) or (price.currencies is not None and wanted not in price.currencies):
            detail = f"The list is in {wanted} and this price is not; send a list for each currency."
            raise InputFault("currency_differs", detail)
        listed.price = price.figure

    def _tax(self, listed: Listed, row: Row) -> None:
        word = self._cell(row, "tax_included").casefold()
        if word and word not in _YES and word not in _NO:
            raise InputFault("tax_included_unreadable", "Write yes or no: is the tax in the price?")
        rate_text = self._cell(row, "tax_rate_percent")
        rate = figure_of(rate_text, self.decimal) if rate_text else self._options.tax_rate_percent
        if rate is not None and rate > _MOST_PERCENT:
            raise InputFault("tax_rate_unreadable", "A tax rate is at most 1000 percent.")
        listed.tax_included = word in _YES if word else self._options.tax_included
        if listed.tax_included and rate is None:
            raise InputFault("tax_rate_missing", "A price with tax needs the rate of that tax.")
        listed.tax_rate_percent = rate if listed.tax_included else None

    def _day(self, listed: Listed, row: Row) -> None:
        text = self._cell(row, "valid_from")
        if not text:
            listed.valid_from = self._options.valid_from
            return
        try:
            if _DAY.fullmatch(text) is None:
                raise ValueError
            listed.valid_from = date.fromisoformat(text)
        except ValueError:
            raise InputFault("day_unreadable", "Write a day as YYYY-MM-DD, or as a date cell.") from None


def gtin_text(listed: Listed) -> str | None:
    """The GTIN as an offer takes it: its digits as written where their number is right, else all 14."""
    if listed.gtin is None or listed.gtin_14 is None:
        return None
    digits = listed.gtin.replace(" ", "").replace("-", "")
    return digits if len(digits) in _GTIN_LENGTHS else listed.gtin_14


def _count(text: str) -> int:
    if _COUNT.fullmatch(text) is None:
        raise InputFault("pack_count", "A count is a whole number of 1 to 10,000.")
    return int(text)
