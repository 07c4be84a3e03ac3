"""Record calls, change them, and keep their state in step with the visits that answer them."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from service.domain.audit import Actor
from service.domain.errors import Conflict, Fault, Invalid, NotFound
from service.domain.instants import from_text, to_text
from service.domain.plain import as_entered, from_plain
from service.domain.record.calls import CLOSED_BY, Call, answered_by, faults_of, settled
from service.domain.record.checks import AROUND
from service.domain.record.local_times import by_clock, has_local
from service.domain.record.visits import Visit
from service.storage.store import Store
from service.usecases import audit
from service.usecases.maintenance.due import rules
from service.usecases.record.site_clock import clock_at

KEPT_BY_US = ("posted_at", "posted_by", "time_zone", "version", "visit")
OF_VISIT = ("state", "how", "at")  # follow from the visit that answered it
Refers = dict[str, int | None]


def record_call(store: Store, actor: Actor, new: Mapping[str, Any], *, fingerprint: str) -> Call:
    """Store a call; Invalid with every fault, Conflict when the id is taken."""
    new = _by_clock(store, new, new.get("site"), new.get("unit"), new["received_at"])
    _check_state(new, new.get("state", "open"), new.get("technician"))
    call = settled(from_plain(Call, {"posted_at": actor.at, "posted_by": actor.name, **new}), actor.at)
    call, refers = _checked(store, actor, call)
    store.calls.add(call, refers=refers, fingerprint=fingerprint)
    raise_logs(store, [call.unit])
    audit.created(store, actor, "call", call.id, call)
    return store.calls.get(call.id)


def change_call(store: Store, actor: Actor, former: Call, changes: Mapping[str, Any]) -> Call:
    """Change a call that was read as `former`; what a visit decided is changed at the visit."""
    if changes.get("id", former.id) != former.id:
        raise Invalid([Fault("id", changes["id"], "an id stays; visits name it")])
    changes = _by_clock_of(store, former, changes)
    if former.visit is not None and (named := [name for name in ("state", *CLOSED_BY) if name in changes]):
        raise Conflict(f"{named[0]}: the visit {former.visit!r} answered this call; correct or void that visit.")
    if changes.get("state") == "open":
        changes = {"technician": None, "day": None, **changes}
    changed = replace(former, **_read(changes), version=former.version + 1)
    if changed.state != former.state:
        ended: dict[str, Any] = {name: None for name in CLOSED_BY if name not in changes}
        changed = replace(changed, **ended)
    _check_state(changes, changed.state, changed.technician)
    changed, refers = _checked(store, actor, changed if former.visit else settled(changed, actor.at))
    store.calls.save(changed, refers=refers)
    raise_logs(store, [former.unit, changed.unit, *store.calls.naming_units(former.id)])
    audit.changed(store, actor, "call", former.id, before=former, after=changed)
    return store.calls.get(former.id)


def _by_clock_of(store: Store, former: Call, changes: Mapping[str, Any]) -> Mapping[str, Any]:
    """What changes in a stored call, with instants alone."""
    site, unit = changes.get("site", former.site), changes.get("unit", former.unit)
    return _by_clock(store, changes, site, unit, changes.get("received_at", former.received_at))


def _by_clock(
    store: Store, given: Mapping[str, Any], site: str | None, unit: str | None, received: datetime
) -> Mapping[str, Any]:
    """What was posted, with instants alone, by the clock of the call's site; Invalid where that is not known."""
    if not has_local(given):
        return given
    if site is not None and store.sites.ids_of(site) is not None:
        return by_clock(given, store.sites.get(site).time_zone)
    present = None if unit is None else store.units.present_tag(unit)
    return by_clock(given, present and clock_at(store, store.units.place(present), received))


def _read(changes: Mapping[str, Any]) -> dict[str, Any]:
    """The fields given, as the call holds them."""
    frame = {"id": "", "received_at": None, "symptom": "", "posted_at": None, "posted_by": ""}
    fresh = from_plain(Call, frame | dict(changes))
    return {name: getattr(fresh, name) for name in changes if name != "id"}


def _check_state(given: Mapping[str, Any], state: str, technician: str | None) -> None:
    """Refuse fields of an end that the call does not have, and an assignment to nobody."""
    fitting = {"answered": ("how", "at", "advice"), "cancelled": ("why", "at")}.get(state, ())
    faults = [
        Fault(name, str(given[name]), f"does not belong to a call that is {state}")
        for name in CLOSED_BY
        if name not in fitting and given.get(name) is not None
    ]
    if given.get("state") == "assigned" and technician is None:
        faults.append(Fault("state", "assigned", "an assigned call names its technician"))
    if faults:
        raise Invalid(faults)


def _checked(store: Store, actor: Actor, call: Call) -> tuple[Call, Refers]:
    """The call with the site of its unit, and the identities of what it names; Invalid with every fault."""
    faults = list(faults_of(call, actor.at))
    refers: Refers = dict.fromkeys(("customer_id", "site_id", "unit_id", "technician_id"))
    if call.unit is not None:
        call = _at_its_unit(store, call, refers, faults)
    if call.site is not None:
        ids = store.sites.ids_of(call.site)
        if ids is None:
            faults.append(Fault("site", call.site, f"there is no site {call.site!r}"))
        else:
            refers |= {"site_id": ids[0], "customer_id": ids[1]}
    if call.technician is not None:
        refers["technician_id"] = store.technicians.id_of(call.technician)
        if refers["technician_id"] is None:
            faults.append(Fault("technician", call.technician, f"there is no technician {call.technician!r}"))
    if faults:
        raise Invalid(faults)
    return call, refers


