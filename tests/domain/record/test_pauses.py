"""Spans of days out of service: joined, counted, and read again from text."""

from datetime import date, timedelta

import pytest

from service.domain.record.care import Care
from service.domain.record.pauses import Span, away_text, days_served, is_away, merged


def day(text: str) -> date:
    return date.fromisoformat(f"2026-{text}")


def span(first: str, last: str | None, known: str = "01-01") -> Span:
    return Span(day(first), last and day(last), day(known), "unit")


def test_spans_without_a_day_between_them_are_one() -> None:
    ranges = [
        (day("06-11"), day("06-20")),
        (day("06-01"), day("06-10")),
        (day("06-22"), None),
        (day("06-05"), day("06-06")),
    ]

    assert list(merged(ranges)) == [(day("06-01"), day("06-20")), (day("06-22"), None)]


def test_an_open_span_and_the_end_reach_into_all_that_comes() -> None:
    away = (span("06-01", "06-10"), span("06-11", None), span("08-01", "08-02"))

    assert away_text(away, day("12-31"), day("05-01")) == "2026-06-01/"
    assert away_text((span("06-01", "06-10"),), day("06-11"), day("05-01")) == "2026-06-01/"
    assert away_text(away[:1], None, day("06-11")) is None


@pytest.mark.parametrize(("today", "until", "away"), [
    ("06-01", None, False), ("06-01", "06-09", True), ("06-01", "06-10", True), ("06-01", "06-11", False),
    ("05-31", "05-31", False), ("06-11", "06-11", False), ("07-01", None, True), ("07-01", "12-31", True),
])  # fmt: skip
def test_what_is_away_up_to_the_last_day_asked_for_is_not_listed(today: str, until: str | None, away: bool) -> None:
    assert is_away("2026-06-01/2026-06-10 2026-07-01/", f"2026-{today}", until and f"2026-{until}") is away


def test_days_served_are_those_after_the_first_that_are_in_no_span() -> None:
    spans = (span("06-01", "06-10"), span("06-05", "06-20"), span("07-10", None))
    first, last = day("05-25"), day("07-20")
    counted = [first + n * timedelta(days=1) for n in range(1, (last - first).days + 1)]

    assert days_served(first, last, spans) == sum(not any(each.holds(d) for each in spans) for d in counted)


def test_what_was_known_before_a_day_has_what_had_begun_or_been_recorded() -> None:
    care = Care(
        away=(span("06-01", None), span("09-01", "09-30"), span("10-01", "10-31", "08-01")), out_from=day("12-31")
    )

    assert [each.first for each in care.known_before(day("07-01")).away] == [day("06-01"), day("09-01")]
    assert [each.first for each in care.known_before(day("08-02")).away] == [day("06-01"), day("09-01"), day("10-01")]
    assert (care.known_before(day("12-31")).out_from, care.known_before(date(2027, 1, 1)).out_from) == (
        None,
        day("12-31"),
    )
    judged = care.judged_on(day("07-01"))
    assert (judged.away[0].last, judged.out_from) == (day("06-30"), None)
    assert care.judged_on(date(2027, 1, 1)).out_from is None  # a visit after the end is judged as well
