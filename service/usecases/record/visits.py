"""Record, correct and void visits."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import date, datetime
from functools import partial
from typing import Any

import orjson

from service.domain.audit import Actor
from service.domain.errors import Conflict, Fault, Invalid, NotFound
from service.domain.instants import local_day, to_text
from service.domain.maintenance.due import DueItem
from service.domain.plain import as_entered, from_plain
from service.domain.record.attendances import site_faults
from service.domain.record.checks import InService, faults_of
from service.domain.record.former import KEPT_BESIDE, former_visit
from service.domain.record.former import voids_taken_back as taken_back
from service.domain.record.unit_log import UnitLog
from service.domain.record.visits import UNVOIDED, Correction, Visit, Void
from service.storage.places import Place
from service.storage.store import Store
from service.usecases import audit
from service.usecases.maintenance.due import refresh_after_visit, refresh_unit, rules
from service.usecases.record import attendance_shares, calls, new_components, place_unknown, site_clock
from service.usecases.record.following import follow
from service.usecases.record.staff import left_faults
from service.usecases.root_causes import root_causes

KEPT_BY_US = ("shared_by", "posted_at", "posted_by", "site", "customer", "time_zone", "version", "void")
FRAME = ("id", "unit", "kind", "arrived_at", "posted_at", "posted_by", "time_zone")  # without these there is no visit


def record_visit(
    store: Store, actor: Actor, new: Mapping[str, Any], *, fingerprint: str, body: str, attended: str | None = None
) -> tuple[Visit, list[DueItem]]:
    """Store a visit and bring the unit's due items up to date. `body` is the text as it was posted.

    Raises Invalid with every fault, Conflict when the id is taken. `attended` is the site of its attendance.
    """
    new = of_technician(actor, new)
    place = location_of(store, new["unit"], beside=place_unknown.of_visit(store, actor, new))
    former = store.unit_logs.get(place.id, place.log_version)
    new, body = site_clock.of_visit(store, place, new, body)
    new, named = new_components.split(new)
    here = store.locations.place_at(place, new["arrived_at"]) if former.moves else place
    visit = new_visit(actor, new, here)
    kinds = new_components.joined(former.unit.kinds, named)
    beside = [*site_faults(visit, attended or here.site), *_outcome_faults(visit), *_left_faults(store, visit)]
    beside += calls.faults_of_named(store, visit, here.site)
    technician_id = checked(store, actor, visit, here, kinds, installed=True, beside=beside)
    unit = new_components.register(store, actor, place, former.unit, kinds)
    store.visits.add(visit, here, technician_id=technician_id, fingerprint=fingerprint)
    current = rules(store)
    raised = store.units.raise_log(place, current)
    log = _log_with(store, actor, raised, former if unit is former.unit else replace(former, unit=unit), visit)
    refresh = partial(refresh_after_visit, visit=visit) if place.due_items_hold(current) else refresh_unit
    due = refresh(store, raised, log)
    root_causes.search(store, raised, log, actor.at)
    audit.record(store, actor, action="created", resource="visit", key=visit.id, before=None, after=body)
    return visit, due


def _outcome_faults(visit: Visit) -> Iterator[Fault]:
    """A follow-up needs its result; an import takes visits from before this rule as they are."""
    if visit.kind == "follow_up" and visit.by == "us" and visit.outcome is None:
        yield Fault("outcome", None, "is required for a follow-up: how was the unit left?")


def _left_faults(store: Store, visit: Visit) -> Iterator[Fault]:
    named = {"technician": visit.technician} | {f"crew.{n}": code for n, code in enumerate(visit.crew)}
    return left_faults(store, named, local_day(visit.arrived_at, visit.time_zone))


def _log_with(store: Store, actor: Actor, raised: Place, former: UnitLog, visit: Visit) -> UnitLog:
    """The unit's log with one more visit, whose calls are answered; `raised` is the unit at the log's new version."""
    if visit.calls:
        calls.settle(store, actor, visit, visit.calls)
        return store.unit_logs.get(raised.id, raised.log_version)
    log = former.with_visit(visit)
    store.unit_logs.remember(raised.id, log)
    return log


def of_technician(actor: Actor, given: Mapping[str, Any]) -> Mapping[str, Any]:
    """A visit of ours as the technician of the token posts it; Invalid when it names somebody else."""
    own = actor.technician
    if own is None or given.get("by", "us") != "us":
        return given
    if (given.get("technician") or own) != own:
        raise Invalid([Fault("technician", given["technician"], f"this token posts visits of {own}")])
    return {**given, "technician": own}


def new_visit(actor: Actor, new: Mapping[str, Any], place: Place) -> Visit:
    """The visit as the domain knows it, posted now unless a file says when, at the unit as it stood at the arrival."""
    posted = {"posted_at": actor.at, "posted_by": actor.name}
    where = {"unit": place.tag, "site": place.site, "customer": place.customer, "time_zone": place.time_zone}
    return from_plain(Visit, {**posted, **new, **where})


def correct_visit(  # noqa: PLR0913  # what an import does otherwise are keywords
    store: Store,
    actor: Actor,
    former: Visit,
    changes: Mapping[str, Any],
    *,
    body: str,
    author: Actor | None = None,
    search: bool = True,
) -> tuple[Visit, list[DueItem]]:
    """Correct a visit that was read as `former`; the former text is kept.

    An import names the author of the correction, who need not be the caller, and searches at its end instead.
    """
    made = author or actor
    if changes.get("technician"):
        of_technician(actor, changes)
    if former.void is not None:
        raise Conflict(f"The visit {former.id!r} was voided on {to_text(former.void.at)}; post a new one.")
    changes, named = new_components.split(changes)
    changed = _with(former, changes)
    place = store.units.place(former.unit, to_write=True)
    here = store.locations.place_at(place, changed.arrived_at)
    changed = replace(changed, site=here.site, customer=here.customer, time_zone=here.time_zone)
    unit = store.units.get(former.unit)
    kinds = new_components.joined(unit.kinds, named)
    installed = search and "arrived_at" in changes
    beside = calls.faults_of_named(store, changed, here.site, former.calls, open_only=search)
    if search and not changes.keys().isdisjoint(("kind", "outcome")):
        beside += _outcome_faults(changed)
    if search and not changes.keys().isdisjoint(("arrived_at", "technician", "crew")):
        beside += _left_faults(store, changed)
    technician_id = checked(store, made, changed, here, kinds, installed=installed, beside=beside)
    new_components.register(store, actor, place, unit, kinds)
    store.visits.save(changed, here, technician_id=technician_id)
    calls.settle(store, actor, changed, dict.fromkeys((*former.calls, *changed.calls)))
    number, why = former.version, changes["why"]
    correction = Correction(number=number, at=made.at, by=made.name, why=why, changes=body, former=visit_text(former))
    store.visits.add_correction(former.id, here, correction)
    _, due = follow(store, place, actor.at, search=search)
    record_change(store, actor, "corrected", former, changed, author=author)
    return changed, due


def record_change(  # the parts of an audit entry
    store: Store, actor: Actor, action: str, former: Visit, changed: Visit, *, author: Actor | None
) -> None:
    """The entry is the caller's and of now; an imported change has its author and instant inside.

    Units from which the visit was moved show it in their histories, which change with it.
    """
    if former.version > 1:
        moved_from = {made.from_unit for made in store.visits.corrections(former.id)}
        calls.raise_logs(store, moved_from - {former.unit, changed.unit})
    before, after = _text_of(former), _text_of(changed)
    if author is not None:
        action, after = "imported", after | {"by": author.name, "at": to_text(author.at)}
    audit.record(
        store,
        actor,
        action=action,
        resource="visit",
        key=former.id,
        before=orjson.dumps(before).decode(),
        after=orjson.dumps(after).decode(),
    )


def _with(former: Visit, changes: Mapping[str, Any]) -> Visit:
    """The visit with the fields given, one version on."""
    frame = {name: getattr(former, name) for name in FRAME}
    given = {name: value for name, value in changes.items() if name != "why"}
    fresh = from_plain(Visit, frame | given)
    return replace(former, **{name: getattr(fresh, name) for name in given}, version=former.version + 1)


def void_visit(  # what an import does otherwise are keywords
    store: Store, actor: Actor, former: Visit, reason: str, *, author: Actor | None = None, search: bool = True
) -> tuple[Visit, list[DueItem]]:
    """Void a visit: it stays in the record and does not count. An import names the author and searches at its end."""
    made = author or actor
    if former.void is not None:
        raise Conflict(f"The visit {former.id!r} was voided before, on {to_text(former.void.at)}.")
    changed = replace(former, void=Void(reason=reason, by=made.name, at=made.at), version=former.version + 1)
    place = store.units.place(former.unit, to_write=True)
    technician_id = None if former.technician is None else store.technicians.id_of(former.technician)
    here = store.locations.place_at(place, changed.arrived_at)
    store.visits.save(changed, here, technician_id=technician_id)
    attendance_shares.share(store, changed)
    calls.settle(store, actor, changed, former.calls)
    _, due = follow(store, place, actor.at, search=search)
    record_change(store, actor, "voided", former, changed, author=author)
    return changed, due


def unvoid_visit(  # what an import does otherwise are keywords
    store: Store, actor: Actor, former: Visit, reason: str, *, author: Actor | None = None, search: bool = True
) -> tuple[Visit, list[DueItem]]:
    """Take the void of a visit back: it counts again, if it still can be true. The void stays in the former text."""
    made = author or actor
    if former.void is None:
        raise Conflict(f"The visit {former.id!r} is not voided.")
    changed = replace(former, void=None, version=former.version + 1)
    place = store.units.place(former.unit, to_write=True)
    unit = store.units.get(former.unit)
    here = store.locations.place_at(place, changed.arrived_at)
    technician_id = checked(store, made, changed, here, unit.kinds)
    calls.check_named(store, changed, here.site, former.calls, open_only=search)
    if search:
        attendance_shares.check_fit(store, changed)
    store.visits.save(changed, here, technician_id=technician_id)
    attendance_shares.share(store, changed)
    calls.settle(store, actor, changed, changed.calls)
    correction = Correction(
        number=former.version, at=made.at, by=made.name, why=reason, changes=UNVOIDED, former=visit_text(former)
    )
    store.visits.add_correction(former.id, here, correction)
    _, due = follow(store, place, actor.at, search=search)
    record_change(store, actor, "unvoided", former, changed, author=author)
    return changed, due


def voids_taken_back(store: Store, visit: Visit) -> set[tuple[str, datetime, str]]:
    """(record kind, instant, author) of each void of a visit that was taken back, and of its taking back."""
    pairs = list(taken_back(visit, store.visits.corrections(visit.id)))
    return {("void", void.at, void.by) for void, _ in pairs} | {("unvoid", made.at, made.by) for _, made in pairs}


def location_of(store: Store, tag: str, beside: Iterable[Fault] = ()) -> Place:
    """Where the visited unit stands; Invalid when there is no such unit, with the faults found `beside`."""
    try:
        return store.units.place(tag, to_write=True)
    except NotFound as unknown:
        raise Invalid([Fault("unit", tag, f"there is no unit {tag!r}"), *beside]) from unknown


def checked(  # noqa: PLR0913  # what is asked beside the visit
    store: Store,
    actor: Actor,
    visit: Visit,
    place: Place,
    kinds: Mapping[str, str],
    *,
    installed: bool = False,
    beside: Iterable[Fault] = (),
) -> int | None:
    """The technician's identity; Invalid when anything in the visit cannot be true, with the faults found `beside`.

    With `installed` it must not be before the unit's installation; an import takes what was recorded before this rule.
    """
    first, last = (None if day is None else date.fromisoformat(day) for day in (place.installed_on, place.retired_on))
    in_service = InService(first if installed else None, last)
    faults = faults_of(
        visit, kinds=kinds, now=actor.at, in_service=in_service, time_zone=place.time_zone, recorded=actor.importing
    )
    technician_id = None
    if visit.technician is not None:
        technician_id = store.technicians.id_of(visit.technician)
        if technician_id is None:
            faults.append(Fault("technician", visit.technician, f"there is no technician {visit.technician!r}"))
    for n, code in enumerate(visit.crew):
        if store.technicians.id_of(code) is None:
            faults.append(Fault(f"crew.{n}", code, f"there is no technician {code!r}"))
    faults += beside
    if faults:
        raise Invalid(faults)
    return technician_id


def body_of(visit: Visit) -> dict[str, Any]:
    """A visit as the body that the API takes: without what the database adds to it."""
    return {name: part for name, part in as_entered(visit).items() if name not in KEPT_BY_US}


def first_body(store: Store, visit_id: str) -> dict[str, Any]:
    """The body with which a visit came, before any correction; its instants by the site's clock as it is now."""
    visit, corrections = store.visits.get(visit_id), store.visits.corrections(visit_id)
    return body_of(former_visit(visit, corrections[0]) if corrections else visit)


def is_known(store: Store, visit: Visit) -> bool:
    """Whether a visit is stored as it came first, at its unit or at one from which it was moved since."""
    stored, corrections = store.visits.get(visit.id), store.visits.corrections(visit.id)
    if visit.unit in {made.from_unit for made in corrections}:
        visit = replace(visit, **{name: getattr(stored, name) for name in KEPT_BESIDE})
    return body_of(visit) == first_body(store, visit.id)


def visit_text(visit: Visit) -> str:
    """A visit as it was entered, as JSON text; where the unit stood then follows from its locations."""
    return orjson.dumps(_text_of(visit)).decode()


def _text_of(visit: Visit) -> dict[str, Any]:
    kept = ("site", "customer", "shared_by")
    return {name: part for name, part in as_entered(visit).items() if name not in kept}
