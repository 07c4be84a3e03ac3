import re
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone

import pytest
from icalendar import Calendar

from service.domain.maintenance.pm_list import Stop
from service.rendering.pm_list.calendar_feed import render

STAMP = datetime(2026, 6, 9, 12, 0, tzinfo=UTC)


def events(pm_list, stamp=STAMP):
    return Calendar.from_ical(render(pm_list, stamp=stamp)).walk("VEVENT")


def unfolded(content):
    """RFC 5545 section 3.1: a CRLF before a space or a tab is taken out with it."""
    return re.sub(rb"\r\n[ \t]", b"", content).decode()


def test_the_unfolding_of_these_tests_is_that_of_the_standard():
    # The example of RFC 5545 section 3.1.
    folded = b"DESCRIPTION:This is a lo\r\n ng description\r\n  that exists on a long line."

    assert unfolded(folded) == "DESCRIPTION:This is a long description that exists on a long line."


def test_names_itself_and_how_often_to_look(day):
    lines = unfolded(render(day, stamp=STAMP, name="Tuesday")).split("\r\n")

    # PRODID and VERSION: RFC 5545 section 3.6; NAME, REFRESH-INTERVAL: RFC 7986 sections 5.1 and 5.7
    for line in ("VERSION:2.0", "NAME:Tuesday", "X-WR-CALNAME:Tuesday", "REFRESH-INTERVAL;VALUE=DURATION:PT1H"):
        assert line in lines
    assert "PRODID:-//glycol-fleet//PM list//EN" in lines
    assert not [line for line in lines if line.startswith("METHOD")]


def test_shows_one_whole_day_event_an_item(day):
    found = [(str(event["summary"]), event["dtstart"].dt) for event in events(day)]

    assert found == [
        ("Lantern Room, Quay: Condenser clean GU-0007 (rhea)", date(2026, 6, 9)),
        ("Lantern Room, Quay: Pump check GU-0007 (rhea)", date(2026, 6, 9)),
        ("Lantern Room, Quay: Condenser clean GU-0008 (rhea)", date(2026, 6, 14)),
        ("Old Ferry House: Condenser clean GU-0011 (unassigned)", date(2026, 6, 9)),
    ]


def test_writes_dates_without_time(day):
    # RFC 5545 section 3.3.4
    assert b"\r\nDTSTART;VALUE=DATE:20260614\r\n" in render(day, stamp=STAMP)


def test_shows_an_overdue_item_today_with_its_due_date(day):
    overdue = events(day)[0]

    assert overdue["dtstart"].dt == date(2026, 6, 9)
    assert "Due: Thu 2026-05-28, 12 days overdue" in overdue["description"]


def test_shows_an_assigned_item_on_its_day_and_today_when_that_is_over(listed, row):
    days = ("2026-06-12", "2026-06-08")  # the list is of 9 June
    rows = tuple(row(unit=f"GU-{n}", due_on="2026-06-14", assigned_day=day) for n, day in enumerate(days))

    shown = events(listed(rows))
    assert [event["dtstart"].dt for event in shown] == [date(2026, 6, 12), date(2026, 6, 9)]
    assert "\nAssigned: Fri 2026-06-12\n" in shown[0]["description"]


def test_describes_the_work(day):
    words = str(events(day)[0]["description"]).split("\n")

    assert words[0] == "Every 3 months; last done on 2026-02-28."
    for line in ("Bring: soft brush, vacuum", "Time: 30 min", "Access: Ring twice.", "Caution: Wear gloves."):
        assert line in words


def test_takes_no_time_and_has_a_location(day):
    event = events(day)[0]

    assert (event["transp"], event["location"]) == ("TRANSPARENT", "12 Quay Street")
    assert event["geo"].to_ical() == "39.74;-104.99"  # latitude first: RFC 5545 section 3.8.1.6
    assert event.categories == ["PM", "overdue"]


def test_a_site_without_address_or_coordinates_goes_by_its_name(day):
    ferry = events(day)[-1]

    assert (ferry["location"], "geo" in ferry) == ("Old Ferry House", False)


def test_an_item_keeps_its_uid_on_another_day_and_on_another_basis(listed, row):
    before = listed((row(),))
    tomorrow = Stop(date(2026, 6, 10), (row(due_on="2026-06-20", basis="condition", why="Found heavy."),))

    later = events(replace(before, stops=(tomorrow,)), STAMP + timedelta(days=1))

    assert later[0]["uid"] == events(before)[0]["uid"] == "due-GU-0007-condenser_clean@glycol-fleet"


