"""A supplier's price list: how it is read, and what it would change, row by row."""

from collections.abc import Mapping
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from schemas._base import Input, Output
from schemas.scalars import Currency, Day, Flag, Id, PercentText, Text

ROWS = 50_000
"""The most rows that one list may have below its header."""

RowNumber = Annotated[int, Field(strict=True, ge=1, le=1_000_000)]
"""Row as a spreadsheet counts it, the header included; in JSON the place in the list, from 1."""

RowNumbers = Annotated[tuple[RowNumber, ...], Field(max_length=ROWS)]
"""Rows named one by one."""

Outcome = Literal["new", "up", "down", "unchanged", "refused", "left_out"]
Found = Literal["stated", "detected", "fixed"]


class ColumnMapping(Input):
    """Which column of a supplier's list holds what: each value is the header as the supplier writes it."""

    code: Text | None = None
    """The supplier's article code."""
    gtin: Text | None = None
    """GTIN-8, -12, -13 or -14; it decides before the code."""
    name: Text | None = None
    """What the supplier calls the article; it only ever suggests an item."""
    item: Text | None = None
    """Id of the item that is sold, where the list was prepared with it."""
    pack: Text | None = None
    """The pack in words, such as 6x70cl or box of 54."""
    pack_count: Text | None = None
    """How many units the price buys, in a column of its own."""
    size: Text | None = None
    """Size of one unit, such as 70 cl, in a column of its own."""
    unit: Text | None = None
    """The unit of `size` where that column holds the figure alone."""
    price: Text
    """Price of the whole pack."""
    currency: Text | None = None
    """ISO 4217 code; a row in another currency than the list's is refused."""
    tax_included: Text | None = None
    """Whether the price holds the tax: yes or no."""
    tax_rate_percent: Text | None = None
    """Rate of the tax that the price holds."""
    valid_from: Text | None = None
    """First day of the price, YYYY-MM-DD or a date cell."""

    @model_validator(mode="after")
    def enough(self) -> Self:
        """An article is known by its code or GTIN, and what the price buys by its pack or size; no column twice."""
        if self.code is None and self.gtin is None:
            raise PydanticCustomError("mapping_incomplete", "Name the column of the code or of the GTIN.")
        if (self.pack is None) == (self.size is None):
            raise PydanticCustomError("mapping_incomplete", "Name either the column of the pack or that of the size.")
        if self.unit is not None and self.size is None:
            raise PydanticCustomError("mapping_incomplete", "A unit column needs the size column.")
        named = [header.casefold() for header in self.model_dump(exclude_none=True).values()]
        if len(named) != len(set(named)):
            raise PydanticCustomError("mapping_twice", "Each column is named once.")
        return self


class PriceListOptions(Input):
    """How a list is to be read and what of it was confirmed."""

    supplier: Text
    """Who sells; written into every new offer."""
    offer_prefix: Id
    """Short id of the supplier that begins the ids of new offers."""
    currency: Currency
    """Currency of every price in the list."""
    mapping: ColumnMapping
    """Where the list holds what."""
    sheet: Text | None = None
    """Name of the sheet of a workbook; the first one unless given."""
    encoding: Literal["utf-8", "utf-16", "windows-1252"] | None = None
    """How the text of a CSV file is encoded; found out unless given: UTF-8, or what its byte order mark says."""
    delimiter: Literal[",", ";", "\t"] | None = None
    """What stands between the cells of a CSV file; found out from the header unless given."""
    decimal: Literal[".", ","] | None = None
    """Decimal mark of prices that are text; found out from all of them unless given."""
    valid_from: Day | None = None
    """First day of the prices where a row states none."""
    tax_included: Flag = False
    """Whether prices hold a tax where a row says nothing of it."""
    tax_rate_percent: PercentText | None = None
    """Rate of that tax."""
    tax_rates_percent: Annotated[tuple[PercentText, ...], Field(max_length=50)] = ()
    """Rates in force where the supplier sells: a change by one of them looks like tax taken in or out."""
    change_limit_percent: Annotated[PercentText, Field(gt=0)] = Field(default="25", validate_default=True)
    """A change over it must be confirmed."""
    items: Annotated[Mapping[Text, Id], Field(max_length=ROWS)] = {}
    """Items of new articles, by the supplier's code or by GTIN."""
    sha256: Annotated[str, Field(strict=True, pattern=r"^[0-9a-f]{64}$")] | None = None
    """Digest of the file that a report was about; another file is refused, so that `confirm` cannot meet other rows."""
    confirm: RowNumbers = ()
    """Rows whose doubtful change was looked at and is right."""
    leave_out: RowNumbers = ()
    """Rows that are not taken in, whatever they hold."""

    @model_validator(mode="after")
    def rate_with_tax(self) -> Self:
        """Tax included needs its rate, stated for the list or by each row."""
        if self.tax_included and self.tax_rate_percent is None and self.mapping.tax_rate_percent is None:
            raise PydanticCustomError("tax_rate_missing", "tax_rate_percent is required where tax is included.")
        return self


