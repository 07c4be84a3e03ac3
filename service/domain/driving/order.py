"""The order of the stops of a day.

What was promised has its window. Urgent work follows in the order of the list, each by whoever can be there first, and
nothing later keeps it waiting. All other work is laid out with the least travel by PyVRP, in so many iterations from a
fixed seed, so that the same day gives the same plan; the plan in the order of the list is kept where it is no worse.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from service.domain.driving.day import URGENT, DayPlan, Job, Run, Shift, bound, run_of
from service.domain.driving.hours import within
from service.domain.driving.solver import improved
from service.domain.driving.travel import Travel

FOREVER = 2**40  # [s]
Orders = dict[str, tuple[Job, ...]]


def lay_out(jobs: Sequence[Job], shifts: Sequence[Shift], travel: Travel) -> DayPlan:
    """The best plan found for a day."""
    day = _Day(shifts, travel)
    jobs = [_from(job, min((shift.start for shift in shifts), default=0)) for job in jobs]
    promised = sorted((job for job in jobs if job.promised), key=lambda job: (job.windows[-1:], job.number))
    late = [job for job in promised if not day.put(job)]
    broken = [replace(job, windows=job.otherwise, promised=False, tier=URGENT) for job in late]
    urgent = [job for job in jobs if job.tier == URGENT and not job.promised]
    left = [job for job in sorted((*broken, *urgent), key=lambda job: job.number) if not day.put(job)]
    rest = sorted((job for job in jobs if job.tier != URGENT and not job.promised), key=lambda job: job.number)
    first = [job for order in day.orders.values() for job in order]
    by_list = day.plan([*left, *(job for job in rest if not day.append(job))])
    found = improved([*first, *rest], shifts, travel) if rest or len(promised) > 1 else {}
    plans = [by_list, *([_planned(found, [*first, *rest], left, day)] if found else [])]
    best = min(plans, key=lambda plan: plan.score)
    runs = tuple(_in_list_order(run, travel) for run in best.runs)
    return DayPlan(runs, tuple(sorted(best.left, key=lambda job: job.number)), frozenset(job.number for job in late))


def _from(job: Job, start: int) -> Job:
    """The job with its windows from the beginning of the day on."""
    cut, otherwise = (within(some, start, FOREVER) for some in (job.windows, job.otherwise))
    return replace(job, windows=cut, otherwise=otherwise)


def _planned(found: Mapping[str, Sequence[Job]], jobs: Sequence[Job], left: Sequence[Job], day: "_Day") -> DayPlan:
    runs = [run_of(shift, found.get(shift.technician, ()), day.travel) for shift in day.shifts]
    kept = [run or run_of(shift, (), day.travel) for run, shift in zip(runs, day.shifts, strict=True)]
    done = {job.number for run in kept if run for job in run.jobs}
    return DayPlan(tuple(run for run in kept if run), (*left, *(job for job in jobs if job.number not in done)))


class _Day:
    """The order of each technician's jobs while they are put in one by one."""

    def __init__(self, shifts: Sequence[Shift], travel: Travel) -> None:
        self.shifts = shifts
        self.travel = travel
        self.orders: Orders = {shift.technician: () for shift in shifts}

    def put(self, job: Job) -> bool:
        """Put a job where it begins soonest without delaying what was put in before; whether there is such a place."""
        best: tuple[int, int, Run] | None = None
        for shift in self.shifts:
            order = self.orders[shift.technician]
            for n in range(len(order) + 1):
                run = run_of(shift, (*order[:n], job, *order[n:]), self.travel)
                if run is not None and (best is None or (run.stops[n].begins, run.travel) < best[:2]):
                    best = run.stops[n].begins, run.travel, run
        if best is None:
            return False
        fixed = job if job.promised else bound(job, best[0])
        self.orders[best[2].shift.technician] = tuple(fixed if each is job else each for each in best[2].jobs)
        return True

    def append(self, job: Job) -> bool:
        """Put a job behind all others, where it begins soonest; whether there is room."""
        runs = [run_of(shift, (*self.orders[shift.technician], job), self.travel) for shift in self.shifts]
        best = min((run for run in runs if run), key=lambda run: run.stops[-1].begins, default=None)
        if best is not None:
            self.orders[best.shift.technician] = best.jobs
        return best is not None

    def plan(self, left: Sequence[Job]) -> DayPlan:
        """The plan as it stands."""
        runs = (run_of(shift, self.orders[shift.technician], self.travel) for shift in self.shifts)
        return DayPlan(tuple(run for run in runs if run is not None), tuple(left))


def _in_list_order(run: Run, travel: Travel) -> Run:
    """The run with neighbours exchanged towards the order of the list, as long as that costs no travel."""
    changed = True
    while changed:
        changed = False
        for n in range(len(run.stops) - 1):
            jobs = list(run.jobs)
            if jobs[n].number < jobs[n + 1].number:
                continue
            jobs[n : n + 2] = jobs[n + 1], jobs[n]
            other = run_of(run.shift, jobs, travel)
            if other is not None and other.travel <= run.travel:
                run, changed = other, True
    return run
