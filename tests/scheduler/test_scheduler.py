"""The clockwork: each site's day once, however many clocks tick, stop, jump or go back."""

import logging
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from datetime import UTC, datetime, timedelta
from pathlib import Path
from queue import SimpleQueue
from threading import Event
from typing import Any
from uuid import UUID

import orjson
import pytest
import time_machine
from sqlalchemy import select, text

from service import clock
from service.app import open_database
from service.domain.audit import Actor
from service.domain.errors import Unavailable
from service.domain.instants import to_text
from service.scheduler import IntervalScheduler, clean_up, refresh_due_items, search_fleet, start
from service.schemas.transfer import read_lines
from service.settings import Settings
from service.storage.tables import metadata
from service.usecases.maintenance import due
from service.usecases.system import FleetDatabase
from service.usecases.transfer import importing

NOW = datetime(2026, 6, 9, 21, 0, tzinfo=UTC)
ZONES = ("Europe/Berlin", "America/Denver", "Australia/Lord_Howe", "Pacific/Kiritimati", "Pacific/Pago_Pago")
Opener = Callable[[], FleetDatabase]


def fleet(sites: int) -> Iterator[bytes]:
    yield orjson.dumps({"record": "customer", "code": "lantern", "name": "The Lantern Room"})
    for n in range(sites):
        site = {"code": f"s{n}", "customer": "lantern", "name": f"Site {n}", "time_zone": ZONES[n % len(ZONES)]}
        yield orjson.dumps({"record": "site"} | site)
        yield orjson.dumps({"record": "unit", "tag": f"GU-{n}", "site": f"s{n}", "installed_on": "2020-01-01"})


@pytest.fixture
def new_database(migrated_url: str, tmp_path: Path) -> Iterator[Opener]:
    """Opens the database once more, as another process would."""
    with ExitStack() as stack:

        def opened() -> FleetDatabase:
            database = open_database(Settings(database_url=migrated_url, home=tmp_path))
            stack.callback(database.close)
            return database

        yield opened


@pytest.fixture
def database(new_database: Opener) -> FleetDatabase:
    """Five sites in five zones, a unit at each."""
    made = new_database()
    import_records(made, fleet(len(ZONES)))
    return made


def import_records(database: FleetDatabase, raw: Any) -> None:
    with database.writing() as store:
        importing.import_records(store, Actor("tester", "owner", None, NOW), read_lines(raw), keep_good=False)


class Clock:
    """A clock that stands where it is put."""

    def __init__(self, now: datetime = NOW) -> None:
        self.now = now

    def __call__(self) -> datetime:
        return self.now


@pytest.fixture
def worked(monkeypatch: pytest.MonkeyPatch) -> Counter[str]:
    """How often each unit's due items were worked out."""
    counted: Counter[str] = Counter()
    whole = due.refresh_places

    def counting(store: Any, places: Any, tasks: Any) -> Any:
        counted.update(place.tag for place in places)
        return whole(store, places, tasks)

    monkeypatch.setattr(due, "refresh_places", counting)
    return counted


def tick(database: FleetDatabase, now: datetime = NOW) -> list[datetime]:
    """One tick; the instants that it reported as done."""
    done: list[datetime] = []
    refresh_due_items(database, Clock(now), done.append)
    return done


def dump(database: FleetDatabase, *left_out: str) -> dict[str, Any]:
    with database.reading() as store:
        tables = [table for table in metadata.sorted_tables if table.name not in left_out]
        return {table.name: sorted(store.link.core(select(table)), key=repr) for table in tables}


def lose_due_items(database: FleetDatabase) -> None:
    """Lose all due items and the marks that they were worked out, as an older program's database has none."""
    with database.writing() as store:
        store.link.core(text("DELETE FROM due_item"))
        store.link.core(text("UPDATE unit SET due_version = 0"))


def test_a_tick_refreshes_what_is_out_of_date_and_the_next_finds_nothing_to_do(
    database: FleetDatabase, worked: Counter[str]
) -> None:
    before = dump(database)
    lose_due_items(database)

    assert tick(database) == [NOW]
    assert tick(database, NOW + timedelta(days=7)) == [NOW + timedelta(days=7)]
    assert set(worked.values()) == {1}
    assert dump(database) == before


@pytest.mark.parametrize("back", [timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)])
def test_a_clock_set_back_changes_nothing(database: FleetDatabase, worked: Counter[str], back: timedelta) -> None:
    for day in (-1, 0):
        tick(database, NOW + timedelta(days=day))
    before = dump(database)
    tick(database, NOW - back)
    tick(database)

    assert dump(database) == before
    assert worked == {}


class Refusing:
    """A database that cannot be had the first time."""

    def __init__(self, database: FleetDatabase) -> None:
        self.database = database
        self.asked = 0

    def reading(self) -> Any:
        return self.database.reading()

    def writing(self) -> Any:
        self.asked += 1
        if self.asked == 1:
            raise Unavailable("The database is busy with another writer.")
        return self.database.writing()


def test_a_database_that_cannot_be_had_is_reported_and_the_next_tick_does_the_work(
    database: FleetDatabase, caplog: pytest.LogCaptureFixture
) -> None:
    lose_due_items(database)
    refusing: Any = Refusing(database)

    assert tick(refusing) == []
    assert [(record.levelname, "busy" in record.getMessage()) for record in caplog.records] == [("WARNING", True)]
    assert dump(database)["due_item"] == []
    assert tick(refusing) == [NOW]
    assert dump(database)["due_item"] != []


