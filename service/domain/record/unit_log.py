"""The whole history of one unit as one frozen value: what is due, its condition, root causes and year follow from it.

Two times belong to every event: when it happened and when it was recorded. `as_of` cuts by the first, `known_at` by the
second. Voided visits stay in the log; `visits` and the views below it hold only those that count.
"""

from bisect import bisect_right
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import Any, NamedTuple

from service.domain.instants import end_of_day, local_day, start_of_day
from service.domain.record.calls import Call
from service.domain.record.care import Care, Planned
from service.domain.record.dated_facts import FactsHistory
from service.domain.record.fleet import Site, Unit
from service.domain.record.former import former_visit, unit_at
from service.domain.record.imprecise_days import latest_by, uncertain
from service.domain.record.locations import Location, in_force, located, location_at, stays_by_site
from service.domain.record.part_replaced import PartReplaced
from service.domain.record.pauses import Pause, Span, in_order, known_at, spans_of
from service.domain.record.tags import FormerTag
from service.domain.record.visits import NO_COLD_BEER, Complaint, Correction, Reading, Visit


class Performed(NamedTuple):
    """What a visit recorded about one task: `on` is the day at the site; `reason` is why it was not done; `by` whom.

    `reported` is the day, month or year as reported, where no visit recorded it; `on` is then its first day.
    """

    task: str
    on: date
    result: str
    as_found: str | None
    reason: str | None
    visit: str = ""
    by: str = "us"
    reported: str | None = None


@dataclass(frozen=True, slots=True)
class ReadingTaken:
    """A reading with the instant it was taken, as well as that is known, the visit's day at the site, and the visit."""

    reading: Reading
    at: datetime
    on: date
    visit: str

    @property
    def place(self) -> tuple[str, str | None, str | None]:
        """What was read, and where."""
        return (self.reading.quantity, self.reading.component, self.reading.tap)

    @property
    def as_found(self) -> bool:
        """Whether it was taken before anything was done."""
        return self.reading.when == "as_found"


