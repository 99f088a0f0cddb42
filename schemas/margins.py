"""The books of a period: what sold, what it left, what is under target, why it differs from another period."""

from decimal import Decimal
from typing import Annotated, Literal, Self

from pydantic import BeforeValidator, Field, StringConstraints, WithJsonSchema, model_validator
from pydantic_core import PydanticCustomError

from schemas._base import Input, Output, Query
from schemas.catalogue import ExternalId
from schemas.pricing import PriceStep, Target
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

MonthText = Annotated[str, StringConstraints(strict=True, pattern=r"^[0-9]{4}-(0[1-9]|1[0-2])$")]
ClockText = Annotated[str, StringConstraints(strict=True, pattern=r"^([01][0-9]|2[0-3]):[0-5][0-9]$")]
ZoneText = Annotated[str, StringConstraints(strict=True, pattern=r"^[A-Za-z][A-Za-z0-9_+/-]{0,63}$")]
MomentText = Annotated[
    str,
    StringConstraints(
        strict=True, pattern=r"^[0-9]{4}-[0-9]{2}-[0-9]{2}[T ][0-9]{2}:[0-9]{2}(:[0-9]{2})?(Z|[+-][0-9]{2}:[0-9]{2})?$"
    ),
]
Year = Annotated[int, Field(strict=True, ge=1990, le=2200)]


class Weeks(Input):
    """A period of a trading year that is counted in weeks."""

    pattern: Literal["4-4-5", "4-5-4", "5-4-4"]
    """Weeks of the three periods of a quarter."""
    year_begins: Day
    """First day of the trading year that bears the number of its own calendar year."""
    year: Year
    """Number of the trading year that is asked for."""
    number: Annotated[int, Field(strict=True, ge=1, le=12)]
    """Which of its twelve periods."""
    long_years: Annotated[tuple[Year, ...], Field(max_length=50)] = ()
    """Trading years of 53 weeks; the last period has the week more."""


class PeriodIn(Input):
    """A period of trading days: a month, weeks, or stated days."""

    month: MonthText | None = None
    """A calendar month, YYYY-MM."""
    weeks: Weeks | None = None
    """4-4-5 and its kin."""
    first: Day | None = None
    """First trading day."""
    last: Day | None = None
    """Last trading day, in it."""

    @model_validator(mode="after")
    def one_way(self) -> Self:
        """A period is stated in one way."""
        dated = self.first is not None or self.last is not None
        if (self.month is not None) + (self.weeks is not None) + dated != 1:
            raise PydanticCustomError("period_unclear", "State a month, weeks, or first and last.")
        if dated and (self.first is None or self.last is None):
            raise PydanticCustomError("period_unclear", "State both first and last.")
        if self.first and self.last and self.last < self.first:
            raise PydanticCustomError("validity_reversed", "last lies before first.")
        if self.first and self.last and (self.last - self.first).days > 400:
            raise PydanticCustomError("period_too_long", "A period has at most 400 days.")
        return self


class TradingDayIn(Input):
    """When a trading day ends."""

    time_zone: ZoneText = "UTC"
    """Name in the tz database, such as Europe/Amsterdam."""
    ends: ClockText = "00:00"
    """Local time; before noon it lies on the date after."""


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


class StatedDrink(Input):
    """A drink whose cost is stated instead of taken from the catalogue."""

    id: Id
    """What rows name as drink."""
    name: Text | None = None
    """For readers."""
    section: Text | None = None
    """The heading it stands under."""
    pour_cost: MoneyText
    """Of one serve, in the currency of the request."""


class MarginsRequest(Input):
    """What sold in a period, and how it is to be read."""

    period: PeriodIn
    """Which trading days."""
    compare_with: PeriodIn | None = None
    """Another period, whose rows stand among the sales too: price, mix, volume and cost effects from it to `period`."""
    trading_day: TradingDayIn = TradingDayIn()
    """When a trading day ends."""
    venue: Id | None = None
    """Whose costs, taxes and target apply; the group's unless given."""
    currency: Currency | None = None
    """Of every sum; the venue's unless given."""
    target: Target | None = None
    """Instead of the venue's."""
    round: PriceStep | None = None
    """Steps of menu prices, instead of the venue's."""
    tax_classes: Annotated[tuple[TaxClass, ...], Field(max_length=50)] = ()
    """Taxes that rows name."""
    channels: Annotated[tuple[ChannelIn, ...], Field(max_length=50)] = ()
    """Channels that rows name."""
    drinks: Annotated[tuple[StatedDrink, ...], Field(max_length=1000)] = ()
    """Drinks with a stated cost; nothing of them has to be stored."""
    sales: Annotated[tuple[SaleIn, ...], Field(max_length=SALES)]
    """Rows in any order; those of other days are counted and left out."""


def _split(value: object) -> object:
    return value[0] if isinstance(value, list) and len(value) == 1 else value


class SalesFileQuery(Query):
    """How a till's export is read: the period, and which column holds what, by its header."""

    month: MonthText | None = None
    """A calendar month, YYYY-MM."""
    first: Day | None = None
    """First trading day, with `last`."""
    last: Day | None = None
    """Last trading day, in it."""
    compare_month: MonthText | None = None
    """Another month to compare with, whose rows the file holds too."""
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


class MenuMarginsQuery(Query):
    """A question about the margins of a menu at its prices."""

    as_of: Annotated[Day | None, BeforeValidator(_split)] = None
    """The day whose prices and specs apply; today (UTC) unless given."""
    venue: Annotated[Id | None, BeforeValidator(_split)] = None
    """The venue whose prices and taxes apply; the menu's unless given."""
    mix: Annotated[str | None, StringConstraints(max_length=600), BeforeValidator(_split)] = None
    """Serves of each drink, such as fog-signal:120,long-jetty:80; one of each unless given."""


