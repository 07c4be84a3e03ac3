"""The fleet year as CSV: one table of rows at a time, or all of them in one zip."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import fields
from typing import Any

from service.domain.summary.fleet import FleetYear
from service.domain.summary.fleet_lines import (
    CauseLine,
    CostLine,
    Curve,
    CurveStep,
    DecisionLine,
    FleetRootCause,
    KindYear,
    ModelLine,
    MonthLine,
    PartLine,
    TaskLine,
    UnitLine,
)
from service.rendering.year.summary_csv import packed, quantities_of, written
from service.rendering.year.summary_json import to_json

Row = Mapping[str, Any]
ROWS: Mapping[str, tuple[type[Any], Callable[[FleetYear], Iterable[Any]]]] = {
    "customers": (CostLine, lambda year: year.customers),
    "sites": (CostLine, lambda year: year.sites),
    "units": (UnitLine, lambda year: year.units),
    "parts": (PartLine, lambda year: year.parts),
    "causes": (CauseLine, lambda year: year.causes),
    "tasks": (TaskLine, lambda year: year.tasks),
    "missed": (MonthLine, lambda year: year.missed),
    "models": (ModelLine, lambda year: year.models),
    "kinds": (KindYear, lambda year: year.kinds),
    "root_causes": (FleetRootCause, lambda year: year.root_causes),
    "decisions": (DecisionLine, lambda year: year.decisions),
}
CURVES = "curves"
OF_CURVE = tuple(field.name for field in fields(Curve) if field.name != "steps")
TABLES = (*ROWS, CURVES)
SYSTEM, ZONE = "si", "UTC"  # it has only hours and days, which are alike in every system and at every site


def render(year: FleetYear) -> bytes:
    """All tables in one zip, whose bytes are the same for the same year."""
    return packed((name, table(year, name)) for name in TABLES)


def table(year: FleetYear, name: str) -> bytes:
    """One table as RFC 4180, as in the service summaries; hours take two columns, number and unit."""
    names, measured = columns(name)
    return written(names, measured, rows(year, name))


def columns(name: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The columns of a table, and which of them are quantities."""
    if name == CURVES:
        return (*OF_CURVE, *(field.name for field in fields(CurveStep))), ()
    kind = ROWS[name][0]
    return tuple(each.name for each in fields(kind)), quantities_of(kind)  # type: ignore[arg-type]  # any class is hashable


def rows(year: FleetYear, name: str) -> Iterator[Row]:
    """The rows of a table as JSON has them; a curve takes a row a step."""
    if name == CURVES:
        for curve in year.curves:
            head = {each: getattr(curve, each) for each in OF_CURVE}
            yield from (head | to_json(step, SYSTEM, ZONE) for step in curve.steps)
        return
    yield from (to_json(line, SYSTEM, ZONE) for line in ROWS[name][1](year))