@dataclass(frozen=True, slots=True)
class SettingChange:
    """What is set for a task, at a unit or for all, from an instant on, as JSON has it, and what was set before."""

    task: str
    at: datetime
    before: Mapping[str, Any]
    after: Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitLog:
    """One unit's history: the unit and its site as they stand, every visit by arrival, corrections by visit id.

    `moves` are its locations as they were recorded, the first one too; none for a unit that was never moved.
    `moved_away` are visits that were recorded here and belong to other units; their corrections are among those here.
    `calls` are those for the unit and those that its visits name, by the instant at which they were received.
    `version` counts the changes of the history. `until` is the instant up to which events count, None for all.
    """

    unit: Unit
    site: Site
    version: int = 0
    all_visits: tuple[Visit, ...] = ()
    calls: tuple[Call, ...] = ()
    corrections: Mapping[str, tuple[Correction, ...]] = field(default_factory=dict)
    settings: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    customer_care_from: date | None = None
    customer_ended_on: date | None = None
    pauses: tuple[Pause, ...] = ()
    closures: tuple[Pause, ...] = ()
    moves: tuple[Location, ...] = ()
    former_tags: tuple[FormerTag, ...] = ()
    moved_away: tuple[Visit, ...] = ()
    planned: Mapping[str, Planned] = field(default_factory=dict)
    setting_changes: tuple[SettingChange, ...] = ()
    facts: FactsHistory = field(default_factory=FactsHistory)
    until: datetime | None = None

    @property
    def time_zone(self) -> str:
        """The site's time zone."""
        return self.site.time_zone

    @property
    def locations(self) -> tuple[Location, ...]:
        """Where the unit stands, from when: by day, the planned ones too."""
        if not self.moves:
            here = Location(site=self.site, customer_care_from=self.customer_care_from, closures=self.closures)
            return (replace(here, customer_ended_on=self.customer_ended_on),)
        return in_force(self.moves)

    def site_on(self, day: date) -> Site:
        """The site where the unit stands from the beginning of a day there."""
        return next(each for each in reversed(self.locations) if (each.starts_on or date.min) <= day).site

    @property
    def elevation(self) -> float | None:
        """The site's elevation above sea level [m], None where it is not recorded."""
        return None if self.site.elevation is None else self.site.elevation.value

    @property
    def care(self) -> Care:
        """When our care of the unit began and ends, what was done before it, its pauses, and planned first dates."""
        unit, last = self.unit, self.last_day
        away = self._away()
        ends = (day for day in (unit.retired_on, self.site.ended_on, self.customer_ended_on) if day is not None)
        return Care(
            care_from=unit.care_from or self.site.care_from or self.customer_care_from,
            last_done=unit.last_done,
            planned=self.planned,
            away=away if last is None else tuple(span for span in away if span.first <= last),
            out_from=min(ends, default=None),
        )

    def _away(self) -> tuple[Span, ...]:
        """The days out of service: by the unit's pauses, and by the closures of each site while it stands there."""
        if not self.moves:
            return spans_of(self.pauses, self.closures, self.time_zone)
        begun = [each for each in self.locations if self.until is None or each.begins <= self.until]
        closed = (span for stay in stays_by_site(begun) for span in stay.closed())
        return in_order((*spans_of(self.pauses, (), self.time_zone), *closed))

    @property
    def last_day(self) -> date | None:
        """The last day at the site on which events count; None for all days."""
        return None if self.until is None else local_day(self.until, self.time_zone)

    @property
    def visits(self) -> tuple[Visit, ...]:
        """The visits that count, by arrival."""
        until = self.until
        return tuple(
            visit for visit in self.all_visits if visit.void is None and (until is None or visit.arrived_at <= until)
        )

    def complaint_of(self, visit: Visit) -> Complaint | None:
        """The first call that the visit answers, one about no cold beer before others; else its own complaint.

        A call from a site at which the unit stood before is not shown with a visit at the next.
        """
        named = [call for call in self.calls if call.id in visit.calls and call.site in (None, visit.site)]
        if not named:
            return visit.complaint
        call = next((each for each in named if each.symptom in NO_COLD_BEER), named[0])
        return Complaint(symptom=call.symptom, reported_at=call.received_at, words=call.words)

    def performed(self) -> Iterator[Performed]:
        """Every task result, by arrival."""
        for visit in self.visits:
            on = visit.day
            for task in visit.tasks:
                yield Performed(task.task, on, task.result, task.as_found, task.reason, visit.id, visit.by)

    def replaced(self) -> list[PartReplaced]:
        """Every replacement by its own day; one recorded at a later visit counts from its day on."""
        kinds, last = self.unit.kinds, self.last_day
        found = [
            PartReplaced(
                part.component,
                kinds.get(part.component, "unknown"),
                latest_by(part.on, visit.day),
                part.reason,
                part.condition,
                part.evidence,
                visit.made_by(part),
                visit.id,
                part.note,
                *uncertain(part.on, self.unit.installed_on, latest_by(part.on, visit.day)),
            )
            for visit in self.all_visits
            if visit.void is None
            for part in visit.replacements
        ]
        return sorted((each for each in found if last is None or each.on <= last), key=lambda each: each.on)

    def readings(self) -> Iterator[ReadingTaken]:
        """Every reading, by arrival and then as recorded."""
        for visit in self.visits:
            yield from readings_at(visit)

    def as_of(self, until: datetime) -> "UnitLog":
        """The log with what had happened by an instant."""
        earliest = until if self.until is None else min(until, self.until)
        return replace(self, until=earliest).standing_at(earliest)

    def standing_at(self, instant: datetime) -> "UnitLog":
        """The log with the unit at the site where it stood at an instant."""
        if not self.moves:
            return self
        return self.standing_in(location_at(self.locations, instant))

    def standing_in(self, there: Location) -> "UnitLog":
        """The log with the unit in one of its locations."""
        unit = replace(self.unit, site=there.site.code)
        return replace(
            self,
            unit=unit,
            site=there.site,
            customer_care_from=there.customer_care_from,
            customer_ended_on=there.customer_ended_on,
            closures=there.closures,
        )

    def facts_on(self, day: date) -> "UnitLog":
        """The log with its dated facts as they were recorded when a day began; see `facts_at`."""
        return self.facts_at(start_of_day(day, self.time_zone)) if self.facts else self

    def facts_at(self, instant: datetime) -> "UnitLog":
        """The log with its dated facts as recorded by an instant; those of the day of registration hold before it."""
        if not self.facts:
            return self
        known, instant = self.facts, max(instant, end_of_day(self.unit.registered_on, self.time_zone))
        moves = tuple(replace(each, site=known.site_at(each.site, instant)) for each in self.moves)
        unit, site = known.unit_at(self.unit, instant), known.site_at(self.site, instant)
        return replace(self, unit=unit, site=site, moves=moves, facts=known.by(instant))

    def known_at(self, instant: datetime) -> "UnitLog":
        """The log as it was recorded by an instant: later posts, corrections, voids and settings do not count yet."""
        posted = [visit for visit in (*self.all_visits, *self.moved_away) if visit.posted_at <= instant]
        here = {
            each.id for each in posted if unit_at(each, self.corrections.get(each.id, ()), instant) == self.unit.tag
        }
        visits = tuple(self._then(self._here(visit), instant) for visit in posted if visit.id in here)
        later = [change for change in reversed(self.setting_changes) if change.at > instant]
        moves = tuple(
            replace(each, closures=known_at(each.closures, instant))
            for each in self.moves
            if each.at is None or each.at <= instant
        )
        if moves:
            visits = tuple(located(visit, in_force(moves)) for visit in visits)
        known = replace(
            self,
            moves=moves,
            moved_away=tuple(visit for visit in self.moved_away if visit.posted_at <= instant and visit.id not in here),
            former_tags=tuple(each for each in self.former_tags if each.at <= instant),
            all_visits=tuple(sorted(visits, key=lambda visit: visit.arrived_at)),
            calls=tuple(call for call in self.calls if call.posted_at <= instant),
            corrections={
                key: tuple(made for made in corrections if made.at <= instant)
                for key, corrections in self.corrections.items()
            },
            settings=dict(self.settings) | {change.task: change.before for change in later},
            setting_changes=tuple(change for change in self.setting_changes if change.at <= instant),
            pauses=known_at(self.pauses, instant),
            closures=known_at(self.closures, instant),
        )
        return known.facts_at(instant).standing_at(self.until or instant)

    def _here(self, visit: Visit) -> Visit:
        """A visit that was recorded here before it was moved away."""
        if visit.unit == self.unit.tag:
            return visit
        site = self.site
        return replace(visit, unit=self.unit.tag, site=site.code, customer=site.customer, time_zone=site.time_zone)

    def _then(self, visit: Visit, instant: datetime) -> Visit:
        """A visit as it was recorded by an instant."""
        later = next((made for made in self.corrections.get(visit.id, ()) if made.at > instant), None)
        if later is not None:
            visit = former_visit(visit, later)
        if visit.void is not None and visit.void.at > instant:
            return replace(visit, void=None, version=visit.version - 1)
        return visit

    def with_visit(self, new: Visit) -> "UnitLog":
        """The next version of the log, with one more visit; of two of one instant the later posted comes last."""
        at = bisect_right(self.all_visits, new.arrived_at, key=lambda visit: visit.arrived_at)
        return replace(self, version=self.version + 1, all_visits=(*self.all_visits[:at], new, *self.all_visits[at:]))


def readings_at(visit: Visit, *quantities: str) -> list[ReadingTaken]:
    """The readings of one visit, or those of some quantities; without an instant, at the arrival or the leaving."""
    around = {"as_found": visit.arrived_at, "as_left": visit.left_at or visit.arrived_at}
    on = visit.day
    wanted = [each for each in visit.readings if each.quantity in quantities] if quantities else visit.readings
    return [ReadingTaken(each, each.at or around[each.when], on, visit.id) for each in wanted]
