"""A service summary as CSV: one table of rows at a time, or all of them in one zip."""

import csv
import io
from collections.abc import Callable, Iterable, Mapping
from dataclasses import fields
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from service.domain.summary.summary import (
    Advice,
    CondenserPoint,
    CurrentPoint,
    GlycolPoint,
    Outage,
    PlanLine,
    PmLine,
    ReadingLine,
    ReplacementLine,
    ServiceSummary,
    UnitSummary,
    VisitLine,
)
from service.rendering.csv_guard import guarded
from service.rendering.summary_json import told

Rows = Callable[[UnitSummary], Iterable[Any]]
TABLES: Mapping[str, tuple[type[Any], Rows]] = {
    "visits": (VisitLine, lambda unit: unit.visits),
    "readings": (ReadingLine, lambda unit: unit.readings),
    "pm": (PmLine, lambda unit: unit.pm_lines),
    "outages": (Outage, lambda unit: unit.outages),
    "replacements": (ReplacementLine, lambda unit: unit.replacements),
    "glycol": (GlycolPoint, lambda unit: unit.glycol.points),
    "condenser": (CondenserPoint, lambda unit: unit.condenser),
    "currents": (CurrentPoint, lambda unit: unit.currents),
    "advice": (Advice, lambda unit: unit.advice),
    "plan": (PlanLine, lambda unit: unit.plan),
}
EARLIEST = (1980, 1, 1, 0, 0, 0)  # the first instant a zip can tell; no clock goes into the bytes
READABLE = 0o644 << 16


def render(summary: ServiceSummary) -> bytes:
    """All tables in one zip, whose bytes are the same for the same summary."""
    packed = io.BytesIO()
    with ZipFile(packed, "w") as archive:
        for name in TABLES:
            entry = ZipInfo(f"{name}.csv", EARLIEST)
            entry.compress_type, entry.external_attr, entry.create_system = ZIP_DEFLATED, READABLE, 3
            archive.writestr(entry, table(summary, name))
    return packed.getvalue()


def table(summary: ServiceSummary, name: str) -> bytes:
    """One table as RFC 4180, UTF-8 behind a byte order mark; every row begins with its unit.

    A quantity takes two columns, its number and, under the same name with `_unit`, its unit. Text is quoted and
    guarded against formulas, several days are joined with " | ", what is not known is empty.
    """
    kind, rows_of = TABLES[name]
    names = [field.name for field in fields(kind) if field.name != "unit"]
    measured = [field.name for field in fields(kind) if "Quantity" in str(field.type)]
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n", quoting=csv.QUOTE_NONNUMERIC)
    writer.writerow(["unit", *(column for each in names for column in _columns(each, measured))])
    for unit in summary.units:
        for row in rows_of(unit):
            plain = told(row, summary.units_shown, unit.time_zone)
            cells = [cell for each in names for cell in _cells(plain[each], each in measured)]
            writer.writerow([guarded(unit.tag), *cells])
    return text.getvalue().encode("utf-8-sig")


def _columns(name: str, measured: list[str]) -> tuple[str, ...]:
    return (name, f"{name}_unit") if name in measured else (name,)


def _cells(value: Any, measured: bool) -> tuple[Any, ...]:
    if measured:
        return (None, None) if value is None else (value["value"], value["unit"])
    if isinstance(value, list):
        value = " | ".join(value)
    if isinstance(value, bool):
        value = "yes" if value else "no"
    return (guarded(value) if isinstance(value, str) else value,)
