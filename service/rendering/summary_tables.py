"""The tables of a service summary with typed cells, for every rendering that shows tables."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from service.domain.quantities import DIMENSIONS, Quantity, show_quantity
from service.domain.summary.summary import ServiceSummary, UnitSummary

Cell = str | int | float | date | None
Row = tuple[Cell, ...]
_SIGNS = {"degC": "°C", "degF": "°F", "deltaC": "°C", "deltaF": "°F"}


@dataclass(frozen=True, slots=True)
class Table:
    """A table: a number stands in the unit that its column's head names; None is not known."""

    name: str
    heads: tuple[str, ...]
    rows: tuple[Row, ...]


def in_units(quantity: Quantity | None, system: str) -> float | None:
    """The number of a quantity in the usual unit of `system`, as the JSON shows it when nothing was typed."""
    return None if quantity is None else float(show_quantity(_plain(quantity), system)["value"])


def unit_of(dimension: str, system: str) -> str:
    """The usual unit of a dimension in `system`, as it is written in a head."""
    kind = DIMENSIONS[dimension]
    unit = kind.si if system == "si" else kind.us
    return _SIGNS.get(unit, unit)


def words(code: str | None) -> str | None:
    """A code as words.

    >>> words("service_call")
    'service call'
    """
    return None if code is None else code.replace("_", " ")


def hours(quantity: Quantity | None) -> float | None:
    """A duration in hours, to a tenth."""
    return None if quantity is None else round(quantity.value / 3600, 1)


def tables(summary: ServiceSummary) -> tuple[Table, ...]:
    """All tables, in the order of the document."""
    heat = unit_of("temperature", summary.units_shown)
    made = (
        ("Visits", ("Unit", "Date", "Kind", "By", "Known as", "Symptom", "Outcome", "Work"), _visits),
        ("PM", ("Unit", "Task", "Due", "Done", "State", "Days late", "As found"), _pm),
        ("Without cold beer", ("Unit", "Symptom", "At least h", "At most h", "Known", "Why"), _outages),
        ("Replacements", ("Unit", "Component", "Kind", "Date", "Reason", "Condition", "Known as", "By"), _replaced),
        ("Temperatures", ("Unit", "Date", "What", f"As found {heat}", f"As left {heat}"), _temperatures),
        (
            "Glycol",
            ("Unit", "Date", "Strength mass%", f"Freezes at {heat}", f"Coldest {heat}", f"Margin {heat}"),
            _glycol,
        ),
        ("Condenser", ("Unit", "Date", "As found", f"Split {heat}", f"Limit {heat}"), _condenser),
        ("Currents", ("Unit", "Component", "When", "Current A", "Rated A", "Share of rating %"), _currents),
        ("Advice", ("Unit", "What", "Reason", "Source"), _advice),
        ("Plan", ("Unit", "Task", "Due", "Why"), _plan),
    )
    return tuple(
        Table(name, heads, tuple(row for unit in summary.units for row in rows(unit, summary.units_shown)))
        for name, heads, rows in made
    )


def _plain(quantity: Quantity) -> Quantity:
    return Quantity(quantity.value, quantity.dimension, "")


def _visits(unit: UnitSummary, _: str) -> Iterator[Row]:
    for v in unit.visits:
        yield unit.tag, v.on, words(v.kind), v.by, v.evidence, words(v.symptom), words(v.outcome), v.work


def _pm(unit: UnitSummary, _: str) -> Iterator[Row]:
    for p in unit.pm_lines:
        yield unit.tag, p.name, p.due_on, p.done_on, words(p.state), p.days_late, p.as_found


def _outages(unit: UnitSummary, _: str) -> Iterator[Row]:
    for o in unit.outages:
        yield unit.tag, words(o.symptom), hours(o.at_least), hours(o.at_most), words(o.known), o.why


def _replaced(unit: UnitSummary, _: str) -> Iterator[Row]:
    for r in unit.replacements:
        yield unit.tag, r.component, words(r.kind), r.on, r.reason, words(r.condition), r.evidence, r.by


def _temperatures(unit: UnitSummary, system: str) -> Iterator[Row]:
    for t in (*unit.bath, *unit.beer):
        what = "bath" if t.tap is None else f"beer at tap {t.tap}"
        yield unit.tag, t.on, what, in_units(t.as_found, system), in_units(t.as_left, system)


def _glycol(unit: UnitSummary, system: str) -> Iterator[Row]:
    for g in unit.glycol.points:
        cold = (in_units(each, system) for each in (g.freezing_point, g.coldest, g.margin))
        yield unit.tag, g.on, in_units(g.strength, system), *cold


def _condenser(unit: UnitSummary, system: str) -> Iterator[Row]:
    for c in unit.condenser:
        yield unit.tag, c.on, c.as_found, in_units(c.split, system), in_units(c.split_limit, system)


def _currents(unit: UnitSummary, _: str) -> Iterator[Row]:
    for c in unit.currents:
        share = None if c.share is None else round(c.share.value * 100, 1)
        rated = None if c.rated is None else c.rated.value
        yield unit.tag, c.component, words(c.when), round(c.current.value, 3), rated, share


def _advice(unit: UnitSummary, _: str) -> Iterator[Row]:
    for a in unit.advice:
        yield unit.tag, a.what, a.reason, a.source


def _plan(unit: UnitSummary, _: str) -> Iterator[Row]:
    for p in unit.plan:
        for on in p.due_on:
            yield unit.tag, p.name, on, p.why
