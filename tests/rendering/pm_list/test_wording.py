from dataclasses import replace
from datetime import date

import pytest

from service.domain.maintenance.pm_list import Counts, Stop, size_of
from service.rendering.pm_list.wording import (
    brought,
    by_unit,
    call_link,
    cautions,
    map_link,
    numbered_cautions,
    root_cause_text,
    technicians_at,
    weekdays_and_dates,
)


def test_counts_every_item_once(day):
    # 12 days overdue | 9 June twice | 14 June; three tasks of 30 min and one of 20 min
    assert size_of(day) == Counts(overdue=1, due_today=2, due_soon=1, stops=2, minutes=110)


def test_a_site_across_the_date_line_counts_by_its_own_today(listed, row):
    ahead = Stop(date(2026, 6, 10), (row(due_on="2026-06-09"),))

    found = size_of(listed(stops=(ahead,)))

    assert (found.overdue, found.due_today) == (1, 0)


def test_names_both_dates_when_sites_do_not_share_one(day, row):
    stops = (*day.stops, Stop(date(2026, 6, 10), (row(),)))

    assert weekdays_and_dates(stops) == "Tue 2026-06-09 and Wed 2026-06-10"


def test_lists_the_cautions_once_for_each_stop_and_numbers_them_once(day):
    assert cautions(day, day.stops[0]) == ("Isolate the fan.", "Wear gloves.")
    assert numbered_cautions(day) == {"Isolate the fan.": 1, "Wear gloves.": 2}


def test_what_to_bring_for_the_day_is_one_list_for_each_technician(day, failing, listed, row):
    alone = listed((row(),), (row(site="ferry", unit="GU-0011"),))
    named = replace(day, technicians={"rhea": "Rhea"})

    assert brought(alone) == [("", ("soft brush", "vacuum"))]
    assert brought(named) == [("Rhea", ("soft brush", "vacuum", "ammeter")), ("nobody yet", ("soft brush", "vacuum"))]
    assert brought(failing)[0] == ("rhea", ("soft brush", "vacuum", "ammeter", "brush", "clamp meter"))


def test_the_items_of_a_unit_stand_together(row):
    rows = [row(unit=unit, task=task) for unit, task in (("B", "x"), ("A", "x"), ("B", "y"), ("", "call"))]

    assert [[each.unit + each.task for each in own] for own in by_unit(rows)] == [["Bx", "By"], ["Ax"], ["call"]]


def test_everybody_who_goes_to_a_stop_is_named_once(listed, row):
    rows = (row(), row(unit="GU-0008", technician="tobin"), row(unit="GU-0009"), row(unit="GU-0010", technician=None))
    pulled = listed(rows, technicians={"rhea": "Rhea"})

    assert technicians_at(pulled, pulled.stops[0]) == "Rhea, tobin"


@pytest.mark.parametrize(
    ("phone", "link"),
    [
        ("+1 303-555-0134", "tel:+13035550134"),  # RFC 3966 section 3: separators carry no meaning
        ("(303) 555 0134 Ida, bar", "tel:3035550134"),
        ("999", "tel:999"),
        ("12", None),
        ("the bar", None),
        ("1+2+3", None),
        (None, None),
    ],
)
def test_a_number_that_can_be_dialled_is_a_link(phone, link):
    assert call_link(phone) == link


def test_a_place_with_coordinates_is_a_link(row):
    # RFC 5870 section 3.3: decimal degrees with a point, latitude first
    assert map_link(row(latitude=-33.86, longitude=151.21)) == "geo:-33.860000,151.210000"
    assert map_link(row(latitude=None)) is None


def test_a_failure_that_nothing_explains_names_no_cause(failing):
    (root_cause,) = failing.root_causes["GU-0007"]
    text = root_cause_text(replace(root_cause, cause="unexplained", bring=()))

    assert text == "power switch keeps failing; no cause known yet. Read the amps."
