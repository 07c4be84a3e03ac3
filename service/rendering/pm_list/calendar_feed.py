"""The PM list as a calendar (RFC 5545) for subscription by calendar programs."""

from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

from service.domain.maintenance.pm_list import DueRow, PmList, days_overdue, status
from service.domain.maintenance.tasks import Task
from service.domain.root_causes.life_cycle import RootCauseCheck
from service.rendering.pm_list.wording import duration, how_late, machine, root_cause_text, technician, weekday_and_date

if TYPE_CHECKING:
    from icalendar import Calendar, Event, Timezone

PRODID = "-//glycol-fleet//PM list//EN"
REFRESH = timedelta(hours=1)

# RFC 5545 section 3.1 allows no control characters; tabs and line breaks are escaped (section 3.3.11).
_CONTROLS = dict.fromkeys([*range(0x09), 0x0B, 0x0C, *range(0x0E, 0x20), 0x7F])


def render(pm_list: PmList, *, stamp: datetime, name: str = "PM list") -> bytes:
    """Write one all-day event for each item: on its assigned day, else on its due date, and today when that is over.

    `stamp` is the instant of the list; `name` is what the calendar program calls the calendar.
    The same list and stamp give the same bytes.
    """
    calendar = _calendar(name)
    for stop in pm_list.stops:
        for row in stop.rows:
            calendar.add_component(_event(pm_list, row, today=stop.today, stamp=stamp.astimezone(UTC)))
    if not pm_list.stops:
        calendar.add_component(_utc())  # RFC 5545 section 3.6 asks for at least one component; this one shows nothing
    content: bytes = calendar.to_ical()
    return content


def _calendar(name: str) -> "Calendar":
    from icalendar import Calendar

    calendar = Calendar()
    calendar.add("prodid", PRODID)
    calendar.add("version", "2.0")
    calendar.add("name", _plain(name))  # RFC 7986 section 5.1; programs older than it read the X- names
    calendar.add("x-wr-calname", _plain(name))
    calendar.add("refresh-interval", REFRESH, parameters={"VALUE": "DURATION"})  # RFC 7986 section 5.7
    calendar.add("x-published-ttl", "PT1H")
    return calendar


def _event(pm_list: PmList, row: DueRow, *, today: date, stamp: datetime) -> "Event":
    from icalendar import Event

    task, overdue = pm_list.task(row), days_overdue(row, today)
    event = Event()
    event.add("uid", _plain(f"{_identity(row)}@glycol-fleet"))
    event.add("dtstamp", stamp)
    event.add("last-modified", stamp)
    event.add("sequence", _sequence(stamp))
    event.add("dtstart", max(today, date.fromisoformat(row.assigned_day or row.due_on)))
    event.add("summary", _plain(_title(row, task, technician(pm_list, row))))
    event.add("description", _plain(_description(row, task, overdue, pm_list.root_causes.get(row.unit, ()))))
    event.add("location", _plain(row.address or row.site_name))
    event.add("categories", ["PM", status(overdue, pm_list.horizon_days).replace("_", " ")])
    event.add("transp", "TRANSPARENT")  # a due item takes no time until it is planned
    if row.latitude is not None and row.longitude is not None:
        event.add("geo", (row.latitude, row.longitude))
    return event


def _identity(row: DueRow) -> str:
    """What stays of an item while its date and its reason change; a unit may have root causes of several kinds."""
    if row.call is not None:
        return f"call-{row.call}"
    return "-".join(filter(None, ("due", row.unit, row.task, row.kind)))


def _title(row: DueRow, task: Task, who: str | None) -> str:
    """The restaurant, the task with its unit, and who goes there."""
    return f"{row.site_name}: {' '.join(filter(None, (task.name, row.unit)))} ({who or 'unassigned'})"


def _sequence(stamp: datetime) -> int:
    """Number the revision so that a moved item replaces the former one, whether it moved forward or back.

    Days since 1970: it never falls, as RFC 5545 section 3.8.7.4 asks; within a day DTSTAMP decides (RFC 5546, 2.1.5).
    """
    return (stamp.date() - date(1970, 1, 1)).days


def _description(row: DueRow, task: Task, overdue: int, root_causes: Sequence[RootCauseCheck]) -> str:
    lines = [
        ("", row.why),
        ("Due: ", f"{weekday_and_date(date.fromisoformat(row.due_on))}, {how_late(overdue)}"),
        ("Assigned: ", row.assigned_day and weekday_and_date(date.fromisoformat(row.assigned_day))),
        ("Unit: ", ", ".join(filter(None, (row.unit, row.place, machine(row))))),
        ("Site: ", f"{row.site_name}, {row.customer_name}"),
        ("Time: ", duration(task.minutes)),
        ("Bring: ", ", ".join(task.bring)),
        ("Access: ", row.access),
        ("Phone: ", row.phone),
        *(("Check: ", root_cause_text(root_cause)) for root_cause in root_causes),
        *(("Caution: ", caution) for caution in task.cautions),
    ]
    return "\n".join(f"{label}{text}" for label, text in lines if text)


def _plain(text: str) -> str:
    return text.translate(_CONTROLS)


def _utc() -> "Timezone":
    from icalendar import Timezone, TimezoneStandard

    zone, standard = Timezone(), TimezoneStandard()
    zone.add("tzid", "Etc/UTC")
    standard.add("dtstart", datetime(1970, 1, 1))  # noqa: DTZ001 section 3.6.5 asks for local time here
    standard.add("tzoffsetfrom", timedelta(0))
    standard.add("tzoffsetto", timedelta(0))
    zone.add_component(standard)
    return zone
