"""Print tables of made fleets.

python -m tests.simulation [units] [fleets] [seed]
python -m tests.simulation sequences
python -m tests.simulation stress [--units 300] [--seed 20260801]
python -m tests.simulation risks [--units 300] [--seed 20260801]
python -m tests.simulation defects [--units 300] [--seed 20260801]
python -m tests.simulation intervals [--units 25 300 3000] [--seeds 1 2 3]
python -m tests.simulation stories
python -m tests.simulation units [--visits N] [--triage N] [--seed S]
"""

import argparse
import sys

from service.domain.root_causes.engine import PROBABLE, STRONG
from tests.simulation import defects, report, risks, stories, stress
from tests.simulation.fleet import fleet
from tests.simulation.intervals import main_intervals
from tests.simulation.measure import calibrated, counting, cusum, decisions, engine, poisson, tallied
from tests.simulation.plan import DAMAGED, Plan
from tests.simulation.sequences import main_sequences
from tests.simulation.units.main import main as main_units

ROWS = {
    "as planted": Plan(),
    "none planted": Plan(planted=False),
    "units unlike": Plan(spread=0.82),
    "half missing": Plan(missing=0.5),
    "30 % unlogged": Plan(unlogged=0.3),
    "early repeats": Plan(repeats=0.1),
    "step hazard": Plan(hazard="step"),
    "slow hazard": Plan(hazard="slow"),
    "damage": Plan(hazard="damage"),
    "rates doubled": Plan(rate=2.0),
    "damaged records": Plan(**DAMAGED),
    "damage, damaged": Plan(hazard="damage", **DAMAGED),
}
EDGES = (0.0, 0.025, 0.08, 0.15, 0.25, 0.35, 0.5)


def main(size: int = 300, fleets: int = 4, seed: int = 20260601) -> None:
    """Fresh fleets a row; the engine learns quarterly from each fleet's own past."""
    for name, plan in ROWS.items():
        made = [fleet(size, seed + k, plan) for k in range(fleets)]
        units = [unit for each in made for unit in each]
        rules = {"two in 12": counting(2), "three in 12": counting(3), "poisson": poisson, "cusum": cusum}
        for rule, each in rules.items():
            _print(name, rule, tallied(units, decisions(units, each), 1.0).row())
        stated = [row for each in made for row in decisions(each, engine(each))]
        _print(name, "probable", tallied(units, stated, PROBABLE).row())
        _print(name, "strong", tallied(units, stated, STRONG).row())
        shown = ", ".join(f"{mean:.3f} -> {share:.3f} ({count})" for count, mean, share in calibrated(stated, EDGES))
        print(f"{name:14} chance stated -> share by chance: {shown}", flush=True)


def _print(name: str, rule: str, row: dict[str, float]) -> None:
    print(f"{name:14} {rule:12} " + "  ".join(f"{key} {value:.3g}" for key, value in row.items()), flush=True)


def main_generator(name: str, given: list[str]) -> None:
    """The tables of one of the further generators."""
    asked = argparse.ArgumentParser(prog=f"python -m tests.simulation {name}")
    asked.add_argument("--units", type=int, default=300)
    asked.add_argument("--seed", type=int, default=20260801)
    options = asked.parse_args(given)
    report.main(
        name,
        {"stress": stress.fleet, "risks": risks.fleet, "defects": defects.fleet}[name],
        options.units,
        options.seed,
    )


if __name__ == "__main__":
    match sys.argv[1:]:
        case ["sequences"]:
            main_sequences()
        case ["intervals", *given]:
            main_intervals(given)
        case ["stories"]:
            stories.main()
        case ["units", *given]:
            main_units(given)
        case [("stress" | "risks" | "defects") as name, *given]:
            main_generator(name, given)
        case given:
            main(*(int(each) for each in given))
