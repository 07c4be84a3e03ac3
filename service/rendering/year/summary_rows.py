"""The tables of a service summary: which columns they have and what their rows hold."""

from collections.abc import Callable, Iterator
from dataclasses import replace

from service.domain import messages
from service.domain.quantities import Quantity, show_quantity
from service.domain.summary.document import ServiceSummary, UnitSummary
from service.rendering.words import gettext, worded
from service.rendering.year.summary_sentences import days_out
from service.rendering.year.tables import (
    Cell,
    Column,
    Row,
    Table,
    as_found,
    at_site,
    by_whom,
    hours,
    in_units,
    unit_of,
    words,
)

TO_DO = ("Who", "Units", "What", "Why", "By", "Because of")
WHO = {"you": messages.gettext("you decide"), "we": messages.gettext("we will do")}
Rows = Callable[[UnitSummary, ServiceSummary], Iterator[Row]]


def tables(summary: ServiceSummary) -> tuple[Table, ...]:
    """All tables of the workbook that have a row a record."""
    heat = unit_of("temperature", summary.units_shown)
    return tuple(
        Table(
            messages.term(name), _in(heat, columns), tuple(row for unit in summary.units for row in rows(unit, summary))
        )
        for name, columns, rows in _TABLES
    )


def _in(heat: str, columns: tuple[Column, ...]) -> tuple[Column, ...]:
    return tuple(
        replace(each, head=messages.term(each.head, heat=heat)) if "{heat}" in each.head else each for each in columns
    )


def units_table(summary: ServiceSummary) -> Table:
    """The units side by side: visits, PM, time without cold beer, replacements."""
    return Table(
        messages.term("Units"), _UNIT_COLUMNS, tuple(_unit(unit, summary.units_shown) for unit in summary.units)
    )


def _unit(unit: UnitSummary, system: str) -> Row:
    pm, cold, parts = unit.pm, unit.without_cold_beer, unit.replaced
    days = (*(on for _, on in unit.days), " ".join(days_out(unit)) or None)
    about = (unit.site_name, unit.place, unit.maker, unit.model, unit.time_zone, *days)
    others = sum(each.others for each in unit.visits_by_kind)
    visits = (sum(each.ours for each in unit.visits_by_kind) + others, others)
    share = None if pm.share_on_time is None else 100 * pm.share_on_time
    done = (pm.on_time, pm.late, pm.missed, pm.first, pm.never_recorded, share)
    without = (cold.outages, hours(cold.seen), hours(cold.estimated), hours(cold.estimated_high))
    moved = (*number_and_unit(unit.refrigerant.added, system), *number_and_unit(unit.refrigerant.recovered, system))
    site = (hours(unit.time_on_site.total), unit.time_on_site.timed)
    return unit.tag, *about, *visits, *site, *done, *without, parts.total, parts.failed, *moved


def _visits(unit: UnitSummary, _: ServiceSummary) -> Iterator[Row]:
    for v in unit.visits:
        arrived, left = at_site(v.arrived_at, unit), at_site(v.left_at, unit)
        how = (words(v.kind), by_whom(v.by, v.evidence), v.technician, words(v.symptom), at_site(v.reported_at, unit))
        said = (v.words, v.work, v.advice, v.id, v.attendance)
        yield (unit.tag, arrived, left, hours(v.time_on_site), *how, words(v.outcome), *said)


def _pm(unit: UnitSummary, _: ServiceSummary) -> Iterator[Row]:
    for p in unit.pm_lines:
        judged = (p.due_on, p.done_on, words(p.state), p.days_late, as_found(p.as_found))
        yield unit.tag, p.name, *judged, p.interval, p.why


def _outages(unit: UnitSummary, _: ServiceSummary) -> Iterator[Row]:
    for o in unit.outages:
        when = (at_site(each, unit) for each in (o.reported_at, o.earliest_at, o.started_at, o.restored_at))
        shown = (hours(o.seen), hours(o.estimated), hours(o.estimated_high))
        yield unit.tag, words(o.symptom), words(o.started_by), *when, *shown, words(o.ended), o.why, o.visit


