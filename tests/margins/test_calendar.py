"""Trading days and periods: clocks that change, the ends of periods, the 53rd week."""

from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.errors import InputFault
from service.margins.calendar import Period, TradingDay, first_day_of_year, month, same_days_before, week_period

AMSTERDAM = TradingDay.of("Europe/Amsterdam", time(4))


@pytest.mark.parametrize(
    ("local", "day"),
    [
        # A day that ends at 04:00: source, arithmetic.
        ("2026-11-14T03:59:59", date(2026, 11, 13)),
        ("2026-11-14T04:00:00", date(2026, 11, 14)),
        ("2026-11-14T23:59:59", date(2026, 11, 14)),
        ("2026-12-01T00:30:00", date(2026, 11, 30)),
        ("2027-01-01T03:00:00", date(2026, 12, 31)),
    ],
)
def test_what_is_sold_after_midnight_belongs_to_the_evening(local: str, day: date) -> None:
    assert AMSTERDAM.date_of(datetime.fromisoformat(local)) == day


def test_a_moment_in_another_zone_is_taken_to_the_place() -> None:
    # 03:30 UTC on 14 November is 04:30 in Amsterdam (UTC+1 in winter); 02:30 UTC is 03:30. Source: tz database.
    assert AMSTERDAM.date_of(datetime(2026, 11, 14, 3, 30, tzinfo=UTC)) == date(2026, 11, 14)
    assert AMSTERDAM.date_of(datetime(2026, 11, 14, 2, 30, tzinfo=UTC)) == date(2026, 11, 13)


def test_a_day_that_ends_in_the_evening_bears_the_date_it_ends_on() -> None:
    early = TradingDay.of("Europe/Amsterdam", time(22))
    assert early.date_of(datetime(2026, 11, 14, 21, 59)) == date(2026, 11, 14)
    assert early.date_of(datetime(2026, 11, 14, 22, 0)) == date(2026, 11, 15)


@pytest.mark.parametrize(
    ("zone", "ends", "day", "hours"),
    [
        # Directive 2000/84/EC: clocks of the Union change on the last Sundays of March and October, at 01:00 UTC.
        ("Europe/Amsterdam", time(4), date(2026, 3, 28), 23),
        ("Europe/Amsterdam", time(4), date(2026, 10, 24), 25),
        ("Europe/Amsterdam", time(4), date(2026, 11, 14), 24),
        # 15 U.S.C. 260a: second Sunday of March, first of November, at 2 o'clock local time.
        ("America/New_York", time(3), date(2026, 3, 7), 23),
        ("America/New_York", time(3), date(2026, 10, 31), 25),
        # Lord Howe Island moves by half an hour (tz database).
        ("Australia/Lord_Howe", time(5), date(2026, 4, 4), 24.5),
        ("Asia/Tokyo", time(5), date(2026, 3, 28), 24),
    ],
)
def test_a_day_on_which_clocks_change_has_another_length(zone: str, ends: time, day: date, hours: float) -> None:
    first, last = TradingDay.of(zone, ends).span(day)
    assert last - first == timedelta(hours=hours)


def test_an_end_that_the_clocks_skip_is_the_moment_of_the_skip() -> None:
    # 02:30 does not exist in Amsterdam on 29 March 2026; the clocks go from 02:00 to 03:00 at 01:00 UTC.
    skipped = TradingDay.of("Europe/Amsterdam", time(2, 30))
    assert skipped.span(date(2026, 3, 28))[1] == datetime(2026, 3, 29, 1, 0, tzinfo=UTC)
    assert skipped.span(date(2026, 3, 28))[1] == skipped.span(date(2026, 3, 29))[0]


def test_an_hour_that_comes_twice_belongs_to_one_day_and_no_moment_is_lost() -> None:
    # 25 October 2026: 02:30 comes twice; the day that ends at 02:30 ends at the first of them, 00:30 UTC.
    twice = TradingDay.of("Europe/Amsterdam", time(2, 30))
    assert twice.span(date(2026, 10, 24))[1] == datetime(2026, 10, 25, 0, 30, tzinfo=UTC)


