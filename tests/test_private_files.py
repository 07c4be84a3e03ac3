"""Files and folders that the program makes belong to the owner of its process alone, whatever the umask."""

import os
import stat
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner

from service.app import open_checked_database, open_database
from service.cli import main
from service.settings import Settings
from service.storage.engine.database import open_engine

pytestmark = pytest.mark.skipif(os.name == "nt", reason="Windows has other rights")


@pytest.fixture(params=[0o000, 0o022], ids=["umask 000", "umask 022"])
def home(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Path]:
    """A home that is not there yet, under an umask that keeps nobody out."""
    former = os.umask(request.param)
    yield tmp_path / "made" / "home"
    os.umask(former)


def run(home: Path, *words: str) -> None:
    environ = {"GLYCOL_FLEET_HOME": str(home), "GLYCOL_FLEET_DATABASE_URL": ""}
    done = CliRunner().invoke(main, words, env=environ)
    assert done.exit_code == 0, done.stderr


def modes(folder: Path) -> dict[str, int]:
    return {path.name: stat.S_IMODE(path.stat().st_mode) for path in folder.iterdir()}


def test_what_the_commands_write_is_private(home: Path) -> None:
    run(home, "migrate")
    run(home, "export", str(home / "fleet.jsonl"))
    run(home, "backup", str(home / "copy.sqlite3"))
    run(home, "summary", "--all", "2026", "--output", str(home / "summaries"))

    assert stat.S_IMODE(home.stat().st_mode) == 0o700
    folders = {"summaries": 0o700}
    assert modes(home) == {name: folders.get(name, 0o600) for name in modes(home)}
    assert modes(home).keys() >= {"glycol-fleet.sqlite3", "fleet.jsonl", "copy.sqlite3", "summaries"}


def test_what_lies_beside_an_open_database_is_private(home: Path) -> None:
    run(home, "migrate")
    database = open_database(Settings(database_url=f"sqlite:///{home}/glycol-fleet.sqlite3", home=home))
    with database.writing() as store:
        store.jobs_done.claim("x", "2026-06-09", "2026-06-09T00:00:00.000000Z")
    found = modes(home)
    database.close()

    assert set(found.values()) == {0o600}
    assert {f"glycol-fleet.sqlite3{end}" for end in ("", "-wal", "-shm", "-next", "-writer")} <= found.keys()


def test_a_database_that_others_could_read_is_made_private_at_start(home: Path) -> None:
    run(home, "migrate")
    file = home / "glycol-fleet.sqlite3"
    file.chmod(0o644)
    open_checked_database(Settings(database_url=f"sqlite:///{file}", home=home)).close()

    assert modes(home)[file.name] == 0o600


def test_threads_that_open_a_new_database_at_once_make_one_private_file(home: Path) -> None:
    home.mkdir(parents=True)
    engine = open_engine(f"sqlite:///{home}/new.sqlite3")
    threads = [threading.Thread(target=lambda: engine.connect().close()) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    engine.dispose()

    assert modes(home)["new.sqlite3"] == 0o600
