"""The first page of a service summary: one verdict against the year before, and three figures."""

from collections import Counter
from collections.abc import Container, Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from service.domain.messages import gettext, joined, ngettext, term
from service.domain.summary import counts, spans
from service.domain.summary.document import Headline, HeadlineFigure, UnitSummary
from service.domain.summary.letter_lines import Action, YearBefore
from service.domain.summary.lines import MISSED, NEVER, OutageTotal, PmCount
from service.domain.summary.sentences import nobody_saw

MOST_TO_DO = 4
SMALL = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")


def headline(
    units: Sequence[UnitSummary],
    before: YearBefore | None,
    actions: Sequence[Action],
    *,
    days: tuple[date, date],
    totals: Mapping[str, Any],
    left: Container[str] = (),
) -> Headline:
    """How the year went, three figures, and the first things to do; the units that have `left` are known by tag."""
    pm: PmCount = totals["pm"]
    without: OutageTotal = totals["without_cold_beer"]
    unseen = nobody_saw(without, totals["visits_by_kind"])
    broke = _none_reported(days) if unseen else _breakdowns(units, before, days, without)
    went = joined([broke, *_maintenance(units, pm, days, left)])
    to_do = tuple(joined((", ".join(each.units), each.what), ": ") for each in actions)[:MOST_TO_DO]
    return Headline(
        how_it_went=went if units else gettext("No unit of yours was in our care in {year}.", year=days[0].year),
        figures=(
            _breakdown_figure(units, without, before, unseen),
            _cold_figure(without, unseen, len({unit.tag for unit in units})),
            _pm_figure(pm, before),
        ),
        what_to_do=to_do,
    )


def in_words(count: int) -> str:
    """A small number as a word.

    >>> in_words(2), in_words(40)
    ('two', '40')
    """
    return term(SMALL[count]) if count < len(SMALL) else str(count)


def _first_in_words(count: int) -> str:
    """The same at the beginning of a sentence."""
    return term(SMALL[count].capitalize()) if count < len(SMALL) else str(count)


def _breakdowns(
    units: Sequence[UnitSummary], before: YearBefore | None, days: tuple[date, date], without: OutageTotal
) -> str:
    """One sentence: how many, against the year before, and where."""
    number = without.outages
    if not number and without.carried_over:
        return gettext("No new breakdown {period}{against}.", period=_period(days), against=_against(0, before, days))
    return ngettext(
        "{number} breakdown {period}{against}{where}.",
        "{number} breakdowns {period}{against}{where}.",
        number,
        number=_first_in_words(number),
        period=_period(days),
        against=_against(number, before, days),
        where=_where(units, number),
    )


def _none_reported(days: tuple[date, date]) -> str:
    return gettext("No breakdown was reported to us {period}.", period=_period(days))


def _period(days: tuple[date, date]) -> str:
    year = days[0].year
    if _is_over(days):
        return gettext("in {year}", year=year)
    return gettext("in {year}, up to {day}", year=year, day=days[1].isoformat())


def _is_over(days: tuple[date, date]) -> bool:
    return days[1] == date(days[0].year, 12, 31)


def _against(count: int, before: YearBefore | None, days: tuple[date, date]) -> str:
    """Fewer or more is said of two whole years alone."""
    if before is None:
        return ""
    more = count - before.breakdowns
    year, number = before.year, in_words(before.breakdowns) if before.breakdowns else gettext("none")
    if before.since > date(year, 1, 1):
        since = before.since.isoformat()
        return gettext(" ({number} in {year}, from {day} on)", number=number, year=year, day=since)
    if not _is_over(days):
        return gettext(" ({number} in the whole of {year})", number=number, year=year)
    if more == 0:
        return gettext(", as many as in {year}", year=year) if count else gettext(", as in {year}", year=year)
    if more > 0:
        return gettext(", {number} more than in {year}", number=in_words(more), year=year)
    return gettext(", {number} fewer than in {year}", number=in_words(-more), year=year)


