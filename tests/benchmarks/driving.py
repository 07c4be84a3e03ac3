"""Laying out a day of 40 stops and 5 technicians.

Processor time, which other work on the machine moves less. The floor is a hundred times the distances of all pairs of
stops, which the layout needs once at the least.
"""

from collections.abc import Iterator
from time import process_time

from service.domain.driving.order import lay_out
from tests.benchmarks.ratios import Figure
from tests.benchmarks.run import Run
from tests.domain.driving.test_order import TRAVEL, random_day

STOPS, PEOPLE, FLOOR_ROUNDS = 40, 5, 100


def laying_out(run: Run) -> Iterator[Figure]:
    """A day of 40 stops and 5 technicians."""
    seconds, ratios = [], []
    for seed in range(run.rounds):
        jobs, shifts = random_day(seed, STOPS, PEOPLE)
        begin = process_time()
        lay_out(jobs, shifts, TRAVEL)
        planned = process_time()
        for _ in range(FLOOR_ROUNDS):
            for one in jobs:
                for other in jobs:
                    TRAVEL.seconds(one.point, other.point)
        floor = process_time() - planned
        seconds.append(planned - begin)
        ratios.append((planned - begin) / floor)
    yield Figure("laying out a day of 40 stops and 5 technicians", tuple(seconds), "s", 2.0)
    yield Figure("laying out a day of 40 stops / 100 times its distances", tuple(ratios), "x", 10.0)
