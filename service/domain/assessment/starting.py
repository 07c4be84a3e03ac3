"""A compressor that was seen at rest minutes before it ran: what was read since is not that of steady running.

Current, and the two pressures read at one instant, show at which instant it stood and at which it ran.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

from service.domain.assessment.evidence import Evidence, span
from service.domain.assessment.motors import draws_current, locked
from service.domain.record.visits import Reading

EQUAL = 70e3  # Pa, 10 psi: head and suction of a unit at rest on a capillary meet within 7 to 10 min (maker's manual)
APART = 170e3  # Pa, 25 psi: the least that a running unit keeps in cold air, calculated with CoolProp 8
STEADY = timedelta(minutes=15)  # of running from which on its figures are steady; common practice, no source


class Seen(NamedTuple):
    """Whether the compressor ran at an instant."""

    at: datetime
    runs: bool


class Start(NamedTuple):
    """A start: when the compressor last was seen at rest, and when it was read last while it ran."""

    rested: datetime
    read: datetime

    @property
    def ago(self) -> str:
        """How long before the last reading it stood."""
        return span((self.read - self.rested).total_seconds())


@lru_cache(maxsize=32)
def just_started(e: Evidence) -> Start | None:
    """The start of a compressor that stood less than 15 minutes before it was read last; None where it did not start.

    It may have stood at the visit's other moment, as before a repair. Currents are compared with currents and gauges
    with gauges: a compressor that draws its current between equal pressures does not pump, and a valve may hold the
    head of one at rest. One that changed more than once is short-cycling.
    """
    starts = (_start(list(seen(e, e.readings)), list(seen(e, e.visit.readings))) for seen in (_by_current, _by_gauges))
    return next((start for start in starts if start is not None), None)


def _start(of_moment: Sequence[Seen], of_visit: Sequence[Seen]) -> Start | None:
    read = max((each.at for each in of_moment if each.runs), default=None)
    if read is None:
        return None
    recent = sorted(each for each in of_visit if timedelta(0) <= read - each.at < STEADY)
    changes = [before for before, after in pairwise(recent) if before.runs != after.runs]
    return Start(changes[0].at, read) if len(changes) == 1 and not changes[0].runs else None


def _by_current(e: Evidence, readings: Sequence[Reading]) -> Iterator[Seen]:
    for reading in readings:
        if reading.at and reading.quantity == "current" and e.kind_at(reading.component) == "compressor":
            yield Seen(reading.at, draws_current(e, reading) and not locked(e, reading))


def _by_gauges(_: Evidence, readings: Sequence[Reading]) -> Iterator[Seen]:
    heads = {each.at: each.value.value for each in readings if each.quantity == "discharge_pressure"}
    for reading in readings:
        if reading.at and reading.quantity == "suction_pressure" and reading.at in heads:
            apart = heads[reading.at] - reading.value.value
            if abs(apart) < EQUAL or apart > APART:
                yield Seen(reading.at, apart > APART)