def _at_its_unit(store: Store, call: Call, refers: Refers, faults: list[Fault]) -> Call:
    """The call with the site at which its unit stood when it was received."""
    try:
        place = store.units.place(call.unit or "")
    except NotFound:
        faults.append(Fault("unit", call.unit, f"there is no unit {call.unit!r}"))
        return call
    refers["unit_id"] = place.id
    site = store.locations.place_at(place, call.received_at).site
    if call.site not in (None, site):
        faults.append(Fault("unit", call.unit, f"stands at the site {site!r}, not at {call.site!r}"))
    return replace(call, site=call.site or site)


def check_named(store: Store, visit: Visit, site: str, former: Sequence[str] = (), *, open_only: bool = True) -> None:
    """Refuse a visit that names a call it cannot answer."""
    faults = faults_of_named(store, visit, site, former, open_only=open_only)
    if faults:
        raise Invalid(faults)


def faults_of_named(
    store: Store, visit: Visit, site: str, former: Sequence[str] = (), *, open_only: bool = True
) -> list[Fault]:
    """A fault for each call that a visit names and cannot answer; `former` are those that it named before a correction.

    An import asks only whether the calls fit: which visit answered first follows from the visits.
    """
    faults: list[Fault] = []
    for n, call_id in enumerate(visit.calls):
        if call_id in visit.calls[:n]:
            faults.append(Fault(f"calls.{n}", call_id, "is listed twice in this visit"))
            continue
        try:
            call = store.calls.get(call_id, to_write=True)
        except NotFound:
            faults.append(Fault(f"calls.{n}", call_id, f"there is no call {call_id!r}"))
            continue
        unfit = _unfit(call, visit, site, waiting=open_only and call_id not in former)
        if unfit:
            faults.append(Fault(f"calls.{n}", call_id, unfit))
    return faults


def _unfit(call: Call, visit: Visit, site: str, *, waiting: bool) -> str | None:
    """Why a visit cannot answer a call; once it did, it still does where its unit was moved in between."""
    if call.unit not in (None, visit.unit):
        return f"is a call for the unit {call.unit}"
    if call.site not in (None, site) and waiting:
        return f"is a call for the site {call.site}"
    if call.received_at > (visit.left_at or visit.arrived_at) + AROUND:
        return f"was received after the visit, {to_text(call.received_at)}"
    if waiting and not call.waiting:
        return f"is already {call.state}"
    return None


def settle(store: Store, actor: Actor, visit: Visit, call_ids: Iterable[str]) -> None:
    """Bring calls that a visit names, or named, to the state that follows from the visits that count."""
    for call_id in call_ids:
        former = store.calls.get(call_id, to_write=True)
        if former.visit is None and not former.waiting:
            continue  # ended by itself, and a voided visit does not reopen it
        found = store.calls.answering(call_id)
        by, at = (found[0], from_text(found[1])) if found else (None, None)
        if (former.visit, former.at) == (by, at):
            continue
        changed = answered_by(former, by, at)
        store.calls.answer(changed)
        others = {former.unit, *store.calls.naming_units(call_id)} - {visit.unit}
        raise_logs(store, others)
        audit.changed(store, actor, "call", call_id, before=former, after=changed)


def raise_logs(store: Store, tags: Iterable[str | None]) -> None:
    """Count a change of these units' histories; no due item follows from a call."""
    current = rules(store)
    for tag in sorted({tag for tag in tags if tag is not None}):
        place = store.units.place(tag, to_write=True)
        store.units.raise_log(place, current if place.due_items_hold(current) else 0)


def body_of(call: Call) -> dict[str, Any]:
    """A call as the body that the API takes; the answer of a visit is the visit's."""
    body = {name: part for name, part in as_entered(call).items() if name not in KEPT_BY_US}
    if call.visit is not None:
        return {name: part for name, part in body.items() if name not in OF_VISIT}
    if call.waiting:
        del body["state"]
    return body


def take(store: Store, actor: Actor, line: Mapping[str, Any], fingerprint: str) -> str:
    """Store a call from a file, and whether it was "added", "changed" or "unchanged"."""
    if store.calls.fingerprint(line["id"]) is None:
        record_call(store, actor, line, fingerprint=fingerprint)
        return "added"
    former = store.calls.get(line["id"])
    changes = differing(former, _by_clock_of(store, former, line))
    if not changes:
        return "unchanged"
    change_call(store, actor, former, changes)
    return "changed"


def differing(former: Call, line: Mapping[str, Any]) -> dict[str, Any]:
    """What a line of a file changes in a stored call."""
    wanted = _read({name: value for name, value in line.items() if name not in KEPT_BY_US})
    return {name: line[name] for name, value in wanted.items() if getattr(former, name) != value}
