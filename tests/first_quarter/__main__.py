"""`python -m tests.first_quarter [--units N] [--seed S] [--fleets N]`: a whole quarter of each fleet, in figures."""

import argparse
import sys
from datetime import timedelta

from tests.first_quarter.quarter import FROM, HOURS, TECHNICIANS, played
from tests.fleet_model.run import opened

DAYS = 91


def main() -> int:
    """1 when a day was above the hours, a condenser not seen in time, or a call waited over a weekend and longer."""
    parser = argparse.ArgumentParser(prog="python -m tests.first_quarter")
    parser.add_argument("--units", type=int, default=60)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--fleets", type=int, default=1)
    asked, wrong = parser.parse_args(), 0
    with opened(postgresql=False) as shop:
        for seed in range(asked.seed, asked.seed + asked.fleets):
            shop.empty()
            quarter = played(shop, seed, units=asked.units, weeks=13, days=DAYS)
            late = quarter.too_late(FROM + timedelta(days=DAYS))
            longest = max(quarter.answered_after, default=0)
            over = sum(minutes > HOURS * 60 for minutes in quarter.minutes.values())
            print(
                f"--seed {seed}: {len(quarter.listed)} days, on the list at most {max(quarter.listed) / 60:.1f} h of "
                f"{HOURS * len(TECHNICIANS)} h, a technician at most {max(quarter.minutes.values()) / 60:.1f} h, units "
                f"left for the next day {quarter.left_over}, condensers late {late}, "
                f"{len(quarter.answered_after)} calls answered within {longest} days, open {len(quarter.calls)}"
            )
            wrong += bool(late or over or longest > 3)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
