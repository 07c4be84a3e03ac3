"""A service summary as CSV: one table of rows at a time, or all of them in one zip."""

import csv
import io
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import fields
from datetime import date
from functools import cache
from typing import Any, get_args, get_type_hints
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from service.domain.quantities import Quantity
from service.domain.summary.document import ServiceSummary, UnitSummary
from service.domain.summary.letter_lines import Action, CustomerRootCause
from service.domain.summary.lines import (
    Outage,
    PlanLine,
    PmLine,
    ReadingLine,
    RefrigerantMove,
    ReplacementLine,
    VisitLine,
)
from service.domain.summary.measured import BeforeAfter, CondenserPoint, CurrentPoint, GlycolPoint
from service.rendering.csv_guard import guarded
from service.rendering.words import ENGLISH, gettext, language, term
from service.rendering.year.summary_json import to_json
from service.rendering.year.summary_rows import units_table
from service.rendering.year.summary_totals import totals_table
from service.rendering.year.tables import Cell

Rows = Callable[[UnitSummary], Iterable[Any]]
TABLES: Mapping[str, tuple[type[Any], Rows]] = {
    "visits": (VisitLine, lambda unit: unit.visits),
    "readings": (ReadingLine, lambda unit: unit.readings),
    "pm": (PmLine, lambda unit: unit.pm_lines),
    "outages": (Outage, lambda unit: unit.outages),
    "replacements": (ReplacementLine, lambda unit: unit.replacements),
    "bath": (BeforeAfter, lambda unit: unit.bath),
    "beer": (BeforeAfter, lambda unit: unit.beer),
    "glycol": (GlycolPoint, lambda unit: unit.glycol.points),
    "condenser": (CondenserPoint, lambda unit: unit.condenser),
    "currents": (CurrentPoint, lambda unit: unit.currents),
    "refrigerant": (RefrigerantMove, lambda unit: unit.refrigerant_moves),
    "root_causes": (CustomerRootCause, lambda unit: unit.root_causes),
    "actions": (Action, lambda unit: unit.actions),
    "plan": (PlanLine, lambda unit: unit.plan),
}
EARLIEST = (1980, 1, 1, 0, 0, 0)  # the first instant a zip can hold; no clock goes into the bytes
READABLE = 0o644 << 16


WHOLE = ("units", "totals", "gaps", "definitions")  # tables about all units


def render(summary: ServiceSummary) -> bytes:
    """All tables in one zip, whose bytes are the same for the same summary."""
    return packed((name, table(summary, name)) for name in (*WHOLE, *TABLES))


def packed(tables: Iterable[tuple[str, bytes]]) -> bytes:
    """Tables in one zip."""
    whole = io.BytesIO()
    with ZipFile(whole, "w") as archive:
        for name, written in tables:
            entry = ZipInfo(f"{name}.csv", EARLIEST)
            entry.compress_type, entry.external_attr, entry.create_system = ZIP_DEFLATED, READABLE, 3
            archive.writestr(entry, written)
    return whole.getvalue()


def table(summary: ServiceSummary, name: str) -> bytes:
    """One table as RFC 4180, UTF-8 behind a byte order mark; every row begins with its unit.

    A quantity takes two columns, its number and, under the same name with `_unit`, its unit. Text is quoted and
    guarded against formulas, several days or causes are joined with " | ", what is not known is empty.
    """
    if name in WHOLE:
        return _of_all(summary, name)
    kind, rows_of = TABLES[name]
    rows = (
        to_json(row, summary.units_shown, unit.time_zone) | {"unit": unit.tag}
        for unit in summary.units
        for row in rows_of(unit)
    )
    names = [field.name for field in fields(kind) if field.name != "unit"]
    return written(["unit", *names], quantities_of(kind), rows)  # type: ignore[arg-type]  # any class is hashable


def _of_all(summary: ServiceSummary, name: str) -> bytes:
    """The units side by side, what is counted over them, what is not known, and what the terms mean."""
    if name == "gaps":
        gaps = (*summary.gaps, *(gap for unit in summary.units for gap in unit.gaps))
        return written(("unit", "sentence"), (), ({"unit": gap.unit, "sentence": gap.sentence} for gap in gaps))
    if name == "definitions":
        return written(("term", "text"), (), ({"term": each.term, "text": each.text} for each in summary.definitions))
    whole = totals_table(summary) if name == "totals" else units_table(summary)
    names = [head.lower().replace(" ", "_") for head in whole.heads]
    rows = (map(_plain, row) for row in whole.rows)
    return written(names, (), (dict(zip(names, row, strict=True)) for row in rows))


def _plain(cell: Cell) -> Any:
    """A day as JSON has it, a number to the six digits that JSON has of a quantity."""
    if isinstance(cell, date):
        return cell.isoformat()
    return float(f"{cell:.6g}") if isinstance(cell, float) else cell


@cache
def quantities_of(kind: type[Any]) -> tuple[str, ...]:
    """The fields of a row that are quantities, or may be."""
    return tuple(name for name, hint in get_type_hints(kind).items() if Quantity in (hint, *get_args(hint)))


def written(names: Sequence[str], measured: Sequence[str], rows: Iterable[Mapping[str, Any]]) -> bytes:
    """Rows of JSON values as CSV, those named `measured` being quantities."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n", quoting=csv.QUOTE_NONNUMERIC)
    writer.writerow([column for each in names for column in _columns(each, measured)])
    for row in rows:
        writer.writerow([cell for each in names for cell in _cells(row[each], each in measured)])
    return text.getvalue().encode("utf-8-sig")


def _columns(name: str, measured: Sequence[str]) -> tuple[str, ...]:
    """In English the names of the fields, in other languages their words."""
    if language() == ENGLISH:
        return (name, f"{name}_unit") if name in measured else (name,)
    head = term(name)
    return (head, gettext("{column}, unit", column=head)) if name in measured else (head,)


def _cells(value: Any, measured: bool) -> tuple[Any, ...]:
    if measured:
        return (None, None) if value is None else (value["value"], value["unit"])
    if isinstance(value, list):
        value = " | ".join(each if isinstance(each, str) else " ".join(map(str, each.values())) for each in value)
    if isinstance(value, bool):
        value = gettext("yes") if value else gettext("no")
    return (guarded(value) if isinstance(value, str) else value,)
