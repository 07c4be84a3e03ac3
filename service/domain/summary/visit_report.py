"""One visit on one page, to leave with the customer: found, done, left, what to watch, what comes next.

The internal note is not in it.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from service.domain.maintenance.due import FOLLOW_UP, DueItem
from service.domain.messages import gettext, joined, term
from service.domain.quantities import format_quantity
from service.domain.record.company import Letterhead
from service.domain.record.fleet import Site, Unit
from service.domain.record.imprecise_days import in_words, is_exact
from service.domain.record.visits import FOULING, Complaint, Reading, Replacement, TaskResult, Visit

MOST_NEXT = 4
LEFT = {
    "running": gettext("The unit is running."),
    "recovering": gettext("The unit is cooling down again and is not at its temperature yet."),
    "down": gettext("The unit is out of service."),
    "waiting_for_parts": gettext("The unit is waiting for parts."),
}


REPORTED = {
    "warm_pour": gettext("You reported warm beer."),
    "foaming": gettext("You reported foaming beer."),
    "no_flow": gettext("You reported that no beer flows."),
    "unit_dead": gettext("You reported that the unit does not run."),
    "noisy": gettext("You reported noise."),
    "leaking": gettext("You reported a leak."),
    "frozen": gettext("You reported ice."),
    "alarm": gettext("You reported an alarm."),
    "other": gettext("You reported something else."),
}
"""What the customer noticed, by symptom, as the customer would say it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitReport:
    """What the page says; each list is sentences. `others` names who came, where it was not us."""

    company: Letterhead
    customer: str
    site: str
    unit: str
    about: str
    visit: str
    time_zone: str
    arrived_at: datetime
    left_at: datetime | None
    technicians: tuple[str, ...]
    others: str | None
    found: tuple[str, ...]
    done: tuple[str, ...]
    left: tuple[str, ...]
    watch: tuple[str, ...]
    next: tuple[str, ...]
    signed_by: str | None
    units_shown: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Around:
    """What a report shows beside the visit: names by code, tasks by code, and what is due at the unit `today`."""

    company: Letterhead
    customer: str
    site: Site
    unit: Unit
    technicians: Mapping[str, str]
    tasks: Mapping[str, str]
    due: Sequence[DueItem]
    today: date
    complaint: Complaint | None
    system: str


def visit_report(visit: Visit, around: Around) -> VisitReport:
    """The report of a visit as it is recorded now."""
    codes = [code for code in (visit.technician, *visit.crew) if code]
    unit = around.unit
    return VisitReport(
        company=around.company,
        customer=around.customer,
        site=around.site.name,
        unit=unit.tag,
        about=", ".join(filter(None, (unit.place, unit.maker, unit.model))),
        visit=visit.id,
        time_zone=visit.time_zone,
        arrived_at=visit.arrived_at,
        left_at=visit.left_at,
        technicians=tuple(around.technicians.get(code, code) for code in codes),
        others=None if visit.by == "us" else visit.firm or gettext("others"),
        found=(*_complaint(around.complaint), *_readings(visit, "as_found", around.system), *_observations(visit)),
        done=tuple(_done(visit, around.tasks, around.unit)),
        left=tuple(_left(visit, around.system)),
        watch=(visit.advice,) if visit.advice else (),
        next=tuple(_next(visit, around)),
        signed_by=visit.signed_by,
        units_shown=around.system,
    )


def _complaint(complaint: Complaint | None) -> Iterator[str]:
    if complaint is not None:
        reported = REPORTED[complaint.symptom]
        yield (
            joined((reported, gettext("In your words: {words}", words=complaint.words)))
            if complaint.words
            else reported
        )


def _readings(visit: Visit, when: str, system: str) -> Iterator[str]:
    """The readings of one moment in one sentence."""
    shown = [_reading(each, system) for each in visit.readings if each.when == when]
    if shown:
        yield gettext("Measured: {readings}.", readings=joined(shown, ", "))


def _reading(each: Reading, system: str) -> str:
    name, value = term(each.quantity.removesuffix("_at_tap")), format_quantity(each.value, system)
    place = each.component or (gettext("tap {tap}", tap=each.tap) if each.tap else None)
    return joined((name if place is None else _at(name, place), value))


def _at(what: str, place: str) -> str:
    return gettext("{what} at {place}", what=what, place=place)


