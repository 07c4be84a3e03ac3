"""The fleet year, on each engine: whose visits count, what is watched, what came of root causes."""

import csv
import io
import json
from dataclasses import replace
from datetime import UTC, date, datetime
from zipfile import ZipFile

import pytest

from service.domain.audit import Actor
from service.domain.errors import Invalid
from service.domain.root_causes.life_cycle import RootCause
from service.rendering.year import fleet_csv as fleet_year_csv
from service.rendering.year import fleet_json as fleet_year_json
from service.schemas.fleet_years import TABLES
from service.usecases.record import fleet, units, visits
from service.usecases.root_causes import root_causes
from service.usecases.year import summaries
from service.usecases.year.summaries import summarise_fleet

NOW = datetime(2026, 11, 20, 12, tzinfo=UTC)
ACTOR = Actor("tester", "owner", None, NOW)
PUMP = [{"code": "pump-1", "kind": "pump"}]


@pytest.fixture
def stocked(database, make):
    make.now, make.actor = NOW, ACTOR
    with database.writing() as store:
        make.site(store, "quay")
        a_unit(make, store, "GU-1", "quay", installed_on=date(2024, 1, 1), registered_on=date(2024, 1, 1))
    return database


def a_unit(make, store, tag, site, **more):
    make.unit(store, tag, site, components=[dict(part) for part in PUMP], maker="Northmere", **more)


def post(database, make, arrived_at, tag="GU-1", **more):
    with database.writing() as store:
        return make.visit(store, tag, arrived_at, **more)


def failed(reason="failed", **more):
    return [{"component": "pump-1", "reason": reason, "condition": "seized", "evidence": "seen"} | more]


def fleet_year(database, year=2026, as_of=NOW):
    with database.reading() as store:
        return summarise_fleet(store, year, as_of=as_of, program_version="0")


def test_a_fleet_of_nothing_gets_a_year_that_says_so(database):
    year = fleet_year(database)

    assert year.headline.how_it_went == "No unit was in service in 2026."
    assert year.headline.figures[-1].text == "not known"
    assert (year.units, year.curves, year.pm.share_on_time, year.hours_on_site.value) == ((), (), None, 0.0)


def test_the_first_sentence_counts_the_units_that_we_visited(stocked, database, make):
    with database.writing() as store:
        a_unit(make, store, "GU-2", "quay", installed_on=date(2024, 1, 1))
    post(stocked, make, "2026-03-01T18:00:00Z")
    post(stocked, make, "2026-03-02T18:00:00Z")

    went = fleet_year(stocked).headline.how_it_went

    assert went.startswith("Our visits in 2026: 2, 0 to repair, at 1 of 2 units.")


def test_hours_on_site_are_those_of_our_visits_whose_end_was_noted(stocked, make):
    post(stocked, make, "2026-03-01T18:00:00Z", left_at="2026-03-01T19:30:00Z", kind="service_call")
    post(stocked, make, "2026-03-02T18:00:00Z")
    reported = {"by": "others", "evidence": "reported", "firm": "Another"}
    post(stocked, make, "2026-03-03T18:00:00Z", left_at="2026-03-03T20:00:00Z", **reported)

    (line,) = fleet_year(stocked).units

    assert (line.visits, line.repair_visits, line.visits_by_others) == (2, 1, 1)
    assert (line.hours_on_site.value, line.visits_without_end) == (1.5 * 3600, 1)


def test_what_was_voided_or_came_after_as_of_does_not_count(stocked, make):
    post(stocked, make, "2026-03-01T18:00:00Z", replacements=failed())
    wrong = post(stocked, make, "2026-03-02T18:00:00Z", replacements=failed())
    with stocked.writing() as store:
        visits.void_visit(store, ACTOR, store.visits.get(wrong), "posted twice")

    assert (fleet_year(stocked).units[0].visits, fleet_year(stocked).replaced.failed) == (1, 1)
    early = fleet_year(stocked, as_of=datetime(2026, 2, 1, tzinfo=UTC))
    assert (early.units[0].visits, early.replaced.failed, early.unvisited) == (0, 0, ("GU-1",))


