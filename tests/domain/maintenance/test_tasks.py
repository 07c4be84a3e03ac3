"""Intervals are checked against the grammar of RFC 3339, appendix A, and against icalendar's reading of durations."""

from dataclasses import FrozenInstanceError, replace
from datetime import date

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st
from icalendar import vDuration

from service.domain.maintenance.tasks import AS_FOUND, RESULTS, Interval, Task, parse_interval

TASK = Task(
    code="pump_check",
    name="Pump check",
    interval=Interval(3, "month"),
    shortest=Interval(1, "month"),
    longest=Interval(6, "month"),
    minutes=20,
    bring=("torch",),
    cautions=("Hot.",),
    source="common practice, no source",
)


@pytest.mark.parametrize(
    ("text", "interval"),
    [
        ("90 days", Interval(90, "day")),
        ("1 day", Interval(1, "day")),
        ("2 weeks", Interval(14, "day")),
        ("6 months", Interval(6, "month")),
        ("1 year", Interval(12, "month")),
        ("P90D", Interval(90, "day")),
        ("P2W", Interval(14, "day")),
        ("P6M", Interval(6, "month")),
        ("P1Y", Interval(12, "month")),
    ],
)
def test_an_interval_is_read_in_words_or_as_iso_8601(text, interval):
    assert parse_interval(text) == interval


@given(st.integers(1, 521), st.sampled_from("DW"))
def test_days_and_weeks_are_read_as_icalendar_reads_them(count, unit):
    text = f"P{count}{unit}"
    assert parse_interval(text).count == vDuration.from_ical(text).days


@pytest.mark.parametrize(
    "text",
    [
        "", "soon", "90", "90days", "-3 days", "1.5 months", "3 fortnights", " 90 days", "90 days\n",
        "P", "PD", "P1.5M", "PT24H", "-P1D", "p90d", "P1Y6M", "\u0663 days", "P\u0663D", "90 day\u017f",
    ],
)  # fmt: skip
def test_any_other_text_is_refused_by_value_and_form(text):
    with pytest.raises(ValueError, match="is not an interval; write") as refused:
        parse_interval(text)
    assert repr(text) in str(refused.value)


@pytest.mark.parametrize("raw", [None, 90, 1.5, True, ["90 days"], {"value": 90}, b"90 days"])
def test_a_value_that_is_no_text_is_refused(raw):
    with pytest.raises(ValueError, match="is not an interval; write"):
        parse_interval(raw)


@pytest.mark.parametrize("text", ["1 day", "10 years", "120 months", "3652 days", "P521W"])
def test_one_day_to_ten_years_is_accepted(text):
    assert parse_interval(text).days >= 1


@pytest.mark.parametrize(
    "text", ["0 days", "0 months", "P0D", "11 years", "121 months", "3653 days", "P522W", "99999 years"]
)
def test_below_a_day_and_above_ten_years_is_refused_by_value_and_limit(text):
    with pytest.raises(ValueError, match="1 day to 10 years") as refused:
        parse_interval(text)
    assert repr(text) in str(refused.value)


@pytest.mark.parametrize(
    ("interval", "text"),
    [
        (Interval(1, "day"), "1 day"),
        (Interval(90, "day"), "90 days"),
        (Interval(1, "month"), "1 month"),
        (Interval(6, "month"), "6 months"),
    ],
)
def test_an_interval_shows_itself_in_words(interval, text):
    assert str(interval) == text


@given(
    st.one_of(
        st.builds(Interval, st.integers(1, 3652), st.just("day")),
        st.builds(Interval, st.integers(1, 120), st.just("month")),
    )
)
def test_what_an_interval_shows_reads_back_as_itself(interval):
    assert parse_interval(str(interval)) == interval


@given(st.dates(date(1990, 1, 1), date(2090, 1, 1)), st.integers(1, 120))
def test_the_length_in_days_is_within_three_days_of_the_calendar(day, months):
    calendar = (day + relativedelta(months=months) - day).days  # February makes the worst case
    assert abs(Interval(months, "month").days - calendar) <= 3


def test_an_interval_of_nothing_cannot_be_made():
    with pytest.raises(ValueError, match="0 days is outside"):
        Interval(0, "day")


@pytest.mark.parametrize(
    ("interval", "words"),
    [(Interval(29, "day"), "shorter than the shortest"), (Interval(7, "month"), "longer than the longest")],
)
def test_a_task_refuses_an_interval_outside_its_range(interval, words):
    with pytest.raises(ValueError, match=words) as refused:
        replace(TASK, interval=interval)
    assert str(interval) in str(refused.value)


@pytest.mark.parametrize("bound", [Interval(1, "month"), Interval(6, "month")])
def test_a_task_accepts_both_ends_of_its_range(bound):
    assert replace(TASK, interval=bound).interval == bound


@pytest.mark.parametrize("missing", ["interval", "shortest", "longest"])
def test_a_task_has_all_of_interval_and_range_or_none(missing):
    with pytest.raises(ValueError, match="or none of them"):
        replace(TASK, **{missing: None})


def test_a_task_cannot_be_changed_in_place():
    with pytest.raises(FrozenInstanceError):
        TASK.minutes = 5


def test_two_versions_of_a_task_are_not_equal_though_they_hash_alike():
    other = replace(TASK, interval=Interval(2, "month"))
    assert hash(other) == hash(TASK)
    assert other != TASK


def test_the_words_are_those_of_the_contract():
    assert RESULTS == ("done", "not_done", "not_needed")
    assert AS_FOUND == ("clean", "light", "heavy", "blocked")
