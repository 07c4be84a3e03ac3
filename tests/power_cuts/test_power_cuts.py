"""A short form of `python -m tests.power_cuts`, and that it would find what a disk loses."""

import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

from tests.power_cuts import commands
from tests.power_cuts.cuts import cuts, run, wrong
from tests.power_cuts.disk import SECTOR, Disk, File, Record
from tests.power_cuts.recording import a_folder, compiler, record

pytestmark = pytest.mark.skipif(not compiler(), reason="a server's file operations are recorded by a library in C")


@pytest.fixture(scope="module")
def recording():
    return record(20, failing=0.2, seed=1, starts=1)


def test_what_a_power_cut_leaves_opens_with_every_acknowledged_visit(recording):
    found = run(recording, 120, Random(1))

    assert found.faults == []
    assert (found.visits, found.failed_syncs > 0, found.after_failed_sync > 0) == (20, True, True)


def test_a_disk_that_ignores_syncs_is_found(recording):
    lying = replace(recording, log=[each for each in recording.log if each.kind != b"S"])
    with a_folder() as folder:
        found = {wrong(cut, folder / "home", recording.sent) for cut in cuts(lying, 60, Random(1))}

    assert any("every acknowledged visit" in (fault or "") for fault in found)


def test_so_it_is_under_a_rollback_journal():
    command = [sys.executable, "-m", "tests.power_cuts", "--journal", "rollback", "--cuts", "60"]
    done = subprocess.run(
        [*command, "--visits", "10", "--starts", "1"],
        cwd=Path(__file__).parents[2],
        capture_output=True,
        text=True,
        check=False,
    )
    if "free of the fault" in done.stderr:
        pytest.skip(done.stderr.strip())

    assert (done.returncode, "0 wrong" in done.stdout) == (0, True), done.stdout + done.stderr


@pytest.mark.parametrize(("name", "number"), [("migrate", 5), ("restore", 20), ("backup", 20)])
def test_a_command_whose_power_was_cut_leaves_what_leads_on(name, number):
    assert commands.run(commands.SCENARIOS[name](), number, Random(1)) == []


def test_what_was_synced_is_left_and_of_the_rest_any_sectors():
    file = File(bytearray(b"o" * 2 * SECTOR), [Record(b"W", 1, 100, b"n" * 2 * SECTOR)])
    left = {bytes(file.after_a_cut(Random(seed))) for seed in range(300)}
    changed = {tuple(content[place : place + 1] for place in (0, 100, SECTOR, 2 * SECTOR)) for content in left}
    file.sync()

    assert changed == {(b"o", first, second, third) for first in (b"o", b"n") for second in (b"o", b"n")
                       for third in (b"", b"n")}  # fmt: skip
    assert file.after_a_cut(Random(1)) == b"o" * 100 + b"n" * 2 * SECTOR


def test_what_a_failed_sync_did_not_write_is_not_written_by_the_next():
    def left(seed):
        file = File(bytearray(b"o" * SECTOR), [Record(b"W", 1, 0, b"n" * SECTOR)])
        file.fail_to_sync(Random(seed))
        file.sync()
        return bytes(file.after_a_cut(Random(seed)))

    assert {left(seed)[:1] for seed in range(30)} == {b"o", b"n"}


def test_names_are_left_when_the_folder_was_synced_and_otherwise_perhaps():
    def left(seed, *kinds):
        disk = Disk({"a": (1, b"")}, Random(seed))
        for kind in kinds:
            disk.do(Record(kind, 2, 0, b"/home/b" if kind == b"C" else b"/home/a" if kind == b"U" else b""))
        return tuple(sorted(disk.after_a_cut()))

    assert {left(seed, b"C", b"U") for seed in range(100)} == {(), ("a",), ("b",), ("a", "b")}
    assert {left(seed, b"C", b"U", b"D") for seed in range(20)} == {("b",)}
