"""A day on the road as values: what is to be done, who drives when, and the runs that follow from an order of stops.

Times are seconds since 1970-01-01T00:00Z.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from service.domain.driving.hours import Window
from service.domain.driving.travel import Point, Travel
from service.domain.maintenance.list_order import CLASSES

URGENT, REST = range(2)
# What it costs to leave work of a class undone, in units of one PM stop: a class outweighs ten of the next.
WEIGHTS = {work: 10 ** (len(CLASSES) - 1 - n) for n, work in enumerate(CLASSES)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """Work at one site that is done in one go; `number` is its place in the order of the list.

    Work may begin within `windows`. Urgent work is not kept waiting for other work. Of promised work the windows are
    those of the promise. `otherwise` are those in which work may begin while the site is open, whatever was promised.
    """

    number: int
    point: Point
    minutes: int
    weight: int = 1
    technicians: frozenset[str]
    windows: tuple[Window, ...]
    tier: int = REST
    promised: bool = False
    otherwise: tuple[Window, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift:
    """A technician's day from `start` to `end`, from one place to another; `work` is the most work [min]."""

    technician: str
    start: int
    end: int
    first: Point | None = None
    last: Point | None = None
    work: int | None = None

    @property
    def longest(self) -> int:
        """The most work at one stop [min], without travel."""
        length = (self.end - self.start) // 60
        return length if self.work is None else min(length, self.work)


@dataclass(frozen=True, slots=True)
class Timed:
    """A job within a run: when work begins and ends, and the travel before it [s]."""

    job: Job
    begins: int
    ends: int
    travel: int


@dataclass(frozen=True, slots=True)
class Run:
    """What one technician does in which order; `ends`: arrival at the end of the day; `travel`: all driving [s]."""

    shift: Shift
    stops: tuple[Timed, ...]
    ends: int
    travel: int

    @property
    def jobs(self) -> tuple[Job, ...]:
        """The jobs in their order."""
        return tuple(each.job for each in self.stops)

    @property
    def work(self) -> int:
        """The time worked [min]."""
        return sum(each.job.minutes for each in self.stops)


@dataclass(frozen=True, slots=True)
class DayPlan:
    """The runs of a day by technician, the jobs that are left over, and those whose promise cannot be kept."""

    runs: tuple[Run, ...]
    left: tuple[Job, ...] = ()
    late: frozenset[int] = frozenset()

    @property
    def score(self) -> tuple[int, int]:
        """What is left over by its weight, then the travel [s]: of two plans the one with less is better."""
        return sum(job.weight for job in self.left), sum(run.travel for run in self.runs)


def run_of(shift: Shift, jobs: Sequence[Job], travel: Travel) -> Run | None:
    """The run in this order, each job as early as possible; None where a window or the day does not allow it."""
    now, at = shift.start, shift.first
    stops = []
    for job in jobs:
        leg = travel.seconds(at, job.point)
        begins = _earliest(job, now + leg)
        if begins is None or shift.technician not in job.technicians:
            return None
        now, at = begins + 60 * job.minutes, job.point
        stops.append(Timed(job, begins, now, leg))
    back = travel.seconds(at, shift.last) if stops else 0
    over = shift.work is not None and sum(job.minutes for job in jobs) > shift.work
    if over or now + back > shift.end:
        return None
    return Run(shift, tuple(stops), now + back, sum(each.travel for each in stops) + back)


def longer(run: Run, n: int, minutes: int, travel: Travel) -> Run | None:
    """The run with so many minutes more at its stop number `n`; None where that does not fit or the site closes."""
    jobs = list(run.jobs)
    open_at = tuple((first, last - 60 * minutes) for first, last in jobs[n].otherwise)
    if not any(first <= run.stops[n].begins <= last for first, last in open_at):
        return None
    jobs[n] = replace(jobs[n], minutes=jobs[n].minutes + minutes, otherwise=open_at)
    return run_of(run.shift, jobs, travel)


def _earliest(job: Job, arrival: int) -> int | None:
    return next((max(first, arrival) for first, last in job.windows if arrival <= last), None)


def bound(job: Job, latest: int) -> Job:
    """The job, which may not begin later than that."""
    return replace(job, windows=tuple((first, min(last, latest)) for first, last in job.windows if first <= latest))
