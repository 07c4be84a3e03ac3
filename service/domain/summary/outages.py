"""Time without cold beer: what of it was seen, what is estimated and in which range, and what is not known."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any

from service.domain.bench.figures import figure
from service.domain.instants import local_day, start_of_day
from service.domain.messages import gettext, joined
from service.domain.record.calls import Call
from service.domain.record.unit_log import UnitLog
from service.domain.record.visits import Visit
from service.domain.summary.lines import Outage, OutageTotal, Seen
from service.domain.summary.window import Window
from service.domain.summary.witnesses import CALL, COLD, OUTCOME, RECOVERING, UNSAID, WARM, Witness, witnesses

SEEN_WITHIN = timedelta(hours=24)  # between two who saw it warm; judged, no source
RECOVERS_WITHIN = timedelta(hours=24)  # after a visit that left it open, where nobody complained; judged, no source
JOINS_WITHIN = timedelta(hours=72)  # a complaint after such a visit is about the same outage; judged, no source
HOLDS_FOR = timedelta(days=7)  # what a call says that no visit answers; judged, no source
SEEN, LIKELY, EITHER = 1.0, 1.0, 0.5  # what of a gap the estimate counts
LEAVES_OPEN = (RECOVERING, UNSAID)
LEFT_COLD, FOUND_COLD, TAKEN_AS_ENDED, OPEN = "left_cold", "found_cold", "taken_as_ended", "open"
WHY = {
    LEFT_COLD: gettext("It ended when a visit left the unit running, or pouring cold."),
    FOUND_COLD: gettext("It ended at an unknown time, at the latest when a visit found or left the beer cold."),
    TAKEN_AS_ENDED: gettext(
        "The last visit or advice by phone does not say that the beer was cold again. Nobody complained in the three "
        "days after it, so the outage is taken as over within a day."
    ),
    OPEN: gettext("Nobody recorded when the beer was cold again, so how long it lasted is not known."),
}
UNTIMED = gettext("The time of the report is not recorded, so it is counted from the arrival.")
GOES_ON = gettext("It went on after this period; only the hours in the period are counted.")
CARRIED = gettext("It began before this period; only the hours in the period are counted.")


@dataclass(frozen=True, slots=True)
class _Gap:
    """The time between two witnesses, and whether it was seen or how much of it is estimated."""

    since: datetime
    until: datetime
    seen: bool
    share: float

    def within(self, first: datetime, last: datetime) -> "_Gap | None":
        since, until = max(self.since, first), min(self.until, last)
        return _Gap(since, until, self.seen, self.share) if since < until else None

    @property
    def seconds(self) -> float:
        return (self.until - self.since).total_seconds()


@dataclass(frozen=True, slots=True)
class Spell:
    """One outage, whatever year it lies in: its witnesses, the first of them warm, and how it ended."""

    seen: tuple[Witness, ...]
    ended: str

    @property
    def ends(self) -> datetime:
        """The last witness, or the end that was taken where none is known."""
        return self.seen[-1].at + (RECOVERS_WITHIN if self.ended == TAKEN_AS_ENDED else timedelta(0))

    def stays(self, now: datetime) -> bool:
        """Whether it is at every later instant as it is now, until more is recorded."""
        return self.ended != OPEN or (self.seen[-1].state not in LEAVES_OPEN and self.ends < now)

    def gaps(self) -> Iterator[_Gap]:
        """The stretches between one witness and the next, and from the last one to the end."""
        yield from (_gap(before, after) for before, after in pairwise(self.seen))
        if self.ended == TAKEN_AS_ENDED:
            yield _Gap(self.seen[-1].at, self.ends, False, EITHER)


def outages(spells: Iterable[Spell], window: Window, log: UnitLog) -> tuple[Outage, ...]:
    """The outages that lie in the window in part, each with the time that lies there."""
    first = start_of_day(window.first, log.time_zone)
    last = start_of_day(window.plan_from, log.time_zone)
    last = last if log.until is None else min(last, log.until)
    return tuple(_outage(each, first, last, log) for each in spells if _in(each, first, last))


def _in(spell: Spell, first: datetime, last: datetime) -> bool:
    return spell.seen[0].at <= last and spell.ends >= first


def spells_of(
    visits: Iterable[Visit], log: UnitLog, now: datetime, calls: Iterable[Call] | None = None
) -> tuple[Spell, ...]:
    """Every outage that these visits and calls bear witness of, up to an instant; without `calls` all of the log's."""
    return tuple(_spells(witnesses(visits, log, calls), now))


def _spells(seen: Iterable[Witness], now: datetime) -> Iterator[Spell]:
    run: list[Witness] = []
    for each in seen:
        if run and _over(run[-1], each.at):
            yield Spell(tuple(run), TAKEN_AS_ENDED)
            run = []
        if run and _stale(run[-1], each.at):
            yield Spell(tuple(run), OPEN)
            run = []
        if run or each.state == WARM:
            run.append(each)
        if run and each.state == COLD:
            yield Spell(tuple(run), LEFT_COLD if _put_right(run[-2], each) else FOUND_COLD)
            run = []
    if run:
        yield Spell(tuple(run), TAKEN_AS_ENDED if _over(run[-1], now) else OPEN)


