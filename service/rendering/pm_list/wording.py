"""The figures and the wording that every rendering of the PM list shares."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from service.domain.maintenance.pm_list import DueRow, PmList, Stop, days_overdue, minutes, status
from service.domain.root_causes.life_cycle import RootCauseCheck

UNEXPLAINED = "unexplained"


@dataclass(frozen=True, slots=True)
class Counts:
    """How much a PM list holds: items by status, stops, and working time [min] without travel."""

    overdue: int
    due_today: int
    due_soon: int
    stops: int
    minutes: int


def counts(pm_list: PmList) -> Counts:
    """Count the items of this list; of a paged list, those of the page."""
    words = [status(days_overdue(row, stop.today)) for stop in pm_list.stops for row in stop.rows]
    return Counts(
        overdue=words.count("overdue"),
        due_today=words.count("due_today"),
        due_soon=words.count("due_soon"),
        stops=len(pm_list.stops),
        minutes=sum(minutes(pm_list, stop.rows) for stop in pm_list.stops),
    )


def how_late(overdue: int) -> str:
    """Say so many days overdue in words.

    >>> [how_late(days) for days in (12, 1, 0, -1, -5)]
    ['12 days overdue', '1 day overdue', 'due today', 'due tomorrow', 'due in 5 days']
    """
    if overdue > 0:
        return f"{number(overdue, 'day')} overdue"
    if overdue == 0:
        return "due today"
    return "due tomorrow" if overdue == -1 else f"due in {-overdue} days"


def number(amount: int, noun: str) -> str:
    """Put the noun into the number its amount asks for.

    >>> number(1, "stop"), number(12, "stop")
    ('1 stop', '12 stops')
    """
    return f"{amount} {noun}" if amount == 1 else f"{amount} {noun}s"


def duration(whole: int) -> str:
    """Say working time [min] in hours and minutes.

    >>> duration(45), duration(120), duration(680)
    ('45 min', '2 h', '11 h 20 min')
    """
    hours, rest = divmod(whole, 60)
    if not hours:
        return f"{rest} min"
    return f"{hours} h {rest} min" if rest else f"{hours} h"


def day_in_words(day: date) -> str:
    """Write a date so that nobody takes the month for the day.

    >>> day_in_words(date(2026, 6, 9))
    'Tue 9 Jun 2026'
    """
    return f"{day:%a} {day.day} {day:%b %Y}"


def days_in_words(stops: Iterable[Stop]) -> str:
    """Say the sites' today; sites far apart may not share it."""
    days = sorted({stop.today for stop in stops})
    return " and ".join(day_in_words(day) for day in days)


def machine(row: DueRow) -> str:
    """Maker and model, as far as they are known."""
    return " ".join(part for part in (row.maker, row.model) if part)


def root_cause_text(check: RootCauseCheck) -> str:
    """What keeps failing, the most probable cause, what to check and what to bring.

    >>> check = RootCauseCheck(1, "GU-7", "pump", "probable", "open", "bath_low", "Mark the level.", ("marker",))
    >>> root_cause_text(check)
    'pump keeps failing; probable cause: bath low. Mark the level. Bring marker.'
    """
    kind, cause = (word.replace("_", " ") for word in (check.component_kind, check.cause))
    named = "no cause known yet" if check.cause == UNEXPLAINED else f"probable cause: {cause}"
    bring = f" Bring {', '.join(check.bring)}." if check.bring else ""
    return f"{kind} keeps failing; {named}. {check.next_check}{bring}"


def brought(pm_list: PmList, stop: Stop) -> tuple[str, ...]:
    """What to carry in at this stop, each thing once, in the order in which it is needed."""
    return tuple(dict.fromkeys(thing for row in stop.rows for thing in pm_list.task(row).bring))


def cautions(pm_list: PmList, stop: Stop) -> tuple[str, ...]:
    """What can hurt at this stop, each sentence once."""
    return tuple(dict.fromkeys(caution for row in stop.rows for caution in pm_list.task(row).cautions))
