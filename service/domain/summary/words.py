"""What the document says in sentences: headline, advice, gaps."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime

from service.domain.condition.latest import Worry
from service.domain.summary.records import Window
from service.domain.summary.summary import (
    MISSED,
    Advice,
    BeforeAfter,
    CondenserPoint,
    Gap,
    GlycolYear,
    Headline,
    HeadlineFigure,
    Outage,
    OutageTotal,
    PmCount,
    PmLine,
    Refrigerant,
    ReplacementCount,
    RootCauseLine,
    UnitSummary,
    VisitLine,
)

HOUR = 3600.0
MOST_TO_DO = 3
AILING = ("recovering", "down")
FROM_CASES = "the failures on record"
PRESSING = ("probable", "strong")
NO_REFRIGERANT = "No amount of refrigerant added or recovered is on record; whether any was moved is not known."
WHAT = {
    "ethylene_glycol": "Have the bath drained, flushed and filled with food-grade propylene glycol.",
    "glycol_weak": "Bring the glycol up to its target strength.",
    "glycol_strong": "Thin the glycol down to its target strength.",
    "freeze_margin_small": "Bring the glycol to its target strength.",
    "condenser_split_high": "Have the condenser cleaned and its fan checked.",
    "current_over_rating": "Have the cause of the high current found by licensed people.",
    "supply_voltage_off": "Have the supply voltage put right by a licensed electrician.",
}


def advice(
    tag: str,
    visits: Sequence[VisitLine],
    worries: Iterable[Worry],
    *,
    cases: Iterable[RootCauseLine],
    lines: Iterable[PmLine],
) -> tuple[Advice, ...]:
    """What follows from the latest numbers, from root causes, what was missed, and what a visit advised last."""
    return (
        *_from_numbers(tag, worries),
        *_from_cases(cases),
        *_from_missed(tag, lines),
        *_from_visits(tag, visits),
    )


def _from_numbers(tag: str, worries: Iterable[Worry]) -> Iterator[Advice]:
    for each in worries:
        where = f" ({each.component})" if each.component else ""
        yield Advice(unit=tag, what=WHAT[each.code], reason=each.sentence + where, source=each.source, on=None)


def _from_cases(cases: Iterable[RootCauseLine]) -> Iterator[Advice]:
    """What a candidate calls for: its remedy once it is confirmed, what to check while it is open."""
    for each in cases:
        if each.tier in PRESSING and each.state in ("open", "confirmed"):
            what = each.remedy if each.state == "confirmed" else each.next_check
            yield Advice(
                unit=each.unit,
                what=what,
                reason=each.explanation,
                source=FROM_CASES,
                on=each.first_seen_on,
            )


def _from_missed(tag: str, lines: Iterable[PmLine]) -> Iterator[Advice]:
    for each in lines:
        if each.state == MISSED and each.due_on is not None:
            reason = f"It was due on {each.due_on.isoformat()} and was not recorded as done."
            yield Advice(
                unit=tag, what=f"{each.name}: have it done.", reason=reason, source="the due dates", on=each.due_on
            )


def _from_visits(tag: str, visits: Sequence[VisitLine]) -> Iterator[Advice]:
    """The last words of ours; those said while the unit ailed are spent once a later visit left it running."""
    running = max((visit.arrived_at for visit in visits if visit.outcome == "running"), default=None)
    for each in [visit for visit in visits if visit.advice and visit.by == "us" and not _spent(visit, running)][-1:]:
        reason = f"Said at the visit on {each.on.isoformat()}."
        yield Advice(unit=tag, what=each.advice or "", reason=reason, source="the visit's own words", on=each.on)


def _spent(visit: VisitLine, running: datetime | None) -> bool:
    return visit.outcome in AILING and running is not None and visit.arrived_at < running


def gaps(
    tag: str,
    *,
    visits: Sequence[VisitLine],
    found: Iterable[Outage],
    beer: Sequence[BeforeAfter],
    glycol: GlycolYear,
    condenser: Sequence[CondenserPoint],
) -> tuple[Gap, ...]:
    """What the year's record of a unit does not tell."""
    if not visits:
        return (Gap(unit=tag, sentence="No visit is recorded in this time, so nothing was measured."),)
    unsure = [each for each in found if each.at_most is None]
    missing = (
        (not beer, "No beer temperature at a tap was recorded."),
        (not glycol.points, "No glycol strength was recorded, so its freezing margin is not known."),
        (bool(glycol.points) and not any(each.margin for each in glycol.points), "No freezing margin can be told."),
        (not any(each.as_found for each in condenser), "How the condenser was found was not recorded."),
        (
            not any(each.split for each in condenser),
            "Pressure and air to tell the condenser's split were not recorded.",
        ),
        (bool(unsure), f"{len(unsure)} of the times without cold beer have no known end or beginning."),
        (any(each.left_at is None for each in visits), "For some visits it was not noted when they ended."),
    )
    return tuple(Gap(unit=tag, sentence=sentence) for is_missing, sentence in missing if is_missing)


