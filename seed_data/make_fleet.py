"""The demonstration fleet of Sallow Ferry, an invented town: a fleet of glycol units and three years of visits.

    python seed_data/make_fleet.py --today 2026-06-09 [--seed 1] > fleet.jsonl

prints it as JSON Lines in the import format. Everything is laid out backwards from `today`, so that the list of that
day holds overdue work, work due today and work due soon, whatever day it is.
The same (today, seed) gives the same bytes.

What is planted: on GU-0401 power switches burn again and again beside a condenser that nobody reaches; on GU-0501 pumps
seize again and again in weak glycol and a low bath. All other failures are single ones, by chance. The old GU-0901 runs
on ethylene glycol and nobody knows when it was installed; GU-0301 is retired; GU-0602 and GU-0702 are new and were
never visited; one technician has left. Town, people, firms, makers, models and numbers are invented.

The modules beside this one: fleet_town (who and where), fleet_models and fleet_units (the units), fleet_calls (why
somebody calls), fleet_plan (which visits on which days), fleet_diary (who drives when), fleet_condition (dirt, water,
wear), fleet_pen and fleet_notebook (readings), fleet_scene, fleet_round, fleet_trouble and fleet_visits (the bodies).
"""

import argparse
import json
import sys
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from pathlib import Path
from random import Random
from typing import Any
from zoneinfo import ZoneInfo

# the modules beside this one are found also when this one was loaded from its path
if str(Path(__file__).resolve().parent) not in sys.path:
    sys.path.append(str(Path(__file__).resolve().parent))

import fleet_town
import fleet_units
from fleet_condition import Condition
from fleet_diary import Diary
from fleet_plan import BEAT, BURNING, HISTORY, SITE, Job, jobs
from fleet_scene import Scene
from fleet_visits import body, new_notebook

Record = dict[str, Any]


def make_fleet(today: date, seed: int = 1) -> Iterator[Record]:
    """The records, what is referred to first: customers, technicians, sites, units, visits in the order of arrival."""
    yield fleet_town.company()
    yield from fleet_town.customers()
    yield from fleet_town.technicians(today)
    yield from fleet_town.sites()
    yield from fleet_units.units(today)
    yield from sorted(_visits(today, seed), key=lambda visit: datetime.fromisoformat(visit["arrived_at"]))


def _visits(today: date, seed: int) -> Iterator[Record]:
    """Every visit, written down as the days go by, so that each finds the unit as the one before left it."""
    diary = Diary(today, _random(seed, "diary"))
    states = {unit.tag: _new_condition(unit, today, seed) for unit in fleet_units.UNITS}
    for job in jobs(today, seed):
        condition = states[job.unit.tag]
        condition.live_until(job.day)
        yield body(_scene(job, condition, diary))


def _scene(job: Job, condition: Condition, diary: Diary) -> Scene:
    reported = _reported(job, condition.rng) if job.kind == "service_call" else None
    who, arrived, left = diary.schedule(job, reported)
    return Scene(job, condition, new_notebook(who, condition, arrived, left), condition.rng, who, reported)


def _reported(job: Job, rng: Random) -> datetime:
    """When the telephone rang, in the site's own time."""
    return datetime.combine(job.day, time(7, 30), ZoneInfo(job.place.zone)) + timedelta(minutes=rng.randint(0, 330))


def _new_condition(unit: fleet_units.Unit, today: date, seed: int) -> Condition:
    site = SITE[unit.site]
    days = HISTORY if unit.age is None else min(unit.age, HISTORY)
    return Condition(
        unit=unit,
        surroundings=site.surroundings,
        beat=BEAT[site.surroundings][0],
        rng=_random(seed, unit.tag),
        day=today - timedelta(days=days),
        steady=site.next_due <= 0 and unit.tag != BURNING,
    )


def _random(seed: int, what: str) -> Random:
    return Random(f"{seed} {what}")  # noqa: S311 - an invented fleet, no secret


def main() -> None:
    """Print the fleet as JSON Lines."""
    parser = argparse.ArgumentParser(description="Print the demonstration fleet of Sallow Ferry as JSON Lines.")
    parser.add_argument("--today", type=date.fromisoformat, required=True, help="the day to generate the fleet for")
    parser.add_argument("--seed", type=int, default=1, help="another seed is another history of the same town")
    chosen = parser.parse_args()
    for record in make_fleet(chosen.today, chosen.seed):
        print(json.dumps(record, ensure_ascii=False))


if __name__ == "__main__":
    main()
