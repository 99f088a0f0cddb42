"""Trading days and the periods of the books: months, the weeks of 4-4-5 and its kin, stated dates.

A trading day bears the date on which it begins; it ends at a set local time of the day after, so that what is sold at
01:30 still belongs to the evening. Clocks that are put forward or back are those of the time zone's own rules.
"""

from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta
from typing import Final
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from msgspec import Struct

from service.errors import InputFault

PATTERNS: Final[dict[str, tuple[int, int, int]]] = {"4-4-5": (4, 4, 5), "4-5-4": (4, 5, 4), "5-4-4": (5, 4, 4)}
"""Weeks of the three periods of a quarter."""

_DAY: Final = timedelta(days=1)
_WEEK: Final = timedelta(days=7)


class TradingDay(Struct, frozen=True):
    """``ends`` is the local time at which a day ends: before noon it lies on the next date, else on the same."""

    zone: ZoneInfo
    ends: time

    @classmethod
    def of(cls, zone: str, ends: time = time(0)) -> "TradingDay":
        """The trading day of a place. Raises ``InputFault`` where the time zone is not in the tz database."""
        try:
            return cls(ZoneInfo(zone), ends)
        except (ZoneInfoNotFoundError, ValueError, OSError):
            detail = "Expected the name of a time zone of the tz database, such as Europe/Amsterdam."
            raise InputFault("time_zone_unknown", detail, "/time_zone") from None

    def date_of(self, moment: datetime) -> date:
        """The trading day of a moment; one without an offset is local time.

        >>> TradingDay.of("Europe/Amsterdam", time(4)).date_of(datetime(2026, 11, 2, 3, 59))
        datetime.date(2026, 11, 1)
        """
        local = moment if moment.tzinfo is None else moment.astimezone(self.zone)
        before = local.time().replace(fold=0) < self.ends
        if self.ends < time(12):
            return local.date() - _DAY if before else local.date()
        return local.date() if before else local.date() + _DAY

    def span(self, day: date) -> tuple[datetime, datetime]:
        """First moment and end of a trading day, in UTC; 23 or 25 hours apart where clocks change.

        An end that the clocks skip is the moment at which they skip it; one that comes twice is the first of both.
        """
        first = day if self.ends < time(12) else day - _DAY
        return self._moment(first), self._moment(first + _DAY)

    def _moment(self, day: date) -> datetime:
        local = datetime.combine(day, self.ends, self.zone)
        moment = local.astimezone(UTC)
        if moment.astimezone(self.zone).replace(tzinfo=None) != local.replace(tzinfo=None):
            return self._skip(local.replace(fold=1).astimezone(UTC), moment)
        return moment

    def _skip(self, before: datetime, after: datetime) -> datetime:
        """The moment between two at which the clocks go forward, to the second."""
        offset = before.astimezone(self.zone).utcoffset()
        while after - before > timedelta(seconds=1):
            middle = before + (after - before) // 2
            middle = middle.replace(microsecond=0)
            if middle.astimezone(self.zone).utcoffset() == offset:
                before = middle
            else:
                after = middle
        return after


class Period(Struct, frozen=True):
    """Trading days from ``first`` to ``last``, both in it."""

    name: str
    first: date
    last: date

    def __post_init__(self) -> None:
        if self.last < self.first:
            raise InputFault("period_reversed", "The last day lies before the first.", "/period/last")

    @property
    def days(self) -> int:
        """How many trading days it has."""
        return (self.last - self.first).days + 1

    def holds(self, day: date) -> bool:
        """Whether a trading day lies in it."""
        return self.first <= day <= self.last


def month(year: int, number: int) -> Period:
    """A calendar month.

    >>> month(2028, 2).last
    datetime.date(2028, 2, 29)
    """
    first = date(year, number, 1)
    after = date(year + number // 12, number % 12 + 1, 1)
    return Period(f"{year:04d}-{number:02d}", first, after - _DAY)


def first_day_of_year(anchor: date, year: int, long_years: Sequence[int]) -> date:
    """First day of a trading year counted in weeks; ``anchor`` begins the year that bears its own number.

    A year has 52 weeks, one of ``long_years`` has 53: which ones they are is the business's own choice, stated and
    never guessed.
    """
    first = anchor
    for one in range(anchor.year, year):
        first += _WEEK * (53 if one in long_years else 52)
    for one in range(year, anchor.year):
        first -= _WEEK * (53 if one in long_years else 52)
    return first


def weeks_of_year(pattern: str, long_year: bool) -> tuple[int, ...]:
    """Weeks of the twelve periods; the 53rd week goes to the last one.

    >>> weeks_of_year("4-4-5", True)
    (4, 4, 5, 4, 4, 5, 4, 4, 5, 4, 4, 6)
    """
    weeks = PATTERNS.get(pattern)
    if weeks is None:
        raise InputFault("pattern_unknown", f"Expected one of {', '.join(PATTERNS)}.", "/period/pattern")
    found = weeks * 4
    return (*found[:-1], found[-1] + 1) if long_year else found


def week_period(pattern: str, anchor: date, year: int, number: int, long_years: Sequence[int] = ()) -> Period:
    """The period ``number`` (1 to 12) of a trading year in weeks.

    >>> week_period("4-4-5", date(2026, 2, 1), 2026, 3).first
    datetime.date(2026, 3, 29)
    """
    weeks = weeks_of_year(pattern, year in long_years)
    if not 1 <= number <= len(weeks):
        raise InputFault("period_number", "A trading year has the periods 1 to 12.", "/period/number")
    first = first_day_of_year(anchor, year, long_years) + _WEEK * sum(weeks[: number - 1])
    return Period(f"{year:04d} {pattern} period {number}", first, first + _WEEK * weeks[number - 1] - _DAY)


def same_days_before(period: Period) -> Period:
    """The days of the same number right before a period."""
    return Period("the days before", period.first - _DAY * period.days, period.first - _DAY)
