"""`python -m tests.fleet_model [--runs N] [--steps N] [--seed S] [--postgresql]`: prints what differed."""

import argparse
import sys
from functools import partial

from tests.fleet_model.run import run


def main() -> int:
    """1 when anything differed."""
    parser = argparse.ArgumentParser(prog="python -m tests.fleet_model")
    parser.add_argument("--runs", type=int, default=300)
    parser.add_argument("--steps", type=int, default=50)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--postgresql", action="store_true")
    asked = parser.parse_args()
    seeds, report = range(asked.seed, asked.seed + asked.runs), partial(print, flush=True)
    outcome = run(seeds, asked.steps, report, postgresql=asked.postgresql)
    print(f"{outcome.runs} runs of {asked.steps} steps; {outcome.answers} answers compared after import")
    print(f"{len(outcome.failures)} runs differed")
    return 1 if outcome.failures else 0


if __name__ == "__main__":
    sys.exit(main())