def test_housekeeping_too_waits_for_a_database_that_cannot_be_had(
    database: FleetDatabase, caplog: pytest.LogCaptureFixture
) -> None:
    keep_answer(database, "old", 400)
    refusing: Any = Refusing(database)
    clean_up(refusing, Clock())

    assert [record.levelname for record in caplog.records] == ["WARNING"]
    assert len(dump(database)["answer"]) == 1
    clean_up(refusing, Clock())
    assert dump(database)["answer"] == []


def test_what_was_refreshed_is_reported_once(database: FleetDatabase, caplog: pytest.LogCaptureFixture) -> None:
    lose_due_items(database)
    with caplog.at_level(logging.INFO, "glycol_fleet.scheduler"):
        tick(database)
        tick(database)

    assert [record.getMessage() for record in caplog.records] == ["refreshed the due items of 5 units"]


# --- housekeeping ----------------------------------------------------------------------------------------------------


def keep_answer(database: FleetDatabase, key: str, days_ago: int) -> None:
    with database.writing() as store:
        given_at = to_text(NOW - timedelta(days=days_ago))
        store.answers.keep("", key, fingerprint="f", visit=key, body="{}", given_at=given_at)


def test_housekeeping_forgets_old_answers_and_days_and_nothing_else(database: FleetDatabase) -> None:
    with database.writing() as store:
        for days_ago in (0, 13, 14, 15, 40):
            store.jobs_done.claim("job", (NOW - timedelta(days=days_ago)).date().isoformat(), "")
    for days_ago in (0, 89, 90, 91, 400):
        keep_answer(database, str(days_ago), days_ago)
    before = dump(database, "answer", "job_done")
    clean_up(database, Clock())

    assert {row[1] for row in dump(database)["answer"]} == {"0", "89", "90"}
    assert sorted(row[1] for row in dump(database)["job_done"]) == ["2026-05-26", "2026-05-27", "2026-06-09"]
    assert dump(database, "answer", "job_done") == before


# --- the real clockwork ----------------------------------------------------------------------------------------------


def test_the_clockwork_ticks_at_once_and_ends_when_asked(database: FleetDatabase) -> None:
    ticked = Event()
    clockwork = start(database, clock.now, lambda _: ticked.set())
    came = ticked.wait(20)
    clockwork.shutdown(wait=True)

    assert came
    assert not clockwork.running


FAILING = [
    {"record": "visit", "id": str(UUID(int=(0x7 << 76) + (0x8 << 60) + n)), "unit": "GU-1", "kind": "service_call",
     "arrived_at": f"2026-0{n}-15T18:00:00Z",
     "replacements": [{"component": "switch-1", "kind": "power_switch", "reason": "failed", "condition": "burnt",
                       "evidence": "seen"}]}
    for n in range(1, 6)
]  # fmt: skip


def test_the_fleet_is_searched_for_root_causes_once_a_day(
    database: FleetDatabase, caplog: pytest.LogCaptureFixture
) -> None:
    import_records(database, map(orjson.dumps, FAILING))
    (found,) = dump(database)["root_cause"]
    with database.writing() as store:
        store.link.core(text("DELETE FROM root_cause"))
    with caplog.at_level(logging.INFO):
        for hours in (0, 1, 2):
            search_fleet(database, Clock(NOW + timedelta(hours=hours)))

    assert [row[1:4] for row in dump(database)["root_cause"]] == [found[1:4]]
    assert caplog.messages == ["searched 1 units for root causes"]


def test_a_search_that_cannot_be_made_waits_for_the_next_tick(
    database: FleetDatabase, caplog: pytest.LogCaptureFixture
) -> None:
    class Held:
        def reading(self) -> Any:
            raise Unavailable("it is held by another process")

    search_fleet(Held(), Clock())  # type: ignore[arg-type]

    assert caplog.messages == ["the search for root causes waits for the next tick: it is held by another process"]
    assert dump(database)["job_done"] == []


def test_no_job_hangs_on_a_local_time_or_is_given_up_when_late(database: FleetDatabase) -> None:
    clockwork = start(database, clock.now, lambda _: None)
    jobs = clockwork.get_jobs()
    clockwork.shutdown(wait=True)

    assert {job.name: job.trigger.interval for job in jobs} == {
        "refresh_due_items": timedelta(seconds=30),
        "keep_years": timedelta(seconds=30),
        "search_fleet": timedelta(minutes=5),
        "learn_drifts": timedelta(minutes=5),
        "clean_up": timedelta(hours=6),
    }
    assert {(job.coalesce, job.max_instances, job.misfire_grace_time) for job in jobs} == {(True, 1, None)}
    assert {str(job.trigger.timezone) for job in jobs} == {"UTC"}


def test_jobs_go_on_after_the_clock_was_set_back() -> None:
    """APScheduler alone would run the next one six hours later."""
    ran: SimpleQueue[datetime] = SimpleQueue()
    with time_machine.travel(NOW) as machine:
        scheduler = IntervalScheduler(timezone=UTC)
        scheduler.add_job(lambda: ran.put(clock.now()), "interval", seconds=0.05, next_run_time=NOW)
        scheduler.start()
        ran.get(timeout=60)
        machine.move_to(NOW - timedelta(hours=6))
        while ran.get(timeout=60) > NOW - timedelta(hours=5):
            pass
        scheduler.shutdown()
