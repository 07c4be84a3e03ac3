"""Cuts the power at random moments of a recording, and opens what is left."""

import shutil
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from random import Random
from typing import Any

from service.app import open_database
from service.domain.errors import Unavailable
from service.settings import Settings
from service.storage.engine.database import Refused
from service.usecases import audit
from tests.e2e.test_durability import PARTS
from tests.power_cuts.disk import Disk
from tests.power_cuts.recording import Recording, a_folder, acknowledged

NAME = "glycol-fleet.sqlite3"
INDEX = "-shm"  # written in memory, and made anew by the first process that opens the database


@dataclass(frozen=True, slots=True)
class Cut:
    """What a power cut after so many operations left, and the visits acknowledged by then."""

    after: int
    files: dict[str, bytearray]
    acknowledged: frozenset[str]


def cuts(recording: Recording, number: int, random: Random) -> Iterator[Cut]:
    """So many cuts at random moments, in order of time."""
    disk, stored = Disk(recording.start, random), set[str]()
    moments = sorted(random.randint(0, len(recording.log)) for _ in range(number))
    for after in range(len(recording.log) + 1):
        while moments and moments[0] == after:
            yield Cut(moments.pop(0), disk.after_a_cut(), frozenset(stored))
        if not moments:
            return
        disk.do(recording.log[after])
        if visit := acknowledged(recording.log[after]):
            stored.add(visit)


def put(files: dict[str, bytearray], folder: Path) -> None:
    """Make a folder with these files."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    for name, content in files.items():
        (folder / name).write_bytes(content)


def wrong(cut: Cut, folder: Path, sent: set[str]) -> str | None:
    """What is wrong with the database that the product opens after this cut."""
    put(cut.files, folder)
    try:
        with closing(open_database(Settings(f"sqlite:///{folder / NAME}", home=folder))) as database:
            database.check_start()
            with database.reading() as store:
                found = _wrong_in(store, cut.acknowledged, sent)
            database.writable()
    except (Refused, Unavailable) as refusal:
        return f"it does not start: {refusal}"
    return found


def _wrong_in(store: Any, stored: frozenset[str], sent: set[str]) -> str | None:
    def rows(sql: str) -> list[tuple[Any, ...]]:
        return list(store.link.plain(sql).fetchall())

    visits = [visit for (visit,) in rows("SELECT uuid FROM visit")]
    created = [visit for (visit,) in rows("SELECT key FROM audit WHERE resource = 'visit' AND action = 'created'")]
    parts = {
        table: rows(f"SELECT id FROM visit WHERE (SELECT count(*) FROM {table} WHERE visit_id = visit.id) != {number}")
        for table, number in PARTS.items()
    }
    checks = {
        "integrity": rows("PRAGMA integrity_check") == [("ok",)],
        "foreign keys": rows("PRAGMA foreign_key_check") == [],
        "every acknowledged visit": stored <= set(visits),
        "no other than those sent": set(visits) <= sent,
        "each once, with one entry in the audit trail": sorted(visits) == sorted(created),
        "all parts": not any(parts.values()),
        "audit trail": (fault := audit.verify(store).fault) is None,
    }
    failed = [name for name, holds in checks.items() if not holds]
    return f"{failed} {fault or ''}" if failed else None


@dataclass(frozen=True, slots=True)
class Outcome:
    """What the cuts of one recording found: `faults` must be empty."""

    faults: list[str]
    after_failed_sync: int
    failed_syncs: int
    visits: int


def run(recording: Recording, number: int, random: Random) -> Outcome:
    """Open what so many cuts leave."""
    check_model(recording)
    failed = [place for place, each in enumerate(recording.log) if each.kind == b"F"]
    after_failed, faults = 0, []
    with a_folder() as folder:
        for cut in cuts(recording, number, random):
            after_failed += bool(failed) and cut.after > failed[0]
            if fault := wrong(cut, folder / "home", recording.sent):
                faults.append(f"after {cut.after} of {len(recording.log)} operations: {fault}")
    return Outcome(faults, after_failed, len(failed), len(recording.sent))


def check_model(recording: Recording) -> None:
    """Without a cut the model must end with the files that the server left, and every visit must have been noticed."""
    disk = Disk(recording.start, Random(0))
    for each in recording.log:
        if each.kind != b"F":  # what was not synced can be read all the same
            disk.do(each)
    left = {name: content for name, (_, content) in recording.end.items() if not name.endswith(INDEX)}
    made = {name: content for name, content in disk.content().items() if not name.endswith(INDEX)}
    assert made == left, "the recording lacks operations"
    assert {acknowledged(each) for each in recording.log} - {None} == recording.sent, "an answer was not noticed"
