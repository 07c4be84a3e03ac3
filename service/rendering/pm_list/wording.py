"""The figures and texts that every form of the PM list shares."""

import re
from collections.abc import Iterable, Sequence
from datetime import date

from service.domain.instants import at_site
from service.domain.maintenance.calendar_days import WEEKDAYS
from service.domain.maintenance.pm_list import DueRow, PmList, Stop
from service.domain.root_causes.life_cycle import RootCauseCheck

UNEXPLAINED = "unexplained"
NOBODY = "nobody yet"
NUMBER = re.compile(r"\s*(\+?[0-9 ().\-/]{3,})")  # what can be dialled of a phone number as people write it


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


def times_of(stop: Stop) -> str:
    """When a stop of a day that was laid out begins and ends, by the site's clock, or why it is left over."""
    if stop.times is None:
        return f"Left over. {stop.left}" if stop.left else ""
    zone_name = stop.site.time_zone
    arrives, leaves = (at_site(each, zone_name)[11:16] for each in (stop.times.arrives_at, stop.times.leaves_at))
    travel = stop.times.travel_minutes
    return f"{arrives} to {leaves}" + (f", after {number(travel, 'minute')} of travel" if travel else "")


def laid_out(pm_list: PmList) -> str:
    """The size of a day that was laid out, with what is done ahead of its date; empty for a list that was not."""
    day = pm_list.day
    if day is None or not day.drivers:
        return ""
    work, travel = (
        sum(part) for part in zip(*((each.work_minutes, each.travel_minutes) for each in day.drivers), strict=True)
    )
    ahead, left = sum(len(stop.forward) for stop in pm_list.stops), len(day.left_over)
    parts = [f"{duration(work)} of work and {duration(travel)} of travel"]
    parts += [f"{number(ahead, 'item')} of it ahead of the date"] if ahead else []
    parts += [f"{number(left, 'item')} left over"] if left else []
    return f"The day as laid out: {', '.join(parts)}."


def number(amount: int, thing: str) -> str:
    """An amount with its thing, singular or plural.

    >>> number(1, "stop"), number(12, "stop"), number(2, "entry"), number(2, "day")
    ('1 stop', '12 stops', '2 entries', '2 days')
    """
    if amount == 1:
        return f"{amount} {thing}"
    return f"{amount} {thing[:-1]}ies" if thing[-1:] == "y" and thing[-2:-1] not in "aeiou" else f"{amount} {thing}s"


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


def assigned_for(row: DueRow, today: date) -> str:
    """Another day than today for which an item is assigned, as text."""
    if row.assigned_day is None or row.assigned_day == today.isoformat():
        return ""
    return f"assigned for {weekday_and_date(date.fromisoformat(row.assigned_day))}"


def weekdays_and_dates(stops: Iterable[Stop]) -> str:
    """The sites' today; sites far apart may not share it."""
    days = sorted({stop.today for stop in stops})
    return " and ".join(weekday_and_date(day) for day in days)


CLASS_NAMES = {
    "down": "unit down",
    "call": "open call",
    "parts": "waiting for parts",
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


def technician(pm_list: PmList, row: DueRow) -> str | None:
    """The name of who goes there, None for nobody."""
    return None if row.technician is None else pm_list.technicians.get(row.technician, row.technician)


def technicians_at(pm_list: PmList, stop: Stop) -> str:
    """The names of those who go to this stop."""
    return ", ".join(dict.fromkeys(name for row in stop.rows if (name := technician(pm_list, row))))


def by_unit(rows: Sequence[DueRow]) -> list[tuple[DueRow, ...]]:
    """The items of each unit together, the unit with the worst item first."""
    units: dict[str, list[DueRow]] = {}
    for row in rows:
        units.setdefault(row.unit, []).append(row)
    return [tuple(own) for own in units.values()]


def brought(pm_list: PmList) -> list[tuple[str, tuple[str, ...]]]:
    """What to bring for the whole day, each thing once in the order of need; apart for each technician, by name.

    The name is empty where one person does all of it.
    """
    things: dict[str, dict[str, None]] = {}
    for stop in pm_list.stops:
        whose = {row.unit: technician(pm_list, row) or "" for row in reversed(stop.rows)}
        for row in stop.rows:
            own = things.setdefault(technician(pm_list, row) or "", {})
            own |= dict.fromkeys(pm_list.task(row).bring)
        for root_cause in pm_list.root_causes_at(stop):
            things[whose[root_cause.unit]] |= dict.fromkeys(root_cause.bring)
    found = [(name, tuple(own)) for name, own in things.items() if own]
    return [("", found[0][1])] if len(found) == 1 else [(name or NOBODY, own) for name, own in found]


def call_link(phone: str | None) -> str | None:
    """What dials a number when it is tapped (RFC 3966), None for a text that does not begin with one.

    >>> call_link("+1 (303) 555-0134 Ida"), call_link("ask at the bar")
    ('tel:+13035550134', None)
    """
    found = NUMBER.match(phone or "")
    digits = "" if found is None else re.sub(r"[^0-9+]", "", found[1])
    return f"tel:{digits}" if len(digits) > len("11") else None


def map_link(site: DueRow) -> str | None:
    """What shows the place on a map (RFC 5870), None without its coordinates."""
    if site.latitude is None or site.longitude is None:
        return None
    return f"geo:{site.latitude:.6f},{site.longitude:.6f}"


def numbered_cautions(pm_list: PmList) -> dict[str, int]:
    """The cautions of the whole list, each with its number."""
    found = dict.fromkeys(caution for stop in pm_list.stops for caution in cautions(pm_list, stop))
    return {caution: at for at, caution in enumerate(found, 1)}


def cautions(pm_list: PmList, stop: Stop) -> tuple[str, ...]:
    """The cautions of this stop, each once."""
    return tuple(dict.fromkeys(caution for row in stop.rows for caution in pm_list.task(row).cautions))
