"""What one unit's year holds: both the customer's service summary and the fleet year add up these."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache
from hashlib import sha256
from typing import Any

import orjson

from service.domain.instants import local_day
from service.domain.maintenance.tasks import Task
from service.domain.record.calls import Call
from service.domain.record.dated_facts import FactsChange
from service.domain.record.fleet import Site
from service.domain.record.locations import Stay, stays_by_site
from service.domain.record.part_replaced import PartReplaced
from service.domain.record.unit_log import UnitLog
from service.domain.record.visits import Visit
from service.domain.root_causes.life_cycle import RootCause
from service.domain.summary import outages, pm
from service.domain.summary.fleet_decisions import decisions_of
from service.domain.summary.fleet_lines import DecisionLine
from service.domain.summary.lines import Outage, PmLine, RootCauseLine
from service.domain.summary.root_causes import REMEDY_FIGURES, UnitRootCause, root_causes_of
from service.domain.summary.settings import UnitTasks
from service.domain.summary.unit_record import Part, UnitRecord, in_service, parts_of
from service.domain.summary.window import Window

NOT_SHOWN: Mapping[str, Any] = {"internal_note": None, "posted_by": ""}  # of a visit, in no document for the customer
GROWING: Mapping[str, Any] = {**dict.fromkeys(REMEDY_FIGURES), "over": False}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class UnitYear:
    """One unit's year; `visits` and `replaced` are those of the window, those on record go back to the beginning.

    The log ends at the instant as of which the year is reported; unit and site in it are as recorded at the window's
    end. `standing` is what was due then. `digest` changes with everything on record that counts. Of a unit that was
    moved, `moved_in_on` and `moved_out_on` are the first and last day of the stay that is reported; of its whole year,
    `parts` are those at its sites. `decisions` are those of the year before.
    """

    log: UnitLog
    window: Window
    visits_on_record: tuple[Visit, ...]
    visits: tuple[Visit, ...]
    replaced_on_record: tuple[PartReplaced, ...]
    replaced: tuple[PartReplaced, ...]
    standing: pm.Standing
    pm_lines: tuple[PmLine, ...]
    outages: tuple[Outage, ...]
    root_causes: tuple[UnitRootCause, ...]
    digest: str
    decisions: tuple[DecisionLine, ...] = ()
    moved_in_on: date | None = None
    moved_out_on: date | None = None
    parts: tuple["UnitYear", ...] = ()

    @property
    def counts(self) -> bool:
        """Whether the unit was in service on some day of the window, or visited or given a new item in it."""
        return in_service(self.log, self.window) or bool(self.visits or self.replaced)

    @property
    def has_left(self) -> bool:
        """Whether the unit was moved away, or out of our care, by the window's end."""
        out_from = self.log.care.out_from
        return self.moved_out_on is not None or (out_from is not None and out_from <= self.window.last)


def unit_year(record: UnitRecord, found: Iterable[RootCause], year: int, before: Iterable[RootCause] = ()) -> UnitYear:
    """The unit's year up to the `as_of` of its record.

    `found` are its root causes as they stood at that instant, `before` as they stood at the end of the year before.
    """
    found = tuple(found)
    whole = _whole(record, found, year)
    decided = decisions_of(whole.log, whole.replaced_on_record, before, found, whole.window)
    return replace(whole, decisions=tuple(decided))


def _whole(record: UnitRecord, found: tuple[RootCause, ...], year: int) -> UnitYear:
    log = record.log
    if not log.moves:
        return _year(record.part(year), found)
    stays = stays_by_site(log.locations)
    parts = [_year(part, found) for stay in stays for part in parts_of(record, year, stay)]
    whole = _year(record.part(year, Stay(log.locations)), found)
    return replace(whole, parts=tuple(parts)) if len(parts) > 1 else whole


def years_of_stay(record: UnitRecord, found: Iterable[RootCause], year: int, stay: Stay | None) -> Iterator[UnitYear]:
    """As `unit_year` while the unit stands somewhere; none where that is not in the year."""
    return (_year(part, tuple(found)) for part in parts_of(record, year, stay))


