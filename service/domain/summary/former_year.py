"""The year before in the letter: the few figures of each unit that this year is compared with."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from service.domain.record.failed import is_failure
from service.domain.summary import outage_totals, outages, pm
from service.domain.summary.letter_lines import YearBefore
from service.domain.summary.lines import OutageTotal
from service.domain.summary.unit_record import Part, in_service


@dataclass(frozen=True, slots=True, kw_only=True)
class FormerYear:
    """What one unit, or one stay of it, adds to the year before; `counts` as in `UnitYear`, `states` are of its PM.

    `since` is its first day there in our care.
    """

    unit: str
    counts: bool
    since: date
    visits: int
    failed: int
    without_cold_beer: OutageTotal
    states: Counter[str]


def former_year(part: Part) -> FormerYear:
    """One unit's figures."""
    cut, window = part.cut, part.window
    visits = sum(window.holds(visit.day) for visit in cut.visits)
    replaced = [each for each in cut.replaced if window.holds(each.on)]
    counts = in_service(cut.log, window) or bool(visits or replaced)
    lines = pm.pm_lines(cut, window, pm.standing(cut, window, worded=False), worded=False) if counts else ()
    return FormerYear(
        unit=cut.log.unit.tag,
        counts=counts,
        since=max(window.first, cut.care.care_from or window.first),
        visits=visits,
        failed=sum(map(is_failure, replaced)),
        without_cold_beer=outage_totals.total(outages.outages(cut.spells, window, cut.log)),
        states=Counter(line.state for line in lines),
    )


def year_before(years: Sequence[FormerYear], year: int) -> YearBefore | None:
    """The figures of the year before; None where nothing was recorded in it."""
    there = [each for each in years if each.counts]
    visits = sum(each.visits for each in there)
    without = outage_totals.sum_totals([each.without_cold_beer for each in there])
    if not visits and not without.outages:
        return None
    count = pm.pm_count(sum((each.states for each in there), Counter()))
    return YearBefore(
        year=year,
        since=min(each.since for each in there),
        units=len({each.unit for each in there}),
        visits=visits,
        breakdowns=without.outages,
        estimated=without.estimated,
        pm_on_time=count.on_time,
        pm_judged=count.judged,
        failed=sum(each.failed for each in there),
    )
