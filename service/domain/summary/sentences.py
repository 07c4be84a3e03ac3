"""What the service summary says in sentences: headline, advice, gaps."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime

from service.domain.assessment.assess import RULES
from service.domain.condition.latest import Worry
from service.domain.record.visits import Visit
from service.domain.root_causes.life_cycle import ACTION_TIERS
from service.domain.summary.document import Advice, Gap, Headline, HeadlineFigure, UnitSummary
from service.domain.summary.lines import (
    MISSED,
    Outage,
    OutageTotal,
    PmCount,
    PmLine,
    Refrigerant,
    ReplacementCount,
    RootCauseLine,
)
from service.domain.summary.measured import BeforeAfter, CondenserPoint, GlycolYear
from service.domain.summary.window import Window

HOUR = 3600.0
MOST_TO_DO = 3
NOT_RUNNING = ("recovering", "down")
FROM_ROOT_CAUSES = "the failures on record"
FROM_VISITS = "the visit's own words"
NO_REFRIGERANT = "No amount of refrigerant added or recovered is recorded; whether any was moved is not known."
WHAT = {
    "ethylene_glycol": "Have the bath drained, flushed and filled with food-grade propylene glycol.",
    "glycol_weak": "Bring the glycol up to its target strength.",
    "glycol_strong": "Thin the glycol down to its target strength.",
    "freeze_margin_small": "Bring the glycol to its target strength.",
    "coil_can_freeze": "Bring the glycol to its target strength.",
    "condenser_split_high": "Have the condenser cleaned and its fan checked.",
    "current_over_rating": "Have the cause of the high current found by licensed people.",
    "voltage_off": "Have the supply voltage put right by a licensed electrician.",
    "voltage_far_off": "Have the supply voltage put right by a licensed electrician.",
}
"""What a customer is advised, by the code of a finding."""
ADVISING = tuple(rule for rule in RULES if not WHAT.keys().isdisjoint(rule.codes))


def advice(
    tag: str,
    visits: Sequence[Visit],
    worries: Iterable[Worry],
    *,
    root_causes: Iterable[RootCauseLine],
    lines: Iterable[PmLine],
) -> tuple[Advice, ...]:
    """What follows from the latest numbers, from root causes, what was missed, and what a visit advised last."""
    return (
        *_from_numbers(tag, worries),
        *_from_root_causes(root_causes),
        *_from_missed(tag, lines),
        *_from_visits(tag, visits),
    )


def _from_numbers(tag: str, worries: Iterable[Worry]) -> Iterator[Advice]:
    for each in (worry for worry in worries if worry.code in WHAT):
        where = f" ({each.component})" if each.component and each.component not in each.sentence else ""
        yield Advice(unit=tag, what=WHAT[each.code], reason=each.sentence + where, source=each.source, on=None)


def _from_root_causes(root_causes: Iterable[RootCauseLine]) -> Iterator[Advice]:
    """The remedy of a confirmed root cause; what to check while it is open."""
    for each in root_causes:
        if each.tier in ACTION_TIERS and each.state in ("open", "confirmed"):
            what = each.remedy if each.state == "confirmed" else each.next_check
            yield Advice(
                unit=each.unit, what=what, reason=each.explanation, source=FROM_ROOT_CAUSES, on=each.first_seen_on
            )


def _from_missed(tag: str, lines: Iterable[PmLine]) -> Iterator[Advice]:
    for each in lines:
        if each.state == MISSED and each.due_on is not None:
            reason = f"It was due on {each.due_on.isoformat()} and is not recorded as done."
            what = f"{each.name}: have it done."
            yield Advice(unit=tag, what=what, reason=reason, source="the due dates", on=each.due_on)


def _from_visits(tag: str, visits: Sequence[Visit]) -> Iterator[Advice]:
    """Our latest advice; that of a visit that left the unit not running ends once a later visit left it running."""
    running = max((visit.arrived_at for visit in visits if visit.outcome == "running"), default=None)
    ours = [visit for visit in visits if visit.advice and visit.by == "us" and not _is_over(visit, running)]
    for each in ours[-1:]:
        reason = f"Advised at the visit on {each.day.isoformat()}."
        yield Advice(unit=tag, what=each.advice or "", reason=reason, source=FROM_VISITS, on=each.day)


def _is_over(visit: Visit, running: datetime | None) -> bool:
    return visit.outcome in NOT_RUNNING and running is not None and visit.arrived_at < running


def gaps(
    tag: str,
    *,
    visits: Sequence[Visit],
    found: Iterable[Outage],
    beer: Sequence[BeforeAfter],
    glycol: GlycolYear,
    condenser: Sequence[CondenserPoint],
) -> tuple[Gap, ...]:
    """What the year's record of a unit leaves open."""
    if not visits:
        return (Gap(unit=tag, sentence="No visit is recorded in this period, so nothing was measured."),)
    unsure = [each for each in found if each.estimated_high is None]
    missing = (
        (not beer, "No beer temperature at a tap is recorded."),
        (not glycol.points, "No glycol strength is recorded, so the freezing margin is not known."),
        (bool(glycol.points) and not any(each.margin for each in glycol.points), "The freezing margin is not known."),
        (not any(each.as_found for each in condenser), "The condenser's condition as found is not recorded."),
        (
            not any(each.split for each in condenser),
            "Head pressure and air temperature are not recorded, so the condenser split is not known.",
        ),
        (bool(unsure), f"Outages whose end is not known: {len(unsure)}."),
        (any(each.left_at is None for each in visits), "The end of some visits is not recorded."),
    )
    return tuple(Gap(unit=tag, sentence=sentence) for is_missing, sentence in missing if is_missing)


