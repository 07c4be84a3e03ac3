"""Suspected root causes in a customer's year: how they stood, what was decided, and whether the remedy worked."""

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from service.domain.instants import local_day
from service.domain.root_causes.after_remedy import judged
from service.domain.root_causes.failures import is_failure
from service.domain.root_causes.life_cycle import RootCause
from service.domain.summary.records import UnitRecord, Window
from service.domain.summary.summary import Cause, ReplacementLine, RootCauseLine

YEAR_DAYS = 365.25
OPEN, RESOLVED = "open", "resolved"


@dataclass(frozen=True, slots=True)
class Decision:
    """What somebody decided on a case, when and why; or that it came back, which the search found."""

    at: datetime
    by: str
    state: str
    why: str | None


def as_it_stood(case: RootCause, decisions: Sequence[Decision], *, as_of: datetime, zone: str) -> RootCause:
    """The case by the decisions up to an instant, the oldest first; its figures are those last found."""
    later = [each.at for each in decisions if each.at > as_of]
    if case.decided_at is None or (case.decided_at <= as_of and not later):
        return case
    known = [each for each in decisions if each.at <= as_of]
    people = [each for each in known if each.state != OPEN]  # that it came back nobody decided
    if not people:
        return replace(case, state=OPEN, decided_by=None, decided_at=None, why=None, resolved_on=None)
    last = people[-1]
    resolved = [local_day(each.at, zone) for each in people if each.state == RESOLVED]
    return replace(
        case,
        state=known[-1].state,
        decided_by=last.by,
        decided_at=last.at,
        why=last.why,
        resolved_on=resolved[-1] if resolved and last.state == RESOLVED else None,
    )


def as_they_stood(
    cases: Iterable[RootCause], decisions: Mapping[tuple[str, str], Sequence[Decision]], *, as_of: datetime, zone: str
) -> tuple[RootCause, ...]:
    """The cases seen by an instant as they stood then; decisions by unit and component kind."""
    return tuple(
        as_it_stood(case, decisions.get((case.unit, case.kind), ()), as_of=as_of, zone=zone)
        for case in cases
        if case.first_seen <= as_of
    )


def root_cause_lines(record: UnitRecord, window: Window, told_on: date) -> tuple[RootCauseLine, ...]:
    """The cases first seen by the window's end, in that order; what came of a remedy is told up to `told_on`."""
    zone = record.site.time_zone
    seen = sorted((local_day(case.first_seen, zone), case.kind, case) for case in record.cases)
    return tuple(_line(record, case, on, told_on) for on, _, case in seen if on <= window.last)


def _line(record: UnitRecord, case: RootCause, seen_on: date, told_on: date) -> RootCauseLine:
    told: dict[str, Any] = json.loads(case.document)
    decided_on = None if case.decided_at is None else local_day(case.decided_at, record.site.time_zone)
    return RootCauseLine(
        unit=record.unit.tag,
        kind=case.kind,
        tier=case.tier,
        state=case.state,
        luck_probability=case.probability_of_chance,
        first_seen_on=seen_on,
        explanation=told["explanation"],
        causes=tuple(Cause(cause=each["cause"], probability=each["probability"]) for each in told["causes"]),
        next_check=told["next_check"],
        remedy=told["remedy"],
        decided_by=case.decided_by,
        decided_on=decided_on,
        why=case.why,
        resolved_on=case.resolved_on,
        **_came_of_it(record, case, told_on),
    )


def _came_of_it(record: UnitRecord, case: RootCause, told_on: date) -> dict[str, Any]:
    """Failures and component-years before and after the remedy, the chance and the verdict; all None without one."""
    names = ("failed_before", "years_before", "failed_after", "years_after", "chance", "verdict")
    remedy = case.resolved_on
    if remedy is None or remedy > told_on:
        return dict.fromkeys(names)
    first, last = _watched(record, told_on)
    places = max(1, sum(part.kind == case.kind for part in record.unit.components))
    days = [on for on, _ in {(line.on, line.component) for line in _failures(record, case.kind)} if on <= last]
    before, after = sum(on <= remedy for on in days), sum(on > remedy for on in days)
    years_before, years_after = (
        round(max(0, (end - start).days) / YEAR_DAYS * places, 2) for start, end in ((first, remedy), (remedy, last))
    )
    told = judged(before=before, after=after, years_before=years_before, years_after=years_after)
    return dict(zip(names, (before, years_before, after, years_after, told.chance, told.verdict), strict=True))


def _watched(record: UnitRecord, told_on: date) -> tuple[date, date]:
    """From the installation, or what is on record before it, to the day of telling or the retirement."""
    unit = record.unit
    told = (*(visit.on for visit in record.visits), *(line.on for line in record.replacements))
    return min(unit.installed_on or unit.registered_on, told_on, *told), min(unit.retired_on or told_on, told_on)


def _failures(record: UnitRecord, kind: str) -> Iterator[ReplacementLine]:
    """What failed, or, of an unknown reason, was found broken: as the search for root causes counts."""
    return (line for line in record.replacements if line.kind == kind and is_failure(line))
