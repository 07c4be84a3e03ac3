"""A unit's timeline: its events by the instants at which they happened, newest first."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import lru_cache
from itertools import pairwise
from typing import Any

from service.domain.instants import from_text, to_text, zone
from service.domain.record.fleet import Unit
from service.domain.record.former import moves_of, voids_taken_back
from service.domain.record.imprecise_days import in_words, is_exact, latest_by
from service.domain.record.pauses import Pause, plain_text
from service.domain.record.unit_log import UnitLog
from service.domain.record.visits import Replacement, Visit, Void
from service.domain.record.warranty import under_warranty

EVENTS = (
    "call",
    "call_closed",
    "visit",
    "visit_voided",
    "visit_unvoided",
    "visit_moved",
    "reading",
    "task",
    "replacement",
    "observation",
    "unit_installed",
    "unit_moved",
    "tag_changed",
    "unit_replaced",
    "unit_retired",
    "component_installed",
    "component_removed",
    "care_began",
    "last_done_reported",
    "pause_began",
    "pause_ended",
    "closure_began",
    "closure_ended",
    "site_ended",
    "customer_ended",
    "root_cause_seen",
    "root_cause_decided",
)
Position = tuple[str, str, str, str, int]


@dataclass(frozen=True, slots=True)
class TimelineEvent:
    """One event; `record` is what was recorded: the visit, its part, the unit, the component or the root cause.

    `time_zone` is that of the site where it happened, None where that is not known. `number` orders events of one kind,
    instant and visit. Where only the day is known, `at` is about noon at the site. `remark` is a sentence on what
    follows from other events.
    """

    event: str
    at: datetime
    record: Any
    number: int = 0
    visit: Visit | None = None
    time_zone: str | None = None
    remark: str | None = None

    @property
    def position(self) -> Position:
        """The event's place in the timeline; no other event of the unit has it."""
        arrived, key = ("", "") if self.visit is None else (to_text(self.visit.arrived_at), self.visit.id)
        return (to_text(self.at), self.event, arrived, key, self.number)

    @property
    def void(self) -> bool:
        """Whether the visit was voided and does not count."""
        return self.visit is not None and self.visit.void is not None


def timeline(
    log: UnitLog, root_causes: Iterable[TimelineEvent] = (), *, after: Position | None = None, limit: int
) -> list[TimelineEvent]:
    """The next events behind a position, newest first; voided visits are among them, what came after the log is not."""
    moved_away = (event for visit in log.moved_away for event in _of_moves(log, visit))
    found = (*_of_calls(log), *_of_visits(log), *moved_away, *_of_days(log), *root_causes)
    events = ((each.position, each) for each in found if log.until is None or each.at <= log.until)
    behind = ((position, each) for position, each in events if after is None or position < after)
    return [each for _, each in sorted(behind, key=lambda pair: pair[0], reverse=True)[:limit]]


def _of_calls(log: UnitLog) -> Iterator[TimelineEvent]:
    """When a call was received, and when it was answered or cancelled; several at one instant go by their number."""
    for number, call in enumerate(log.calls):
        yield TimelineEvent("call", call.received_at, call, number)
        if call.at is not None:
            ended = {name: getattr(call, name) for name in ("id", "state", "how", "why", "advice", "visit")}
            yield TimelineEvent("call_closed", call.at, ended, number)


def _of_visits(log: UnitLog) -> Iterator[TimelineEvent]:
    warranties = under_warranty(log)
    for visit in log.all_visits:
        arrived, clock = visit.arrived_at, visit.time_zone
        yield TimelineEvent("visit", arrived, visit, visit=visit, time_zone=clock)
        yield from _of_voids(log, visit)
        yield from _of_moves(log, visit)
        for n, reading in enumerate(visit.readings):
            yield TimelineEvent("reading", reading.at or arrived, reading, n, visit, clock)
        for n, task in enumerate(visit.tasks):
            yield TimelineEvent("task", arrived, task, n, visit, clock)
        for n, part in enumerate(visit.replacements):
            remark = _remark(part, warranties.get((visit.id, n)))
            yield TimelineEvent("replacement", _replaced_at(visit, part), part, n, visit, clock, remark)
        for n, observation in enumerate(visit.observations):
            yield TimelineEvent("observation", arrived, observation, n, visit, clock)


def _replaced_at(visit: Visit, part: Replacement) -> datetime:
    """The instant of the visit, or about noon of the day that was reported, the last one possible."""
    day = latest_by(part.on, visit.day)
    at_visit = part.on is None or (day == visit.day and not is_exact(part.on))
    return visit.arrived_at if at_visit else noon(day, visit.time_zone)


def _remark(part: Replacement, warranty_until: date | None) -> str | None:
    """That the day is not known exactly, and that the removed item was under warranty."""
    about = None if part.on is None or is_exact(part.on) else f"The day as reported: {in_words(part.on)}."
    warranty = None if warranty_until is None else f"The removed item was under warranty until {warranty_until}."
    return " ".join(filter(None, (about, warranty))) or None


