"""Trading days and the periods of the books: months, weeks of 4-4-5 and its kin, stated dates."""

from typing import Annotated, Literal, Self

from pydantic import BeforeValidator, Field, StringConstraints, model_validator
from pydantic_core import PydanticCustomError

from schemas._base import Input, Output, Query
from schemas.parameters import separated_wholes, whole
from schemas.pricing import Target
from schemas.scalars import Day, MarkupText, MoneyText, PercentText

MONTH_PATTERN = r"^[0-9]{4}-(0[1-9]|1[0-2])$"
CLOCK_PATTERN = r"^([01][0-9]|2[0-3]):[0-5][0-9]$"
MonthText = Annotated[str, StringConstraints(strict=True, pattern=MONTH_PATTERN)]
ClockText = Annotated[str, StringConstraints(strict=True, pattern=CLOCK_PATTERN)]
ZoneText = Annotated[str, StringConstraints(strict=True, pattern=r"^[A-Za-z][A-Za-z0-9_+/-]{0,63}$")]
Year = Annotated[int, Field(strict=True, ge=1990, le=2200)]
PeriodNumber = Annotated[int, Field(strict=True, ge=1, le=12)]


class Weeks(Input):
    """A period of a trading year that is counted in weeks."""

    pattern: Literal["4-4-5", "4-5-4", "5-4-4"]
    """Weeks of the three periods of a quarter."""
    year_begins: Day
    """First day of the trading year that bears the number of its own calendar year."""
    year: Year
    """Number of the trading year that is asked for."""
    number: PeriodNumber
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


class PeriodQuery(Query):
    """A period and a target as parameters of an address."""

    month: MonthText | None = None
    """A calendar month, YYYY-MM."""
    first: Day | None = None
    """First trading day, with `last`."""
    last: Day | None = None
    """Last trading day, in it."""
    weeks: Literal["4-4-5", "4-5-4", "5-4-4"] | None = None
    """Weeks of the three periods of a quarter; with `year_begins`, `year` and `number`."""
    year_begins: Day | None = None
    """First day of the trading year that bears the number of its own calendar year."""
    year: Annotated[Year | None, BeforeValidator(whole)] = None
    """Number of the trading year."""
    number: Annotated[PeriodNumber | None, BeforeValidator(whole)] = None
    """Which of its twelve periods."""
    long_years: Annotated[tuple[Year, ...], BeforeValidator(separated_wholes), Field(max_length=50)] = ()
    """Trading years of 53 weeks, such as 2026,2032; the last period has the week more."""
    compare_month: MonthText | None = None
    """Another period to compare with: a calendar month."""
    compare_first: Day | None = None
    """Another period: its first trading day, with `compare_last`."""
    compare_last: Day | None = None
    """Its last trading day, in it."""
    compare_year: Annotated[Year | None, BeforeValidator(whole)] = None
    """Another period in the same `weeks`: its trading year, with `compare_number`."""
    compare_number: Annotated[PeriodNumber | None, BeforeValidator(whole)] = None
    """Which of its twelve periods."""
    gross_margin_percent: Annotated[PercentText | None, Field(lt=100)] = None
    """A target, instead of the venue's: (net - pour cost) / net."""
    pour_cost_percent: Annotated[PercentText | None, Field(gt=0, le=100)] = None
    """A target: pour cost / net."""
    markup_percent: MarkupText | None = None
    """A target: (net - pour cost) / pour cost."""
    cash_margin: MoneyText | None = None
    """A target: net - pour cost, in the currency of the answer."""

    @property
    def target(self) -> Target | None:
        """The target that is asked for; the venue's where it is none."""
        names = ("gross_margin_percent", "pour_cost_percent", "markup_percent", "cash_margin")
        stated = {name: format(one, "f") for name in names if (one := getattr(self, name)) is not None}
        return Target.model_validate(stated) if stated else None
