"""Instants: RFC 3339's own examples, every refusal, and round trips through storage and the site's clock."""

import re
from datetime import UTC, date, datetime, timedelta

import pytest
from dateutil import tz
from hypothesis import example, given
from hypothesis import strategies as st

from service.domain.instants import (
    at_site,
    from_text,
    local_day,
    of_local_time,
    parse_day,
    parse_instant,
    parse_site_time,
    to_text,
    zone,
)

# RFC 3339 section 5.8, all five examples with the instants its text gives for them. The third and fourth are the
# leap second at the end of 1990, which is read as the second after it.
RFC_EXAMPLES = [
    ("1985-04-12T23:20:50.52Z", datetime(1985, 4, 12, 23, 20, 50, 520000, UTC)),
    ("1996-12-19T16:39:57-08:00", datetime(1996, 12, 20, 0, 39, 57, 0, UTC)),
    ("1990-12-31T23:59:60Z", datetime(1991, 1, 1, 0, 0, 0, 0, UTC)),
    ("1990-12-31T15:59:60-08:00", datetime(1991, 1, 1, 0, 0, 0, 0, UTC)),
    ("1937-01-01T12:00:27.87+00:20", datetime(1937, 1, 1, 11, 40, 27, 870000, UTC)),
]


@pytest.mark.parametrize(("text", "instant"), RFC_EXAMPLES)
def test_examples_of_rfc_3339_are_read(text, instant):
    assert parse_instant(text) == instant
    assert parse_instant(text).tzinfo is UTC


def test_letters_may_be_lower_case():
    # RFC 3339 section 5.6: "T" and "Z" may alternatively be lower case.
    assert parse_instant("1985-04-12t23:20:50.52z") == parse_instant("1985-04-12T23:20:50.52Z")


def test_unknown_local_offset_is_read_as_utc():
    # RFC 3339 section 4.3: -00:00 is the UTC time with the local offset unknown.
    assert parse_instant("2026-06-09T13:05:00-00:00") == datetime(2026, 6, 9, 13, 5, tzinfo=UTC)


def test_digits_beyond_the_microsecond_are_dropped():
    assert parse_instant("2026-06-09T13:05:00.1234569999Z").microsecond == 123456


def test_fraction_of_a_leap_second_is_kept():
    assert parse_instant("2016-12-31T23:59:60.25Z") == datetime(2017, 1, 1, 0, 0, 0, 250000, UTC)


@pytest.mark.parametrize(
    "text", ["2026-06-09T13:05:60Z", "2026-06-09T23:59:60Z", "1990-12-31T23:59:60-08:00", "2026-06-30T23:58:60Z"]
)
def test_second_60_elsewhere_is_refused(text):
    # RFC 3339 section 5.7: leap seconds stand at the end of a month, in UTC.
    with pytest.raises(ValueError, match=f"'{text}' is no leap second"):
        parse_instant(text)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("2026-06-09T13:05:00", "'2026-06-09T13:05:00' has no offset; write Z or -06:00"),
        ("2026-06-09 13:05:00Z", "'2026-06-09 13:05:00Z' has a space between date and time; write the letter T"),
        ("2026-02-30T13:05:00Z", "2026-02-30 is not a date"),
        ("1899-12-31T23:59:59Z", "1899-12-31 is outside the years 1900 to 2200"),
        ("2201-01-01T00:00:00Z", "2201-01-01 is outside the years 1900 to 2200"),
        ("2026-06-09T24:00:00Z", "has no such time of day"),
        ("2026-06-09T13:60:00Z", "has no such time of day"),
        ("2026-06-09T13:05:61Z", "has no such time of day"),
        ("2026-06-09T13:05:00+24:00", "has no such offset"),
        ("2026-06-09T13:05:00-06:60", "has no such offset"),
    ],
)
def test_refusal_names_what_is_wrong(text, sentence):
    with pytest.raises(ValueError, match=sentence):
        parse_instant(text)


