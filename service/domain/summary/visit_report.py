"""One visit on one page, to leave with the customer: found, done, left, what to watch, what comes next.

The internal note is not in it.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from service.domain.maintenance.due import FOLLOW_UP, DueItem
from service.domain.quantities import format_quantity
from service.domain.record.company import Letterhead
from service.domain.record.fleet import Site, Unit
from service.domain.record.imprecise_days import in_words, is_exact
from service.domain.record.visits import FOULING, Complaint, Replacement, TaskResult, Visit

MOST_NEXT = 4
LEFT = {
    "running": "The unit is running.",
    "recovering": "The unit is cooling down again and is not at its temperature yet.",
    "down": "The unit is out of service.",
    "waiting_for_parts": "The unit is waiting for parts.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitReport:
    """What the page says; each list is sentences."""

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
    found: tuple[str, ...]
    done: tuple[str, ...]
    left: tuple[str, ...]
    watch: tuple[str, ...]
    next: tuple[str, ...]
    signed_by: str | None


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
        found=(*_complaint(around.complaint), *_readings(visit, "as_found", around.system), *_observations(visit)),
        done=tuple(_done(visit, around.tasks)),
        left=tuple(_left(visit, around.system)),
        watch=(visit.advice,) if visit.advice else (),
        next=tuple(_next(visit, around)),
        signed_by=visit.signed_by,
    )


def _complaint(complaint: Complaint | None) -> Iterator[str]:
    if complaint is not None:
        words = f": {complaint.words}" if complaint.words else "."
        yield f"You reported {_words(complaint.symptom)}{words}"


def _readings(visit: Visit, when: str, system: str) -> Iterator[str]:
    """The readings of one moment in one sentence."""
    shown = []
    for each in visit.readings:
        if each.when == when:
            place = each.component or (f"tap {each.tap}" if each.tap else "")
            name = _words(each.quantity).removesuffix(" at tap")
            shown.append(f"{name}{f' at {place}' if place else ''} {format_quantity(each.value, system)}")
    if shown:
        yield f"Measured: {', '.join(shown)}."


def _observations(visit: Visit) -> Iterator[str]:
    for each in visit.observations:
        what = each.note or "something else" if each.code == "other" else _words(each.code)
        where = f" at {each.component}" if each.component else ""
        note = f": {each.note}" if each.note and each.code != "other" else ""
        yield f"Seen: {what}{where}{note}."
    for task in visit.tasks:
        if task.as_found:
            part = "strainer" if task.task.startswith("strainer") else "condenser"
            yield f"The {part} was {FOULING[task.as_found]}."


def _done(visit: Visit, names: Mapping[str, str]) -> Iterator[str]:
    if visit.work:
        yield visit.work
    yield from _tasks(visit.tasks, names)
    yield from (_replaced(each) for each in visit.replacements)
    used = [f"{f'{each.count} ' if each.count else ''}{each.description}" for each in visit.parts_used]
    if used:
        yield f"Used: {', '.join(used)}."


def _tasks(tasks: Iterable[TaskResult], names: Mapping[str, str]) -> Iterator[str]:
    tasks = tuple(tasks)
    for result, head in (("done", "Maintenance"), ("not_needed", "Found not needed")):
        listed = [names.get(each.task, _words(each.task)).lower() for each in tasks if each.result == result]
        if listed:
            yield f"{head}: {', '.join(listed)}."
    for each in (task for task in tasks if task.result == "not_done"):
        name = names.get(each.task, _words(each.task)).lower()
        yield f"Not done: {name} ({each.reason or 'no reason recorded'})."


def _replaced(part: Replacement) -> str:
    why = "" if part.reason == "unknown" else f" ({_words(part.reason)})"
    new = " ".join(filter(None, (part.item.maker, part.item.model))) if part.item else ""
    about = "" if part.on is None or is_exact(part.on) else f", {in_words(part.on)}"
    return f"Replaced {part.component}{why}{f' with {new}' if new else ''}{about}."


def _left(visit: Visit, system: str) -> Iterator[str]:
    yield LEFT.get(visit.outcome or "", "How the unit was left is not recorded.")
    yield from _readings(visit, "as_left", system)


def _next(visit: Visit, around: Around) -> Iterator[str]:
    """Parts promised, then what comes due first."""
    if visit.parts_promised_on:
        yield f"Parts are promised for {visit.parts_promised_on}."
    days: dict[date, list[str]] = {}
    for item in sorted(around.due, key=lambda each: (each.due_on, each.task)):
        name = "a follow-up visit" if item.task == FOLLOW_UP else around.tasks.get(item.task, _words(item.task)).lower()
        days.setdefault(item.due_on, []).append(name)
    for day in list(days)[:MOST_NEXT]:
        yield f"{'Overdue since' if day < around.today else 'By'} {day}: {', '.join(days[day])}."
    if around.company.phone:
        yield f"Call us if the beer pours warm: {around.company.phone}."


def _words(code: str) -> str:
    return code.replace("_", " ")
