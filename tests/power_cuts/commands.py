"""Cuts the power during `migrate` of a new database, `restore` and `backup`: what is left leads on, without loss."""

import shutil
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from random import Random

from service.app import create_app, migrate, open_database
from service.clock import now
from service.folders import shipped
from service.settings import Settings
from service.storage.engine.database import Refused
from service.usecases import backups
from tests.e2e.test_durability import Shop, a_visit
from tests.power_cuts.cuts import NAME, check_model, cuts, put
from tests.power_cuts.recording import Recording, a_folder, record_command

BACKUP = "backup.sqlite3"


@dataclass(frozen=True, slots=True)
class Scenario:
    """A command, and what is wrong with what a cut in it left in a folder."""

    recording: Recording
    wrong: Callable[[Path], str | None]


def run(scenario: Scenario, number: int, random: Random) -> list[str]:
    """What so many cuts found: must be empty."""
    check_model(scenario.recording)
    faults = []
    with a_folder() as folder:
        for cut in cuts(scenario.recording, number, random):
            put(cut.files, folder / "home")
            if fault := scenario.wrong(folder / "home"):
                faults.append(f"after {cut.after} of {len(scenario.recording.log)} operations: {fault}")
    return faults


def migrating() -> Scenario:
    """A new database: `migrate` again must make it."""
    with a_folder() as home:
        return Scenario(record_command(home, "migrate"), migrate_again)


def migrate_again(home: Path) -> str | None:
    """Why the schema cannot be made."""
    try:
        migrate(settings(home))
        return None if visits(home) == set() else "there are visits"
    except Refused as refusal:
        return str(refusal)


def restoring() -> Scenario:
    """A database with two visits and a log, and a backup with one of them: either is served, and neither is lost."""
    with a_folder() as home:
        older, newer = filled(home)
        return Scenario(record_command(home, "restore", str(home / BACKUP)), lambda left: not_kept(left, older, newer))


def backing_up() -> Scenario:
    """A backup: where it has its name it is whole."""
    with a_folder() as home:
        _, newer = filled(home)
        recording = record_command(home, "backup", str(home / "second.sqlite3"))
        return Scenario(recording, lambda left: not_whole(left, newer))


def filled(home: Path) -> tuple[set[str], set[str]]:
    """Make a backup with one visit, and a database with a second one in its log, as a killed server leaves it."""
    first, second = a_visit(1), a_visit(2)
    with a_folder() as other:
        shop = Shop(other)
        with shop.open() as database:
            client = create_app(database, shop.settings).test_client()
            owner = {"Authorization": f"Bearer {shop.token}"}
            assert client.post("/v1/visits", json=first, headers=owner).status_code == 201
            database.copy_to(home / BACKUP)
            assert client.post("/v1/visits", json=second, headers=owner).status_code == 201
            for end in ("", "-wal"):
                shutil.copyfile(f"{shop.file}{end}", home / f"{NAME}{end}")
    return {first["id"]}, {first["id"], second["id"]}


def settings(home: Path) -> Settings:
    """Those of a home."""
    return Settings(f"sqlite:///{home / NAME}", home=home)


def visits(home: Path) -> set[str]:
    """The visits that the product finds; Refused where it does not start."""
    with closing(open_database(settings(home))) as database:
        database.check_start()
        with database.reading() as store:
            return {visit for (visit,) in store.link.plain("SELECT uuid FROM visit").fetchall()}


def restore(home: Path, source: Path, *, after: int) -> Path | None:
    """Restore by the use case, so many seconds later; where the former database is kept."""
    at = now() + timedelta(seconds=after)
    url = settings(home).database_url
    return backups.restore(url, source, migrations=shipped("migrations"), photos=home / "photos", now=at).kept


def not_kept(home: Path, older: set[str], newer: set[str]) -> str | None:
    """What is wrong after a cut in a restore: it can be served or restored again, and the former is there."""
    try:
        found = visits(home)
    except Refused as refusal:
        if "was interrupted" not in str(refusal):
            return str(refusal)
        restore(home, home / BACKUP, after=1)
        found = visits(home)
        if found != older:
            return f"restored again it has {found}"
    if found == newer:
        return None
    kept = [path for path in home.glob(f"{NAME}.before-*") if not path.name.endswith(("-wal", "-shm", "-journal"))]
    if found != older or len(kept) != 1:
        return f"it has {found}, and beside it {kept}"
    restore(home, kept[0], after=2)
    return None if visits(home) == newer else "the former database has lost a visit"


def not_whole(home: Path, newer: set[str]) -> str | None:
    """What is wrong after a cut in a backup."""
    if visits(home) != newer:
        return "the database has lost a visit"
    if not (home / "second.sqlite3").exists():
        return None
    other = home / "other"
    other.mkdir()
    shutil.copyfile(home / "second.sqlite3", other / NAME)
    return None if visits(other) == newer else "the backup lacks a visit"


SCENARIOS: dict[str, Callable[[], Scenario]] = {"migrate": migrating, "restore": restoring, "backup": backing_up}
