"""`python -m tests.soak --minutes 60`: exit code 1 where anything is wrong."""

import argparse
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.soak.run import soak


def main() -> int:
    """Run it and print what was seen."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, default=60)
    parser.add_argument("--requests", type=int, default=0, help="at least so many")
    parser.add_argument("--on", type=float, default=5, help="seconds for which each fault is on, and then off")
    parser.add_argument("--no-faults", action="store_true", help="load alone, to see the memory")
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    options = {"faults": ()} if given.no_faults else {}
    with TemporaryDirectory() as folder:
        found = soak(
            Path(folder), requests=given.requests, seconds=60 * given.minutes, on=given.on, seed=given.seed, **options
        )
    print(f"{found.requests} requests; faults {found.faults}")
    print("  " + ", ".join(f"{kind}: {count}" for kind, count in found.answers.items()))
    print(f"memory {found.level:.0f} MB at its level, {found.end:.0f} MB at the end")
    for text in found.wrong[:50]:
        print(f"WRONG {text}")
    print(f"{len(found.wrong)} wrong")
    return 1 if found.wrong else 0


if __name__ == "__main__":
    sys.exit(main())
