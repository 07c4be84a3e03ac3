from dataclasses import replace
from datetime import date

from service.domain.maintenance.pm_list import Counts, Stop, size_of
from service.rendering.pm_list.wording import brought, cautions, root_cause_text, weekdays_and_dates


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


def test_lists_what_to_bring_and_the_cautions_once_for_each_stop(day):
    quay = day.stops[0]

    assert brought(day, quay) == ("soft brush", "vacuum", "ammeter")
    assert cautions(day, quay) == ("Isolate the fan.", "Wear gloves.")


def test_a_failure_that_nothing_explains_names_no_cause(failing):
    (root_cause,) = failing.root_causes["GU-0007"]
    text = root_cause_text(replace(root_cause, cause="unexplained", bring=()))

    assert text == "power switch keeps failing; no cause known yet. Read the amps."
