"""Price lists over the API: how one is sent, what is answered, and how it is taken in."""

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from schemas._base import Input, Output, Query
from schemas.parameters import separated_wholes
from schemas.price_list import OutcomeCounts, PriceListRow, ReadAs, RowNumbers
from schemas.scalars import Currency, Day, Id, Text


class ListQueryIn(Query):
    """A list that is sent: whose it is, and what differs from the supplier's settings."""

    supplier: Id
    """The stored supplier that sent it."""
    currency: Currency | None = None
    """Of every price in it; the supplier's unless given."""
    valid_from: Day | None = None
    """First day of the prices where a row states none; today unless given."""
    sheet: Text | None = None
    """Name of the sheet of a workbook."""
    encoding: Literal["utf-8", "utf-16", "windows-1252"] | None = None
    """How the text of a CSV file is encoded."""
    delimiter: Literal[",", ";", "\t"] | None = None
    """What stands between the cells of a CSV file."""
    decimal: Literal[".", ","] | None = None
    """Decimal mark of prices that are text."""


class ListMovesQuery(ListQueryIn):
    """A list whose prices are tried on the drinks: how it is read, and which drinks are asked about."""

    confirm: Annotated[RowNumbers, BeforeValidator(separated_wholes)] = ()
    """Rows whose doubtful change is right and counts too, such as 9,14."""
    leave_out: Annotated[RowNumbers, BeforeValidator(separated_wholes)] = ()
    """Rows that do not count, such as 3,8."""
    menu: Id | None = None
    """Only drinks of this menu; all stored drinks unless given."""
    venue: Id | None = None
    """Whose costs, prices and target apply; the menu's, else the group's unless given."""
    as_of: Day | None = None
    """The day whose offers, specs and menus apply; the first day of the list unless given."""


class CommitRequest(Input):
    """What was looked at before a list is taken in."""

    confirm: RowNumbers = ()
    """Rows whose doubtful change was looked at and is right."""
    leave_out: RowNumbers = ()
    """Rows that are not taken in, whatever they hold."""
    items: Annotated[dict[Text, Id], Field(max_length=50_000)] = {}
    """Items of new articles, by the supplier's code or by GTIN."""


class TriedList(Output):
    """A list whose prices were tried and not taken in."""

    supplier: str
    """Whose it is."""
    file_sha256: str
    """Digest of the file."""
    read_as: ReadAs
    """How the file was read."""
    counts: OutcomeCounts
    """Rows by outcome."""
    committable: bool
    """Whether it might be taken in as it is."""
    not_counted: tuple[int, ...]
    """Rows that are refused or to be confirmed: their offers stay as they are in every figure."""
    to_look_at: tuple[PriceListRow, ...]
    """The first 100 of them, with the reasons."""


class KeptPriceList(Output):
    """A list and what it would change; nothing is changed before it is taken in."""

    id: str
    """In addresses."""
    supplier: str
    """Whose it is."""
    state: Literal["read", "committed", "dropped"]
    """`read`: a dry run so far."""
    received_at: str
    """When it was sent (UTC)."""
    committed_at: str | None
    """When it was taken in (UTC)."""
    file_sha256: str
    """Digest of the file as sent."""
    read_as: ReadAs
    """How the file was read."""
    counts: OutcomeCounts
    """Rows by outcome."""
    committable: bool
    """Whether it may be taken in as it is."""
    to_look_at: tuple[PriceListRow, ...]
    """The first 100 rows that are refused or to be confirmed; all rows are at `/rows`."""