def test_a_visit_belongs_to_the_year_of_the_sites_own_day(stocked, make):
    """2026-01-01T03:00Z is still the last evening of 2025 in Denver."""
    post(stocked, make, "2026-01-01T03:00:00Z")

    assert [fleet_year(stocked, year).units[0].visits for year in (2025, 2026)] == [1, 0]


def test_a_unit_visited_in_another_year_or_by_others_only_is_listed_as_without_a_visit(stocked, make):
    post(stocked, make, "2025-03-01T18:00:00Z")
    post(stocked, make, "2026-03-01T18:00:00Z", by="others", evidence="reported", firm="Another")

    assert [fleet_year(stocked, year).unvisited for year in (2025, 2026)] == [(), ("GU-1",)]


def test_a_fleet_gone_through_unit_by_unit_gives_the_same_year(stocked, make, monkeypatch):
    with stocked.writing() as store:
        for number in range(2, 6):
            a_unit(make, store, f"GU-{number}", "quay", installed_on=date(2024, 1, 1))
    whole = fleet_year(stocked)
    monkeypatch.setattr(summaries, "CHUNK", 2)

    assert (fleet_year(stocked), len(whole.units)) == (whole, 5)


def test_what_is_recorded_as_failed_or_was_found_so_is_a_failure(stocked, make):
    for day, reason in enumerate(("failed", "precaution", "upgrade", "unknown"), start=1):
        post(stocked, make, f"2026-03-0{day}T18:00:00Z", replacements=failed(reason, condition="worn"))
    post(stocked, make, "2026-03-05T18:00:00Z", replacements=failed("precaution", condition="seized"))

    found = fleet_year(stocked)
    (model,), counted = found.models, found.replaced

    assert (model.maker, model.model, model.failed) == ("Northmere", None, 2)
    assert (counted.failed, counted.precaution, counted.upgrade, counted.unknown) == (2, 1, 1, 1)
    assert model.unit_years == pytest.approx(324 / 365.25)  # 1 January to 20 November, both counted in


def test_a_unit_taken_over_is_watched_from_the_day_after_it_came_on_record(stocked, make):
    """Its failure of the first day brought it to us: it is counted, but in no rate."""
    with stocked.writing() as store:
        a_unit(make, store, "GU-2", "quay", installed_on=date(2020, 1, 1), registered_on=date(2026, 11, 1))
    post(stocked, make, "2026-05-01T18:00:00Z", "GU-2", replacements=failed())
    post(stocked, make, "2026-06-01T18:00:00Z", "GU-2", replacements=failed())

    year = fleet_year(stocked)

    assert (year.replaced.failed, year.models[0].failed) == (2, 1)
    assert year.models[0].unit_years == pytest.approx((324 + 203) / 365.25)  # 2 May to 20 November are 203 days
    assert "in no rate: 1." in " ".join(gap.sentence for gap in year.gaps)


def test_months_without_a_visit_are_listed_once_they_are_over(stocked, make):
    for month in (1, 2, 4, 5, 6, 7, 9, 10):
        post(stocked, make, f"2026-{month:02}-15T18:00:00Z")

    assert "Months without a visit by us: 2026-03, 2026-08." in [gap.sentence for gap in fleet_year(stocked).gaps]


def test_a_retired_unit_counts_to_its_last_day_and_is_listed(stocked):
    with stocked.writing() as store:
        units.change_unit(store, ACTOR, store.units.get("GU-1"), {"retired_on": date(2026, 1, 31)})

    year = fleet_year(stocked)

    assert (year.retired_units, year.unit_years) == (("GU-1",), pytest.approx(31 / 365.25))
    assert fleet_year(stocked, 2025).retired_units == ()


def test_no_curve_is_drawn_of_fewer_than_five_units(stocked, make):
    for number in range(2, 6):
        assert fleet_year(stocked).curves == ()
        with stocked.writing() as store:
            made = {"installed_on": date(2024, 1, 1), "registered_on": date(2024, 1, 1)}
            a_unit(make, store, f"GU-{number}", "quay", **made)
    post(stocked, make, "2026-03-01T18:00:00Z", replacements=failed())

    pumps = fleet_year(stocked).curves[0]

    assert [(step.age_days, step.watched, step.mean) for step in pumps.steps] == [(790, 5, pytest.approx(0.2))]


