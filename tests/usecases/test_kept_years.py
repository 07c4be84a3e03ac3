"""A year that was kept is the one that would be worked out now: at every instant, in any order, after a restart."""

import json
import sqlite3
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from service.app import open_database
from service.domain.audit import Actor
from service.rendering.year import summary_json
from service.schemas.transfer import read_lines
from service.settings import Settings
from service.storage.migrating import upgrade
from service.usecases.maintenance import learning
from service.usecases.root_causes import root_causes
from service.usecases.transfer import importing
from service.usecases.year import kept_years, summaries
from tests.summary_recount.generated import fleet

NOW = datetime(2026, 11, 20, 12, tzinfo=UTC)
NEXT_YEAR = datetime(2027, 1, 15, 12, tzinfo=UTC)
MINUTE, DAY = timedelta(minutes=1), timedelta(days=1)
RECOVERING = {
    "record": "visit", "id": "00000000-0000-4000-8000-00000000abce", "unit": "GU-0004", "kind": "service_call",
    "arrived_at": "2026-11-19T15:00:00Z", "left_at": "2026-11-19T16:00:00Z", "technician": "rhea",
    "complaint": {"symptom": "warm_pour", "reported_at": "2026-11-19T14:00:00Z"}, "outcome": "recovering",
}  # fmt: skip
LEAVING = {"GU-0002": "2026-11-23"}  # retired on a day to come
ACTOR = Actor("tester", "owner", None, NOW)


def records():
    for each in fleet(units=5, visits=60, seed=11, days=200, registered="2026-01-05"):
        yield each | ({"retired_on": LEAVING[each["tag"]]} if each.get("tag") in LEAVING else {})
    yield RECOVERING
    for day in ("2026-09-02", "2026-09-20", "2026-10-11", "2026-10-30"):
        yield {
            "record": "visit", "id": f"00000000-0000-4000-8000-00{day.replace('-', '')}ab", "unit": "GU-0003",
            "kind": "service_call", "arrived_at": f"{day}T15:00:00Z", "technician": "rhea", "outcome": "running",
            "replacements": [{"component": "pump-1", "reason": "failed", "condition": "seized", "evidence": "seen"}],
        }  # fmt: skip


@pytest.fixture(scope="module")
def filled(tmp_path_factory):
    home = tmp_path_factory.mktemp("kept")
    settings = Settings(database_url=f"sqlite:///{home}/fleet.db", home=home)
    upgrade(settings.database_url, Path(__file__).parents[2] / "migrations")
    opened = open_database(settings)
    record(opened, list(records()))
    opened.close()
    with sqlite3.connect(home / "fleet.db") as raw:  # as if each had been recorded when it happened
        raw.execute("UPDATE visit SET posted_at = arrived_at")
    raw.close()
    opened = open_database(settings)
    root_causes.search_of_the_day(opened, NOW - DAY, gap=lambda: None)
    learning.learn_of_the_day(opened, NOW - DAY)
    opened.close()
    return settings


@pytest.fixture
def home(filled, tmp_path):
    """The settings of a copy of that database."""
    path = tmp_path / "fleet.db"
    path.write_bytes((filled.home / "fleet.db").read_bytes())
    return Settings(database_url=f"sqlite:///{path}", home=tmp_path)


@pytest.fixture
def database(home):
    opened = open_database(home)
    yield opened
    opened.close()


def record(opened, records):
    lines = read_lines(json.dumps(each).encode() for each in records)
    with opened.writing() as store:
        assert importing.import_records(store, ACTOR, lines, keep_good=False).errors == []


def summarised(opened, as_of, year=2026):
    with opened.reading() as store:
        found = summaries.summarise(store, "lantern", year, as_of=as_of, program_version="0", units_shown=None)
    return summary_json.render(found)


def anew(home, as_of, year=2026):
    """The summary with nothing kept."""
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(kept_years, "layout", lambda: "another program")
        opened = open_database(home)
        try:
            return summarised(opened, as_of, year)
        finally:
            opened.close()


def after_restart(home, as_of, year=2026):
    """The summary of a server that was started with what the one before had stored."""
    opened = open_database(home)
    try:
        return summarised(opened, as_of, year)
    finally:
        kept_years.store_made(opened)
        opened.close()


def instants(opened):
    """Around the last arrivals and leavings, the hour from which an outage is over, midnights, and later years."""
    with opened.reading() as store:
        logs = [log for _, log in store.unit_logs.of_customer("lantern")]
    visits = sorted((v for log in logs for v in log.all_visits), key=lambda v: v.arrived_at)[-3:]
    around = [at + by for v in visits for at in (v.arrived_at, v.left_at or v.arrived_at) for by in (-MINUTE, MINUTE)]
    over = datetime.fromisoformat(RECOVERING["left_at"]) + timedelta(hours=72)
    days = (NOW + days * DAY for days in (0, 1, 3, 4, 11, 40, 41, 42, 43))
    return sorted({*around, over - MINUTE, over + MINUTE, *days, NEXT_YEAR})


