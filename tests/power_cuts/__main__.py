"""`python -m tests.power_cuts --cuts 5000 [--journal rollback]`: exit code 1 where anything is wrong.

With `--in migrate`, `restore` or `backup` it cuts that command instead of a server.
"""

import argparse
import sys
import time
from random import Random

from tests.power_cuts.commands import SCENARIOS
from tests.power_cuts.commands import run as run_scenario
from tests.power_cuts.cuts import run
from tests.power_cuts.journals import use_rollback_journal
from tests.power_cuts.recording import compiler, record

EACH = 500  # cuts of one recording


def main() -> int:
    """Record and cut, and print what was found."""
    parser = argparse.ArgumentParser(prog="python -m tests.power_cuts", description=__doc__)
    parser.add_argument("--cuts", type=int, default=5000)
    parser.add_argument("--in", dest="command", choices=("serve", *SCENARIOS), default="serve")
    parser.add_argument("--visits", type=int, default=100, help="in one recording of a server")
    parser.add_argument("--starts", type=int, default=2, help="of the server in one recording")
    parser.add_argument("--journal", choices=("wal", "rollback"), default="wal")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    if not compiler():
        print("no C compiler: the recording needs one")
        return 1
    if asked.journal == "rollback":
        use_rollback_journal()
    began = time.monotonic()
    faults = in_server(asked) if asked.command == "serve" else in_command(asked)
    print(*faults[:50], sep="\n")
    print(f"{len(faults)} wrong, {time.monotonic() - began:.0f} s")
    return 1 if faults else 0


def in_server(asked: argparse.Namespace) -> list[str]:
    """Cuts in several recordings, every second one with failing syncs."""
    faults, totals = list[str](), [0, 0, 0, 0]
    for turn, first in enumerate(range(0, asked.cuts, EACH)):
        number, failing = min(EACH, asked.cuts - first), 0.2 * (turn % 2)
        recording = record(asked.visits, failing=failing, seed=asked.seed + turn, starts=asked.starts)
        found = run(recording, number, Random(f"{asked.seed} {turn}"))
        faults += found.faults
        figures = (number, found.after_failed_sync, found.failed_syncs, found.visits)
        totals = [total + figure for total, figure in zip(totals, figures, strict=True)]
        print(f"{first + number} cuts, {len(faults)} wrong", flush=True)
    print("{} power cuts, {} of them after one of {} failed syncs; {} visits acknowledged".format(*totals))
    return faults


def in_command(asked: argparse.Namespace) -> list[str]:
    """Cuts in one recording of a command."""
    faults = run_scenario(SCENARIOS[asked.command](), asked.cuts, Random(asked.seed))
    print(f"{asked.cuts} power cuts in {asked.command}")
    return faults


if __name__ == "__main__":
    sys.exit(main())
