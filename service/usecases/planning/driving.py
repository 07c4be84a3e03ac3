"""Lay out a day on the road: who drives where when, what is done ahead of its date, and what is left over."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime

from service.domain.driving.day import DayPlan, Job, longer
from service.domain.driving.order import lay_out
from service.domain.driving.travel import UNKNOWN_LEG, Point, Travel
from service.domain.driving.work import (
    DayAsked,
    Portion,
    able,
    job_of,
    order_of,
    point_of,
    portions,
    reason_left,
    risk_of,
    skills_of,
)
from service.domain.instants import local_day
from service.domain.maintenance.list_order import CLASSES
from service.domain.maintenance.pm_list import Day, Driver, DueRow, LeftOver, Stop, StopTimes
from service.domain.maintenance.tasks import Task
from service.domain.record.calls import Call
from service.domain.record.fleet import Technician
from service.domain.record.pauses import spans_of
from service.storage.store import Store
from service.usecases.planning.shifts import Drive, Shifted, by_technician, shift_of, working
from service.usecases.record.company import travel_of, zone_of

FORWARD_DAYS = 14
MOST_ITEMS = 300  # the most urgent ones, among which the day is laid out
Ahead = dict[int, list[tuple[DueRow, str]]]  # by the number of a portion


@dataclass(frozen=True, slots=True, kw_only=True)
class Rows:
    """The items of the list in its order, those that fall due soon at the same sites, and what belongs to them."""

    due: Sequence[DueRow]
    soon: Sequence[DueRow]
    task_of: Callable[[DueRow], Task]
    calls: Mapping[str, Call]
    beyond: int = 0


def drive(
    store: Store, now: datetime, given: Drive, asked_for: tuple[date | None, str | None], rows: Rows
) -> tuple[tuple[Stop, ...], Day]:
    """The stops of a day in their order, and what else there is to know of it; of all technicians or of one."""
    zones: dict[str, list[str]] = {}
    for row in rows.due:
        zones.setdefault(row.technician or "", []).append(row.time_zone)
    day = asked_for[0] or local_day(now, zone_of(store, (row.time_zone for row in rows.due)))
    who, notes = working(store, day, asked_for[1])
    asked = _asked(store, now, day, who, rows)
    shifted = [shift_of(store, now, given, day, each, by_technician(zones, each.code)) for each in who.values()]
    to_do, later = _promised_later(rows.due, asked)
    parts = portions(to_do, asked)
    jobs = [job_of(n, part, asked) for n, part in enumerate(parts)]
    shifts = [each.shift for each in shifted]
    places = {*asked.sites, *(each.first.code for each in shifts if each.first)}
    travel = travel_of(store, places)
    plan, more, undone = _filled(lay_out(jobs, shifts, travel), parts, asked, travel)
    still = {part.rows[0].site_id for _, part in undone}
    soon = [row for row in rows.soon if row.site_id not in still]  # somebody must come again there anyway
    plan, ahead = _forward(plan, parts, soon, asked, travel)
    left = [
        LeftOver(row, reason_left(part, job, shifts, asked), risk_of(row, day))
        for job, part in undone
        for row in part.rows
    ]
    notes += [note for each in shifted for note in each.notes]
    notes += _notes(plan, parts, rows, travel)
    stops = tuple(_stops(plan, parts, _joined(more, ahead), asked))
    return stops, Day(day, tuple(_drivers(plan, shifted)), (*left, *later), tuple(notes))


def _asked(store: Store, now: datetime, day: date, who: Mapping[str, Technician], rows: Rows) -> DayAsked:
    codes = sorted({row.site for row in (*rows.due, *rows.soon) if row.site})
    sites = {code: store.sites.get(code) for code in codes}
    closed = {
        code
        for code, site in sites.items()
        if any(span.holds(day) for span in spans_of((), store.pauses.of("site", code), site.time_zone))
    }
    return DayAsked(
        day=day,
        technicians=who,
        sites=sites,
        closed=frozenset(closed),
        task_of=rows.task_of,
        calls=rows.calls,
        now=int(now.timestamp()),
    )


def _promised_later(rows: Sequence[DueRow], asked: DayAsked) -> tuple[list[DueRow], list[LeftOver]]:
    """The rows that may be done on the day, and the calls for which a later day was promised."""
    to_do, later = [], []
    for row in rows:
        call = asked.calls.get(row.call or "")
        day = local_day(call.promised.from_, call.time_zone) if call and call.promised else asked.day
        if day > asked.day:
            later.append(LeftOver(row, f"Promised for {day.isoformat()}.", "None: the promise is for a later day."))
        else:
            to_do.append(row)
    return to_do, later


def _filled(
    plan: DayPlan, parts: Sequence[Portion], asked: DayAsked, travel: Travel
) -> tuple[DayPlan, Ahead, list[tuple[Job, Portion]]]:
    """The plan with single items of what is left over done where somebody is anyway; and what is still left over."""
    more, undone = Ahead(), []
    for job in plan.left:
        part, rest = parts[job.number], []
        for row in part.rows:
            done = None if job.promised else _at_its_site(plan, parts, row, asked, travel)
            if done is None:
                rest.append(row)
            else:
                plan, _, after = done
                more.setdefault(after, []).append((row, ""))
        if rest:
            minutes = sum(asked.task_of(row).minutes for row in rest)
            undone.append((job, replace(part, rows=tuple(rest), minutes=minutes)))
    return plan, more, undone


def _forward(
    plan: DayPlan, parts: Sequence[Portion], soon: Sequence[DueRow], asked: DayAsked, travel: Travel
) -> tuple[DayPlan, Ahead]:
    """The plan with what falls due soon at its sites done on the way, the soonest first, where there is time."""
    ahead = Ahead()
    for row in sorted(soon, key=lambda each: (each.due_on, each.site, each.unit, each.task)):
        done = _at_its_site(plan, parts, row, asked, travel)
        if done is not None:
            plan, home, after = done
            there = point_of(row)
            saved = round((travel.seconds(home, there) + travel.seconds(there, home)) / 60)
            trip = f"another trip of {saved} min" if saved else "another trip"
            reason = f"Due on {row.due_on}; done while at the site, which saves {trip}."
            ahead.setdefault(after, []).append((row, reason))
    return plan, ahead


def _at_its_site(
    plan: DayPlan, parts: Sequence[Portion], row: DueRow, asked: DayAsked, travel: Travel
) -> tuple[DayPlan, Point | None, int] | None:
    """The plan with one more item after a job at its site, where that day ends, and the job; None without time."""
    task = asked.task_of(row)
    for n, run in enumerate(plan.runs):
        at = [i for i, job in enumerate(run.jobs) if parts[job.number].rows[0].site_id == row.site_id]
        if not at or run.shift.technician not in able(Portion((row,), skills_of(row, asked), 0), asked):
            continue
        more = longer(run, at[-1], task.minutes, travel)
        if more is not None:
            runs = (*plan.runs[:n], more, *plan.runs[n + 1 :])
            return replace(plan, runs=runs), run.shift.last, run.jobs[at[-1]].number
    return None


def _joined(one: Ahead, other: Ahead) -> Ahead:
    return Ahead({number: [*one.get(number, ()), *other.get(number, ())] for number in {**one, **other}})


def _stops(plan: DayPlan, parts: Sequence[Portion], ahead: Ahead, asked: DayAsked) -> Iterator[Stop]:
    runs = {run.shift.technician: run for run in plan.runs}
    for code, stop in order_of(plan, parts):
        timed = [runs[code].stops[n] for n, _ in stop]
        extra = [each for one in timed for each in ahead.get(one.job.number, ())]
        rows = [row for _, part in stop for row in part.rows] + [row for row, _ in extra]
        times = StopTimes(_instant(timed[0].begins), _instant(timed[-1].ends), -(-timed[0].travel // 60))
        ordered = sorted(rows, key=lambda row: CLASSES.index(row.work))
        mine = tuple(row._replace(technician=code) for row in ordered)
        yield Stop(asked.day, mine, times, {(row.unit, row.task): reason for row, reason in extra if reason})


def _drivers(plan: DayPlan, shifted: Sequence[Shifted]) -> Iterator[Driver]:
    runs = {run.shift.technician: run for run in plan.runs}
    for each in shifted:
        run = runs[each.shift.technician]
        yield Driver(
            technician=each.shift.technician,
            time_zone=each.zone,
            starts_at=_instant(each.shift.start),
            ends_at=_instant(run.ends),
            work_minutes=run.work,
            travel_minutes=-(-run.travel // 60),
            done=each.done,
        )


def _notes(plan: DayPlan, parts: Sequence[Portion], rows: Rows, travel: Travel) -> Iterator[str]:
    straight = f"the straight line times {travel.road_factor:g} at {travel.speed * 3.6:.0f} km/h"
    door = f" {travel.at_door / 60:g} min are added at each site." if travel.at_door else ""
    first = f"by the imported table, else {straight}." if travel.table else f"{straight}, no road map."
    yield f"Travel: {first}{door}"
    unknown = sorted(
        {part.rows[0].site_name for part in parts if part.rows[0].site and not point_of(part.rows[0]).known}
    )
    if unknown:
        other = "way that is not in the table" if travel.table else "way"
        yield f"No coordinates, so {UNKNOWN_LEG // 60} min are taken for each {other}: {', '.join(unknown)}."
    left = {job.number for job in plan.left}
    for number in sorted(plan.late):
        instead = "it is left over" if number in left else "as soon as possible instead"
        yield f"What was promised at {parts[number].rows[0].site_name} cannot be kept: {instead}."
    if rows.beyond:
        yield f"Laid out among the {MOST_ITEMS} most urgent items; {rows.beyond} more are on the list."


def _instant(at: int) -> datetime:
    return datetime.fromtimestamp(at, UTC)
