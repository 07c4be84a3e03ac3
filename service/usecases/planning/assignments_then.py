"""Assignments as they were known at the end of a past day: who was to do which work, and what was postponed."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime
from typing import Any

import orjson

from service.domain.audit import Actor
from service.domain.instants import end_of_day
from service.domain.plain import from_plain
from service.domain.record.assignments import Assignment
from service.domain.record.changes import Change
from service.storage.assignments import InForce, Target
from service.storage.store import Store
from service.usecases import audit

ASSIGNMENT = "assignment"
Identity = tuple[str, str | None, str | None, datetime]
SiteThen = tuple[int, datetime]  # its identity, and when the day ended there


def keep(store: Store, actor: Actor, former: Assignment, now: Assignment | None = None) -> None:
    """Keep what an assignment was before it was changed, without `now` before it was deleted."""
    after = "{}" if now is None else audit.text_of(now)
    store.changes.add(Change(actor.at, actor.name, ASSIGNMENT, str(former.id), audit.text_of(former), after))


def in_force_then(store: Store, on: date) -> dict[Target, InForce]:
    """What held on a past day or later, by what was known when that day ended at each site.

    Whatever was changed or deleted since then is taken as it was before.
    """
    sites: dict[str, SiteThen | None] = {}
    known = {_identity(each): each for each in store.assignments.standing(on.isoformat())}
    for change in reversed(list(store.changes.of(ASSIGNMENT))):  # of several since then the first has the last word
        was = _before(store, change)
        site = None if was is None else _site(store, sites, was.site, on)
        if was is not None and site is not None and change.at > site[1]:
            known[_identity(was)] = was
    rows = []
    for each in sorted(known.values(), key=lambda each: each.posted_at):
        site = _site(store, sites, each.site, on)
        if site is not None and each.posted_at <= site[1] and (each.day or each.postponed_to or date.min) >= on:
            rows.append(_row(store, each, site[0]))
    return {row[:3]: row for row in rows}


def _identity(each: Assignment) -> Identity:
    """Which assignment it is. Its number will not do: an import into a database with others gives it another one."""
    return each.site, each.unit, each.task, each.posted_at


def _site(store: Store, sites: dict[str, SiteThen | None], code: str, on: date) -> SiteThen | None:
    if code not in sites:
        ids = store.sites.ids_of(code)
        sites[code] = None if ids is None else (ids[0], end_of_day(on, store.sites.get(code).time_zone))
    return sites[code]


def _before(store: Store, change: Change) -> Assignment | None:
    """The assignment before a change, its unit by the present tag; None of a unit that is not known here."""
    if change.before is None:
        return None
    was = from_plain(Assignment, orjson.loads(change.before))
    tag = None if was.unit is None else store.units.present_tag(was.unit)
    return None if was.unit is not None and tag is None else replace(was, unit=tag)


def _row(store: Store, each: Assignment, site_id: int) -> InForce:
    unit_id = None if each.unit is None else store.units.place(each.unit).id
    technician_id = None if each.technician is None else store.technicians.id_of(each.technician)
    day, postponed_to = (None if on is None else on.isoformat() for on in (each.day, each.postponed_to))
    return site_id, unit_id, each.task, technician_id, day, postponed_to


def check_kept(record: Mapping[str, Any]) -> None:
    """Refuse, as ValueError or TypeError, what could not be read again."""
    was = from_plain(Assignment, record)
    texts = (was.unit, was.task, was.technician)
    if not isinstance(was.site, str) or not all(isinstance(each, str | None) for each in texts):
        raise TypeError("what is named is named as text")
    if not isinstance(was.posted_at, datetime) or not isinstance(was.day or was.postponed_to, date):
        raise TypeError("an assignment was posted at an instant and is for a day")
