"""What is asked of the books, whatever form it came in: period, taxes, channels, rows."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import time
from decimal import Decimal
from typing import Any, NamedTuple

from msgspec import Struct
from pydantic import ValidationError

from schemas.margins import HeldIn, MarginsRequest
from schemas.period import PeriodIn, PeriodQuery, TradingDayIn
from schemas.sales import SaleIn, SalesFileQuery
from schemas.usage import ValuationIn
from service.api.books import Books, steps_of, target_of, tax_of
from service.errors import InputFault
from service.margins.calendar import Period, TradingDay, month, week_period
from service.margins.sales import Channel, NetSale
from service.pricing import PriceRound, Target, Tax


class SentRow(NamedTuple):
    """A row with where it stands in what was sent."""

    pointer: str
    row: SaleIn


class Values(NamedTuple):
    """What costs stand for, and the stock of both periods."""

    first: ValuationIn
    beside: ValuationIn | None
    stock: Sequence[HeldIn]
    compare_stock: Sequence[HeldIn]

    @property
    def passes(self) -> int:
        """How often each cost is made, at the most."""
        return sum(3 if one.method == "fifo" else 1 for one in (self.first, self.beside) if one is not None)


class Question(Struct, frozen=True):
    """What is asked, whatever form it came in."""

    period: Period
    compared: Period | None
    day: TradingDay
    venue: str | None
    target: Target | None
    rounding: PriceRound | None
    currency: str
    taxes: Mapping[str | None, Tax]
    rate_classes: bool
    channels: Mapping[str, Channel] | None
    stated: Mapping[str, tuple[str, str | None, Decimal]]
    rows: Sequence[SentRow]
    values: Values | None = None
    paced: bool = True
    """Whether the rows say what sells a day; a menu without a mix does not."""


class Read(Struct, frozen=True):
    """Rows in net money, of the period and of the one it is compared with; how many lay outside of both."""

    now: tuple[NetSale, ...]
    then: tuple[NetSale, ...]
    outside: int

    @property
    def costs(self) -> int:
        """How many costs of a drink on a day they need."""
        return len({(row.sale.key, row.sale.venue, row.sale.day) for row in (*self.now, *self.then)})


def period_of(asked: PeriodIn, pointer: str) -> Period:
    """A period as it was stated."""
    try:
        if asked.month is not None:
            year, number = asked.month.split("-")
            return month(_year(int(year)), int(number))
        if asked.weeks is not None:
            weeks = asked.weeks
            return week_period(weeks.pattern, weeks.year_begins, weeks.year, weeks.number, weeks.long_years)
        assert asked.first is not None and asked.last is not None
        return Period(f"{asked.first} to {asked.last}", asked.first, asked.last)
    except InputFault as fault:
        raise InputFault(fault.code, fault.detail, pointer) from None
    except OverflowError:
        raise InputFault("period_out_of_range", "The calendar ends before this period.", pointer) from None


def _year(year: int) -> int:
    if not 1990 <= year <= 2200:
        raise InputFault("period_out_of_range", "Expected a year from 1990 to 2200.")
    return year


def trading_day(asked: TradingDayIn) -> TradingDay:
    """A trading day as it was stated."""
    try:
        return TradingDay.of(asked.time_zone, time.fromisoformat(asked.ends))
    except InputFault as fault:
        raise InputFault(fault.code, fault.detail, "/trading_day/time_zone") from None


def question_of(asked: MarginsRequest, books: Books) -> Question:
    """The question of a JSON body. Raises ``InputFault`` with its pointer."""
    period = period_of(asked.period, "/period")
    compared = None
    if asked.compare_with is not None:
        compared = apart(period, period_of(asked.compare_with, "/compare_with"), "/compare_with")
    held = books.settings(period.last).pricing
    currency = books.currency(period.last)
    taxes: dict[str | None, Tax] = {None: tax_of(None if held is None else held.tax)}
    taxes |= {one.id: Tax.at_rate(one.rate_percent, one.included) for one in asked.tax_classes}
    channels = {one.id: Channel(one.id, one.commission_percent, one.fee, one.packaging) for one in asked.channels}
    target = target_of(asked.target or (None if held is None else held.target))
    rounding = steps_of(asked.round or (None if held is None else held.round), currency)
    stated = {one.id: (one.name or one.id, one.section, one.pour_cost) for one in asked.drinks}
    rows = [SentRow(f"/sales/{number}", row) for number, row in enumerate(asked.sales)]
    return Question(
        period, compared, trading_day(asked.trading_day), books.venue, target, rounding, currency, taxes, False,
        channels, stated, rows, Values(asked.valuation, asked.beside, asked.stock, asked.compare_stock),
    )  # fmt: skip


def question_of_file(query: SalesFileQuery, rows: Iterable[tuple[int, SaleIn]], books: Books) -> Question:
    """The question of a file with its query."""
    period = stated_period(query)
    if period is None:
        raise InputFault("period_unclear", "State a month, weeks, or first and last.", "/month")
    compared = compared_period(query, period)
    held = books.settings(period.last).pricing
    currency = books.currency(period.last)
    day = trading_day(TradingDayIn(time_zone=query.time_zone, ends=query.day_ends))
    taxes: dict[str | None, Tax] = {None: tax_of(None if held is None else held.tax)}
    placed = [SentRow(f"/rows/{number}", row) for number, row in rows]
    target = target_of(query.target or (None if held is None else held.target))
    rounding = steps_of(None if held is None else held.round, currency)
    return Question(period, compared, day, books.venue, target, rounding, currency, taxes, True, None, {}, placed)


def stated_period(query: PeriodQuery) -> Period | None:
    """The period in the parameters of an address; ``None`` where they name none. Raises ``InputFault``."""
    named = (query.year_begins, query.year, query.number)
    if query.weeks is None and (query.long_years or any(one is not None for one in named)):
        raise InputFault("period_unclear", "Say in weeks how the quarters of the year are counted.", "/weeks")
    if query.weeks is not None and any(one is None for one in named):
        raise InputFault("period_unclear", "Weeks need year_begins, year and number.", "/weeks")
    stated: dict[str, Any] = {name: one for name in ("month", "first", "last") if (one := getattr(query, name))}
    if query.weeks is not None:
        stated["weeks"] = _weeks(query, query.year, query.number)
    return _named(stated, "")


def compared_period(query: PeriodQuery, period: Period) -> Period | None:
    """The other period in the parameters of an address; ``None`` where they name none. Raises ``InputFault``."""
    stated: dict[str, Any] = {
        name: one for name in ("month", "first", "last") if (one := getattr(query, f"compare_{name}"))
    }
    if query.compare_year is not None or query.compare_number is not None:
        if query.weeks is None:
            detail = "Another period in weeks is counted as the first is; say in weeks how."
            raise InputFault("period_unclear", detail, "/compare_year")
        if query.compare_year is None or query.compare_number is None:
            raise InputFault("period_unclear", "State both compare_year and compare_number.", "/compare_year")
        stated["year"] = _weeks(query, query.compare_year, query.compare_number)
    return apart(period, _named(stated, "compare_"), f"/compare_{next(iter(stated), 'month')}")


def apart(period: Period, compared: Period | None, pointer: str) -> Period | None:
    """The other period. Raises ``InputFault`` where it shares days with the first, whose rows would count but once."""
    if compared is not None and compared.first <= period.last and period.first <= compared.last:
        raise InputFault("periods_overlap", "The two periods share days; compare periods that do not.", pointer)
    return compared


def _weeks(query: PeriodQuery, year: int | None, number: int | None) -> dict[str, Any]:
    return {
        "pattern": query.weeks, "year_begins": query.year_begins, "year": year, "number": number,
        "long_years": query.long_years,
    }  # fmt: skip


def _named(stated: dict[str, Any], prefix: str) -> Period | None:
    """The period of some parameters by their names behind a prefix."""
    if not stated:
        return None
    pointer = f"/{prefix}{next(name for name in ('month', 'weeks', 'year', 'last', 'first') if name in stated)}"
    try:
        asked = PeriodIn.model_validate({"weeks" if name == "year" else name: one for name, one in stated.items()})
    except ValidationError as error:
        fault = error.errors(include_url=False, include_input=False)[0]
        raise InputFault(fault["type"], fault["msg"], pointer) from None
    return period_of(asked, pointer)
