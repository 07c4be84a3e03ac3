"""The PM list as CSV for a spreadsheet: one row for each item."""

import csv
import io
from datetime import date

from service.domain.maintenance.pm_list import DueRow, PmList, days_overdue, status
from service.rendering.csv_guard import guarded
from service.rendering.pm_list.wording import root_cause_text

HEADER = (
    "due_on", "days_overdue", "status", "site", "site_name", "customer", "customer_name", "phone", "address", "access",
    "time_zone", "today", "latitude", "longitude", "technician", "unit", "place", "maker", "model", "task", "task_name",
    "basis", "why", "interval", "last_done_on", "minutes", "bring", "cautions", "root_causes",
    "class", "call", "includes", "assigned_day",
)  # fmt: skip


def render(pm_list: PmList) -> bytes:
    """Write RFC 4180 with the names of the JSON as header; UTF-8 behind a byte order mark, which spreadsheets ask for.

    Text is quoted and guarded against formulas (see `csv_guard.guarded`: an apostrophe goes before the sign); numbers
    are not quoted. `days_overdue` [d] is negative before the date; `minutes` [min]; latitude and longitude [deg]. What
    is not known is empty. `bring`, `cautions` and `root_causes` are joined with " | ".
    """
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n", quoting=csv.QUOTE_NONNUMERIC)
    writer.writerow(HEADER)
    for stop in pm_list.stops:
        writer.writerows(map(_cell, _values(pm_list, row, stop.today)) for row in stop.rows)
    return text.getvalue().encode("utf-8-sig")


def _cell(value: str | float | None) -> str | float | None:
    return guarded(value) if isinstance(value, str) else value


def _values(pm_list: PmList, row: DueRow, today: date) -> tuple[str | float | None, ...]:
    task, overdue = pm_list.task(row), days_overdue(row, today)
    return (
        row.due_on, overdue, status(overdue, pm_list.horizon_days), row.site,
        row.site_name, row.customer, row.customer_name, row.phone,
        row.address, row.access, row.time_zone, today.isoformat(), row.latitude, row.longitude, row.technician,
        row.unit, row.place, row.maker, row.model, row.task, task.name, row.basis, row.why, row.interval,
        row.last_done_on, task.minutes, " | ".join(task.bring), " | ".join(task.cautions),
        " | ".join(map(root_cause_text, pm_list.root_causes.get(row.unit, ()))), row.work, row.call,
        " | ".join(row.includes), row.assigned_day,
    )  # fmt: skip