def gaps_of_all(units: Sequence[UnitSummary], whole: Window, refrigerant: Refrigerant) -> tuple[Gap, ...]:
    """What the record of the whole does not tell."""
    silent = sum(not unit.visits for unit in units)
    told = (
        (not units, "No unit of this customer was in service in this time."),
        (whole.last < date(whole.first.year, 12, 31), f"The year is told up to {whole.last.isoformat()} only."),
        (bool(silent), f"{silent} of {len(units)} units have no visit on record in this time."),
        (refrigerant == Refrigerant(), NO_REFRIGERANT),
    )
    return tuple(Gap(unit=None, sentence=sentence) for is_so, sentence in told if is_so)


def headline(
    units: Sequence[UnitSummary], year: int, pm: PmCount, without: OutageTotal, replaced: ReplacementCount
) -> Headline:
    """How the year went, three figures, and the first things to do."""
    visits = [visit for unit in units for visit in unit.visits]
    advised = [each for unit in units for each in unit.advice]
    calls = sum(visit.kind == "service_call" for visit in visits)
    went = (
        f"{_counted(len(visits), 'visit')} to {_counted(len(units), 'unit')} in {year}, {calls} of them "
        f"service calls. Without cold beer: {told_hours(without)}. PM on time: {told_share(pm)}. "
        f"Parts failed: {replaced.failed}."
    )
    figures = (
        HeadlineFigure(
            code="hours_without_cold_beer",
            label="Hours without cold beer",
            value=without.at_least.value / HOUR,
            told=told_hours(without),
        ),
        HeadlineFigure(code="pm_on_time", label="PM on time", value=pm.share_on_time, told=told_share(pm)),
        HeadlineFigure(
            code="parts_failed", label="Parts failed", value=float(replaced.failed), told=str(replaced.failed)
        ),
    )
    nothing = f"No visit is recorded in {year}; there is nothing to tell but the plan."
    to_do = tuple(dict.fromkeys(f"{each.unit}: {each.what}" for each in advised))[:MOST_TO_DO]
    return Headline(how_it_went=went if visits else nothing, figures=figures, what_to_do=to_do)


def told_hours(without: OutageTotal) -> str:
    """The hours in words: "4.5 h", "4.5 h to 30.0 h" or "at least 4.5 h"."""
    low = f"{without.at_least.value / HOUR:.1f} h"
    if without.at_most is None:
        return f"at least {low}"
    high = f"{without.at_most.value / HOUR:.1f} h"
    return low if low == high else f"{low} to {high}"


def told_share(pm: PmCount) -> str:
    """The share on time: "181 of 239 (76 %)" or "not judged"."""
    if pm.share_on_time is None:
        return "not judged"
    return f"{pm.on_time} of {pm.judged} ({100 * pm.share_on_time:.0f} %)"


def _counted(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"
