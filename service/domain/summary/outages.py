"""Time without cold beer: what of it was seen, what is estimated and in which range, and what is not known."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise

from service.domain.bench.figures import figure
from service.domain.instants import local_day, start_of_day
from service.domain.messages import gettext, joined
from service.domain.record.calls import Call
from service.domain.record.unit_log import UnitLog
from service.domain.record.visits import Visit
from service.domain.summary.lines import Outage, Seen
from service.domain.summary.window import Window
from service.domain.summary.witnesses import CALL, COLD, OUTCOME, READING, RECOVERING, UNSAID, WARM, Witness, witnesses

BEGINNING = datetime.min.replace(tzinfo=UTC)
SEEN_WITHIN = timedelta(hours=24)  # between two who saw it warm; judged, no source
RECOVERS_WITHIN = timedelta(hours=24)  # after a visit that left it open, where nobody complained; judged, no source
JOINS_WITHIN = timedelta(hours=72)  # a complaint after such a visit is about the same outage; judged, no source
HOLDS_FOR = timedelta(days=7)  # what a call says that no visit answers; judged, no source
BEGAN_WITHIN = timedelta(hours=24)  # before a visit that found what nobody had reported; judged, no source
SEEN, LIKELY, EITHER, POSSIBLE = 1.0, 1.0, 0.5, 0.0  # what of a gap the estimate counts
LEAVES_OPEN = (RECOVERING, UNSAID)
CHANCED_ON = (READING, OUTCOME)  # a first sign that no customer gave
LEFT_COLD, FOUND_COLD, TAKEN_AS_ENDED = "left_cold", "found_cold", "taken_as_ended"
LEFT_SERVICE, OPEN = "left_service", "open"
WHY = {
    LEFT_COLD: gettext("It ended when a visit left the unit running, or pouring cold."),
    FOUND_COLD: gettext("It ended at an unknown time, at the latest when a visit found or left the beer cold."),
    TAKEN_AS_ENDED: gettext(
        "The last visit or advice by phone does not say that the beer was cold again. Nobody complained in the three "
        "days after it, so the outage is taken as over within a day."
    ),
    LEFT_SERVICE: gettext(
        "Nobody recorded that the beer was cold again; it ended at the latest when the unit was taken out of service."
    ),
    OPEN: gettext("Nobody recorded when the beer was cold again, so how long it lasted is not known."),
}
UNTIMED = gettext("The time of the report is not recorded, so it is counted from the arrival.")
GOES_ON = gettext("It went on after this period; only the hours in the period are counted.")
MAY_GO_ON = gettext("It may have gone on after this period; only the hours in the period are counted.")
CHANCED = gettext("Nobody had reported it, so when it began is not known.")
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
    """One outage, whatever year it lies in: its witnesses, the first of them warm, and how it ended.

    `earliest_at` is when it can have begun: when it was last cold, or installed, or another outage ended. `gone_at` is
    when the unit was out of service at the latest, where that ended it.
    """

    seen: tuple[Witness, ...]
    ended: str
    earliest_at: datetime | None = None
    gone_at: datetime | None = None

    @property
    def ends(self) -> datetime:
        """The last witness, or the end that was taken where none is known."""
        if self.ended == LEFT_SERVICE and self.gone_at is not None:
            return self.gone_at
        return self.seen[-1].at + (RECOVERS_WITHIN if self.ended == TAKEN_AS_ENDED else timedelta(0))

    @property
    def chanced_on(self) -> bool:
        """Whether a visit was the first to see it: it may have begun long before."""
        return self.seen[0].by in CHANCED_ON

    def stays(self, now: datetime) -> bool:
        """Whether it is at every later instant as it is now, until more is recorded."""
        return self.ended != OPEN or (self.seen[-1].state not in LEAVES_OPEN and self.ends < now)

    def gaps(self) -> Iterator[_Gap]:
        """The stretches between one witness and the next, from the last one to the end, and those it may have had."""
        yield from self._before()
        yield from (_gap(before, after) for before, after in pairwise(self.seen))
        if self.ended == TAKEN_AS_ENDED:
            yield _Gap(self.seen[-1].at, self.ends, False, EITHER)
        if self.ended == LEFT_SERVICE:
            yield from _until_gone(self.seen[-1], self.ends)

    def _before(self) -> Iterator[_Gap]:
        """Back to the earliest beginning, where a visit found what nobody had reported."""
        if self.chanced_on:
            begun, first = self.seen[0].at, self.earliest_at or BEGINNING
            likely = max(begun - BEGAN_WITHIN, first)
            yield _Gap(first, likely, False, POSSIBLE)
            yield _Gap(likely, begun, False, EITHER)


def outages(spells: Iterable[Spell], window: Window, log: UnitLog) -> tuple[Outage, ...]:
    """The outages that lie in the window in part, each with the time that lies there."""
    first = start_of_day(window.first, log.time_zone)
    last = start_of_day(window.plan_from, log.time_zone)
    last = last if log.until is None else min(last, log.until)
    return tuple(_outage(each, first, last, log) for each in spells if _in(each, first, last))


def _in(spell: Spell, first: datetime, last: datetime) -> bool:
    return spell.seen[0].at <= last and spell.ends >= first


def spells_of(
    visits: Iterable[Visit],
    log: UnitLog,
    now: datetime,
    calls: Iterable[Call] | None = None,
    left_at: datetime | None = None,
) -> tuple[Spell, ...]:
    """Every outage that these visits and calls bear witness of, up to an instant; without `calls` all of the log's.

    `left_at` is when the unit was moved away.
    """
    installed, out_from = log.unit.installed_on, log.care.out_from
    since = None if installed is None else start_of_day(installed, log.time_zone)
    gone = left_at if out_from is None else start_of_day(out_from + timedelta(days=1), log.time_zone)
    made = _spells(witnesses(visits, log, calls), now, since)
    return tuple(made if gone is None or gone > now else (_until(each, gone) for each in made))


def _until(spell: Spell, gone: datetime) -> Spell:
    """An outage whose end nobody recorded, ended by the day on which the unit was gone."""
    if spell.ended != OPEN or spell.seen[-1].at >= gone:
        return spell
    return replace(spell, ended=LEFT_SERVICE, gone_at=gone)


def _spells(seen: Iterable[Witness], now: datetime, installed: datetime | None) -> Iterator[Spell]:
    """Each outage with the earliest instant at which it can have begun."""
    earliest_at = installed
    known = tuple(seen)
    for spell in _runs(known, now):
        found = [each.at for each in known if each.state == COLD and each.at <= spell.seen[0].at]
        earliest_at = max((each for each in (earliest_at, *found) if each is not None), default=None)
        yield replace(spell, earliest_at=earliest_at)
        earliest_at = spell.ends if earliest_at is None else max(earliest_at, spell.ends)


def _runs(seen: Iterable[Witness], now: datetime) -> Iterator[Spell]:
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


def _until_gone(last: Witness, gone: datetime) -> Iterator[_Gap]:
    """A unit left down stays down; of what a call says a week counts, half of it, and else half of the time."""
    if last.by == OUTCOME:
        yield _Gap(last.at, gone, False, LIKELY)
        return
    until = min(last.at + HOLDS_FOR, gone) if last.by == CALL else gone
    yield _Gap(last.at, until, False, EITHER)
    yield _Gap(until, gone, False, POSSIBLE)


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
    earliest = local_day(spell.earliest_at, log.time_zone) if spell.chanced_on and spell.earliest_at else None
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
        begin_unknown=spell.chanced_on and not carried,
        earliest_at=spell.earliest_at if earliest else None,
        earliest_on=earliest,
        seen=figure(seen, "time"),
        estimated=figure(sum(gap.seconds * gap.share for gap in gaps), "time"),
        estimated_low=figure(seen, "time"),
        estimated_high=None if unknown else figure(sum(gap.seconds for gap in gaps), "time"),
        stretches=tuple(_stretches(gaps)),
        why=joined(_why(spell, first, last, earliest)),
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


def _why(spell: Spell, first: datetime, last: datetime, earliest: date | None) -> Iterator[str]:
    if spell.seen[0].at < first:
        yield CARRIED
    elif spell.chanced_on:
        yield (
            CHANCED
            if earliest is None
            else gettext(
                "Nobody had reported it, so when it began is not known: on {day} at the earliest.", day=earliest
            )
        )
    if not spell.seen[0].timed:
        yield UNTIMED
    if spell.ends > last:
        yield GOES_ON if _went_on(spell, last) else MAY_GO_ON
    else:
        yield WHY[spell.ended]


def _went_on(spell: Spell, last: datetime) -> bool:
    """Whether it was seen to be warm after an instant, or a visit put it right then."""
    return spell.ended == LEFT_COLD or any(each.state == WARM and each.at > last for each in spell.seen)
