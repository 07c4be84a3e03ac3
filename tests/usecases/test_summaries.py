"""A customer's year, on each engine."""

import csv
import io
import json
from dataclasses import replace
from datetime import UTC, date, datetime
from zipfile import ZipFile

import pytest

from service.domain.audit import Actor
from service.domain.errors import Invalid, NotFound
from service.rendering.year import plan_strip, summary_csv, summary_json
from service.usecases.record import fleet, units, visits
from service.usecases.year import summaries

NOW, NEXT_YEAR = datetime(2026, 11, 20, 12, tzinfo=UTC), datetime(2027, 2, 1, 12, tzinfo=UTC)
ACTOR = Actor("tester", "owner", None, NOW)


def summarised(database, code="lantern", year=2026, as_of=NOW):
    with database.reading() as store:
        return summaries.summarise(store, code, year, as_of=as_of, program_version="0", units_shown=None)


def unit_of(database, **more):
    return summarised(database, **more).units[0]


@pytest.fixture
def stocked(database, make):
    make.now = NOW
    make.actor = ACTOR
    with database.writing() as store:
        make.site(store, "quay")
        make.unit(store, "GU-1", "quay", installed_on=date(2024, 1, 1))
    return database


def post(database, make, arrived_at, **more):
    with database.writing() as store:
        return make.visit(store, "GU-1", arrived_at, **more)


CLEANED = [{"task": "condenser_clean", "result": "done"}]


def cleanings(database, **more):
    return [
        (line.due_on, line.done_on, line.state, line.days_late)
        for line in unit_of(database, **more).pm_lines
        if line.task == "condenser_clean"
    ]


def test_pm_is_judged_by_the_due_date_as_it_stood_before_it_was_done(stocked, make):
    """Every three months, by hand: from 2025-12-01 due 2026-03-01; from 2026-02-20 due 05-20; from 05-25 due 08-25."""
    for day in ("2025-12-01", "2026-02-20", "2026-05-25"):
        post(stocked, make, f"{day}T18:00:00Z", tasks=CLEANED)

    assert cleanings(stocked) == [
        (date(2026, 3, 1), date(2026, 2, 20), "on_time", 0),
        (date(2026, 5, 20), date(2026, 5, 25), "late", 5),
        (date(2026, 8, 25), None, "missed", 87),  # to 2026-11-20
    ]


def test_a_task_due_on_the_very_day_is_not_missed_yet(stocked, make):
    post(stocked, make, "2026-08-20T18:00:00Z", tasks=CLEANED)

    assert [state for *_, state, _ in cleanings(stocked)] == ["first"]


def test_the_first_on_record_has_nothing_to_be_judged_by(stocked, make):
    post(stocked, make, "2026-10-01T18:00:00Z", tasks=CLEANED)

    summary = summarised(stocked)

    assert cleanings(stocked) == [(None, date(2026, 10, 1), "first", None)]
    assert (summary.pm.first, summary.pm.judged, summary.pm.share_on_time) == (1, 0, None)


COMPLAINT = {"symptom": "warm_pour", "reported_at": "2026-06-01T15:00:00Z"}


def test_hours_without_cold_beer_run_from_the_report_to_the_end_of_the_visit(stocked, make):
    post(
        stocked, make, "2026-06-01T18:00:00Z", left_at="2026-06-01T19:30:00Z", kind="service_call",
        complaint=COMPLAINT, outcome="running",
    )  # fmt: skip

    (outage,) = unit_of(stocked).outages

    assert (outage.ended, outage.seen.value, outage.estimated_high.value) == ("left_cold", 4.5 * 3600, 4.5 * 3600)


def test_a_unit_left_recovering_bounds_the_hours_between_two_visits(stocked, make):
    post(
        stocked, make, "2026-06-01T18:00:00Z", left_at="2026-06-01T19:00:00Z", kind="service_call",
        complaint=COMPLAINT, outcome="recovering",
    )  # fmt: skip
    post(stocked, make, "2026-06-02T15:00:00Z", left_at="2026-06-02T16:00:00Z", outcome="running")

    (outage,) = unit_of(stocked).outages

    hours = [each.value / 3600 for each in (outage.seen, outage.estimated, outage.estimated_high)]
    assert (outage.ended, hours) == ("found_cold", [4, 4 + 21 / 2, 25])


