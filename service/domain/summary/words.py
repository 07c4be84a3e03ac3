"""What the document says in sentences: headline, advice, gaps, definitions."""

from collections.abc import Iterable, Iterator, Sequence

from service.domain.condition import Worry
from service.domain.summary.summary import (
    MISSED,
    Advice,
    BeforeAfter,
    CondenserPoint,
    Definition,
    Gap,
    GlycolYear,
    Headline,
    HeadlineFigure,
    Outage,
    OutageTotal,
    PmCount,
    PmLine,
    ReplacementCount,
    VisitLine,
)

HOUR = 3600.0
MOST_TO_DO = 3
REFRIGERANT = "The record holds no amounts of refrigerant added or recovered, so none is told."
WHAT = {
    "freeze_margin_small": "Bring the glycol to its target strength.",
    "condenser_split_high": "Have the condenser cleaned and its fan checked.",
    "current_over_rating": "Have the cause of the high current found by licensed people.",
    "supply_voltage_off": "Have the supply voltage put right by a licensed electrician.",
}
DEFINITIONS = tuple(
    Definition(term=term, text=text)
    for term, text in (
        ("Visit", "One attendance at one unit, by us or by others as reported to us; voided visits do not count."),
        (
            "On time, late",
            "A PM task done, or found not needed, by the date on which it was due, or after it. The due date is the "
            "one that followed from the visits before, with the intervals as they are set now. A larger task counts as "
            "the smaller one in it too.",
        ),
        (
            "Missed",
            "A PM task whose due date passed before the end of the time looked at, without being done by then; it "
            "counts once, however often it would have come round.",
        ),
        (
            "First, never recorded",
            "A PM task done for the first time on record, or due by the record's beginning and never recorded: nothing "
            "earlier gives a due date to judge by, so these are told and left out of the share on time.",
        ),
        ("Share on time", "Tasks on time divided by those on time, late or missed."),
        (
            "Hours without cold beer",
            "From the report of a complaint (warm pour, foaming, no flow, unit dead, frozen) to the end of the visit "
            "that left the unit running; clock hours, closed or open. Told as a least and a most where visits leave it "
            "open; it counts in the year of the visit that took up the complaint.",
        ),
        ("Before and after", "The first temperature told as found and the last told as left at one visit."),
        (
            "Replacement",
            "An item put into a component's place. Failed: it no longer did its work. Precaution: before it failed. "
            "Upgrade: for a better one. Unknown: the reason is not known. Seen: by us; reported: told to us.",
        ),
        (
            "Glycol strength, freezing point",
            "Glycol by mass, from the latest measurement of a visit, and the temperature at which ice begins to form.",
        ),
        (
            "Freezing margin",
            "The coldest surface that the glycol touches less its freezing point. The surface is taken from the "
            "suction pressure where it was read, and otherwise estimated from the bath.",
        ),
        ("Condenser split", "The condensing temperature less that of the air that enters the condenser."),
        ("Share of rating", "A current read, divided by the rating recorded for the component."),
        (
            "Plan",
            "The days on which tasks come due, were each done on the day it is due; what is found may change them.",
        ),
    )
)


def advice(
    tag: str, visits: Sequence[VisitLine], worries: Iterable[Worry], lines: Iterable[PmLine]
) -> tuple[Advice, ...]:
    """What follows from the latest numbers, what was missed, and what was last advised at a visit."""
    return (*_from_numbers(tag, worries), *_from_missed(tag, lines), *_from_visits(tag, visits))


def _from_numbers(tag: str, worries: Iterable[Worry]) -> Iterator[Advice]:
    for each in worries:
        what = WHAT.get(each.code, each.sentence)
        where = f" ({each.component})" if each.component else ""
        yield Advice(unit=tag, what=what, reason=each.sentence + where, source=each.source, on=None)


def _from_missed(tag: str, lines: Iterable[PmLine]) -> Iterator[Advice]:
    for each in lines:
        if each.state == MISSED and each.due_on is not None:
            reason = f"It was due on {each.due_on.isoformat()} and was not recorded as done."
            yield Advice(
                unit=tag, what=f"{each.name}: have it done.", reason=reason, source="the due dates", on=each.due_on
            )


def _from_visits(tag: str, visits: Sequence[VisitLine]) -> Iterator[Advice]:
    for each in [visit for visit in visits if visit.advice][-1:]:
        reason = f"Said at the visit on {each.on.isoformat()}."
        yield Advice(unit=tag, what=each.advice or "", reason=reason, source="the visit's own words", on=each.on)


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


def headline(  # noqa: PLR0913 - what it sums up
    *,
    visits: Sequence[VisitLine],
    units: int,
    year: int,
    pm: PmCount,
    without: OutageTotal,
    replaced: ReplacementCount,
    advised: Sequence[Advice],
) -> Headline:
    """How the year went, three figures, and the first things to do."""
    calls = sum(visit.kind == "service_call" for visit in visits)
    went = (
        f"{_counted(len(visits), 'visit')} to {_counted(units, 'unit')} in {year}, {calls} of them after a complaint. "
        f"Without cold beer: {told_hours(without)}. PM on time: {_told_share(pm)}. Parts failed: {replaced.failed}."
    )
    figures = (
        HeadlineFigure(
            code="hours_without_cold_beer",
            label="Hours without cold beer",
            value=without.at_least.value / HOUR,
            told=told_hours(without),
        ),
        HeadlineFigure(code="pm_on_time", label="PM on time", value=pm.share_on_time, told=_told_share(pm)),
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


def _told_share(pm: PmCount) -> str:
    if pm.share_on_time is None:
        return "not judged"
    return f"{pm.on_time} of {pm.judged} ({100 * pm.share_on_time:.0f} %)"


def _counted(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"