def _where(units: Sequence[UnitSummary], count: int) -> str:
    """The unit that had most of them, where there is one."""
    at: Counter[str] = Counter()
    for unit in units:
        at[unit.tag] += unit.without_cold_beer.outages
    if not count or len(at) == 1:
        return ""
    (tag, most), (_, next_most) = sorted(at.items(), key=lambda each: (-each[1], each[0]))[:2]
    if most == count == 1:
        return gettext("; it was at {unit}", unit=tag)
    if most == count:
        return gettext("; both at {unit}", unit=tag) if count == 2 else gettext("; all at {unit}", unit=tag)
    leads = most > 1 and most > next_most
    return gettext("; {number} of them at {unit}", number=in_words(most), unit=tag) if leads else ""


def _maintenance(
    units: Sequence[UnitSummary], pm: PmCount, days: tuple[date, date], left: Container[str]
) -> Iterator[str]:
    """What of our planned maintenance was not done at the end of the period, and since when.

    At units that had left by then nothing is overdue any more: what was not done there is counted apart.
    """
    undone = [line for unit in units for line in unit.pm_lines if line.state in (MISSED, NEVER) and line.due_on]
    overdue = [line for line in undone if line.unit not in left]
    visited = any(each.ours for unit in units for each in unit.visits_by_kind)
    if not visited and units:
        yield gettext("We made no visit.")
    oldest = min((line.due_on for line in overdue if line.due_on), default=None)
    if overdue or pm.judged:
        yield _overdue(len(overdue), oldest, days)
    if former := len(undone) - len(overdue):
        yield ngettext(
            "{number} was not done before its unit left.", "{number} were not done before their units left.",
            former, number=_first_in_words(former),
        )  # fmt: skip


def _overdue(count: int, oldest: date | None, days: tuple[date, date]) -> str:
    year, number = days[0].year, _first_in_words(count)
    if _is_over(days):
        if not count:
            return gettext("No maintenance task was overdue at the end of {year}.", year=year)
        return ngettext(
            "{number} maintenance task was overdue at the end of {year}, since {day}.",
            "{number} maintenance tasks were overdue at the end of {year}, the oldest since {day}.",
            count, number=number, year=year, day=oldest,
        )  # fmt: skip
    if not count:
        return gettext("No maintenance task is overdue.")
    return ngettext(
        "{number} maintenance task is overdue, since {day}.",
        "{number} maintenance tasks are overdue, the oldest since {day}.",
        count, number=number, day=oldest,
    )  # fmt: skip


def _breakdown_figure(
    units: Sequence[UnitSummary], without: OutageTotal, before: YearBefore | None, unseen: bool
) -> HeadlineFigure:
    more = [gettext("{count} in {year}", count=before.breakdowns, year=before.year)] if before else []
    more += [gettext("{count} more began before", count=without.carried_over)] if without.carried_over else []
    theirs = sum(counts.unwitnessed(unit.replacements, unit.outages) for unit in units)
    if theirs:
        more.append(
            ngettext(
                "not counted: {count} failed part replaced by others, who reported no warm beer",
                "not counted: {count} failed parts replaced by others, who reported no warm beer",
                theirs,
            )
        )
    return HeadlineFigure(
        code="breakdowns",
        label=gettext("Breakdowns: times without cold beer"),
        value=float(without.outages),
        text=gettext("none reported") if unseen else str(without.outages),
        more=joined(more, ", "),
    )


def _cold_figure(without: OutageTotal, unseen: bool, units: int) -> HeadlineFigure:
    """Several units together may have more days than a year."""
    return HeadlineFigure(
        code="hours_without_cold_beer",
        label=gettext("Without cold beer") if units < 2 else gettext("Without cold beer, all units added up"),
        value=None if unseen or not spans.is_known(without) else without.estimated.value / spans.HOUR,
        text=gettext("not known") if unseen else spans.how_long(without),
        more=joined(spans.how_sure(without), ", "),
    )


def _pm_figure(pm: PmCount, before: YearBefore | None) -> HeadlineFigure:
    more = [gettext("{count} late", count=pm.late)] if pm.late else []
    undone = pm.missed + pm.never_recorded
    more += [gettext("{count} not done", count=undone)] if undone else []
    if before and before.pm_judged:
        former = {"year": before.year, "done": before.pm_on_time, "all": before.pm_judged}
        more.append(gettext("{done} of {all} in {year}", **former))
    return HeadlineFigure(
        code="pm_on_time",
        label=gettext("Maintenance done on time"),
        value=pm.share_on_time,
        text=gettext("{done} of {all}", done=pm.on_time, all=pm.judged) if pm.judged else gettext("none due"),
        more=joined(more, ", "),
    )
