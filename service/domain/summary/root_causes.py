"""Root causes in a unit's year: their state at an instant, what was decided, and whether the remedy worked."""

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from service.domain.instants import local_day
from service.domain.record.failed import is_failure
from service.domain.record.part_replaced import PartReplaced
from service.domain.record.pauses import days_served
from service.domain.record.unit_log import UnitLog
from service.domain.record.visits import Visit
from service.domain.root_causes.after_remedy import AfterRemedy, judged, perhaps_after
from service.domain.root_causes.explanation import by_days, day_of, in_words
from service.domain.root_causes.failures import ONE_DAY, once
from service.domain.root_causes.history import watched_from
from service.domain.root_causes.life_cycle import Decision, RootCause
from service.domain.root_causes.presence import rating_unknown
from service.domain.root_causes.timing import may_be_gone
from service.domain.summary.lines import Cause, RootCauseLine
from service.domain.summary.not_done import NotDone
from service.domain.summary.window import Window

YEAR_DAYS = 365.25
OPEN, RESOLVED = "open", "resolved"
REMEDY_FIGURES = ("failed_before", "years_before", "failed_after", "years_after", "chance", "verdict")


@dataclass(frozen=True, slots=True)
class UnitRootCause:
    """A root cause at a unit, and the visits at which its items failed."""

    line: RootCauseLine
    visits: frozenset[str]


def as_it_stood(found: RootCause, decisions: Sequence[Decision], *, as_of: datetime, zone: str) -> RootCause:
    """The root cause by the decisions up to an instant, the oldest first; its figures are the latest ones."""
    later = [each.at for each in decisions if each.at > as_of]
    if found.decided_at is None or (found.decided_at <= as_of and not later):
        return found
    known = [each for each in decisions if each.at <= as_of]
    people = [each for each in known if each.state != OPEN]  # that it came back nobody decided
    if not people:
        return replace(found, state=OPEN, decided_by=None, decided_at=None, why=None, resolved_on=None)
    last = people[-1]
    resolved = [local_day(each.at, zone) for each in people if each.state == RESOLVED]
    return replace(
        found,
        state=known[-1].state,
        decided_by=last.by,
        decided_at=last.at,
        why=last.why,
        resolved_on=resolved[-1] if resolved and last.state == RESOLVED else None,
    )


def as_they_stood(
    found: Iterable[RootCause], decisions: Mapping[tuple[str, str], Sequence[Decision]], zone: str, as_of: datetime
) -> tuple[RootCause, ...]:
    """A unit's root causes first seen by an instant, as they stood then; decisions by unit and component kind."""
    return tuple(
        as_it_stood(each, decisions.get((each.unit, each.kind), ()), as_of=as_of, zone=zone)
        for each in found
        if each.first_seen <= as_of
    )


def root_causes_of(
    log: UnitLog,
    replaced: Sequence[PartReplaced],
    found: Iterable[RootCause],
    window: Window,
    visits: Sequence[Visit] = (),
) -> tuple[UnitRootCause, ...]:
    """The root causes first seen by the window's end, in that order; remedies are followed up to it.

    `visits` are those of a moved unit that are reported: evidence from others, where it stood elsewhere, is not shown,
    and a root cause without any from these is left out.
    """
    seen = sorted(((local_day(each.first_seen, log.time_zone), each.kind, each) for each in found), key=lambda s: s[:2])
    reported = {visit.id for visit in visits}
    lines = (_found(log, reported, replaced, each, on, window) for on, _, each in seen if on <= window.last)
    return tuple(line for line in lines if line is not None)


def _not_done(remarks: Mapping[str, Any]) -> NotDone | None:
    if "not_done" not in remarks:
        return None
    last = date.fromisoformat(remarks["not_done_last"])
    return NotDone(visits=int(remarks["not_done"]), last=last, why=str(remarks["not_done_why"]))


def _found(
    log: UnitLog,
    reported: set[str],
    replaced: Sequence[PartReplaced],
    found: RootCause,
    seen_on: date,
    window: Window,
) -> UnitRootCause | None:
    document = in_words(json.loads(found.document))
    evidence = {event["visit"] for event in document.get("events", ())}
    if log.moves and not evidence & reported:
        return None
    elsewhere = bool(log.moves and evidence - reported)
    line = RootCauseLine(
        unit=log.unit.tag,
        kind=found.kind,
        tier=found.tier,
        state=found.state,
        probability_of_chance=found.probability_of_chance,
        first_seen_on=seen_on,
        explanation=_of_own(document, reported) if elsewhere else document["explanation"],
        causes=tuple(Cause(cause=each["cause"], probability=each["probability"]) for each in document["causes"]),
        next_check=document["next_check"],
        remedy=document["remedy"],
        over=may_be_gone(document),
        assumed=bool(document["causes"]) and (by_days(document) or rating_unknown(document)),
        not_done=None if elsewhere else _not_done(document.get("remarks", {})),
        decided_by=found.decided_by,
        decided_on=None if found.decided_at is None else local_day(found.decided_at, log.time_zone),
        why=found.why,
        resolved_on=found.resolved_on,
        **_after_remedy(log, replaced, found, window),
    )
    return UnitRootCause(line, frozenset(evidence & reported if elsewhere else evidence))


def _of_own(document: Mapping[str, Any], reported: set[str]) -> str:
    """What is said of a root cause whose evidence is in part from another time and place."""
    days = [day_of(event) for event in document["events"] if event["visit"] in reported]
    return f"Failures while the unit stood here: {', '.join(days)}. The figures rest on the unit's whole record."


def _after_remedy(log: UnitLog, replaced: Sequence[PartReplaced], found: RootCause, window: Window) -> dict[str, Any]:
    """Failures and component-years before and after the remedy, the chance and the verdict; all None without one."""
    remedy, today = found.resolved_on, window.last
    if remedy is None or remedy > today:
        return dict.fromkeys(REMEDY_FIGURES)
    result = compared(log, replaced, found.kind, since=remedy, until=today)
    figures = (result.before, result.years_before, result.after, result.years_after, result.chance, result.verdict)
    return dict(zip(REMEDY_FIGURES, figures, strict=True))


def compared(log: UnitLog, replaced: Sequence[PartReplaced], kind: str, *, since: date, until: date) -> AfterRemedy:
    """The failures of a kind up to a day against those after it, up to another day or the retirement."""
    first, last = _watched(log, replaced, until)
    away = log.care.away
    places = max(1, sum(part.kind == kind for part in log.unit.components))
    own = [part for part in replaced if part.kind == kind and part.on <= last]
    failed = once([part for part in own if is_failure(part)])
    spans = ((first, since), (since, last))
    years_before, years_after = (
        round(max(0, days_served(start, end, away)) / YEAR_DAYS * places, 2) for start, end in spans
    )
    return judged(
        before=sum(part.on <= since for part in failed),
        after=sum(part.surely_since(since + ONE_DAY) for part in failed),
        years_before=years_before,
        years_after=years_after,
        perhaps=perhaps_after(own, since),
    )


def _watched(log: UnitLog, replaced: Sequence[PartReplaced], today: date) -> tuple[date, date]:
    """From when failures are counted to today or the retirement."""
    unit = log.unit
    known = (*(visit.day for visit in log.visits[:1]), *(part.on for part in replaced if part.exact))
    first = watched_from(log.care.care_from or unit.registered_on, unit.installed_on, [*known, today])
    return first, min(unit.retired_on or today, today)
