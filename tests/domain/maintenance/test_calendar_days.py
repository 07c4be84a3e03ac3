"""Calendar arithmetic against printed examples of standards and against python-dateutil."""

from datetime import date, timedelta

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from service.domain.maintenance.calendar_days import WEEKDAYS, add_interval, last_open_day, next_open_day
from service.domain.maintenance.tasks import Interval

MONTH, DAY = Interval(1, "month"), Interval(1, "day")
DAYS = st.dates(date(1900, 1, 1), date(2200, 12, 31))
CLOSED = st.frozensets(st.integers(0, 6))


@pytest.mark.parametrize(
    ("anchor", "interval", "days"),
    [
        # RFC 7529, SKIP=BACKWARD: DTSTART 20140131, FREQ=MONTHLY, COUNT=4
        (date(2014, 1, 31), MONTH, ["2014-01-31", "2014-02-28", "2014-03-31", "2014-04-30"]),
        # RFC 5545, 3.8.5.3, last day of the month, 1997
        (
            date(1997, 8, 31),
            MONTH,
            ["1997-08-31", "1997-09-30", "1997-10-31", "1997-11-30", "1997-12-31", "1998-01-31"],
        ),
        # RFC 5545, 3.8.5.3, every 18 months from 1997-09-10
        (date(1997, 9, 10), Interval(18, "month"), ["1997-09-10", "1999-03-10"]),
        # RFC 5545, 3.8.5.3, every 10 days, 5 occurrences
        (date(1997, 9, 2), Interval(10, "day"), ["1997-09-02", "1997-09-12", "1997-09-22", "1997-10-02", "1997-10-12"]),
    ],
)
def test_repeated_intervals_fall_where_the_standards_print_them(anchor, interval, days):
    assert [add_interval(anchor, interval, n).isoformat() for n in range(len(days))] == days


def test_the_order_of_day_and_month_is_that_of_xml_schema():
    # W3C XML Schema part 2, appendix E.2
    assert add_interval(add_interval(date(2000, 3, 30), DAY), MONTH) == date(2000, 4, 30)
    assert add_interval(add_interval(date(2000, 3, 30), MONTH), DAY) == date(2000, 5, 1)


@pytest.mark.parametrize(
    ("anchor", "months", "due"),
    [
        (date(2026, 8, 31), 6, date(2027, 2, 28)),
        (date(2027, 8, 31), 6, date(2028, 2, 29)),
        (date(2024, 2, 29), 12, date(2025, 2, 28)),
        (date(2024, 2, 29), 48, date(2028, 2, 29)),
        (date(1896, 2, 29), 48, date(1900, 2, 28)),  # 1900 was no leap year
        (date(1999, 12, 31), 2, date(2000, 2, 29)),  # 2000 was one
    ],
)
def test_leap_days_and_short_months_end_on_their_last_day(anchor, months, due):
    assert add_interval(anchor, Interval(months, "month")) == due


@given(DAYS, st.integers(1, 120), st.integers(-20, 20))
def test_months_agree_with_dateutil(anchor, months, times):
    assert add_interval(anchor, Interval(months, "month"), times) == anchor + relativedelta(months=months * times)


@given(DAYS, st.integers(1, 3652), st.integers(-20, 20))
def test_days_agree_with_dateutil(anchor, days, times):
    assert add_interval(anchor, Interval(days, "day"), times) == anchor + relativedelta(days=days * times)


@pytest.mark.parametrize("interval", [DAY, MONTH])
def test_a_day_beyond_the_calendar_is_refused(interval):
    with pytest.raises(ValueError, match=r"out of range|must be in"):
        add_interval(date(9999, 12, 31), interval)


def test_the_weekdays_are_named_in_the_order_python_counts_them():
    monday = date(2026, 6, 8)  # ISO 8601 calls it 2026-W24-1
    assert [(monday + timedelta(days=n)).strftime("%A") for n in range(7)] == list(WEEKDAYS)


@given(DAYS, CLOSED)
def test_the_last_open_day_is_the_nearest_open_one_before(day, closed):
    nearest = next((d for d in (day - timedelta(days=n) for n in range(7)) if d.weekday() not in closed), day)
    assert last_open_day(day, closed) == nearest


@given(DAYS, CLOSED)
def test_the_next_open_day_is_the_nearest_open_one_after(day, closed):
    nearest = next((d for d in (day + timedelta(days=n) for n in range(7)) if d.weekday() not in closed), day)
    assert next_open_day(day, closed) == nearest


def test_closed_monday_and_sunday_moves_a_monday_to_saturday_or_tuesday():
    monday = date(2026, 6, 8)
    assert last_open_day(monday, frozenset({0, 6})) == date(2026, 6, 6)
    assert next_open_day(monday, frozenset({0, 6})) == date(2026, 6, 9)


def test_a_site_closed_on_every_weekday_leaves_the_day_alone():
    day = date(2026, 6, 8)
    assert last_open_day(day, frozenset(range(7))) == next_open_day(day, frozenset(range(7))) == day