def test_it_is_the_year_that_would_be_worked_out_anew(home, database):
    asked = instants(database)
    expected = {at: anew(home, at) for at in asked}

    assert {at: summarised(database, at) for at in asked} == expected
    assert {at: summarised(database, at) for at in reversed(asked)} == expected


def test_so_is_one_that_was_stored_before_a_restart(home, database):
    asked = instants(database)

    assert {at: after_restart(home, at) for at in asked} == {at: anew(home, at) for at in asked}
    assert after_restart(home, NEXT_YEAR, 2027) == anew(home, NEXT_YEAR, 2027)
    assert after_restart(home, NEXT_YEAR, 2025) == anew(home, NEXT_YEAR, 2025)


@pytest.fixture
def made(monkeypatch):
    """The units whose years were worked out."""
    made, work = [], summaries.unit_year
    monkeypatch.setattr(
        summaries, "unit_year", lambda record, *given: made.append(record.log.unit.tag) or work(record, *given)
    )
    return made


def test_of_a_year_under_way_it_is_worked_out_once(home, database, made):
    summarised(database, NOW)
    assert sorted(made) == [f"GU-{number:04}" for number in range(5)]

    summarised(database, NOW + MINUTE)
    kept_years.store_made(database)
    after_restart(home, NOW + 2 * MINUTE)
    assert made[5:] == [RECOVERING["unit"]] * 2  # whose outage may be taken as over any hour

    after_restart(home, NOW + DAY)
    assert sorted(made[7:]) == ["GU-0002", RECOVERING["unit"]]  # the first is to be retired


def test_of_a_year_that_is_over_it_is_worked_out_once(home, database, made):
    for days in (0, 1, 300):
        after_restart(home, NEXT_YEAR + timedelta(days=days))
    assert len(made) == 5


CHANGES = [
    {"record": "visit", "id": "00000000-0000-4000-8000-00000000abcd", "unit": "GU-0001", "kind": "maintenance",
     "arrived_at": "2026-11-19T10:00:00Z", "technician": "rhea", "work": "Seen again."},
    {"record": "correction", "visit": RECOVERING["id"], "at": "2026-11-20T09:00:00Z", "by": "anna",
     "correction": {"why": "wrong sheet", "outcome": "running"}},
    {"record": "void", "visit": RECOVERING["id"], "at": "2026-11-20T10:00:00Z", "by": "anna", "reason": "twice"},
    {"record": "task", "code": "pump_check", "interval": "2 months"},
    {"record": "unit_task", "unit": "GU-0001", "code": "pump_check", "interval": "1 month"},
    {"record": "call", "id": "00000000-0000-4000-8000-00000000ca11", "site": "site-1", "unit": "GU-0001",
     "received_at": "2026-11-18T10:00:00Z", "symptom": "warm_pour"},
]  # fmt: skip


@pytest.mark.parametrize("changed", CHANGES, ids=[each["record"] for each in CHANGES])
def test_what_is_recorded_shows_at_once(home, database, changed):
    later = NOW + DAY
    before = after_restart(home, later)
    record(database, [changed])

    after = after_restart(home, later)
    assert after == anew(home, later) != before
    assert after_restart(home, later + DAY) == anew(home, later + DAY)


def test_so_does_what_is_decided_and_what_is_set_right(home, database):
    later = NOW + DAY
    before = after_restart(home, later)
    with database.writing() as store:
        cause = next(each for each in store.root_causes.of_units(range(1, 6)))
        root_causes.decide(store, Actor("anna", "owner", None, NOW), cause, state="confirmed", note="It is.")
    decided = after_restart(home, later)
    assert decided == anew(home, later) != before

    record(database, [{"record": "site", "code": "site-1", "customer": "lantern", "name": "Renamed",
                       "time_zone": "America/New_York"}])  # fmt: skip
    assert b"Renamed" in after_restart(home, later)
    assert after_restart(home, later) == anew(home, later) != decided


def test_another_program_works_it_out_anew(home, monkeypatch, made):
    after_restart(home, NEXT_YEAR)
    monkeypatch.setattr(kept_years, "layout", lambda: "another program")
    after_restart(home, NEXT_YEAR)
    assert len(made) == 10


def test_it_is_forgotten_after_a_while(database):
    summarised(database, NOW)
    stored = kept_years.store_made(database)
    with database.writing() as store:
        store.unit_years.forget(NOW)
        kept = store.link.plain("SELECT count(*) FROM unit_year").fetchone()[0]
        store.unit_years.forget(NOW + MINUTE)
        left = store.link.plain("SELECT count(*) FROM unit_year").fetchone()[0]
    assert (kept, left) == (stored, 0)
    assert stored > 0