def test_an_unfinished_outage_has_no_upper_limit_and_says_so(stocked, make):
    post(stocked, make, "2026-06-01T18:00:00Z", kind="service_call", complaint={"symptom": "no_flow"}, outcome="down")

    unit = unit_of(stocked)

    assert (unit.outages[0].ended, unit.without_cold_beer.estimated_high) == ("open", None)
    assert "Outages whose end is not known: 1." in " ".join(gap.sentence for gap in unit.gaps)


def test_a_visit_belongs_to_the_year_of_the_sites_own_day(stocked, make):
    """2026-01-01T03:00Z is still the last evening of 2025 in Denver."""
    post(stocked, make, "2026-01-01T03:00:00Z")

    assert [len(unit_of(stocked, year=year).visits) for year in (2025, 2026)] == [1, 0]


def test_what_came_after_as_of_and_what_was_voided_does_not_count(stocked, make):
    post(stocked, make, "2026-03-01T18:00:00Z")
    voided = post(stocked, make, "2026-03-02T18:00:00Z")
    with stocked.writing() as store:
        visits.void_visit(store, ACTOR, store.visits.get(voided), "posted twice")

    assert len(unit_of(stocked).visits) == 1
    assert unit_of(stocked, as_of=datetime(2026, 2, 1, tzinfo=UTC)).visits == ()


def test_a_customer_without_visits_gets_a_document_that_says_so(stocked):
    summary = summarised(stocked)

    assert summary.headline.how_it_went == (
        "No breakdown was reported to us in 2026, up to 2026-11-20. We made no visit."
    )
    assert [each.text for each in summary.headline.figures] == ["none reported", "not known", "none due"]
    assert summary.units[0].gaps[0].sentence.startswith("No visit is recorded")


def test_a_year_that_is_over_is_reported_in_the_past(stocked, make):
    """Every three months, by hand: from 2026-05-25 due 2026-08-25. Tasks never recorded fell due later in 2026."""
    post(stocked, make, "2026-05-25T18:00:00Z", tasks=CLEANED)
    now, later = (summarised(stocked, as_of=at) for at in (NOW, NEXT_YEAR))

    assert now.headline.how_it_went.endswith(" One maintenance task is overdue, since 2026-08-25.")
    assert later.headline.how_it_went.endswith(" were overdue at the end of 2026, the oldest since 2026-08-25.")
    assert "is overdue" not in later.headline.how_it_went


def test_what_was_due_at_a_unit_that_has_left_is_not_overdue_at_the_end(stocked, make):
    """Every three months, by hand: from 2026-02-20 due 2026-05-20, retired on 2026-08-15."""
    post(stocked, make, "2026-05-25T18:00:00Z", tasks=CLEANED)
    without = summarised(stocked, as_of=NEXT_YEAR)
    with stocked.writing() as store:
        make.unit(store, "GU-2", "quay", installed_on=date(2024, 1, 1), retired_on=date(2026, 8, 15))
        make.visit(store, "GU-2", "2026-02-20T18:00:00Z", tasks=CLEANED)
    summary = summarised(stocked, as_of=NEXT_YEAR)

    assert summary.pm.missed == without.pm.missed + 1
    assert summary.headline.how_it_went == f"{without.headline.how_it_went} One was not done before its unit left."


def test_what_others_did_is_not_what_we_did(stocked, make):
    post(stocked, make, "2026-02-20T18:00:00Z", tasks=CLEANED)
    post(stocked, make, "2026-05-15T18:00:00Z", tasks=CLEANED, by="others", evidence="reported", technician=None)
    summary = summarised(stocked)

    assert (summary.pm.first, summary.pm.on_time) == (1, 1)
    assert summary.done == ("1 visit.", "1 maintenance task done: condenser cleaning 1.")


