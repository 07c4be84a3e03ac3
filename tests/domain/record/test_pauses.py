"""Spans of days out of service: joined, counted, and read again from text."""

from datetime import UTC, date, datetime, timedelta
from itertools import product

import pytest

from service.domain.record.care import Care
from service.domain.record.pauses import (
    Pause,
    PauseText,
    Span,
    away_text,
    back_on,
    days_served,
    is_away,
    known_at,
    merged,
    span_at,
    spans_of,
)


def day(text: str) -> date:
    return date.fromisoformat(f"2026-{text}")


def span(first: str, last: str | None, known: str = "01-01") -> Span:
    return Span(day(first), last and day(last), day(known), "unit")


def recorded(first: str, last: str | None, hour: int = 8, **more) -> PauseText:
    at = datetime(2026, 5, 1, hour, tzinfo=UTC)
    return PauseText(first=day(first), last=last and day(last), reason="renovation", at=at, by="rhea", **more)


def test_pauses_overlap_where_they_share_a_day() -> None:
    ends = ["06-01", "06-02", "06-03", "06-04", None]
    spans = [recorded(first, last) for first, last in product(ends[:4], ends) if last is None or first <= last]
    days = {id(each): {d for d in map(day, ends[:4]) if d >= each.first and (each.last is None or d <= each.last)}
            for each in spans}  # fmt: skip

    for one, other in product(spans, spans):
        assert one.overlaps(other) is bool(days[id(one)] & days[id(other)])


def test_of_a_pause_holds_what_was_recorded_last_by_an_instant() -> None:
    first, second = recorded("06-01", None), recorded("06-01", "06-10", 9)
    pause = Pause(number=1, texts=(first, second))

    assert (pause.text, pause.version) == (second, 2)
    assert [each.text for each in known_at([pause], second.at)] == [second]
    assert [each.text for each in known_at([pause], second.at - timedelta(seconds=1))] == [first]
    assert known_at([pause], first.at - timedelta(seconds=1)) == ()


def test_a_withdrawn_pause_makes_no_span_and_one_is_known_from_the_day_at_the_site_on() -> None:
    paused = Pause(number=1, texts=(recorded("06-05", "06-10", 3), recorded("06-05", None, 9)))
    withdrawn = Pause(number=2, texts=(recorded("06-01", None), recorded("06-01", None, 9, withdrawn=True)))
    closed = Pause(number=1, texts=(recorded("06-02", "06-03"),))

    assert spans_of([paused, withdrawn], [closed], "America/Denver") == (
        Span(day("06-02"), day("06-03"), day("05-01"), "site"),
        Span(day("06-05"), None, day("04-30"), "unit"),  # 21:00 of the day before
    )


def test_the_span_of_a_day_is_the_one_that_holds_it() -> None:
    away = (span("06-01", "06-10"), span("07-01", None))

    assert [span_at(away, day(each)) for each in ("05-31", "06-10", "06-11", "12-31")] == [None, away[0], None, away[1]]


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
    assert away_text(away[:1], None, day("06-10")) == "2026-06-01/2026-06-10"


@pytest.mark.parametrize(
    ("on", "back"), [("05-31", "05-31"), ("06-01", "06-11"), ("06-10", "06-11"), ("06-11", "06-11"), ("07-01", None)]
)
def test_a_unit_is_back_on_the_day_behind_the_span(on: str, back: str | None) -> None:
    assert back_on("2026-06-01/2026-06-10 2026-07-01/", day(on)) == (back and day(back))
    assert back_on(None, day(on)) == day(on)
    assert is_away(None, f"2026-{on}") is False


@pytest.mark.parametrize(("today", "until", "away"), [
    ("06-01", None, False), ("06-01", "06-09", True), ("06-01", "06-10", True), ("06-01", "06-11", False),
    ("05-31", "05-31", False), ("06-11", "06-11", False), ("07-01", None, True), ("07-01", "12-31", True),
])  # fmt: skip
def test_what_is_away_up_to_the_last_day_asked_for_is_not_listed(today: str, until: str | None, away: bool) -> None:
    assert is_away("2026-06-01/2026-06-10 2026-07-01/", f"2026-{today}", until and f"2026-{until}") is away


@pytest.mark.parametrize("since", ["05-25", "05-31", "06-01", "06-15", "06-20", "07-15"])
def test_days_served_are_those_after_the_first_that_are_in_no_span(since: str) -> None:
    spans = (span("06-01", "06-10"), span("06-05", "06-20"), span("07-10", None))
    first, last = day(since), day("07-20")
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