def suspect(database, *, state="open", first_seen=datetime(2026, 3, 1, tzinfo=UTC), visit="", **more):
    causes = [{"cause": "glycol_weak", "probability": 0.8}, {"cause": "bath_low", "probability": 0.1}]
    texts = dict.fromkeys(("explanation", "next_check", "remedy"), "as found")
    document = json.dumps({"causes": causes, "events": [{"visit": visit}], **texts})
    found = RootCause(
        unit="GU-1", kind="pump", tier="probable", probability_of_chance=0.1, document=document, evidence_key="",
        first_seen=first_seen, updated_at=first_seen, state=state, **more,
    )  # fmt: skip
    with database.writing() as store:
        place = store.units.place("GU-1")
        for own in store.root_causes.at(place.id).values():
            store.root_causes.drop(own)  # what the failures themselves gave rise to
        store.root_causes.add(found, place)


RESOLVED = {
    "state": "resolved", "decided_by": "anna", "why": "Brought to strength.",
    "decided_at": datetime(2025, 7, 2, tzinfo=UTC), "first_seen": datetime(2025, 6, 1, tzinfo=UTC),
    "resolved_on": date(2025, 7, 1),
}  # fmt: skip


@pytest.mark.parametrize(
    ("as_of", "chance", "verdict"),
    [
        (datetime(2026, 7, 1, 18, tzinfo=UTC), 0.130, "too early to say"),
        (datetime(2026, 11, 20, 12, tzinfo=UTC), 0.0726, "it worked"),
    ],
)
def test_whether_a_remedy_worked_is_reported_once_chance_is_unlikely(stocked, make, as_of, chance, verdict):
    """4 failures in 1.5 years before, none in 1 year after: 0.6^4 = 0.130; in 1.39 years, (1.5 / 2.89)^4 = 0.0726."""
    make.actor = replace(ACTOR, at=datetime(2025, 6, 2, tzinfo=UTC))
    for day in ("2024-03-01", "2024-09-01", "2025-01-01", "2025-06-01"):
        post(stocked, make, f"{day}T18:00:00Z", replacements=failed())
    suspect(stocked, **RESOLVED)

    (found,) = fleet_year(stocked, as_of=as_of).root_causes

    assert (found.failed_before, found.failed_after, found.verdict) == (4, 0, verdict)
    assert found.chance == pytest.approx(chance, abs=5e-4)


def test_a_remedy_after_which_it_fails_as_often_is_still_failing(stocked, make):
    for day in ("2024-09-01", "2026-03-01", "2026-05-01"):
        post(stocked, make, f"{day}T18:00:00Z", replacements=failed())
    suspect(stocked, **RESOLVED)

    assert [(each.failed_after, each.verdict) for each in fleet_year(stocked).root_causes] == [(2, "still failing")]


def decide(database, state, day):
    with database.writing() as store:
        (found,) = store.root_causes.of("GU-1")
        actor = replace(ACTOR, name="bea", at=datetime.fromisoformat(f"{day}T18:00:00Z"))
        root_causes.decide(store, actor, found, state=state, note=f"{state} in {day[:4]}")


def came_of_it(database, year=2026):
    return [
        (each.decided, str(each.decided_on), each.decided_by, each.failed_before, each.failed_since, each.came_of_it,
         each.verdict, each.state)
        for each in fleet_year(database, year).decisions
    ]  # fmt: skip


def test_what_came_of_a_remedy_of_the_year_before(stocked, make):
    """By hand: one failure before 2025-07-01, two after it; 1.5 years from 2024-01-01, 1.39 to 2026-11-20."""
    for day in ("2024-09-01", "2026-03-01", "2026-05-01"):
        post(stocked, make, f"{day}T18:00:00Z", replacements=failed())
    suspect(stocked, **RESOLVED)
    (made,) = fleet_year(stocked).decisions

    assert came_of_it(stocked) == [
        ("resolved", "2025-07-01", "anna", 1, 2, "failed_again", "still failing", "resolved")
    ]
    assert (made.years_before, made.years_since, made.last_failed_on) == (1.5, 1.39, date(2026, 5, 1))
    assert came_of_it(stocked, 2025) == []