def _replaced(unit: UnitSummary, _: ServiceSummary) -> Iterator[Row]:
    for r in unit.replacements:
        how = (words(r.reason), words(r.condition), by_whom(r.by, r.evidence))
        yield unit.tag, r.on, r.stated, r.component, words(r.kind), *how, r.note, r.visit


def _temperatures(unit: UnitSummary, summary: ServiceSummary) -> Iterator[Row]:
    system = summary.units_shown
    beer = ((gettext("beer at tap {tap}", tap=each.tap) if each.tap else gettext("beer"), each) for each in unit.beer)
    for what, t in (*((gettext("bath"), each) for each in unit.bath), *sorted(beer, key=lambda each: each[0])):
        yield unit.tag, what, t.on, in_units(t.as_found, system), in_units(t.as_left, system)


def _glycol(unit: UnitSummary, summary: ServiceSummary) -> Iterator[Row]:
    system, year = summary.units_shown, unit.glycol
    for g in year.points:
        shown = (g.strength, year.target, g.freezing_point, g.coldest, g.margin, year.least_margin)
        yield unit.tag, g.on, *(in_units(each, system) for each in shown), g.coldest_is


def _condenser(unit: UnitSummary, summary: ServiceSummary) -> Iterator[Row]:
    for c in unit.condenser:
        splits = (in_units(each, summary.units_shown) for each in (c.split, c.clean_split, c.split_limit))
        yield unit.tag, c.on, as_found(c.as_found), *splits


def _currents(unit: UnitSummary, _: ServiceSummary) -> Iterator[Row]:
    for c in sorted(unit.currents, key=lambda each: each.component):
        share = None if c.share is None else c.share.value * 100
        rated = None if c.rated is None else c.rated.value
        yield unit.tag, c.component, c.on, words(c.when), c.current.value, rated, share


def _refrigerant(unit: UnitSummary, summary: ServiceSummary) -> Iterator[Row]:
    for r in unit.refrigerant_moves:
        yield unit.tag, r.on, words(r.what), *number_and_unit(r.mass, summary.units_shown), r.visit


def _root_causes(unit: UnitSummary, _: ServiceSummary) -> Iterator[Row]:
    for c in unit.root_causes:
        said = (c.failed, c.think, c.do, c.ours)
        yield unit.tag, words(c.kind), c.first_seen_on, words(c.state), *said, c.decided_on, c.resolved_on, c.verdict


def _plan(unit: UnitSummary, _: ServiceSummary) -> Iterator[Row]:
    for p in unit.plan:
        for number, on in enumerate(p.due_on):
            yield unit.tag, p.name, p.interval, on, gettext("overdue") if p.overdue and number == 0 else None, p.why


def _readings(unit: UnitSummary, summary: ServiceSummary) -> Iterator[Row]:
    for r in unit.readings:
        value = number_and_unit(r.value, summary.units_shown)
        sample = number_and_unit(r.sample_temperature, summary.units_shown)
        place = (words(r.quantity), r.component, r.tap, words(r.when))
        yield (
            unit.tag,
            r.on,
            at_site(r.at, unit),
            *place,
            *value,
            *sample,
            words(r.evidence),
            r.value.entered or None,
            r.visit,
        )


def number_and_unit(quantity: Quantity | None, system: str) -> tuple[Cell, Cell]:
    """The number and the unit of measure as the JSON shows them, in two cells."""
    if quantity is None:
        return None, None
    shown = show_quantity(quantity, system)
    return shown["value"], shown["unit"]


def _kinds(unit: UnitSummary, _: ServiceSummary) -> Iterator[Row]:
    for k in unit.visits_by_kind:
        yield unit.tag, words(k.kind), k.ours, k.others


def _columns(*heads: str) -> tuple[Column, ...]:
    return tuple(Column(messages.term(head)) for head in heads)


def _numbers(*heads: str, digits: int = 1) -> tuple[Column, ...]:
    return tuple(Column(messages.term(head), digits=digits) for head in heads)


