"""The tables of the fleet year with typed cells: every column for the workbook, the main ones for paper."""

from collections.abc import Iterable
from dataclasses import dataclass, fields
from datetime import date
from typing import Any

from service.domain.messages import Message, term
from service.domain.quantities import Quantity
from service.domain.summary.fleet import FleetYear
from service.rendering.words import gettext
from service.rendering.year.fleet_csv import CURVES, ROWS
from service.rendering.year.tables import words

Cell = str | int | float | date | None
CODED = ("kind", "reason", "basis", "cause", "state", "verdict", "decided", "came_of_it", "tier")
HOUR = 3600.0


@dataclass(frozen=True, slots=True)
class Sheet:
    """A table; durations are hours, and a cell of None is not known."""

    name: Message
    heads: tuple[Message, ...]
    rows: tuple[tuple[Cell, ...], ...]


def sheet_of(name: str, heads: Iterable[str], rows: Iterable[tuple[Cell, ...]]) -> Sheet:
    """A table whose name and heads are terms."""
    return Sheet(term(name), tuple(map(term, heads)), tuple(rows))


TITLES = {
    "customers": "Customers",
    "sites": "Sites",
    "units": "Units",
    "parts": "Kinds of components",
    "causes": "Causes",
    "tasks": "PM by task",
    "missed": "PM missed by month",
    "models": "Makers and models",
    "kinds": "This year against before",
    "root_causes": "Root causes",
    "decisions": "Decisions of the year before",
    CURVES: "Replacements by age",
}


@dataclass(frozen=True, slots=True)
class Column:
    """A column on paper: its head, the field it shows, digits after the point, and what a number is multiplied by."""

    head: str
    field: str
    digits: int = 1
    times: float = 1.0


OF_CURVES = ("Kind", "Reason", "Units", "Age days", "Age years", "Watched", "Mean per unit", "Low", "High")
COSTS = (Column("Visits", "visits"), Column("To repair", "repair_visits"), Column("Hours on site", "hours_on_site"))
REPAIR = (Column("Hours to repair", "hours_to_repair"),)
COLD = (
    Column("Outage h, seen", "without_cold_beer_seen"),
    Column("estimated", "without_cold_beer_estimated"),
)
RATE = (Column("Failures per unit-year", "rate", 2), Column("lower limit", "low", 2), Column("upper limit", "high", 2))
ON_PAPER: dict[str, tuple[Column, ...]] = {
    "customers": (
        Column("Customer", "code"), Column("Name", "name"), Column("Units", "units"), *REPAIR, *COSTS,
        Column("Failed", "failed"), *COLD,
    ),
    "sites": (
        Column("Site", "code"), Column("Name", "name"), Column("Units", "units"), *REPAIR, *COSTS,
        Column("Failed", "failed"), *COLD,
    ),
    "units": (
        Column("Unit", "unit"), Column("Site", "site"), Column("Maker", "maker"), Column("Model", "model"), *REPAIR,
        *COSTS, Column("Failed", "failed"), Column("PM late", "pm_late"), Column("PM missed", "pm_missed"), *COLD,
    ),
    "parts": (
        Column("Kind", "kind"), Column("Units", "units"), *COSTS, Column("Failed", "failed"),
        Column("Precaution", "precaution"), Column("Upgrade", "upgrade"), Column("Unknown", "unknown"),
    ),
    "causes": (Column("Recorded as", "basis"), Column("Cause", "cause"), Column("Times", "times"), *COSTS),
    "tasks": (
        Column("Task", "name"), Column("On time", "on_time"), Column("Late", "late"), Column("Missed", "missed"),
        Column("First", "first"), Column("Never recorded", "never_recorded"),
        Column("On time %", "share_on_time", 0, 100.0),
    ),
    "missed": (Column("Month", "month"), Column("Missed", "missed")),
    "models": (
        Column("Maker", "maker"), Column("Model", "model"), Column("Units", "units"),
        Column("Unit-years", "unit_years"), Column("Failed", "failed"), *RATE,
    ),
    "kinds": (
        Column("Kind", "kind"), Column("Failed", "failed"), *RATE, Column("Failed before", "failed_before"),
        Column("per unit-year before", "rate_before", 2), Column("Chance", "chance", 3), Column("Verdict", "verdict"),
    ),
    "root_causes": (
        Column("Unit", "unit"), Column("Kind", "kind"), Column("Tier", "tier"), Column("Cause", "cause"),
        Column("Chance alone %", "probability_of_chance", 1, 100.0), Column("State", "state"),
        Column("Resolved", "resolved_on"), Column("Failed before", "failed_before"), Column("after", "failed_after"),
        Column("Chance", "chance", 3), Column("Verdict", "verdict"),
    ),
    "decisions": (
        Column("Unit", "unit"), Column("Kind", "kind"), Column("Decided", "decided"), Column("On", "decided_on"),
        Column("By", "decided_by"), Column("Failed before", "failed_before"), Column("in years", "years_before", 1),
        Column("since", "failed_since"), Column("in years", "years_since", 1), Column("Came of it", "came_of_it"),
        Column("Chance", "chance", 3), Column("Verdict", "verdict"),
    ),
}  # fmt: skip


def whole(year: FleetYear) -> tuple[Sheet, ...]:
    """Every table with every column, for the workbook."""
    made = [_sheet(year, name) for name in ROWS]
    return (*made, _curves(year))


def on_paper(year: FleetYear, name: str) -> Sheet:
    """One table with the columns that paper has room for."""
    columns = ON_PAPER[name]
    rows = tuple(tuple(_printed(line, column) for column in columns) for line in ROWS[name][1](year))
    return sheet_of(TITLES[name], (column.head for column in columns), rows)


def _printed(line: Any, column: Column) -> Cell:
    cell = _cell(line, column.field)
    return f"{cell * column.times:.{column.digits}f}" if isinstance(cell, float) else cell


def _names(name: str) -> tuple[str, ...]:
    return tuple(field.name for field in fields(ROWS[name][0]))


def _head(name: str) -> str:
    timed = name.startswith(("hours_", "without_cold_beer"))
    return f"{name.replace('_', ' ').capitalize()}{' h' if timed else ''}"


def _sheet(year: FleetYear, name: str) -> Sheet:
    names = _names(name)
    rows = tuple(tuple(_cell(line, each) for each in names) for line in ROWS[name][1](year))
    return sheet_of(TITLES[name], map(_head, names), rows)


def _cell(line: Any, field: str) -> Cell:
    value = getattr(line, field)
    if isinstance(value, Quantity):
        return value.value / HOUR
    if isinstance(value, bool):
        return gettext("yes") if value else gettext("no")
    cell: Cell = words(value) if field in CODED else value
    return cell


def _curves(year: FleetYear) -> Sheet:
    rows = tuple(
        (
            words(curve.kind), words(curve.reason), curve.units, step.age_days, step.age_days / 365.25, step.watched,
            step.mean, step.low, step.high,
        )
        for curve in year.curves
        for step in curve.steps
    )  # fmt: skip
    return sheet_of(TITLES[CURVES], OF_CURVES, rows)
