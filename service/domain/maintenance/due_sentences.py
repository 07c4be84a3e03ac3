"""The sentences that say why a task is due on its day."""

from collections.abc import Iterator
from datetime import date
from functools import lru_cache

from service.domain.maintenance.adaptation import Adapted
from service.domain.maintenance.calendar_days import WEEKDAYS
from service.domain.maintenance.tasks import Task
from service.domain.messages import gettext, joined, ngettext, term
from service.domain.record.care import Planned
from service.domain.record.pauses import Span
from service.domain.record.unit_log import Performed
from service.domain.record.visits import FOULING

CLOSED = tuple(f"{name}s" for name in WEEKDAYS)  # the days on which a site is closed, as terms


def last_done(task: Task, last: Performed, grade: str | None, days: int | None, adapted: Adapted) -> str:
    """What was done last, by whom if not by us, how it was found after how many days in service, and the interval."""
    done = _as_reported(last) if last.reported is not None else _recorded(last.on, last.result, last.by, grade, days)
    return gettext("{task}: {done}; {interval}.", task=term(task.name), done=done, interval=adapted.sentence)


@lru_cache(maxsize=8192)  # a fleet has few days beside its units
def _recorded(on: date, result: str, by: str, grade: str | None, days: int | None) -> str:
    first, *more = _as_recorded(on, result, by, grade, days)
    return joined((first, *more), ", ") if more else first


def _as_recorded(on: date, result: str, by: str, grade: str | None, days: int | None) -> Iterator[str]:
    day = on.isoformat()
    yield gettext("not needed on {day}", day=day) if result == "not_needed" else gettext("done on {day}", day=day)
    if grade and days is not None:
        yield ngettext("{found} after {count} day", "{found} after {count} days", days, found=term(FOULING[grade]))
    elif grade:
        yield term(FOULING[grade])
    if by != "us":
        yield gettext("reported by others")


def _as_reported(last: Performed) -> str:
    day = last.on.isoformat()
    if last.reported == day:
        return gettext("done on {day} as reported before our care", day=day)
    return gettext("done in {when} as reported before our care, counted from {day}", when=last.reported, day=day)


def never_done(task: Task, installed_on: date | None, adapted: Adapted, *, asked: bool) -> str:
    """What is known of a task that is not recorded; `asked`: it was reported that nobody knows when it was done."""
    return gettext(
        "{task}: {last}, {installed}; {interval}.",
        task=term(task.name),
        last=gettext("last done on an unknown day") if asked else gettext("not recorded yet"),
        installed=gettext("the installation date is not known")
        if installed_on is None
        else gettext("installed on {day}", day=installed_on.isoformat()),
        interval=adapted.sentence,
    )


def by_condition(forecast: str, wanted: date, outer: date) -> Iterator[str]:
    """A date by a forecast, and what limits it."""
    yield gettext("By its condition: {forecast}", forecast=forecast)
    if outer < wanted:
        yield gettext("The longest interval of the task ends on {day}, so it is due then.", day=outer.isoformat())


def first_date(planned: Planned) -> str:
    """The date by an onboarding plan."""
    return gettext(
        "The onboarding plan from {since} lays it on {day}.",
        since=planned.since.isoformat(),
        day=planned.on.isoformat(),
    )


def from_our_care(day: date, care_from: date | None) -> str:
    """A date that would lie before our care; `care_from` is None where that began with the registration."""
    if care_from is None:
        return gettext("The unit was registered on {day}, so it is due from then on.", day=day.isoformat())
    return gettext("Our care began on {day}, so it is due from then on.", day=day.isoformat())


def skipped(each: Performed, last_on: date | None) -> Iterator[str]:
    """The latest reason for not doing it, while it has not been done since."""
    if last_on is None or last_on < each.on:
        reason = (each.reason or "").strip().rstrip(".")
        shown = reason or gettext("no reason given")
        yield gettext("Not done on {day}: {reason}.", day=each.on.isoformat(), reason=shown)


def left_unfinished(day: date, outcome: str | None) -> str:
    """A visit that left the unit recovering or down."""
    shown = {"day": day.isoformat()}
    if outcome == "recovering":
        return gettext(
            "The visit on {day} left the unit still recovering, so a follow-up is due the next day.", **shown
        )
    return gettext("The visit on {day} left the unit down, so a follow-up is due the next day.", **shown)


def waiting_for_parts(day: date, promised: date | None, days: int) -> str:
    """A visit that left the unit waiting for parts; `days` count where no day was promised."""
    shown = {"day": day.isoformat()}
    if promised is not None:
        return gettext(
            "The visit on {day} left the unit waiting for parts, which are promised for {promised}.",
            promised=promised.isoformat(), **shown,
        )  # fmt: skip
    return ngettext(
        "The visit on {day} left the unit waiting for parts; no day was promised, so it is due after {count} day.",
        "The visit on {day} left the unit waiting for parts; no day was promised, so it is due after {count} days.",
        days, **shown,
    )  # fmt: skip


def moved(due_on: date, open_on: date) -> str:
    """A date that falls on a closed weekday."""
    if open_on == due_on:
        return gettext("The site is recorded as closed on every weekday, so the date stands.")
    shown = {
        "closed": term(CLOSED[due_on.weekday()]),
        "weekday": term(WEEKDAYS[open_on.weekday()]),
        "day": open_on.isoformat(),
    }
    if open_on < due_on:
        return gettext(
            "The site is closed on {closed}, so it is due on {weekday} {day}, the last open day before.", **shown
        )
    return gettext(
        "The site is closed on {closed}, so it is due on {weekday} {day}, the first open day after.", **shown
    )


def on_return(span: Span, back: date) -> str:
    """A date that falls into a pause or closure that ends."""
    shown = {"first": span.first.isoformat(), "last": span.last and span.last.isoformat()}
    out = (
        gettext("The site is closed from {first} until {last}", **shown)
        if span.of == "site"
        else gettext("The unit is out of service from {first} until {last}", **shown)
    )
    if span.last is not None and (back - span.last).days == 1:
        return gettext("{out}, so it is due on {day}, the day of return.", out=out, day=back.isoformat())
    return gettext("{out}, so it is due on {day}, the first open day after.", out=out, day=back.isoformat())