def _of_moves(log: UnitLog, visit: Visit) -> Iterator[TimelineEvent]:
    """When a visit was moved from this unit to another one or here; `number` is the version before."""
    for made, to_unit in moves_of(visit, log.corrections.get(visit.id, ())):
        if log.unit.tag in (made.from_unit, to_unit):
            moved = {"from_unit": made.from_unit, "to_unit": to_unit, "reason": made.why, "by": made.by}
            yield TimelineEvent("visit_moved", made.at, moved, made.number, visit)


def _of_voids(log: UnitLog, visit: Visit) -> Iterator[TimelineEvent]:
    """When a visit was voided and when that was taken back; `number` is the version that came of it."""
    if visit.void is not None:
        yield TimelineEvent("visit_voided", visit.void.at, visit.void, visit.version, visit)
    for void, made in voids_taken_back(visit, log.corrections.get(visit.id, ())):
        yield TimelineEvent("visit_voided", void.at, void, made.number, visit)
        taken_back = Void(reason=made.why, by=made.by, at=made.at)
        yield TimelineEvent("visit_unvoided", made.at, taken_back, made.number + 1, visit)


def _of_days(log: UnitLog) -> Iterator[TimelineEvent]:
    """Events of which the unit's own record has the day."""
    unit = log.unit
    days: list[tuple[str, date | None, Any, int]] = [
        ("unit_installed", unit.installed_on, _as_installed(log), 0),
        ("unit_retired", unit.retired_on, unit, 0),
        *_of_replacing(unit),
        *(("component_installed", part.installed_on, part, n) for n, part in enumerate(unit.components)),
        *(("component_removed", part.removed_on, part, n) for n, part in enumerate(unit.components)),
    ]
    began = log.care.care_from
    days.append(("care_began", began, {"care_from": began}, 0))
    for n, each in enumerate(unit.last_done):
        days.append(("last_done_reported", each.earliest or unit.registered_on, each, n))
    days += _of_pauses("pause", log.pauses)
    days += _of_pauses("closure", log.closures)
    for owner, ended in (("site", log.site.ended_on), ("customer", log.customer_ended_on)):
        days.append((f"{owner}_ended", ended, {"ended_on": ended}, 0))
    for event, day, record, number in days:
        if day is not None:
            clock = log.site_on(day).time_zone
            yield TimelineEvent(event, noon(day, clock), record, number, None, clock)
    following = (*(each.tag for each in log.former_tags[1:]), unit.tag)
    for n, (former, new) in enumerate(zip(log.former_tags, following, strict=False)):
        yield TimelineEvent("tag_changed", former.at, {"from_tag": former.tag, "to_tag": new, "by": former.by}, n)
    for n, (before, after) in enumerate(pairwise(log.locations)):
        moved = {"from_site": before.site.code, "to_site": after.site.code, "reason": after.reason}
        yield TimelineEvent("unit_moved", after.begins, moved, n, None, after.site.time_zone)


def _as_installed(log: UnitLog) -> Unit:
    """The unit as it is recorded now, at the site where it was installed."""
    unit = log.unit
    return unit if unit.installed_on is None else replace(unit, site=log.site_on(unit.installed_on).code)


def _of_replacing(unit: Unit) -> Iterator[tuple[str, date | None, Any, int]]:
    """When the unit was put in the place of another one, and another one in its place."""
    if unit.replaces is not None:
        began = unit.installed_on or unit.registered_on
        yield "unit_replaced", began, {"unit": unit.replaces, "replaced_by": unit.tag}, 0
    if unit.replaced_by is not None:
        yield "unit_replaced", unit.replaced_on, {"unit": unit.tag, "replaced_by": unit.replaced_by}, 1


def _of_pauses(name: str, pauses: Iterable[Pause]) -> Iterator[tuple[str, date | None, Any, int]]:
    """First and last days of pauses and closures, those ahead included; one that was withdrawn is none."""
    for pause in pauses:
        text, record = pause.text, {"number": pause.number, **plain_text(pause.text)}
        if not text.withdrawn:
            yield f"{name}_began", text.first, record, pause.number
            yield f"{name}_ended", text.last, record, pause.number


def noon(day: date, zone_name: str) -> datetime:
    """Noon of a day in a time zone, or as near to it as has the same date in UTC.

    >>> for name in ("America/Denver", "Pacific/Kiritimati", "Etc/GMT+12"):
    ...     print(noon(date(2026, 6, 9), name))
    2026-06-09 19:00:00+00:00
    2026-06-09 00:00:00+00:00
    2026-06-09 23:59:00+00:00
    """
    return from_text(f"{day.isoformat()}{_noon_in_utc(zone_name)}")


@lru_cache(maxsize=1024)
def _noon_in_utc(zone_name: str) -> str:
    # The year hardly matters: no place has crossed the date line since 2011.
    offset = zone(zone_name).utcoffset(datetime(2026, 1, 1)) or timedelta()  # noqa: DTZ001 - by the zone's own clock
    hours, minutes = divmod(min(max(12 * 60 - offset // timedelta(minutes=1), 0), 24 * 60 - 1), 60)
    return f"T{hours:02}:{minutes:02}:00.000000Z"
