"""The figures and texts that every form of the PM list shares."""

from collections.abc import Iterable
from datetime import date

from service.domain.maintenance.calendar_days import WEEKDAYS
from service.domain.maintenance.pm_list import DueRow, PmList, Stop
from service.domain.root_causes.life_cycle import RootCauseCheck

UNEXPLAINED = "unexplained"


def how_late(overdue: int) -> str:
    """The days overdue as text.

    >>> [how_late(days) for days in (12, 1, 0, -1, -5)]
    ['12 days overdue', '1 day overdue', 'due today', 'due tomorrow', 'due in 5 days']
    """
    if overdue > 0:
        return f"{number(overdue, 'day')} overdue"
    if overdue == 0:
        return "due today"
    return "due tomorrow" if overdue == -1 else f"due in {-overdue} days"


def number(amount: int, thing: str) -> str:
    """An amount with its thing, singular or plural.

    >>> number(1, "stop"), number(12, "stop")
    ('1 stop', '12 stops')
    """
    return f"{amount} {thing}" if amount == 1 else f"{amount} {thing}s"


def duration(whole: int) -> str:
    """Working time [min] in hours and minutes.

    >>> duration(45), duration(120), duration(680)
    ('45 min', '2 h', '11 h 20 min')
    """
    hours, rest = divmod(whole, 60)
    if not hours:
        return f"{rest} min"
    return f"{hours} h {rest} min" if rest else f"{hours} h"


def weekday_and_date(day: date) -> str:
    """A date (ISO 8601) with its weekday.

    >>> weekday_and_date(date(2026, 6, 9))
    'Tue 2026-06-09'
    """
    return f"{WEEKDAYS[day.weekday()][:3]} {day.isoformat()}"


def weekdays_and_dates(stops: Iterable[Stop]) -> str:
    """The sites' today; sites far apart may not share it."""
    days = sorted({stop.today for stop in stops})
    return " and ".join(weekday_and_date(day) for day in days)


CLASS_NAMES = {
    "down": "unit down",
    "call": "open call",
    "parts": "parts should be there",
    "follow_up": "follow-up",
    "root_cause": "dangerous root cause",
    "pm": "PM",
}


def machine(row: DueRow) -> str:
    """Maker and model, as far as they are known."""
    return " ".join(part for part in (row.maker, row.model) if part)


def root_cause_text(root_cause: RootCauseCheck) -> str:
    """What keeps failing, the most probable cause, what to check and what to bring.

    >>> check = RootCauseCheck(1, "GU-7", "pump", "probable", "open", "bath_low", "Mark the level.", ("marker",))
    >>> root_cause_text(check)
    'pump keeps failing; probable cause: bath low. Mark the level. Bring marker.'
    """
    kind, cause = (code.replace("_", " ") for code in (root_cause.component_kind, root_cause.cause))
    named = "no cause known yet" if root_cause.cause == UNEXPLAINED else f"probable cause: {cause}"
    bring = f" Bring {', '.join(root_cause.bring)}." if root_cause.bring else ""
    return f"{kind} keeps failing; {named}. {root_cause.next_check}{bring}"


def included(pm_list: PmList, row: DueRow) -> str:
    """The tasks that are done with this one, behind its name."""
    names = ", ".join(pm_list.tasks[code, ""].name.lower() for code in row.includes)
    return f" (with {names})" if names else ""


def brought(pm_list: PmList, stop: Stop) -> tuple[str, ...]:
    """What to bring to this stop, each thing once, in the order of need."""
    return tuple(dict.fromkeys(thing for row in stop.rows for thing in pm_list.task(row).bring))


def cautions(pm_list: PmList, stop: Stop) -> tuple[str, ...]:
    """The cautions of this stop, each once."""
    return tuple(dict.fromkeys(caution for row in stop.rows for caution in pm_list.task(row).cautions))
