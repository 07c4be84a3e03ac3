"""From the items of the list to the jobs of a day, and from its plan back to stops and to what is left over."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from service.domain.driving.day import REST, URGENT, WEIGHTS, DayPlan, Job, Shift
from service.domain.driving.hours import Window, begins, windows, within
from service.domain.driving.travel import Point
from service.domain.maintenance.pm_list import DueRow, days_overdue
from service.domain.maintenance.tasks import Task
from service.domain.record.calls import Call, Promised
from service.domain.record.fleet import Site, Technician

LONGEST_JOB = 240  # [min] of work at several units of a site that is laid out as one job
URGENT_CALLS = ("now", "today")


@dataclass(frozen=True, slots=True, kw_only=True)
class DayAsked:
    """The day that is laid out, who works on it, and what is known of sites, tasks and calls."""

    day: date
    technicians: Mapping[str, Technician]
    sites: Mapping[str, Site]
    closed: frozenset[str]
    task_of: Callable[[DueRow], Task]
    calls: Mapping[str, Call]
    now: int


@dataclass(frozen=True, slots=True)
class Portion:
    """Items of one site that are done in one go; `skills` are those that some of them ask for."""

    rows: tuple[DueRow, ...]
    skills: frozenset[str]
    minutes: int


def portions(rows: Sequence[DueRow], asked: DayAsked) -> list[Portion]:
    """The items in the order of the list, those together that have one site, urgency, technician and promise."""
    found: dict[tuple[object, ...], list[DueRow]] = {}
    for row in rows:
        call = asked.calls.get(row.call or "")
        promise = row.call if call is not None and call.promised else None
        skills = skills_of(row, asked)
        key = (row.site_id, row.technician, _tier(row, call), promise, skills)
        found.setdefault(key, []).append(row)
    return [part for some in found.values() for part in _cut(some, asked)]


def _tier(row: DueRow, call: Call | None) -> int:
    urgent = row.work == "down" or (call is not None and call.urgency in URGENT_CALLS)
    return URGENT if urgent else REST


def _cut(rows: Sequence[DueRow], asked: DayAsked) -> Iterator[Portion]:
    """The items in parts of whole units where they take long."""
    part: list[DueRow] = []
    minutes = 0
    for unit in dict.fromkeys(row.unit for row in rows):
        own = [row for row in rows if row.unit == unit]
        more = sum(asked.task_of(row).minutes for row in own)
        if part and minutes + more > LONGEST_JOB:
            yield _portion(part, asked)
            part, minutes = [], 0
        part, minutes = [*part, *own], minutes + more
    yield _portion(part, asked)


def _portion(rows: Sequence[DueRow], asked: DayAsked) -> Portion:
    skills = frozenset(skill for row in rows for skill in skills_of(row, asked))
    return Portion(tuple(rows), skills, sum(asked.task_of(row).minutes for row in rows))


def skills_of(row: DueRow, asked: DayAsked) -> frozenset[str]:
    """What whoever does an item must have: by its task, and by its call."""
    call = asked.calls.get(row.call or "")
    return frozenset((*asked.task_of(row).skills, *(call.skills if call else ())))


def job_of(number: int, part: Portion, asked: DayAsked) -> Job:
    """The job of a portion: who may do it and when."""
    row = part.rows[0]
    open_at = open_windows(row, asked)
    call = asked.calls.get(row.call or "")
    promise = call.promised if call is not None and row.site else None  # a place that is not known is not driven to
    at_any_time = begins(open_at, part.minutes)
    promised_at = _promised(promise, at_any_time, asked) if promise else at_any_time
    return Job(
        number=number,
        point=point_of(row),
        minutes=part.minutes,
        weight=sum(weight(each, asked.day) for each in part.rows),
        technicians=frozenset(able(part, asked)),
        windows=promised_at,
        tier=_tier(row, call) if not promise else REST,
        promised=promise is not None,
        otherwise=at_any_time,
    )


def _promised(promise: Promised, at_any_time: Sequence[Window], asked: DayAsked) -> tuple[Window, ...]:
    """When work may begin as promised; where the site is not open then, the promise counts."""
    first, last = int(promise.from_.timestamp()), int(promise.until.timestamp())
    return within(at_any_time, first, last) or within(((first, last),), asked.now, last)


def weight(row: DueRow, day: date) -> int:
    """What it costs to leave an item undone: its class, of PM work more the longer it is overdue."""
    late = min(max(days_overdue(row, day), 0), 90) if row.work == "pm" else 0
    return int(10 * WEIGHTS[row.work] + late // 10)


def point_of(row: DueRow) -> Point:
    """Where an item is."""
    return Point(row.site, row.latitude, row.longitude, row.address)


def open_windows(row: DueRow, asked: DayAsked) -> tuple[Window, ...]:
    """When the site of an item is open on the day."""
    site = asked.sites.get(row.site)
    if site is None or row.site in asked.closed:
        return ()
    return windows(asked.day, site.time_zone, site.opening_hours, site.closed)


def able(part: Portion, asked: DayAsked) -> Iterator[str]:
    """Who may do a portion: the one who goes there, else all with the skills that it asks for."""
    for code, technician in asked.technicians.items():
        if part.rows[0].technician in (None, code) and part.skills <= set(technician.skills):
            yield code


def reason_left(part: Portion, job: Job, shifts: Iterable[Shift], asked: DayAsked) -> str:
    """Why a portion is left over."""
    row = part.rows[0]
    working = {shift.technician: shift for shift in shifts if shift.technician in job.technicians}
    open_at = open_windows(row, asked)
    if not row.site:
        return "The site is not known."
    if not job.technicians:
        return _nobody(row, part, asked)
    if not open_at:
        return f"The site is closed on {asked.day.isoformat()}."
    if not begins(open_at, part.minutes):
        return f"It takes {part.minutes} min; the site is not open for so long on {asked.day.isoformat()}."
    longest = max(shift.longest for shift in working.values())
    if part.minutes > longest:
        return f"It takes {part.minutes} min; the longest day has {longest} min left."
    return _without_room(job, working)


def _without_room(job: Job, working: Mapping[str, Shift]) -> str:
    if not any(last >= min(shift.start for shift in working.values()) for _, last in job.windows):
        return "The hours in which it can be begun are over."
    if all(first > max(shift.end for shift in working.values()) for first, _ in job.windows):
        return "The site opens after the day ends."
    return "It does not fit into the day beside what is more urgent or nearer."


def _nobody(row: DueRow, part: Portion, asked: DayAsked) -> str:
    needed = ", ".join(sorted(part.skills))
    if row.technician is not None and row.technician in asked.technicians:
        return f"It needs {needed}, which {row.technician} has not."
    if row.technician is not None:
        return f"It is for {row.technician}, who does not work on this day or is not asked for."
    return f"It needs {needed}, which nobody has who works on this day." if needed else "Nobody works on this day."


def risk_of(row: DueRow, day: date) -> str:
    """What it means that an item is left over."""
    late = days_overdue(row, day)
    if row.work == "pm":
        since = f"overdue by {late} d" if late > 0 else "due on this day" if late == 0 else f"due in {-late} d"
        return f"PM work {since}{f', every {row.interval}' if row.interval else ''}."
    return {
        "down": "The unit is down: beer stays warm.",
        "call": "A customer waits for an answer.",
        "parts": "The unit waits for parts that should be there.",
        "follow_up": "The unit was left unfinished and may fail again.",
        "root_cause": "A cause that can hurt somebody is not checked.",
    }[row.work]


def order_of(plan: DayPlan, parts: Sequence[Portion]) -> Iterator[tuple[str, list[tuple[int, Portion]]]]:
    """By technician, the portions at each stop: neighbours at one site are one stop; with the place in the run."""
    for run in plan.runs:
        stop: list[tuple[int, Portion]] = []
        for n, timed in enumerate(run.stops):
            part = parts[timed.job.number]
            if stop and stop[-1][1].rows[0].site_id != part.rows[0].site_id:
                yield run.shift.technician, stop
                stop = []
            stop.append((n, part))
        if stop:
            yield run.shift.technician, stop