def test_no_two_items_share_a_uid(day):
    assert len({event["uid"] for event in events(day)}) == 4


def test_root_causes_of_two_kinds_at_a_unit_are_two_events(listed, row):
    both = tuple(row(task="condenser_clean", kind=kind) for kind in ("power_switch", "contactor"))

    assert len({event["uid"] for event in events(listed(both))}) == 2


@pytest.mark.parametrize("moved_to", ["2026-06-12", "2026-06-30"])
def test_an_item_that_moves_forward_or_back_supersedes_the_former_one(listed, row, moved_to):
    # RFC 5546 section 2.1.5: the higher SEQUENCE, and with equal ones the later DTSTAMP, is the newer revision.
    former = events(listed((row(due_on="2026-06-20"),)))[0]

    for wait in (timedelta(seconds=1), timedelta(days=1), timedelta(days=400)):
        moved = events(listed((row(due_on=moved_to),)), STAMP + wait)[0]
        assert (moved["sequence"], moved["dtstamp"].dt) > (former["sequence"], former["dtstamp"].dt)
        assert moved["sequence"] >= former["sequence"]


def test_stamps_are_in_utc(listed, row):
    denver = datetime(2026, 6, 9, 6, 0, tzinfo=timezone(timedelta(hours=-6)))

    content = render(listed((row(),)), stamp=denver)

    # RFC 5545 section 3.8.7.2 asks for UTC; 06:00 at -06:00 is 12:00 UTC
    assert b"\r\nDTSTAMP:20260609T120000Z\r\n" in content
    assert b"\r\nLAST-MODIFIED:20260609T120000Z\r\n" in content


def test_the_offset_in_which_the_instant_is_given_changes_nothing(day):
    late_in_denver = datetime(2026, 6, 9, 23, 30, tzinfo=timezone(timedelta(hours=-6)))

    assert render(day, stamp=late_in_denver) == render(day, stamp=datetime(2026, 6, 10, 5, 30, tzinfo=UTC))


def test_the_same_list_gives_the_same_bytes(day):
    assert render(day, stamp=STAMP) == render(day, stamp=STAMP)


def test_escapes_text_as_in_the_standards_example(listed, row):
    # RFC 5545 section 3.3.11
    why = "Project XYZ Final Review\nConference Room - 3B\nCome Prepared."

    content = unfolded(render(listed((row(why=why),)), stamp=STAMP))

    assert r"DESCRIPTION:Project XYZ Final Review\nConference Room - 3B\nCome Prepared.\n" in content


def test_escapes_backslash_semicolon_and_comma(listed, row):
    # RFC 5545 section 3.3.11: ESCAPED-CHAR = ("\\" / "\;" / "\," / "\N" / "\n"); a colon is not escaped
    content = unfolded(render(listed((row(address=r"a\b;c,d:e"),)), stamp=STAMP))

    assert "\r\nLOCATION:a\\\\b\\;c\\,d:e\r\n" in content


def test_an_empty_list_still_holds_a_component_that_shows_nothing(listed):
    # RFC 5545 section 3.6: "it MUST include at least one calendar component"
    calendar = Calendar.from_ical(render(listed(), stamp=STAMP))

    assert [component.name for component in calendar.subcomponents] == ["VTIMEZONE"]
    assert calendar.walk("VEVENT") == []


def test_lines_are_folded_at_75_octets_and_end_in_crlf(hostile_list):
    content = render(hostile_list, stamp=STAMP)

    # RFC 5545 section 3.1
    assert [line for line in content.split(b"\r\n") if len(line) > 75] == []
    assert content.endswith(b"END:VCALENDAR\r\n")
    assert not re.search(rb"\r(?!\n)|(?<!\r)\n|[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]", content)


def test_nothing_typed_becomes_a_property(hostile_list, listed, row):
    harmless = events(listed((row(),)))[0]

    found = events(hostile_list)

    assert len(found) == 1
    assert set(found[0]) == set(harmless)


def test_whatever_was_typed_comes_back_but_for_control_characters(hostile_list, hostile):
    line_breaks_alike = hostile.replace("\r\n", "\n").replace("\r", "\n")
    expected = re.sub(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]", "", line_breaks_alike)

    event = events(hostile_list)[0]

    assert event["location"] == expected
    assert event["summary"] == f"{expected}: {expected} {expected} ({expected})"


def test_names_a_root_cause_in_each_event_of_the_unit(failing):
    found = [event["description"] for event in Calendar.from_ical(render(failing, stamp=STAMP)).walk("VEVENT")]

    assert ["Check: power switch keeps failing" in each for each in found] == [True, True, False, False]