@pytest.mark.parametrize(
    "raw",
    [
        "", "today", "2026-06-09", "20260609T130500Z", "2026-W24-2T13:05:00Z", "2026-160T13:05:00Z",
        "2026-06-09T13:05Z", "2026-06-09T13:05:00.Z", "2026-06-09T13:05:00,5Z", "2026-06-09T13:05:00 Z",
        "2026-06-09T13:05:00-0600", "2026-06-09T13:05:00-06", "2026-06-09T13:05:00-06:00:30", "2026-06-09T13:05:00ZZ",
        "+2026-06-09T13:05:00Z", "2026-6-9T13:05:00Z", " 2026-06-09T13:05:00Z", "2026-06-09T13:05:00Z\n",
        "2026-06-09T13:05:00\u221206:00",
        "\u0662026-06-09T13:05:00Z", "x" * 1000, None, True, 1781031900, 1.5, [], {},
    ],
    ids=lambda raw: repr(raw)[:30],
)  # fmt: skip
def test_anything_else_is_not_an_instant(raw):
    with pytest.raises(ValueError, match="is not an instant; write date, T, time and offset") as refused:
        parse_instant(raw)
    assert len(str(refused.value)) < 200


def test_day_is_read():
    assert parse_day("2024-02-29") == date(2024, 2, 29)


def test_first_and_last_day_of_the_years_kept_are_read():
    assert (parse_day("1900-01-01"), parse_day("2200-12-31")) == (date(1900, 1, 1), date(2200, 12, 31))


@pytest.mark.parametrize(
    "raw",
    [
        "2026-02-29", "2026-02-30", "2100-02-29", "2026-13-01", "2026-00-10", "2026-06-31", "1899-12-31", "2201-01-01",
        "2026-6-9", "20260609", "2026-W24-2", "09.06.2026", "2026-06-09 ", "2026-06-09\n", "2026-06-09T00:00:00Z",
        "\u0662026-06-09", "", None, True, 20260609, [],
    ],
    ids=repr,
)  # fmt: skip
def test_impossible_or_loose_day_is_refused_by_name(raw):
    with pytest.raises(ValueError, match=r"is not a date|is outside the years") as refused:
        parse_day(raw)
    assert str(raw).strip() in str(refused.value)


def test_storage_form_has_fixed_width():
    assert to_text(parse_instant("2026-06-09T13:05:00-06:00")) == "2026-06-09T19:05:00.000000Z"


def test_instant_without_zone_is_not_stored():
    with pytest.raises(ValueError, match="has no time zone"):
        to_text(datetime(2026, 6, 9))


INSTANTS = st.datetimes(datetime(1900, 1, 3), datetime(2200, 12, 29), timezones=st.just(UTC))
ZONES = st.sampled_from(
    [
        "America/Denver",
        "UTC",
        "Asia/Kathmandu",
        "Australia/Lord_Howe",
        "Pacific/Apia",
        "Africa/Monrovia",
        "Europe/Dublin",
    ]
)


@given(instant=INSTANTS)
def test_stored_instant_is_read_back_the_same(instant):
    assert from_text(to_text(instant)) == instant == parse_instant(to_text(instant))


@given(one=INSTANTS, other=INSTANTS)
def test_stored_text_sorts_as_time_does(one, other):
    assert (to_text(one) < to_text(other)) == (one < other)


@given(instant=INSTANTS, zone_name=ZONES)
@example(instant=datetime(1900, 6, 1, tzinfo=UTC), zone_name="Africa/Monrovia")  # offset of -00:43:08 then
@example(instant=datetime(2026, 11, 1, 8, 30, tzinfo=UTC), zone_name="America/Denver")  # 01:30 the second time
def test_answer_by_the_sites_clock_is_read_back_the_same(instant, zone_name):
    assert parse_instant(at_site(instant, zone_name)) == instant