@given(
    st.sampled_from(["Europe/Amsterdam", "America/New_York", "Asia/Tokyo", "Australia/Lord_Howe", "America/Sao_Paulo"]),
    st.sampled_from([time(0), time(4), time(6), time(22)]),
    st.datetimes(datetime(2015, 1, 1), datetime(2035, 1, 1), timezones=st.just(UTC)),
)
def test_every_moment_lies_in_the_span_of_its_day(zone: str, ends: time, moment: datetime) -> None:
    day = TradingDay.of(zone, ends)
    first, last = day.span(day.date_of(moment))
    local = moment.astimezone(ZoneInfo(zone))
    # Where midnight itself comes twice or never, the reading of the local clock decides, an hour at the most.
    slack = timedelta(hours=1) if local.utcoffset() != (local - timedelta(hours=3)).utcoffset() else timedelta(0)
    assert first - slack <= moment < last + slack


def test_a_zone_that_is_not_held_is_refused() -> None:
    for name in ("Skerrowmouth/Quay", "../etc/passwd", ""):
        with pytest.raises(InputFault) as fault:
            TradingDay.of(name)
        assert (fault.value.code, fault.value.pointer) == ("time_zone_unknown", "/time_zone")


@pytest.mark.parametrize(
    ("year", "number", "last"),
    [
        (2026, 2, date(2026, 2, 28)), (2028, 2, date(2028, 2, 29)), (2100, 2, date(2100, 2, 28)),
        (2026, 12, date(2026, 12, 31)),
    ],
)  # fmt: skip
def test_a_month_ends_where_the_calendar_says(year: int, number: int, last: date) -> None:
    found = month(year, number)
    assert (found.first, found.last) == (date(year, number, 1), last)


@pytest.mark.parametrize(
    ("pattern", "number", "first", "last"),
    [
        # From 1 February 2026 (a Sunday). 4-4-5: weeks 1-4, 5-8, 9-13; by adding 28, 28 and 35 days. Arithmetic.
        ("4-4-5", 1, date(2026, 2, 1), date(2026, 2, 28)),
        ("4-4-5", 3, date(2026, 3, 29), date(2026, 5, 2)),
        ("4-5-4", 2, date(2026, 3, 1), date(2026, 4, 4)),
        ("5-4-4", 1, date(2026, 2, 1), date(2026, 3, 7)),
        ("4-4-5", 12, date(2026, 12, 27), date(2027, 1, 30)),
    ],
)
def test_periods_in_weeks(pattern: str, number: int, first: date, last: date) -> None:
    found = week_period(pattern, date(2026, 2, 1), 2026, number)
    assert (found.first, found.last) == (first, last)


def test_the_53rd_week_goes_to_the_last_period_and_moves_what_follows() -> None:
    anchor = date(2026, 2, 1)
    last = week_period("4-4-5", anchor, 2026, 12, (2026,))
    assert last.last == date(2027, 2, 6)  # 53 x 7 = 371 days from 1 February 2026. Arithmetic.
    assert last.days == 42
    assert week_period("4-4-5", anchor, 2027, 1, (2026,)).first == date(2027, 2, 7)
    assert first_day_of_year(anchor, 2025, (2025,)) == date(2025, 1, 26)  # 371 days before. Arithmetic.


@given(st.sampled_from(["4-4-5", "4-5-4", "5-4-4"]), st.integers(2020, 2032), st.sets(st.integers(2020, 2032)))
def test_the_periods_of_a_year_cover_it_without_gap_or_overlap(pattern: str, year: int, long_years: set[int]) -> None:
    periods = [week_period(pattern, date(2026, 2, 1), year, number, tuple(long_years)) for number in range(1, 13)]
    for one, following in pairwise(periods):
        assert following.first - one.last == timedelta(days=1)
    assert sum(one.days for one in periods) == 7 * (53 if year in long_years else 52)
    after = week_period(pattern, date(2026, 2, 1), year + 1, 1, tuple(long_years))
    assert after.first - periods[-1].last == timedelta(days=1)


def test_faults_of_periods() -> None:
    with pytest.raises(InputFault, match="period_number"):
        week_period("4-4-5", date(2026, 2, 1), 2026, 13)
    with pytest.raises(InputFault, match="pattern_unknown"):
        week_period("5-5-3", date(2026, 2, 1), 2026, 1)
    with pytest.raises(InputFault, match="period_reversed"):
        Period("x", date(2026, 2, 2), date(2026, 2, 1))
    before = same_days_before(month(2026, 3))
    assert (before.first, before.last) == (date(2026, 1, 29), date(2026, 2, 28))