def test_an_unknown_customer_and_a_year_not_begun_are_refused(stocked):
    with pytest.raises(NotFound):
        summarised(stocked, code="nobody")
    for year in (1899, 2027):
        with pytest.raises(Invalid, match="give a year from 1900 to 2026"):
            summarised(stocked, year=year)
    assert summarised(stocked, year=1900).units == ()


def test_the_technician_of_a_summary_is_who_came_most_often_of_those_who_are_still_with_us(stocked, make):
    assert summarised(stocked).technician is None
    visits_of = {"ada": (1, 2), "bo": (3, 4, 5), "cy": (6, 7), "di": (8,)}
    with stocked.writing() as store:
        for code, months in visits_of.items():
            fleet.add_technician(store, ACTOR, {"code": code, "name": code.title()})
            for month in months:
                make.visit(store, "GU-1", f"2026-{month:02}-01T18:00:00Z", technician=code)
    assert summarised(stocked).technician == "Bo"
    with stocked.writing() as store:
        fleet.change_technician(store, ACTOR, store.technicians.get("bo"), {"left_on": date(2026, 11, 1)})
    assert summarised(stocked).technician == "Ada"  # of two the first by code


HOSTILE = "=cmd|' /C calc'!A0 \"quoted\" 🍺 \u202eמשקה " + "x" * 150


def test_hostile_text_is_kept_in_json_and_disarmed_in_csv(stocked, make):
    with stocked.writing() as store:
        former = store.customers.get("lantern")
        fleet.change_customer(store, ACTOR, former, {"name": HOSTILE})
    post(stocked, make, "2026-03-01T18:00:00Z", work=HOSTILE)
    summary = summarised(stocked)

    in_json = json.loads(summary_json.render(summary))
    in_csv = next(csv.DictReader(io.StringIO(summary_csv.table(summary, "visits").decode("utf-8-sig"))))

    assert (in_json["customer_name"], in_json["units"][0]["visits"][0]["work"]) == (HOSTILE, HOSTILE)
    assert in_csv["work"] == "'" + HOSTILE


def test_the_same_record_gives_the_same_bytes_and_a_change_another_digest(stocked, make):
    post(stocked, make, "2026-03-01T18:00:00Z")
    first, again = summarised(stocked), summarised(stocked)

    assert summary_json.render(first) == summary_json.render(again)
    assert summary_csv.render(first) == summary_csv.render(again)
    post(stocked, make, "2026-03-02T18:00:00Z")
    assert summarised(stocked).data_state.digest != first.data_state.digest


def test_the_tables_hold_the_rows_of_the_json(stocked, make):
    readings = [
        {"quantity": "bath_temperature", "value": "28 degF", "when": "as_found"},
        {"quantity": "supply_voltage", "value": "115 V", "when": "as_left"},
    ]
    post(stocked, make, "2026-03-01T18:00:00Z", readings=readings)
    summary = summarised(stocked)
    units = json.loads(summary_json.render(summary))["units"]
    with ZipFile(io.BytesIO(summary_csv.render(summary))) as archive:
        tables = {name: archive.read(name).decode("utf-8-sig") for name in archive.namelist()}

    rows = list(csv.DictReader(io.StringIO(tables["readings.csv"])))

    shown = [(r["quantity"], r["value"]["value"], r["value"]["unit"]) for unit in units for r in unit["readings"]]
    assert [(row["quantity"], float(row["value"]), row["value_unit"]) for row in rows] == shown
    assert list(tables) == [f"{name}.csv" for name in (*summary_csv.WHOLE, *summary_csv.TABLES)]


def test_the_year_is_put_beside_the_year_before(stocked, make):
    for day in ("2025-02-01", "2025-03-01", "2026-02-01"):
        post(
            stocked, make, f"{day}T18:00:00Z", left_at=f"{day}T19:00:00Z", kind="service_call", outcome="running",
            complaint={"symptom": "no_flow"},
        )  # fmt: skip
    now, later = (summarised(stocked, as_of=at) for at in (NOW, NEXT_YEAR))

    assert (now.year_before.year, now.year_before.breakdowns) == (2025, 2)
    assert now.headline.how_it_went.startswith("One breakdown in 2026, up to 2026-11-20 (two in the whole of 2025).")
    assert later.headline.how_it_went.startswith("One breakdown in 2026, one fewer than in 2025.")