def gaps_of_all(units: Sequence[UnitSummary], whole: Window, refrigerant: Refrigerant) -> tuple[Gap, ...]:
    """What the record of the customer as a whole leaves open."""
    unvisited = sum(not unit.visits for unit in units)
    known = (
        (not units, "No unit of this customer was in service in this period."),
        (whole.last < date(whole.first.year, 12, 31), f"The figures end on {whole.last.isoformat()}."),
        (bool(unvisited), f"Units without a visit in this period: {unvisited} of {len(units)}."),
        (refrigerant == Refrigerant(), NO_REFRIGERANT),
    )
    return tuple(Gap(unit=None, sentence=sentence) for is_so, sentence in known if is_so)


def headline(
    units: Sequence[UnitSummary], year: int, pm: PmCount, without: OutageTotal, replaced: ReplacementCount
) -> Headline:
    """How the year went, three figures, and the first things to do."""
    visits = [visit for unit in units for visit in unit.visits]
    advised = [each for unit in units for each in unit.advice]
    calls = sum(visit.kind == "service_call" for visit in visits)
    went = (
        f"{_counted(len(visits), 'visit')} to {_counted(len(units), 'unit')} in {year} (service calls: {calls}). "
        f"Without cold beer: {hours_range(without)}. PM on time: {share_text(pm)}. "
        f"Parts failed: {replaced.failed}."
    )
    figures = (
        hours_figure(without),
        HeadlineFigure(code="pm_on_time", label="PM on time", value=pm.share_on_time, text=share_text(pm)),
        HeadlineFigure(
            code="parts_failed", label="Parts failed", value=float(replaced.failed), text=str(replaced.failed)
        ),
    )
    nothing = f"No visit is recorded in {year}. Only the plan for the coming year follows."
    to_do = tuple(dict.fromkeys(f"{each.unit}: {each.what}" for each in advised))[:MOST_TO_DO]
    return Headline(how_it_went=went if visits else nothing, figures=figures, what_to_do=to_do)


def hours_figure(without: OutageTotal) -> HeadlineFigure:
    """The hours without cold beer, estimated."""
    return HeadlineFigure(
        code="hours_without_cold_beer",
        label="Hours without cold beer",
        value=without.estimated.value / HOUR,
        text=hours_text(without),
    )


def hours_text(without: OutageTotal) -> str:
    """The hours as people read them: "4.5 h", "about 12.0 h", or "not known"."""
    seen, about, high = without.seen.value, without.estimated.value, without.estimated_high
    if high is None:
        return f"about {about / HOUR:.1f} h or more" if about else "not known"
    return f"{seen / HOUR:.1f} h" if high.value == seen else f"about {about / HOUR:.1f} h"


def hours_range(without: OutageTotal) -> str:
    """The same with what was seen and the most it can be: "about 12.0 h, 4.5 h of it seen, 24.0 h at the most"."""
    text, high = hours_text(without), without.estimated_high
    if high is not None and high.value == without.seen.value:
        return text
    most = "the end of some not known" if high is None else f"{high.value / HOUR:.1f} h at the most"
    return f"{text}, {without.seen.value / HOUR:.1f} h of it seen, {most}"


def share_text(pm: PmCount) -> str:
    """The share on time as people read it: "181 of 239 (76 %)" or "not judged"."""
    if pm.share_on_time is None:
        return "not judged"
    return f"{pm.on_time} of {pm.judged} ({100 * pm.share_on_time:.0f} %)"


def _counted(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"