@pytest.mark.parametrize(
    ("text", "zone_name", "local"),
    [
        # Offsets by the IANA time zone database: Denver keeps -07:00, and -06:00 from the second Sunday of March 02:00
        # to the first Sunday of November 02:00; Kathmandu keeps +05:45.
        ("2026-06-09T19:05:00Z", "America/Denver", "2026-06-09T13:05:00-06:00"),
        ("2026-03-08T08:59:59Z", "America/Denver", "2026-03-08T01:59:59-07:00"),
        ("2026-03-08T09:00:00Z", "America/Denver", "2026-03-08T03:00:00-06:00"),
        ("2026-11-01T07:30:00Z", "America/Denver", "2026-11-01T01:30:00-06:00"),
        ("2026-11-01T08:30:00Z", "America/Denver", "2026-11-01T01:30:00-07:00"),
        ("2026-06-09T19:05:00.5Z", "Asia/Kathmandu", "2026-06-10T00:50:00.500000+05:45"),
        ("2026-06-09T19:05:00Z", "UTC", "2026-06-09T19:05:00+00:00"),
    ],
)
def test_site_clock_shows_the_instant_with_its_offset(text, zone_name, local):
    assert at_site(parse_instant(text), zone_name) == local


@given(instant=st.datetimes(datetime(1980, 1, 1), datetime(2035, 1, 1), timezones=st.just(UTC)), zone_name=ZONES)
def test_day_at_the_site_agrees_with_dateutil(instant, zone_name):
    # dateutil reads only the part of a zone's data that ends in 2037.
    assert local_day(instant, zone_name) == instant.astimezone(tz.gettz(zone_name)).date()


def test_site_day_can_differ_from_the_utc_day():
    assert local_day(datetime(2026, 6, 10, 3, tzinfo=UTC), "America/Denver") == date(2026, 6, 9)


@pytest.mark.parametrize(
    "name",
    ["", "Mars/Olympus", "america/denver", "America", "../etc/passwd", "/etc/localtime", "localtime", "x\0y", "MST "],
)
def test_unknown_zone_is_refused_by_name(name):
    with pytest.raises(ValueError, match="is not an IANA time zone") as refused:
        zone(name)
    assert repr(name) in str(refused.value)


def test_zone_keeps_daylight_saving():
    winter, summer = (datetime(2026, month, 1, tzinfo=zone("America/Denver")) for month in (1, 7))
    assert (winter.utcoffset(), summer.utcoffset()) == (timedelta(hours=-7), timedelta(hours=-6))


@pytest.mark.parametrize("text", ["2026-06-09T24:00", "2026-06-09T13:60", "2026-06-09T13:05:60", "2026-02-29T13:05"])
def test_a_local_time_that_no_clock_shows_is_refused(text):
    with pytest.raises(ValueError, match=r"no such time of day|is not a date"):
        parse_site_time(text)


@given(
    st.datetimes(datetime(1970, 1, 1), datetime(2100, 1, 1)), st.sampled_from(["America/Denver", "Australia/Lord_Howe"])
)
def test_a_local_time_is_the_only_instant_that_the_clock_shows_so(local, zone_name):
    # Reference: all instants of which the zone's offsets in 1970 to 2100 could be that local time.
    offsets = [timedelta(minutes=quarter * 15) for quarter in range(-60, 60)]
    shown = {
        (local.replace(tzinfo=UTC) - offset)
        for offset in offsets
        if (local.replace(tzinfo=UTC) - offset).astimezone(zone(zone_name)).replace(tzinfo=None) == local
    }
    if len(shown) == 1:
        assert {of_local_time(local, zone_name)} == shown
    else:
        with pytest.raises(ValueError, match="comes twice" if shown else "there is no"):
            of_local_time(local, zone_name)


@pytest.mark.parametrize(
    ("local", "zone_name", "refusal"),
    [
        # Lord Howe Island: set back on 2026-04-05 from 02:00 to 01:30, forward on 2026-10-04 from 02:00 to 02:30.
        (
            datetime(2026, 4, 5, 1, 45),
            "Australia/Lord_Howe",
            "write 2026-04-05T01:45:00+11:00 or 2026-04-05T01:45:00+10:30",
        ),
        (datetime(2026, 10, 4, 2, 15), "Australia/Lord_Howe", "there is no 2026-10-04T02:15:00"),
    ],
)
def test_a_time_that_comes_twice_or_never_is_refused_by_name(local, zone_name, refusal):
    with pytest.raises(ValueError, match=re.escape(refusal)):
        of_local_time(local, zone_name)