class FiguresOut(Output):
    """Sums of a drink or a group; money at the minor unit, percentages at 0.1, both half up."""

    quantity: str
    """Serves, refunds taken off."""
    gross: str
    """As rung up."""
    discount: str
    """Let off."""
    complimentary: str
    """Given away, by price."""
    service_charge: str
    """Taken off the gross."""
    deposit: str
    """Taken off the gross."""
    tax: str
    """Tax on what was paid."""
    net: str
    """Net sales."""
    pour_cost: str | None
    """Theoretical cost of all serves; null where one is not known."""
    pour_cost_at_least: str
    """What of it is known."""
    pour_cost_percent: str | None
    """Of net sales."""
    contribution: str | None
    """Net less pour cost."""
    contribution_each: str | None
    """Of one serve."""
    gross_margin_percent: str | None
    """Contribution of net sales."""
    channel_cost: str
    """Commission, fees and packaging; in no figure above."""
    after_channels: str | None
    """Contribution less channel cost."""
    share_percent: str | None
    """Of all net sales, by largest remainder; null where a part is negative."""
    complete: bool
    """Whether every cost is known."""


class DrinkFigures(Output):
    """One drink as it was sold."""

    drink: str
    """Its id."""
    with_: Annotated[tuple[str, ...], Field(alias="with")]
    """Modifiers it was sold with."""
    name: str
    """Its name."""
    section: str | None
    """On the menu that sells it."""
    menu: str | None
    """That menu."""
    in_words: str | None
    """How often it sells and how much it earns beside the others; null where it cannot be judged."""
    figures: FiguresOut
    """What it brought."""


class GroupFigures(Output):
    """A section, menu, venue or channel."""

    id: str | None
    """Null: none."""
    figures: FiguresOut
    """What it brought."""


class UnderTargetOut(Output):
    """A drink under its target, and the menu price that brings it back."""

    drink: str
    """Its id."""
    with_: Annotated[tuple[str, ...], Field(alias="with")]
    """Modifiers it was sold with."""
    net_each: str
    """Mean net of one serve."""
    asked_net: str
    """What the target asks at the mean cost."""
    menu_price: str
    """On the steps of the menu, upwards."""
    determined_by: str
    """The target that asks it."""


class EffectsOut(Output):
    """Why the contribution differs; price + mix + volume + cost = change, to the minor unit."""

    compared_with: str
    """The other period."""
    before: str
    """Contribution of the other period."""
    after: str
    """Contribution of this one."""
    change: str
    """After less before."""
    price: str
    """Other net prices of what sold in both."""
    mix: str
    """Other shares of dearer and cheaper drinks; holds the rounding of the other three."""
    volume: str
    """More or fewer serves at the mean contribution of before."""
    cost: str
    """Other costs of what sold in both; a rise is negative."""
    left_out: tuple[str, ...]
    """Drinks whose cost is not known in one of the two."""


class ThresholdsOut(Output):
    """From where on a drink sells well, and earns well."""

    share_percent_from: str
    """Share of serves: 70 % of an equal share (Kasavana and Smith 1982; from memory)."""
    contribution_each_from: str
    """Mean contribution of one serve."""


class ServePart(Output):
    """A part of the gross of a mean serve."""

    part: Literal["discount", "complimentary", "service_charge", "deposit", "tax", "pour_cost", "channel_cost", "stays"]
    """Where it goes; `stays` is the contribution after channels."""
    each: str
    """For one serve; all of them add up to its gross."""
    share_percent: str | None
    """Of the gross, by largest remainder; null where a part is negative."""


class PeriodOut(Output):
    """The trading days that were answered."""

    name: str
    """What it is called."""
    first: str
    """First trading day."""
    last: str
    """Last trading day."""
    days: int
    """How many."""


class MissingCost(Output):
    """A cost that is not known."""

    drink: str
    """Its id, with modifiers after a plus sign."""
    item: str
    """What has no cost."""
    field: str
    """What would tell it."""


class MarginsMeta(Output):
    """What the figures were made from."""

    rules_version: str
    """Of the embedded rules."""
    data_version: int
    """Of the catalogue."""
    cost_version: int
    """Of the catalogue with its costs."""
    as_of: str
    """Each row is costed as of its trading day; this is the last of them."""
    valuation: str
    """What a cost stands for."""
    venue: str | None
    """Whose settings applied."""


class Margins(Output):
    """The books of a period."""

    currency: str
    """Of every sum."""
    period: PeriodOut
    """Which days."""
    rows: int
    """Rows that were counted."""
    rows_outside: int
    """Rows of other days, which were left out."""
    total: FiguresOut
    """All of it."""
    drinks: tuple[DrinkFigures, ...]
    """In the order of their ids."""
    sections: tuple[GroupFigures, ...]
    """By heading of the menu."""
    menus: tuple[GroupFigures, ...]
    """By menu."""
    venues: tuple[GroupFigures, ...]
    """By venue."""
    channels: tuple[GroupFigures, ...]
    """By channel."""
    one_serve: tuple[ServePart, ...]
    """Where the money of a mean serve goes; empty where a cost is not known or nothing sold."""
    thresholds: ThresholdsOut | None
    """Behind `in_words`."""
    under_target: tuple[UnderTargetOut, ...]
    """The largest loss first; empty without a target too."""
    effects: EffectsOut | None
    """Null where nothing is compared."""
    missing: tuple[MissingCost, ...]
    """Costs that are not known."""
    meta: MarginsMeta
    """Versions, day, valuation."""
