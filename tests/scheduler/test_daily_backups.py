"""Backups by the clockwork: one a day, each checked and restorable, the oldest removed, failures reported."""

import logging
import os
import stat
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import orjson
import pytest

from service.app import migrate, open_database
from service.domain.audit import Actor
from service.folders import shipped
from service.scheduler import back_up
from service.schemas.transfer import read_lines
from service.settings import Settings
from service.storage.engine.sqlite import driver
from service.usecases.backups import Plan, restore
from service.usecases.health import Health
from service.usecases.system import FleetDatabase, failing_checks
from service.usecases.transfer import importing

NOON = datetime(2026, 3, 14, 12, tzinfo=UTC)


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    made = Settings(database_url=f"sqlite:///{tmp_path}/fleet.db", home=tmp_path)
    migrate(made)
    return made


@pytest.fixture
def database(settings: Settings) -> Iterator[FleetDatabase]:
    with closing(open_database(settings)) as opened:
        opened.check_start()
        yield opened


@pytest.fixture
def plan(tmp_path: Path) -> Plan:
    (tmp_path / "backups").mkdir()
    return Plan(tmp_path / "backups", keep=3)


def run(database: FleetDatabase, plan: Plan, now: datetime) -> dict[str, str]:
    """One attempt; what /readyz then reports of it."""
    health = Health()
    back_up(database, plan, lambda: now, health)
    return failing_checks(health.checks())


def names(plan: Plan) -> list[str]:
    return sorted(path.name for path in plan.folder.iterdir())


def test_one_a_day_and_the_oldest_is_removed(database, plan):
    for hours in range(0, 24 * 5, 6):
        assert run(database, plan, NOON + timedelta(hours=hours)) == {}

    days = ["2026-03-17T000000Z", "2026-03-18T000000Z", "2026-03-19T000000Z"]
    assert names(plan) == [f"glycol-fleet-{day}.sqlite3" for day in days]


def test_a_backup_is_whole_and_only_the_owner_reads_it(database, plan):
    run(database, plan, NOON)
    (path,) = plan.folder.iterdir()
    with closing(driver().connect(str(path))) as copy:
        assert copy.execute("PRAGMA integrity_check").fetchall() == [("ok",)]

    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_files_that_are_no_backups_stay(database, plan):
    for other in ("notes.txt", "glycol-fleet-old.sqlite3", "glycol-fleet-2020-01-01T000000Z.sqlite3.gz"):
        (plan.folder / other).write_text("mine")
    for day in range(5):
        run(database, plan, NOON + timedelta(days=day))

    assert len(names(plan)) == 3 + 3


def test_when_a_backup_fails_none_is_removed_and_it_is_reported(database, plan, caplog, monkeypatch):
    for day in range(3):
        run(database, plan, NOON + timedelta(days=day))
    before = names(plan)

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("service.storage.engine.sqlite_copy.sync", full)
    with caplog.at_level(logging.ERROR):
        failing = run(database, plan, NOON + timedelta(days=3))

    assert names(plan) == before
    assert failing == {"backup": "The last backup failed: [Errno 28] No space left on device."}
    assert "No space left" in caplog.text


def test_a_damaged_database_is_not_backed_up_over_good_backups(database, plan, settings):
    run(database, plan, NOON)
    with database.writing() as store:
        store.link.plain("PRAGMA foreign_keys")
        store.link.plain("PRAGMA writable_schema=ON")
        store.link.plain("UPDATE sqlite_master SET rootpage = 2 WHERE name = 'customer'")
    failing = run(database, plan, NOON + timedelta(days=1))

    assert "damaged" in failing["backup"]
    assert names(plan) == ["glycol-fleet-2026-03-14T120000Z.sqlite3"]


def test_a_missing_folder_is_not_made_but_reported(database, tmp_path):
    """It may be a disk that is not there: a folder made in its place would fill another."""
    failing = run(database, Plan(tmp_path / "none", keep=3), NOON)

    assert failing == {"backup": f"The last backup failed: there is no folder {tmp_path}/none for backups."}
    assert not (tmp_path / "none").exists()


def test_what_a_stopped_backup_left_is_removed_after_a_day(database, plan):
    part = plan.folder / ".glycol-fleet-2026-03-01T000000Z.sqlite3.part"
    part.write_text("half")
    os.utime(part, (NOON.timestamp(), NOON.timestamp()))
    run(database, plan, NOON + timedelta(hours=1))
    assert part.exists()
    run(database, plan, NOON + timedelta(days=2))

    assert not part.exists()


def test_a_restore_goes_back_to_the_moment_of_the_backup(database, plan, settings):
    """Everything acknowledged before it is there, nothing of what came after."""

    def add(code: str) -> None:
        record = orjson.dumps({"record": "customer", "code": code, "name": code})
        with database.writing() as store:
            importing.import_records(store, Actor("tester", "owner", None, NOON), read_lines([record]), keep_good=False)

    add("before")
    run(database, plan, NOON)
    add("after")
    database.close()
    (backup,) = plan.folder.iterdir()
    done = restore(
        settings.database_url, backup, migrations=shipped("migrations"), photos=settings.home / "photos", now=NOON
    )
    with closing(open_database(settings)) as restored, restored.reading() as store:
        found = store.link.plain("SELECT code FROM customer").fetchall()

    assert found == [("before",)]
    assert done.newer is not None
    assert done.newer.counts["customer"] == 1
