"""What sold, as rows of JSON or of a till's export."""

from decimal import Decimal
from typing import Annotated, Literal, Self

from pydantic import BeforeValidator, Field, StringConstraints, WithJsonSchema, model_validator
from pydantic_core import PydanticCustomError

from schemas._base import Input
from schemas.catalogue import ExternalId
from schemas.period import ClockText, PeriodQuery, ZoneText
from schemas.scalars import DECIMAL_PATTERN, Currency, Day, Flag, Id, MoneyText, PercentText, Text, _decimal

SALES = 5000
"""The most rows of sales in a JSON body; a file may have more."""

SignedText = Annotated[
    Decimal,
    BeforeValidator(_decimal),
    Field(ge=-(10**12), le=10**12),
    WithJsonSchema({"type": "string", "pattern": DECIMAL_PATTERN}),
]
"""A sum or quantity as decimal text; negative in refunds."""

MomentText = Annotated[
    str,
    StringConstraints(
        strict=True, pattern=r"^[0-9]{4}-[0-9]{2}-[0-9]{2}[T ][0-9]{2}:[0-9]{2}(:[0-9]{2})?(Z|[+-][0-9]{2}:[0-9]{2})?$"
    ),
]


class TaxClass(Input):
    """The tax of some rows."""

    id: Text
    """What rows call it."""
    rate_percent: PercentText
    """Of the net price."""
    included: Flag = True
    """Whether the sums of the rows hold it."""


class ChannelIn(Input):
    """A way of selling and what it costs; all net of tax."""

    id: Text
    """What rows call it."""
    commission_percent: Annotated[PercentText, Field(le=100)] = Field(default="0", validate_default=True)
    """Of net sales."""
    fee: MoneyText = Field(default="0", validate_default=True)
    """For each serve."""
    packaging: MoneyText = Field(default="0", validate_default=True)
    """For each serve."""


class SaleIn(Input):
    """One row of what sold; sums are of the whole row, negative in a refund."""

    drink: Id | None = None
    """A stored drink."""
    external_id: ExternalId | None = None
    """The till's id of a drink, or of a line of a menu."""
    with_: Annotated[tuple[Text, ...], Field(alias="with", max_length=20)] = ()
    """Modifiers by their id or by the till's."""
    day: Day | None = None
    """The trading day."""
    at: MomentText | None = None
    """The moment, instead of the day; local time where it states no offset."""
    quantity: SignedText
    """Serves."""
    gross: SignedText
    """What was rung up before anything below is taken off; with tax where prices hold it."""
    discount: SignedText = Field(default="0", validate_default=True)
    """What of the gross was let off."""
    complimentary: SignedText = Field(default="0", validate_default=True)
    """What of the gross was given away; its cost counts."""
    service_charge: SignedText = Field(default="0", validate_default=True)
    """What of the gross is a charge for service."""
    deposit: SignedText = Field(default="0", validate_default=True)
    """What of the gross is a deposit for a container."""
    channel: Text | None = None
    """One of `channels`."""
    tax_class: Text | None = None
    """One of `tax_classes`; the tax of the venue unless given."""
    timed_price: Text | None = None
    """The tariff of the hour; groups nothing and changes no figure."""
    venue: Id | None = None
    """Where it sold; the venue of the request unless given."""

    @model_validator(mode="after")
    def enough(self) -> Self:
        """A row names what sold and when."""
        if (self.drink is None) == (self.external_id is None):
            raise PydanticCustomError("drink_unclear", "Name the drink by drink or by external_id.")
        if (self.day is None) == (self.at is None):
            raise PydanticCustomError("day_unclear", "State day or at.")
        return self


class SalesFileQuery(PeriodQuery):
    """How a till's export is read: the periods whose rows it holds, and which column holds what, by its header."""

    time_zone: ZoneText = "UTC"
    """Name in the tz database."""
    day_ends: ClockText = "00:00"
    """Local time at which a trading day ends."""
    venue: Id | None = None
    """Whose costs, taxes and target apply."""
    currency: Currency | None = None
    """Of every sum; the venue's unless given."""
    encoding: Literal["utf-8", "utf-16", "windows-1252"] | None = None
    """Found out unless given."""
    delimiter: Literal[",", ";", "\t"] | None = None
    """Found out unless given."""
    decimal: Literal[".", ","] = "."
    """Decimal mark of figures that are text."""
    sheet: Text | None = None
    """Name of the sheet of a workbook; the first one unless given."""
    col_external_id: Text | None = None
    """Column of the till's id."""
    col_drink: Text | None = None
    """Column of the drink's id, instead."""
    col_modifiers: Text | None = None
    """Column of modifiers by the till's ids or their own, separated by commas or semicolons."""
    col_day: Text | None = None
    """Column of the trading day, YYYY-MM-DD."""
    col_at: Text | None = None
    """Column of the moment, instead."""
    col_quantity: Text
    """Column of the serves."""
    col_gross: Text
    """Column of the gross."""
    col_discount: Text | None = None
    """Column of discounts."""
    col_complimentary: Text | None = None
    """Column of what was given away."""
    col_service_charge: Text | None = None
    """Column of charges for service."""
    col_deposit: Text | None = None
    """Column of deposits."""
    col_channel: Text | None = None
    """Column of the channel; channels of a file cost nothing, send JSON to state what they cost."""
    col_tax_class: Text | None = None
    """Column of the tax class, which is a rate in percent in a file."""
    col_timed_price: Text | None = None
    """Column of the tariff."""

    @model_validator(mode="after")
    def enough(self) -> Self:
        """What sold and when has a column; the period is stated in one way; no column is named twice."""
        if (self.col_external_id is None) == (self.col_drink is None):
            raise PydanticCustomError("mapping_incomplete", "Name the column of the till's id or of the drink's.")
        if (self.col_day is None) == (self.col_at is None):
            raise PydanticCustomError("mapping_incomplete", "Name the column of the day or of the moment.")
        named = [str(one).casefold() for name, one in self if name.startswith("col_") and one is not None]
        if len(named) != len(set(named)):
            raise PydanticCustomError("mapping_twice", "Each column is named once.")
        return self