def _observations(visit: Visit) -> Iterator[str]:
    for each in visit.observations:
        is_other = each.code == "other"
        what = each.note or gettext("something else") if is_other else term(each.code)
        where = _at(what, each.component) if each.component else what
        if each.note and not is_other:
            yield gettext("Seen: {what}: {note}.", what=where, note=each.note)
        else:
            yield gettext("Seen: {what}.", what=where)
    for task in visit.tasks:
        if task.as_found:
            yield _as_found(task.task, term(FOULING[task.as_found]))


def _as_found(task: str, grade: str) -> str:
    if task.startswith("strainer"):
        return gettext("The strainer was {grade}.", grade=grade)
    return gettext("The condenser was {grade}.", grade=grade)


def _done(visit: Visit, names: Mapping[str, str], unit: Unit) -> Iterator[str]:
    if visit.work:
        yield visit.work
    yield from _tasks(visit.tasks, names)
    yield from (_replaced(each, unit) for each in visit.replacements)
    used = [f"{f'{each.count} ' if each.count else ''}{each.description}" for each in visit.parts_used]
    if used:
        yield gettext("Used: {parts}.", parts=", ".join(used))


def _tasks(tasks: Iterable[TaskResult], names: Mapping[str, str]) -> Iterator[str]:
    by_result: dict[str, list[TaskResult]] = {}
    for each in tasks:
        by_result.setdefault(each.result, []).append(each)
    listed = {result: joined((_name(each.task, names) for each in found), ", ") for result, found in by_result.items()}
    if "done" in listed:
        yield gettext("Maintenance: {tasks}.", tasks=listed["done"])
    if "not_needed" in listed:
        yield gettext("Found not needed: {tasks}.", tasks=listed["not_needed"])
    for each in by_result.get("not_done", ()):
        reason = each.reason or gettext("no reason recorded")
        yield gettext("Not done: {task} ({reason}).", task=_name(each.task, names), reason=reason)


def _name(task: str, names: Mapping[str, str]) -> str:
    """The name of a task within a sentence."""
    return term(names.get(task, task).lower())


def _replaced(part: Replacement, unit: Unit) -> str:
    what = _component(part.component, unit)
    if part.reason != "unknown":
        what = gettext("{part} ({reason})", part=what, reason=term(part.reason))
    new = " ".join(filter(None, (part.item.maker, part.item.model))) if part.item else ""
    if new:
        what = gettext("{part} with {item}", part=what, item=new)
    if part.on is not None and not is_exact(part.on):
        what = gettext("{part}, {day}", part=what, day=in_words(part.on))
    return gettext("Replaced {part}.", part=what)


def _component(code: str, unit: Unit) -> str:
    """What a component is, as a customer knows it; its code as well where the unit has several of the kind."""
    kind = next((each.kind for each in unit.components if each.code == code), None)
    if kind is None:
        return code
    several = sum(each.kind == kind for each in unit.components) > 1
    return gettext("{kind} {code}", kind=term(kind), code=code) if several else term(kind)


def _left(visit: Visit, system: str) -> Iterator[str]:
    yield LEFT.get(visit.outcome or "", gettext("How the unit was left is not recorded."))
    yield from _readings(visit, "as_left", system)


def _next(visit: Visit, around: Around) -> Iterator[str]:
    """Parts promised, then what comes due first."""
    if visit.parts_promised_on:
        yield gettext("Parts are promised for {day}.", day=visit.parts_promised_on)
    days: dict[date, list[str]] = {}
    for item in sorted(around.due, key=lambda each: (each.due_on, each.task)):
        name = gettext("a follow-up visit") if item.task == FOLLOW_UP else _name(item.task, around.tasks)
        days.setdefault(item.due_on, []).append(name)
    for day in list(days)[:MOST_NEXT]:
        tasks = joined(days[day], ", ")
        if day < around.today:
            yield gettext("Overdue since {day}: {tasks}.", day=day, tasks=tasks)
        else:
            yield gettext("By {day}: {tasks}.", day=day, tasks=tasks)
    if around.company.phone and visit.outcome == "down":
        yield gettext("Call us: {phone}.", phone=around.company.phone)
    elif around.company.phone:
        yield gettext("Call us if the beer pours warm: {phone}.", phone=around.company.phone)