def test_a_decision_counts_as_it_stood_when_its_year_ended(stocked, make):
    """Confirmed in 2025, dismissed in 2026; quiet since the confirmation."""
    post(stocked, make, "2024-09-01T18:00:00Z", replacements=failed())
    suspect(stocked, first_seen=datetime(2025, 6, 1, tzinfo=UTC))
    decide(stocked, "confirmed", "2025-08-01")
    decide(stocked, "dismissed", "2026-02-01")

    assert came_of_it(stocked) == [("confirmed", "2025-08-01", "bea", 1, 0, "quiet", None, "dismissed")]
    assert came_of_it(stocked, 2025) == []


def test_a_root_cause_counts_from_the_day_it_was_seen_and_a_decision_from_its_own(stocked):
    suspect(stocked, **RESOLVED)

    assert fleet_year(stocked, 2024).root_causes == ()
    (early,) = fleet_year(stocked, 2025, datetime(2025, 6, 15, tzinfo=UTC)).root_causes
    assert (early.state, early.why, early.verdict) == ("open", None, None)
    assert [(count.tier, count.resolved) for count in fleet_year(stocked).root_cause_tiers][1] == ("probable", 1)


def test_the_visits_of_a_root_cause_are_those_at_which_its_items_failed(stocked, make):
    seen = post(stocked, make, "2026-02-01T18:00:00Z", kind="service_call", replacements=failed())
    post(stocked, make, "2026-02-02T18:00:00Z", kind="service_call")
    suspect(stocked, visit=seen)

    cause = fleet_year(stocked).causes[0]

    assert (cause.basis, cause.cause, cause.times, cause.visits) == ("root_cause", "glycol_weak", 1, 1)


def test_a_year_not_begun_is_refused(database):
    with pytest.raises(Invalid):
        fleet_year(database, 2027)


def test_the_same_record_gives_the_same_bytes_and_a_change_another_digest(stocked, make):
    first, again = fleet_year(stocked), fleet_year(stocked)

    assert fleet_year_json.render(first) == fleet_year_json.render(again)
    assert fleet_year_csv.render(first) == fleet_year_csv.render(again)
    post(stocked, make, "2026-03-02T18:00:00Z")
    assert fleet_year(stocked).data_state.digest != first.data_state.digest
    assert replace(fleet_year(stocked), data_state=first.data_state) != first


HOSTILE = "=cmd|' /C calc'!A0 \"quoted\" 🍺 משקה " + "x" * 150


def test_hostile_names_are_kept_in_json_and_disarmed_in_csv(stocked):
    with stocked.writing() as store:
        fleet.change_customer(store, ACTOR, store.customers.get("lantern"), {"name": HOSTILE})
    year = fleet_year(stocked)

    in_csv = next(csv.DictReader(io.StringIO(fleet_year_csv.table(year, "customers").decode("utf-8-sig"))))

    assert json.loads(fleet_year_json.render(year))["customers"][0]["name"] == HOSTILE
    assert in_csv["name"] == "'" + HOSTILE


def test_the_tables_hold_the_rows_of_the_json(stocked, make):
    post(stocked, make, "2026-03-01T18:00:00Z", left_at="2026-03-01T19:30:00Z", replacements=failed())
    year = fleet_year(stocked)
    plain = json.loads(fleet_year_json.render(year))
    with ZipFile(io.BytesIO(fleet_year_csv.render(year))) as archive:
        tables = {name: archive.read(name).decode("utf-8-sig") for name in archive.namelist()}

    assert list(tables) == [f"{name}.csv" for name in TABLES]
    for name in TABLES[:-1]:
        rows = list(csv.DictReader(io.StringIO(tables[f"{name}.csv"])))
        assert [shown(row) for row in rows] == [flat(line) for line in plain[name]]


def flat(line):
    """A line of JSON as a row of CSV."""
    cells = {}
    for name, value in line.items():
        if name.startswith(("hours_", "without_cold_beer")):
            cells |= {name: value and value["value"], f"{name}_unit": value and value["unit"]}
        else:
            cells[name] = {True: "yes", False: "no"}[value] if isinstance(value, bool) else value
    return {name: "" if value is None else str(float(value)) if isinstance(value, int | float) else value
            for name, value in cells.items()}  # fmt: skip


def shown(row):
    return {name: str(float(cell)) if cell.replace(".", "", 1).isdecimal() else cell for name, cell in row.items()}
