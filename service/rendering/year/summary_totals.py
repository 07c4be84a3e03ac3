"""What a service summary counts over all units, as a table."""

from service.domain.messages import term
from service.domain.summary.document import ServiceSummary
from service.domain.summary.lines import PmCount, ReplacementCount, RootCauseCount
from service.rendering.words import gettext
from service.rendering.year.summary_rows import number_and_unit
from service.rendering.year.tables import Column, Row, Table, hours, words


def totals_table(summary: ServiceSummary) -> Table:
    """What is counted over all units; the share is of 1."""
    rows: list[Row] = []
    for each in summary.visits_by_kind:
        kind = words(each.kind)
        rows += [(gettext("Visits: {kind}, by us", kind=kind), each.ours)]
        rows += [(gettext("Visits: {kind}, by others", kind=kind), each.others)]
    rows += [
        (gettext("PM: {state}", state=words(name)), getattr(summary.pm, name)) for name in PmCount.__dataclass_fields__
    ]
    cold = summary.without_cold_beer
    rows += [(gettext("Outages"), cold.outages), (gettext("Outages carried over"), cold.carried_over)]
    rows += [(gettext("Outages whose beginning is not known"), cold.begin_unknown)]
    rows += [(gettext("Outages whose end is not known"), cold.end_unknown)]
    rows += [(gettext("Hours without cold beer, seen"), hours(cold.seen))]
    rows += [(gettext("Hours without cold beer, estimated"), hours(cold.estimated))]
    rows += [(gettext("Hours without cold beer, at most"), hours(cold.estimated_high))]
    rows += [
        (gettext("Replaced: {what}", what=words(name)), getattr(summary.replaced, name))
        for name in ReplacementCount.__dataclass_fields__
    ]
    rows += [(gettext("Visits"), summary.time_on_site.visits)]
    rows += [(gettext("Visits whose end is recorded"), summary.time_on_site.timed)]
    rows += [(gettext("Hours on site"), hours(summary.time_on_site.total))]
    moved = summary.refrigerant
    both = ((gettext("Refrigerant added"), moved.added), (gettext("Refrigerant recovered"), moved.recovered))
    for what, mass in both:
        number, unit = number_and_unit(mass, summary.units_shown)
        rows += [(f"{what}, {unit}" if unit else what, number)]
    rows += [
        (gettext("Root causes: {state}", state=words(name)), getattr(summary.root_causes, name))
        for name in RootCauseCount.__dataclass_fields__
    ]
    before = summary.year_before
    if before is not None:
        names = ("breakdowns", "visits", "pm_on_time", "pm_judged", "failed")
        rows += [(f"{before.year}: {words(name)}", getattr(before, name)) for name in names]
        estimated = gettext("hours without cold beer, estimated")
        rows += [(f"{before.year}: {estimated}", hours(before.estimated))]
    return Table(term("Totals"), (Column(term("Counted")), Column(term("Number"))), tuple(rows))