def test_a_year_is_not_put_beside_a_few_weeks_in_our_care(stocked, make):
    outage = {"kind": "service_call", "outcome": "running", "complaint": {"symptom": "no_flow"}}
    post(stocked, make, "2025-12-20T18:00:00Z")
    post(stocked, make, "2026-02-01T18:00:00Z", left_at="2026-02-01T19:00:00Z", **outage)
    with stocked.writing() as store:
        units.change_unit(store, ACTOR, store.units.get("GU-1"), {"care_from": date(2025, 12, 15)})

    later = summarised(stocked, as_of=NEXT_YEAR)

    assert later.headline.how_it_went.startswith("One breakdown in 2026 (none in 2025, from 2025-12-15 on).")


def test_what_others_put_in_is_not_ours(stocked, make):
    """A part of a visit by others, without a word of who put it in."""
    part = {
        "component": "pump-1",
        "kind": "pump",
        "reason": "failed",
        "condition": "seized",
        "evidence": "reported",
        "on": "2026-02",
    }
    post(stocked, make, "2026-03-01T18:00:00Z", by="others", evidence="reported", replacements=[part])

    summary = summarised(stocked)

    assert [each.by for each in summary.units[0].replacements] == ["others"]
    assert not [line for line in summary.done if "eplaced" in line]


def test_two_stays_of_a_unit_are_told_apart(stocked):
    unit = summarised(stocked).units[0]
    stays = [replace(unit, moved_out_on=date(2026, 3, 31)), replace(unit, moved_in_on=date(2026, 6, 1))]

    heads = [row[0] for row in plan_strip.quiet_table(stays, "us")["rows"]]

    assert [head.partition(", moved ")[2] for head in heads] == ["out 2026-03-31", "in 2026-06-01"]


def test_as_of_is_the_time_of_the_record_as_well(stocked, make):
    """A visit posted late, a correction and a void come after the document of an earlier instant."""
    then = datetime(2026, 4, 1, tzinfo=UTC)
    make.actor = replace(ACTOR, at=datetime(2026, 3, 2, tzinfo=UTC))
    known = post(stocked, make, "2026-03-01T18:00:00Z", outcome="running")
    before = summary_json.render(summarised(stocked, as_of=then))
    make.actor = ACTOR
    post(stocked, make, "2026-03-05T18:00:00Z")
    with stocked.writing() as store:
        visits.void_visit(store, ACTOR, store.visits.get(known), "another unit")

    assert summary_json.render(summarised(stocked, as_of=then)) == before
    assert [len(summarised(stocked, as_of=each).units[0].visits) for each in (then, NOW)] == [1, 1]


def test_the_digest_of_a_year_stays_whatever_the_next_year_brings(stocked, make):
    post(stocked, make, "2025-03-01T18:00:00Z", outcome="running")
    before = summarised(stocked, year=2025).data_state
    post(stocked, make, "2026-03-01T18:00:00Z", kind="service_call", complaint={"symptom": "no_flow"})

    assert summarised(stocked, year=2025).data_state == before
    post(stocked, make, "2025-04-01T18:00:00Z", outcome="running")
    assert summarised(stocked, year=2025).data_state.digest != before.digest


def test_a_glycol_reading_that_gives_no_strength_is_reported_as_such(stocked, make):
    brix = {"quantity": "glycol_strength", "value": "22 Brix", "when": "as_found"}
    post(stocked, make, "2026-03-01T18:00:00Z", readings=[brix])
    unit = unit_of(stocked)
    gaps = " ".join(gap.sentence for gap in unit.gaps)

    assert (unit.glycol.points, unit.glycol.not_converted) == ((), 1)
    assert ("cannot be worked out" in gaps, "No glycol strength is recorded" in gaps) == (True, False)
