"""The sentences that say why a task is due on its day."""

from datetime import date

from service.domain.maintenance.adaptation import Adapted
from service.domain.maintenance.calendar_days import WEEKDAYS
from service.domain.maintenance.tasks import Task
from service.domain.record.care import Planned
from service.domain.record.pauses import Span
from service.domain.record.unit_log import Performed
from service.domain.record.visits import FOULING


def last_done(task: Task, last: Performed, grade: str | None, days: int | None, adapted: Adapted) -> str:
    """What was done last, by whom if not by us, how it was found after how many days in service, and the interval."""
    if last.reported is not None:
        return f"{task.name}: {_as_reported(last)}; {adapted.sentence}."
    done = "not needed" if last.result == "not_needed" else "done"
    found = f", {FOULING[grade]}" if grade else ""
    after = f" after {days} day{'s' if days != 1 else ''}" if grade and days is not None else ""
    others = "" if last.by == "us" else ", reported by others"
    return f"{task.name}: {done} on {last.on.isoformat()}{found}{after}{others}; {adapted.sentence}."


def _as_reported(last: Performed) -> str:
    day = last.on.isoformat()
    if last.reported == day:
        return f"done on {day} as reported before our care"
    return f"done in {last.reported} as reported before our care, counted from {day}"


def never_done(task: Task, installed_on: date | None, adapted: Adapted, *, asked: bool) -> str:
    """What is known of a task that is not recorded; `asked`: it was reported that nobody knows when it was done."""
    installed = "the installation date is not known" if installed_on is None else f"installed on {installed_on}"
    last = "last done on an unknown day" if asked else "not recorded yet"
    return f"{task.name}: {last}, {installed}; {adapted.sentence}."


def by_condition(forecast: str, wanted: date, outer: date) -> str:
    """A date by a forecast, and what limits it."""
    limit = f" The longest interval of the task ends on {outer}, so it is due then." if outer < wanted else ""
    return f" By its condition: {forecast}{limit}"


def first_date(planned: Planned) -> str:
    """The date by an onboarding plan."""
    return f" The onboarding plan from {planned.since} lays it on {planned.on}."


def from_our_care(day: date, care_from: date | None) -> str:
    """A date that would lie before our care; `care_from` is None where that began with the registration."""
    began = "The unit was registered" if care_from is None else "Our care began"
    return f" {began} on {day}, so it is due from then on."


def skipped(each: Performed, last_on: date | None) -> str:
    """The latest reason for not doing it, while it has not been done since."""
    if last_on is not None and last_on >= each.on:
        return ""
    reason = (each.reason or "").strip().rstrip(".")
    return f" Not done on {each.on.isoformat()}: {reason or 'no reason given'}."


def moved(due_on: date, open_on: date, which: str) -> str:
    """A date that falls on a closed weekday."""
    if open_on == due_on:
        return " The site is recorded as closed on every weekday, so the date stands."
    day, instead = WEEKDAYS[due_on.weekday()], WEEKDAYS[open_on.weekday()]
    return f" The site is closed on {day}s, so it is due on {instead} {open_on.isoformat()}, {which}."


def on_return(span: Span, back: date) -> str:
    """A date that falls into a pause or closure that ends."""
    days = f"from {span.first} until {span.last}"
    out = f"The site is closed {days}" if span.of == "site" else f"The unit is out of service {days}"
    is_next = span.last is not None and (back - span.last).days == 1
    return f" {out}, so it is due on {back}, {'the day of return' if is_next else 'the first open day after'}."
