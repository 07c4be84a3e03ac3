"""A year that was kept is the one that would be worked out now, at every instant of a day, in any order."""

import json
import sqlite3
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from service.app import open_database
from service.domain.audit import Actor
from service.domain.summary import customer
from service.rendering.year import summary_json
from service.schemas.transfer import read_lines
from service.settings import Settings
from service.storage.migrating import upgrade
from service.usecases import importing, summaries
from service.usecases.kept_years import KeptYears
from tests.summary_recount.generated import fleet

NOW = datetime(2026, 11, 20, 12, tzinfo=UTC)
NEXT_YEAR = datetime(2027, 1, 15, 12, tzinfo=UTC)
MINUTE = timedelta(minutes=1)
RECOVERING = {
    "record": "visit", "id": "00000000-0000-4000-8000-00000000abce", "unit": "GU-0004", "kind": "service_call",
    "arrived_at": "2026-11-19T15:00:00Z", "left_at": "2026-11-19T16:00:00Z", "technician": "rhea",
    "complaint": {"symptom": "warm_pour", "reported_at": "2026-11-19T14:00:00Z"}, "outcome": "recovering",
}  # fmt: skip
ACTOR = Actor("tester", "owner", None, NOW)


@pytest.fixture(scope="module")
def database(tmp_path_factory):
    home = tmp_path_factory.mktemp("kept")
    settings = Settings(database_url=f"sqlite:///{home}/fleet.db", home=home)
    upgrade(settings.database_url, Path(__file__).parents[2] / "migrations")
    opened = open_database(settings)
    record(opened, [*fleet(units=5, visits=60, seed=11, days=200), RECOVERING])
    opened.close()
    with sqlite3.connect(home / "fleet.db") as raw:  # as if each had been recorded when it happened
        raw.execute("UPDATE visit SET posted_at = arrived_at")
    raw.close()
    opened = open_database(settings)
    yield opened
    opened.close()


def record(opened, records):
    lines = read_lines(json.dumps(each).encode() for each in records)
    with opened.writing() as store:
        assert importing.import_records(store, ACTOR, lines, keep_good=False).errors == []


def summarised(opened, as_of):
    with opened.reading() as store:
        found = summaries.summarise(store, "lantern", 2026, as_of=as_of, program_version="0", units_shown=None)
    return summary_json.render(found)


def anew(opened, as_of, monkeypatch):
    """The summary with nothing kept."""
    with monkeypatch.context() as patched:
        for name in ("unit_summary", "_measured"):
            patched.setattr(customer, name, getattr(customer, name).__wrapped__)
        patched.setattr(summaries, "KEPT", KeptYears(0))
        return summarised(opened, as_of)


def instants(opened):
    """The latest first: around the last arrivals and leavings, and around the hour from which an outage is over."""
    with opened.reading() as store:
        logs = [log for _, log in store.unit_logs.of_customer("lantern")]
    visits = sorted((v for log in logs for v in log.all_visits), key=lambda v: v.arrived_at)[-3:]
    around = [at + by for v in visits for at in (v.arrived_at, v.left_at or v.arrived_at) for by in (-MINUTE, MINUTE)]
    over = datetime.fromisoformat(RECOVERING["left_at"]) + timedelta(hours=72)
    return sorted({*around, over - MINUTE, over + MINUTE, NOW, NEXT_YEAR}, reverse=True)


def test_it_is_the_year_that_would_be_worked_out_anew(database, monkeypatch):
    monkeypatch.setattr(summaries, "KEPT", kept := KeptYears())
    asked = instants(database)
    shown = {at: summarised(database, at) for at in asked}

    assert shown == {at: anew(database, at, monkeypatch) for at in asked}
    assert {at: summarised(database, at) for at in reversed(asked)} == shown
    assert len(kept._kept) > 20


@pytest.fixture
def made(monkeypatch):
    """The years worked out."""
    made, work = [], summaries.unit_year
    monkeypatch.setattr(summaries, "KEPT", KeptYears())
    monkeypatch.setattr(summaries, "unit_year", lambda *given: made.append(work(*given)) or made[-1])
    return made


def test_of_one_day_it_is_worked_out_once(database, made):
    summarised(database, NOW)
    assert any(outage.ended == "open" for year in made for outage in year.outages)
    summarised(database, NOW + timedelta(minutes=5))
    assert [year.log.unit.tag for year in made[5:]] == [RECOVERING["unit"]]  # whose outage may be taken as over

    summarised(database, NOW + timedelta(days=1))
    assert len(made) == 11


def test_of_a_year_that_is_over_it_is_worked_out_once(database, made):
    for days in (0, 1, 300):
        summarised(database, NEXT_YEAR + timedelta(days=days))
    assert len(made) == 5


def test_what_is_recorded_shows_at_once(database, monkeypatch):
    monkeypatch.setattr(summaries, "KEPT", KeptYears())
    before = summarised(database, NOW)
    visit = {"record": "visit", "id": "00000000-0000-4000-8000-00000000abcd", "unit": "GU-0001", "kind": "maintenance",
             "arrived_at": "2026-11-19T10:00:00Z", "technician": "rhea", "work": "Seen again."}  # fmt: skip
    record(database, [visit])

    after = summarised(database, NOW)
    assert (b"Seen again." in before, b"Seen again." in after) == (False, True)
    assert after == anew(database, NOW, monkeypatch)

    record(database, [{"record": "task", "code": "pump_check", "interval": "2 months"}])
    assert summarised(database, NOW) == anew(database, NOW, monkeypatch)
