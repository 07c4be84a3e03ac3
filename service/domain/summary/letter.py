"""The first page of a service summary: one verdict against the year before, three figures, and what we did."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from service.domain.summary import outages, pm
from service.domain.summary.document import Headline, HeadlineFigure, UnitSummary
from service.domain.summary.letter_lines import Action, YearBefore
from service.domain.summary.lines import MISSED, NEVER, OutageTotal, PmCount
from service.domain.summary.sentences import HOUR, counted
from service.domain.summary.unit_year import UnitYear

MOST_TO_DO = 4
DAY, LONG = 24.0, 48.0  # hours
MOST_NAMED = 3
WHY_REPLACED = {
    "failed": "because it failed", "precaution": "before it failed", "upgrade": "for a better one",
    "unknown": "for a reason that is not recorded",
}  # fmt: skip
SMALL = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")


def year_before(years: Sequence[UnitYear], year: int) -> YearBefore | None:
    """The figures of the year before; None where nothing was recorded in it."""
    there = [each for each in years if each.counts]
    visits = sum(len(each.visits) for each in there)
    without = outages.sum_totals([outages.total(each.outages) for each in there])
    if not visits and not without.outages:
        return None
    count = pm.pm_count(Counter(line.state for each in there for line in each.pm_lines))
    return YearBefore(
        year=year,
        units=len(there),
        visits=visits,
        breakdowns=without.outages,
        estimated=without.estimated,
        pm_on_time=count.on_time,
        pm_judged=count.judged,
        failed=sum(part.reason == "failed" for each in there for part in each.replaced),
    )


def headline(
    units: Sequence[UnitSummary],
    before: YearBefore | None,
    actions: Sequence[Action],
    *,
    days: tuple[date, date],
    totals: Mapping[str, Any],
) -> Headline:
    """How the year went, three figures, and the first things to do."""
    pm: PmCount = totals["pm"]
    without: OutageTotal = totals["without_cold_beer"]
    went = " ".join([*_breakdowns(units, before, days, without), *_maintenance(units, pm, days)])
    to_do = tuple(f"{', '.join(each.units)}: {each.what}" for each in actions)[:MOST_TO_DO]
    return Headline(
        how_it_went=went if units else f"No unit of yours was in our care in {days[0].year}.",
        figures=(_breakdown_figure(without, before), _cold_figure(without), _pm_figure(pm, before)),
        what_to_do=to_do,
    )


def in_words(count: int) -> str:
    """A small number as a word.

    >>> in_words(2), in_words(40)
    ('two', '40')
    """
    return SMALL[count] if count < len(SMALL) else str(count)


def _breakdowns(
    units: Sequence[UnitSummary], before: YearBefore | None, days: tuple[date, date], without: OutageTotal
) -> Iterator[str]:
    """One sentence: how many, against the year before, and where."""
    year = days[0].year
    period = f"in {year}" if _is_over(days) else f"in {year}, up to {days[1].isoformat()}"
    number = in_words(without.outages).capitalize()
    what = "breakdown" if without.outages == 1 else "breakdowns"
    yield f"{number} {what} {period}{_against(without.outages, before)}{_where(units, without.outages)}."


def _is_over(days: tuple[date, date]) -> bool:
    return days[1] == date(days[0].year, 12, 31)


def _against(count: int, before: YearBefore | None) -> str:
    if before is None:
        return ""
    more = count - before.breakdowns
    if more == 0:
        return f", as many as in {before.year}" if count else f", as in {before.year}"
    return f", {in_words(abs(more))} {'more' if more > 0 else 'fewer'} than in {before.year}"


def _where(units: Sequence[UnitSummary], count: int) -> str:
    """The unit that had most of them, where there is one."""
    ranked = sorted(units, key=lambda unit: (-unit.without_cold_beer.outages, unit.tag))
    if not count or len(units) == 1:
        return ""
    most, tag = ranked[0].without_cold_beer.outages, ranked[0].tag
    if most == count:
        return f"; {('it was at', 'both at')[count - 1] if count <= 2 else 'all at'} {tag}"
    return f"; {in_words(most)} of them at {tag}" if most > 1 and most > ranked[1].without_cold_beer.outages else ""


def _maintenance(units: Sequence[UnitSummary], pm: PmCount, days: tuple[date, date]) -> Iterator[str]:
    """What of our planned maintenance was not done at the end of the period, and since when."""
    overdue = [line for unit in units for line in unit.pm_lines if line.state in (MISSED, NEVER) and line.due_on]
    visited = any(each.ours for unit in units for each in unit.visits_by_kind)
    if not visited and units:
        yield "We made no visit."
    one, many, when = ("was", "were", f" at the end of {days[0].year}") if _is_over(days) else ("is", "are", "")
    oldest = min((line.due_on for line in overdue if line.due_on), default=None)
    if len(overdue) == 1:
        yield f"One maintenance task {one} overdue{when}, since {oldest}."
    elif overdue:
        number = in_words(len(overdue)).capitalize()
        yield f"{number} maintenance tasks {many} overdue{when}, the oldest since {oldest}."
    elif pm.judged:
        yield f"No maintenance task {one} overdue{when}."


def _breakdown_figure(without: OutageTotal, before: YearBefore | None) -> HeadlineFigure:
    more = [f"{before.breakdowns} in {before.year}"] if before else []
    more += [f"{without.carried_over} more began before"] if without.carried_over else []
    return HeadlineFigure(
        code="breakdowns",
        label="Breakdowns: times without cold beer",
        value=float(without.outages),
        text=str(without.outages),
        more=", ".join(more),
    )


def _cold_figure(without: OutageTotal) -> HeadlineFigure:
    """In hours up to two days, then in days."""
    most = without.estimated_high
    exact = most is not None and most.value == without.seen.value
    more = [] if exact else [f"{span_text(without.seen.value)} of it seen"]
    if most is None:
        more.append(f"the end of {without.end_unknown} not known")
    elif not exact:
        more.append(f"{span_text(most.value)} at the most")
    about = "" if exact else "about "
    known = without.estimated.value > 0 or most is not None
    return HeadlineFigure(
        code="hours_without_cold_beer",
        label="Without cold beer",
        value=without.estimated.value / HOUR,
        text=f"{about}{span_text(without.estimated.value)}" if known else "not known",
        more=", ".join(more),
    )


def span_text(seconds: float) -> str:
    """Hours up to two days, then days.

    >>> span_text(9 * 3600), span_text(60 * 3600)
    ('9.0 h', '2.5 days')
    """
    hours = seconds / HOUR
    if hours < LONG:
        return f"{hours:.1f} h"
    return f"{hours / DAY:.1f} days" if hours < 10 * DAY else f"{hours / DAY:.0f} days"


def _pm_figure(pm: PmCount, before: YearBefore | None) -> HeadlineFigure:
    more = [f"{pm.late} late"] if pm.late else []
    more += [f"{pm.missed + pm.never_recorded} not done"] if pm.missed + pm.never_recorded else []
    more += [f"in {before.year} {before.pm_on_time} of {before.pm_judged}"] if before and before.pm_judged else []
    return HeadlineFigure(
        code="pm_on_time",
        label="Maintenance done on time",
        value=pm.share_on_time,
        text=f"{pm.on_time} of {pm.judged}" if pm.judged else "none due",
        more=", ".join(more),
    )


def done(units: Sequence[UnitSummary]) -> tuple[str, ...]:
    """What we did in the year."""
    return (*_visited(units), *_maintained(units), *_replaced(units), *_resolved(units))


def _visited(units: Sequence[UnitSummary]) -> Iterator[str]:
    ours = [visit for unit in units for visit in unit.visits if visit.by == "us"]
    if ours:
        called = sum(visit.kind == "service_call" for visit in ours)
        because = f", {called} of them because you called" if called else ""
        yield f"{counted(len(ours), 'visit')} to {counted(len({visit.unit for visit in ours}), 'unit')}{because}."


def _maintained(units: Sequence[UnitSummary]) -> Iterator[str]:
    names = Counter(line.name for unit in units for line in unit.pm_lines if line.done_on is not None)
    if names:
        most = [f"{name.lower()} {times}" for name, times in names.most_common(MOST_NAMED)]
        others = " and others" if len(names) > MOST_NAMED else ""
        yield f"{counted(names.total(), 'maintenance task')} done: {', '.join(most)}{others}."


def _replaced(units: Sequence[UnitSummary]) -> Iterator[str]:
    for reason, text in WHY_REPLACED.items():
        parts = [part for unit in units for part in unit.replacements if part.reason == reason and part.by == "us"]
        if parts:
            kinds = Counter(part.kind.replace("_", " ") for part in parts)
            yield f"Replaced {text}: {', '.join(counted(times, kind) for kind, times in sorted(kinds.items()))}."


def _resolved(units: Sequence[UnitSummary]) -> Iterator[str]:
    for found in (each for unit in units for each in unit.root_causes if each.resolved_on is not None):
        verdict = f" ({found.verdict})" if found.verdict else ""
        what = f"the cause of its {found.kind.replace('_', ' ')} failures removed on {found.resolved_on}"
        yield f"{found.unit}: {what}{verdict}."
