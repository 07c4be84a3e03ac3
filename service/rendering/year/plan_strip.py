"""Tables that the service summary has only on paper: next year month by month, and the units without trouble."""

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any

from service.domain.summary.document import ServiceSummary, UnitSummary
from service.domain.summary.sentences import share_text
from service.rendering.words import gettext, term, worded
from service.rendering.year.charts import MONTHS
from service.rendering.year.summary_sentences import days_out, measured, months_between

MOST_SITES = 6  # with a row a task; beyond them a row a site
Rows = list[list[str]]


def strips(summary: ServiceSummary) -> list[dict[str, Any]]:
    """A strip of twelve months a site, a row a task; of many sites one strip, a row a site."""
    sites: dict[str, list[UnitSummary]] = {}
    for unit in (each for each in summary.units if each.plan):
        sites.setdefault(unit.site_name, []).append(unit)
    months = months_between(summary.plan_from, summary.plan_to)
    if len(sites) > MOST_SITES:
        return [
            _strip(
                gettext("All sites"),
                term("Site"),
                [[name, *_row(units, months)] for name, units in sites.items()],
                months,
            )
        ]
    return [_strip(name, term("Task"), _by_task(units, months), months) for name, units in sites.items()]


def _by_task(units: Sequence[UnitSummary], months: Sequence[tuple[int, int]]) -> Rows:
    names = dict.fromkeys(line.name for unit in units for line in unit.plan)
    return [[name, *_row(units, months, name)] for name in names]


def _row(units: Sequence[UnitSummary], months: Sequence[tuple[int, int]], name: str | None = None) -> list[str]:
    """How many tasks in each month; those overdue stand in the first one, with a star."""
    count, overdue = Counter[tuple[int, int]](), 0
    for line in (line for unit in units for line in unit.plan if name in (None, line.name)):
        overdue += line.overdue
        count.update(divmod(day.year * 12 + day.month - 1, 12) for day in line.due_on[1 if line.overdue else 0 :])
    first = count[months[0]] + overdue
    cells = [f"{first}*" if overdue else str(first or "")]
    return [*cells, *(str(count[month] or "") for month in months[1:])]


def _strip(name: str, head: str, rows: Rows, months: Sequence[tuple[int, int]]) -> dict[str, Any]:
    names = [term(MONTHS[month]) for _, month in months]
    heads = [head, *(f"{names[number]} {year}" if not number or not month else names[number]
                     for number, (year, month) in enumerate(months))]  # fmt: skip
    return {
        "name": name,
        "heads": heads,
        "rows": rows,
        "numbers": [False] + [True] * len(months),
        "columns": ["auto"] + ["1fr"] * len(months),
    }


def _stay(unit: UnitSummary) -> Iterator[str]:
    """The days that it came and went, which tell two stays of one unit apart."""
    return (f"{term(what)} {on}" for what, on in unit.days if on and what != "installed")


def quiet_table(units: Sequence[UnitSummary], system: str) -> dict[str, Any] | None:
    """The units without breakdown, failure or root cause, one row each; None without any."""
    if not units:
        return None
    rows = [
        [
            ". ".join((", ".join(filter(None, (unit.tag, unit.site_name, unit.place, *_stay(unit)))), *days_out(unit))),
            str(sum(each.ours + each.others for each in unit.visits_by_kind)),
            worded(share_text(unit.pm)),
            measured(unit, system, drawn=False),
        ]
        for unit in units
    ]
    return {
        "name": gettext("Units without a breakdown or a failed part"),
        "heads": [gettext("Unit"), gettext("Visits"), gettext("Maintenance on time"), gettext("Measured")],
        "rows": rows,
        "numbers": [False, True, False, False],
        "columns": ["2fr", "auto", "auto", "3fr"],
    }
