"""When a site can be visited: weekdays, nights, changed clocks. Expected instants are written out by hand in UTC."""

from datetime import UTC, date, datetime

import pytest

from service.domain.driving.hours import begins, clock_of, windows, within
from service.domain.record.fleet import OpeningHours

DENVER = "America/Denver"
TUESDAY = date(2026, 6, 9)


def at(text: str) -> int:
    return int(datetime.fromisoformat(text).replace(tzinfo=UTC).timestamp())


def hours(weekday: str, first: str, until: str) -> OpeningHours:
    return OpeningHours(weekday=weekday, from_=first, until=until)


def test_a_weekday_without_hours_is_open_all_day_and_a_closed_one_not_at_all() -> None:
    assert windows(TUESDAY, DENVER, (), frozenset()) == ((at("2026-06-09T06:00"), at("2026-06-10T05:59:59")),)
    assert windows(TUESDAY, DENVER, (), frozenset({1})) == ()
    assert len(windows(TUESDAY, DENVER, (hours("monday", "10:00", "14:00"),), frozenset())) == 1


def test_hours_are_by_the_clock_of_the_site() -> None:
    open_at = (hours("tuesday", "09:00", "11:00"), hours("tuesday", "14:00", "24:00"))

    assert windows(TUESDAY, DENVER, open_at, frozenset()) == (
        (at("2026-06-09T15:00"), at("2026-06-09T17:00")),
        (at("2026-06-09T20:00"), at("2026-06-10T06:00")),
    )
    assert windows(TUESDAY, "Asia/Tokyo", open_at[:1], frozenset()) == (
        (at("2026-06-09T00:00"), at("2026-06-09T02:00")),
    )


def test_hours_that_end_when_they_begin_go_round_the_clock() -> None:
    assert windows(TUESDAY, DENVER, (hours("tuesday", "10:00", "10:00"),), frozenset()) == (
        (at("2026-06-09T16:00"), at("2026-06-10T16:00")),
    )


def test_hours_after_midnight_belong_to_the_evening_before() -> None:
    open_at = (hours("monday", "18:00", "02:00"), hours("tuesday", "18:00", "02:00"))

    assert windows(TUESDAY, DENVER, open_at, frozenset()) == (
        (at("2026-06-09T06:00"), at("2026-06-09T08:00")),
        (at("2026-06-10T00:00"), at("2026-06-10T08:00")),
    )
    assert windows(TUESDAY, DENVER, open_at, frozenset({0}))[0][0] == at("2026-06-10T00:00")
    assert windows(TUESDAY, DENVER, open_at[1:], frozenset()) == ((at("2026-06-10T00:00"), at("2026-06-10T08:00")),)
    assert len(windows(TUESDAY, DENVER, (hours("monday", "18:00", "24:00"),), frozenset())) == 1


@pytest.mark.parametrize(
    ("day", "clock", "instant"),
    [
        (date(2026, 3, 8), "02:30", "2026-03-08T09:00"),  # skipped: the clock goes from 02:00 to 03:00
        (date(2026, 3, 8), "02:00", "2026-03-08T09:00"),
        (date(2026, 3, 8), "03:00", "2026-03-08T09:00"),
        (date(2026, 11, 1), "01:30", "2026-11-01T07:30"),  # twice: the first time counts
        (date(2026, 11, 1), "02:00", "2026-11-01T09:00"),
        (date(2028, 2, 29), "08:00", "2028-02-29T15:00"),
        (date(2028, 2, 29), "24:00", "2028-03-01T07:00"),
    ],
)
def test_changed_clocks_and_leap_days(day: date, clock: str, instant: str) -> None:
    assert clock_of(day, clock, DENVER) == at(instant)


def test_work_ends_while_the_site_is_open() -> None:
    assert begins([(0, 3600)], 20) == ((0, 2400),)
    assert begins([(0, 3600)], 60) == ((0, 0),)
    assert begins([(0, 3600)], 61) == ()


def test_windows_are_cut_to_a_promise() -> None:
    assert within([(0, 100), (200, 300), (400, 500)], 50, 250) == ((50, 100), (200, 250))
    assert within([(0, 100), (101, 200)], 100, 100) == ((100, 100),)
