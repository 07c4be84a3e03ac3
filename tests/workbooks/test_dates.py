"""Days as shops write them: read by one rule, or refused."""

from datetime import date

import pytest

from service.workbooks.dates import DAY_FIRST, MONTH_FIRST, Ambiguous, DateStyle, NoYear, of_serial, parse, parts_of

BOTH = DateStyle({"/": MONTH_FIRST, ".": DAY_FIRST})


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2026-03-14", date(2026, 3, 14)),
        ("20260314", date(2026, 3, 14)),
        ("3/4/24", date(2024, 3, 4)),
        ("3.4.24", date(2024, 4, 3)),
        ("3. 4. 2024", date(2024, 4, 3)),
        ("Tue 3/4/24", date(2024, 3, 4)),
        ("Mar 4th, 2024", date(2024, 3, 4)),
        ("4-Mar-24", date(2024, 3, 4)),
        ("4 september '24", date(2024, 9, 4)),
        ("3/4/24 2:30 pm", date(2024, 3, 4)),
    ],
)
def test_a_day_is_read(text, day):
    assert parse(text, BOTH) == day


@pytest.mark.parametrize(
    "text", ["28", "1.5", "2024", "may", "sat", "ok", "12.5.", "mid June", "wk of 5/6", "31/2/24", "14/3/24"]
)
def test_what_is_no_day_by_the_order_given_is_refused(text):
    """Texts that guessing libraries read as some day (measured with dateutil 4.0.0 and dateparser 1.5.0)."""
    with pytest.raises(ValueError, match=r".*"):
        parse(text, BOTH)


def test_a_day_that_can_be_two_is_refused_with_both():
    with pytest.raises(Ambiguous) as caught:
        parse("3/4/24", DateStyle())

    assert caught.value.days == (date(2024, 4, 3), date(2024, 3, 4))
    assert parse("14/3/24", DateStyle()) == date(2024, 3, 14)


def test_a_day_without_year_has_that_of_the_heading_above():
    assert parse("3/14", DateStyle({"/": MONTH_FIRST}, year=2024)) == date(2024, 3, 14)
    with pytest.raises(NoYear):
        parse("3/14", BOTH)


def test_serial_numbers_count_from_the_workbooks_first_day():
    """45365 is 2024-03-14 in the 1900 system (ECMA-376 part 1, 18.17.4.1), 1462 days less in that of 1904."""
    assert of_serial(45365, DateStyle()) == date(2024, 3, 14)
    assert of_serial(43903, DateStyle(epoch=date(1904, 1, 1))) == date(2024, 3, 14)
    with pytest.raises(ValueError, match="not a day"):
        of_serial(60, DateStyle())


@pytest.mark.parametrize(
    ("text", "time"),
    [("3/4/24 14:05", (14, 5)), ("3/4/24 at 2:30pm", (14, 30)), ("3/4/24 9 am", (9, 0)), ("3/4/24", None)],
)
def test_the_time_beside_a_day_is_read(text, time):
    assert parts_of(text) == ("3/4/24", time)