def _year(part: Part, found: tuple[RootCause, ...]) -> UnitYear:
    cut, window = part.cut, part.window
    log, visits, replaced = cut.log, cut.visits, cut.replaced
    stood, without = pm.standing(cut, window, since=part.moved_in_on), outages.outages(cut.spells, window, log)
    return UnitYear(
        log=log,
        window=window,
        visits_on_record=visits,
        visits=tuple(visit for visit in visits if window.holds(visit.day)),
        replaced_on_record=replaced,
        replaced=tuple(each for each in replaced if window.holds(each.on)),
        standing=stood,
        pm_lines=pm.pm_lines(cut, window, stood),
        outages=without,
        root_causes=(named := root_causes_of(log, replaced, found, window, visits)),
        digest=_digest(log, window, cut.tasks, named, (visits, replaced, without)),
        moved_in_on=part.moved_in_on,
        moved_out_on=part.moved_out_on,
    )


def _digest(
    log: UnitLog,
    window: Window,
    tasks: UnitTasks,
    named: tuple[UnitRootCause, ...],
    facts: tuple[tuple[Visit, ...], tuple[PartReplaced, ...], tuple[Outage, ...]],
) -> str:
    """SHA-256 of what of the unit counts in the window; it holds nothing that an import or a later move would change.

    No version counts: it goes up with changes that no year shows, and begins anew in an import. Of the unit all else
    that is recorded counts, but no link to another unit; of a visit what is for the customer; of a call what was heard;
    of a root cause no figures about its remedy, which grow from day to day. Unit and site are as they were recorded at
    the window's end, with the changes of their facts in it; that it ended later does not count.
    What happened after the window counts only as far as it shows when an outage ended or what was replaced before.
    """
    (visits, replaced, without), site = facts, replace(log.site, ended_on=window.by_end(log.site.ended_on))
    care, retired_on = log.care.known_before(window.plan_from), window.by_end(log.unit.retired_on)
    unit = replace(log.unit, version=0, retired_on=retired_on, replaces=None, replaced_by=None, replaced_on=None)
    by_then = {part.visit for part in replaced if part.on <= window.last}
    counted = [each for each in visits if each.day <= window.last or each.id in by_then]
    at_end = tuple(tasks.on(task, window.plan_from) for task in tasks.tasks)
    former = [
        (last, _as_set((task,))) for changes in tasks.former.values() for last, task in changes if last <= window.last
    ]
    parts = (
        (unit, _of_site(site), _facts_in(log, window)),
        [_recorded(visit) for visit in counted],
        [_heard(call) for call in log.calls if local_day(call.received_at, site.time_zone) <= window.last],
        (_as_set(at_end), former, [(each.started_at, each.seen, each.estimated) for each in without]),
        [_recorded(replace(each.line, **GROWING)) for each in named],
        *([(care.away, care.out_from)] if care.away or care.out_from else ()),
    )
    return sha256(repr(parts).encode("utf-8", "surrogatepass")).hexdigest()


def _of_site(site: Site) -> tuple[Any, ...]:
    """What of a site the figures and words of a year depend on."""
    names = (site.code, site.customer, site.name, site.time_zone)
    return (*names, site.elevation, site.surroundings, site.closed_weekdays, site.care_from, site.ended_on)


def _facts_in(log: UnitLog, window: Window) -> tuple[FactsChange, ...]:
    """The changes of dated facts from the window's first day to its end; what was before counts by what it became."""
    made = (*log.facts.unit, *log.facts.sites.get(log.site.code, ()))
    return tuple(each for each in made if local_day(each.at, log.time_zone) >= window.first)


def _recorded(part: Visit | RootCauseLine) -> bytes:
    """A part of the record as text, by its fields."""
    counted = replace(part, version=0, **NOT_SHOWN) if isinstance(part, Visit) else part
    return orjson.dumps(counted, default=repr)


def _heard(call: Call) -> tuple[Any, ...]:
    """What was heard in a call; how it ended shows in the visits and outages."""
    return call.id, call.received_at, call.site, call.unit, call.symptom, call.words


@lru_cache(maxsize=64)
def _as_set(tasks: tuple[Task, ...]) -> str:
    """How tasks are set, as text; most units have the same."""
    return repr(
        [
            (task.code, str(task.interval), str(task.shortest), str(task.longest), task.adapts, task.applies)
            for task in tasks
        ]
    )