_UNIT_COLUMNS = (
    *_columns("Unit", "Site"),
    *_columns("Place", "Maker", "Model", "Time zone", "Installed", "Retired", "Moved in", "Moved out"),
    *_columns("Out of service"),
    *_numbers("Visits", digits=0),
    *_columns("Visits by others", "Hours on site", "Visits timed"),
    *_numbers("PM on time", "PM late", "PM missed", digits=0),
    *_columns("PM first", "PM never recorded"),
    *_numbers("On time %", "Outages", digits=0),
    *_numbers("Seen h", "Estimated h", "At most h"),
    *_numbers("Parts replaced", "Parts failed", digits=0),
    *_columns("Refrigerant added", "Unit of added", "Refrigerant recovered", "Unit of recovered"),
)
_TABLES: tuple[tuple[str, tuple[Column, ...], Rows], ...] = (
    (
        "Visits",
        (
            *_columns("Unit", "Arrived"),
            *_columns("Left"),
            *_numbers("Hours"),
            *_columns("Kind", "By", "Technician"),
            *_columns("Symptom", "Reported"),
            *_columns("Outcome"),
            *_columns("Complaint", "Work", "Advice", "Visit", "Arrival"),
        ),
        _visits,
    ),
    (
        "PM",
        (
            *_columns("Unit", "Task", "Due", "Done", "State"),
            *_numbers("Days late", digits=0),
            *_columns("As found", "Interval", "Why due then"),
        ),
        _pm,
    ),
    (
        "Without cold beer",
        (
            *_columns("Unit", "Symptom", "Noticed by", "Reported", "From at the earliest", "From", "Restored"),
            *_numbers("Seen h", "Estimated h", "At most h"),
            *_columns("Ended", "Why"),
            *_columns("Visit"),
        ),
        _outages,
    ),
    (
        "Replacements",
        (
            *_columns("Unit", "Date", "As reported", "Component", "Kind", "Reason", "Condition", "By", "Note"),
            *_columns("Visit"),
        ),
        _replaced,
    ),
    (
        "Temperatures",
        (*_columns("Unit", "What", "Date"), *_numbers("As found {heat}", "As left {heat}")),
        _temperatures,
    ),
    (
        "Glycol",
        (
            *_columns("Unit", "Date"),
            *_numbers("Strength mass%", "Target mass%", "Freezes at {heat}", "Coldest {heat}"),
            *_numbers("Margin {heat}", "Least margin {heat}"),
            *_columns("Coldest is"),
        ),
        _glycol,
    ),
    (
        "Condenser",
        (*_columns("Unit", "Date", "As found"), *_numbers("Split {heat}", "Clean split {heat}", "Limit {heat}")),
        _condenser,
    ),
    (
        "Currents",
        (
            *_columns("Unit", "Component", "Date", "When"),
            *_numbers("Current A", "Rated A", digits=2),
            *_numbers("Share of rating %", digits=0),
        ),
        _currents,
    ),
    (
        "Refrigerant",
        (*_columns("Unit", "Date", "What"), *_numbers("Mass"), *_columns("Unit of mass"), *_columns("Visit")),
        _refrigerant,
    ),
    (
        "Root causes",
        _columns(
            *("Unit", "Kind", "First seen", "State", "What failed", "What we think", "What we do", "Whose work"),
            *("Decided on", "Resolved on", "Since then"),
        ),
        _root_causes,
    ),
    ("Plan", _columns("Unit", "Task", "Interval", "Due", "Overdue", "Why"), _plan),
    ("Visits by kind", _columns("Unit", "Kind", "By us", "By others"), _kinds),
    (
        "Readings",
        _columns(
            *("Unit", "Date", "At", "Quantity", "Component", "Tap", "When", "Value", "Value unit"),
            *("Sample temperature", "Sample unit", "Known as", "As entered", "Visit"),
        ),
        _readings,
    ),
)


def actions_table(summary: ServiceSummary) -> Table:
    """What the customer decides and what we will do, the most pressing first."""
    rows = tuple(
        (worded(WHO[each.who]), ", ".join(each.units), each.what, " ".join(each.why), each.by, words(each.basis))
        for each in summary.actions
    )
    return Table(messages.term("To do"), _columns(*TO_DO), rows)