def _over(last: Witness, now: datetime) -> bool:
    return last.state in LEAVES_OPEN and now - last.at > JOINS_WITHIN


def _stale(last: Witness, now: datetime) -> bool:
    """Whether a call that no visit answers is too old to say that it was still warm: nobody saw it since."""
    unheard = last.by == CALL and last.state == WARM and last.heard_by is None
    return unheard and now - last.at > HOLDS_FOR


def _put_right(before: Witness, after: Witness) -> bool:
    """Whether a visit that saw it warm left it cold, or one left running what another had left down.

    A unit left down does not start by itself. Where the later visit found it cold, that is its first witness.
    """
    left_down = before.by == OUTCOME and before.state == WARM
    return before.visit == after.visit or (left_down and after.by == OUTCOME)


def _gap(before: Witness, after: Witness) -> _Gap:
    """Seen: on site until it was cold or recovering, or between two who saw it warm within a day."""
    on_site = before.visit is not None and before.visit == after.visit and after.state != UNSAID
    both = before.state == after.state == WARM and after.at - before.at <= SEEN_WITHIN
    share = LIKELY if after.state == WARM or (after.state == COLD and _put_right(before, after)) else EITHER
    seen = on_site or both
    return _Gap(before.at, after.at, seen, SEEN if seen else share)


def _outage(spell: Spell, first: datetime, last: datetime, log: UnitLog) -> Outage:
    gaps = [part for gap in spell.gaps() if (part := gap.within(first, last)) is not None]
    begun, end = spell.seen[0], spell.seen[-1]
    seen = sum(gap.seconds for gap in gaps if gap.seen)
    restored = end if end.state == COLD and end.at <= last else None
    unknown = spell.ended == OPEN and end.at < last
    carried = begun.at < first
    heard = next((each for each in spell.seen if each.symptom is not None), None)
    return Outage(
        unit=log.unit.tag,
        on=local_day(max(begun.at, first), log.time_zone),
        started_at=begun.at,
        started_by=begun.by,
        symptom=heard.symptom if heard else None,
        reported_at=heard.at if heard and heard.timed else None,
        visit=next((each.visit or each.heard_by for each in spell.seen if each.visit or each.heard_by), None),
        restored_at=restored.at if restored else None,
        restored_on=local_day(restored.at, log.time_zone) if restored else None,
        restored_by=restored.visit if restored else None,
        ended=spell.ended,
        began_before=carried,
        seen=figure(seen, "time"),
        estimated=figure(sum(gap.seconds * gap.share for gap in gaps), "time"),
        estimated_low=figure(seen, "time"),
        estimated_high=None if unknown else figure(sum(gap.seconds for gap in gaps), "time"),
        stretches=tuple(_stretches(gaps)),
        why=joined(_why(spell, first, last)),
    )


def _stretches(gaps: Sequence[_Gap]) -> Iterator[Seen]:
    """The stretches seen, those that follow each other as one."""
    run: _Gap | None = None
    for gap in (each for each in gaps if each.seen):
        if run is not None and run.until == gap.since:
            run = _Gap(run.since, gap.until, True, SEEN)
            continue
        if run is not None:
            yield Seen(started_at=run.since, ended_at=run.until)
        run = gap
    if run is not None:
        yield Seen(started_at=run.since, ended_at=run.until)


def _why(spell: Spell, first: datetime, last: datetime) -> Iterator[str]:
    if spell.seen[0].at < first:
        yield CARRIED
    if not spell.seen[0].timed:
        yield UNTIMED
    yield GOES_ON if spell.ends > last else WHY[spell.ended]


def total(found: Sequence[Outage]) -> OutageTotal:
    """All of them added up."""
    return OutageTotal(
        outages=sum(not each.began_before for each in found),
        carried_over=sum(each.began_before for each in found),
        end_unknown=sum(each.estimated_high is None for each in found),
        **_sums(found),
    )


def sum_totals(totals: Sequence[OutageTotal]) -> OutageTotal:
    """Such totals added up."""
    counts = ("outages", "carried_over", "end_unknown")
    return OutageTotal(**{name: sum(getattr(each, name) for each in totals) for name in counts}, **_sums(totals))


def _sums(parts: Sequence[Outage] | Sequence[OutageTotal]) -> dict[str, Any]:
    """The hours added up; no upper limit where any of them has none."""
    upper = [each.estimated_high.value for each in parts if each.estimated_high is not None]
    names = ("seen", "estimated", "estimated_low")
    return {name: figure(sum(getattr(each, name).value for each in parts), "time") for name in names} | {
        "estimated_high": figure(sum(upper), "time") if len(upper) == len(parts) else None
    }
