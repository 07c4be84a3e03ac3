"""`python -m tests.fuzz_requests [--requests N] [--seed S]`: prints what was answered and what was wrong."""

import argparse
import sys

from tests.fuzz_requests.run import run


def main() -> int:
    """1 when an answer was wrong."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz_requests")
    parser.add_argument("--requests", type=int, default=5000)
    parser.add_argument("--seed", type=int, default=0)
    asked = parser.parse_args()
    outcome = run(asked.requests, start=asked.seed)
    statuses = ", ".join(f"{status}: {count}" for status, count in sorted(outcome.statuses.items()))
    print(f"{sum(outcome.statuses.values())} requests; {statuses}")
    print(f"valid bodies not refused with 422: {outcome.share():.1%}; unknown codes and used keys aside: "
          f"{outcome.share('reference', 'key'):.1%}")  # fmt: skip
    print(f"{len(outcome.failures)} wrong answers")
    for failure in outcome.failures[:20]:
        print(" ", failure)
    return 1 if outcome.failures else 0


if __name__ == "__main__":
    sys.exit(main())