class ReadAs(Output):
    """How the file was read, and whether that was stated, found out or fixed by the format."""

    format: Literal["csv", "xlsx", "json"]
    """Format of the file."""
    sheet: str | None
    """Name of the sheet that was read; null for other formats."""
    header_row: int | None
    """Row that holds the headers; null in JSON."""
    encoding: str
    """Encoding of its text."""
    encoding_by: Found
    """Who decided on the encoding."""
    delimiter: str | None
    """What stands between cells; null for other formats than CSV."""
    delimiter_by: Found
    """Who decided on the delimiter."""
    decimal: Literal[".", ","] | None
    """Decimal mark of prices that are text; null where no price needs one."""
    decimal_by: Found
    """Who decided on the decimal mark."""


class Reason(Output):
    """Something that is wrong with a row, or that must be looked at before it counts."""

    code: str
    """Stable and machine-readable."""
    detail: str
    """What was expected and what to do next."""


class ListedPack(Output):
    """What one price buys, as read."""

    count: int
    """Units that the price buys."""
    size: str
    """Size of one of them, in the words of `pack.size` of an offer."""


class SuggestedItem(Output):
    """An item of a similar name; never taken without being named."""

    id: str
    """Id of the item."""
    name: str
    """Its name."""
    why: str
    """What the names have in common."""


class PriceListRow(Output):
    """What one row would change."""

    row: int
    """Row as a spreadsheet counts it; in JSON the place in the list, from 1."""
    outcome: Outcome
    """By the price of one base unit; without tax where that is included."""
    code: str | None
    """The supplier's article code."""
    gtin: str | None
    """GTIN as written in the list."""
    name: str | None
    """What the supplier calls the article."""
    item: str | None
    """Id of the item that is sold."""
    offer: str | None
    """Id of the offer that is changed or made."""
    matched_by: Literal["gtin", "code"] | None
    """By what the offer was found; null where there is none yet."""
    pack_text: str | None
    """The pack as written."""
    pack: ListedPack | None
    """The pack as read."""
    currency: str
    """Currency of both prices."""
    old_price: str | None
    """Price of the offer until now, of its whole pack."""
    new_price: str | None
    """Price of the row, of its whole pack."""
    change_percent: str | None
    """Change of the price of one base unit, two decimals; of the pack where its measure changed."""
    reasons: tuple[Reason, ...]
    """Why the row is refused."""
    must_confirm: tuple[Reason, ...]
    """What must be confirmed by naming the row in `confirm`."""
    confirmed: bool
    """Whether it was."""
    suggested_item: SuggestedItem | None
    """For a row whose item is not known."""


class OutcomeCounts(Output):
    """Rows by outcome."""

    new: int
    """Articles that had no offer."""
    up: int
    """Dearer than before."""
    down: int
    """Cheaper than before."""
    unchanged: int
    """At the price of before."""
    refused: int
    """Not understood or not allowed."""
    left_out: int
    """Left out by `leave_out`."""
    to_confirm: int
    """Rows that still must be confirmed, counted in their outcome too."""


class PriceListReport(Output):
    """What a list would change; nothing is changed by reading it."""

    supplier: str
    """Who sells."""
    sha256: str
    """Digest of the file, to be sent back with `confirm`."""
    read_as: ReadAs
    """How the file was read."""
    mapping: ColumnMapping
    """The columns that were used."""
    counts: OutcomeCounts
    """Rows by outcome."""
    committable: bool
    """Whether the list may be taken in: no row is refused, none is left to confirm, and there is one."""
    rows: tuple[PriceListRow, ...]
    """Every row in the order of the file."""
