"""What a service summary counts over all units, as a table."""

from service.domain.summary.document import ServiceSummary
from service.domain.summary.lines import PmCount, ReplacementCount, RootCauseCount
from service.rendering.year.summary_rows import number_and_unit
from service.rendering.year.tables import Column, Row, Table, hours, words


def totals_table(summary: ServiceSummary) -> Table:
    """What is counted over all units; the share is of 1."""
    rows: list[Row] = []
    for each in summary.visits_by_kind:
        rows += [
            (f"Visits: {words(each.kind)}, {by}", n) for by, n in (("by us", each.ours), ("by others", each.others))
        ]
    rows += [(f"PM: {words(name)}", getattr(summary.pm, name)) for name in PmCount.__dataclass_fields__]
    cold = summary.without_cold_beer
    rows += [("Outages", cold.outages), ("Outages carried over", cold.carried_over)]
    rows += [("Outages whose end is not known", cold.end_unknown), ("Hours without cold beer, seen", hours(cold.seen))]
    rows += [("Hours without cold beer, estimated", hours(cold.estimated))]
    rows += [("Hours without cold beer, at most", hours(cold.estimated_high))]
    rows += [(f"Replaced: {name}", getattr(summary.replaced, name)) for name in ReplacementCount.__dataclass_fields__]
    rows += [("Visits", summary.time_on_site.visits), ("Visits whose end is recorded", summary.time_on_site.timed)]
    rows += [("Hours on site", hours(summary.time_on_site.total))]
    both = (("added", summary.refrigerant.added), ("recovered", summary.refrigerant.recovered))
    for what, mass in both:
        number, unit = number_and_unit(mass, summary.units_shown)
        rows += [(f"Refrigerant {what}{f', {unit}' if unit else ''}", number)]
    rows += [
        (f"Root causes: {name}", getattr(summary.root_causes, name)) for name in RootCauseCount.__dataclass_fields__
    ]
    before = summary.year_before
    if before is not None:
        names = ("breakdowns", "visits", "pm_on_time", "pm_judged", "failed")
        rows += [(f"{before.year}: {words(name)}", getattr(before, name)) for name in names]
        rows += [(f"{before.year}: hours without cold beer, estimated", hours(before.estimated))]
    return Table("Totals", (Column("Counted"), Column("Number")), tuple(rows))
