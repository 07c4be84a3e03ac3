"""Record attendances with their visits, all or nothing, and correct both together."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any
from uuid import UUID, uuid5

import orjson

from service.domain.audit import Actor
from service.domain.errors import Fault, Invalid
from service.domain.instants import local_day, to_text
from service.domain.maintenance.due import DueItem
from service.domain.plain import as_entered, from_plain
from service.domain.record.attendances import DONE, MOST_VISITS, OF_VISITS, Attendance, faults_of, site_faults
from service.domain.record.checks import EASTERNMOST
from service.domain.record.local_times import by_clock
from service.domain.record.visits import Visit
from service.storage.store import Store
from service.usecases import audit
from service.usecases.posted_once import fingerprint_of
from service.usecases.record import attendance_shares, place_unknown
from service.usecases.record.place_unknown import without_clock
from service.usecases.record.staff import left_anywhere, left_faults
from service.usecases.record.visits import correct_visit, record_visit

CHANGEABLE = ("crew", "arrived_at", "left_at", "access", "note")
KEPT_BY_US = ("visits", "posted_at", "posted_by", "time_zone", "version")
Recorded = tuple[Visit, list[DueItem]]


def record_attendance(
    store: Store, actor: Actor, new: Mapping[str, Any], *, fingerprint: str, body: str
) -> tuple[Attendance, list[Recorded]]:
    """Store an attendance and its visits; Invalid with every fault of both. `body` is the text as it was posted."""
    visits = new.get("visits", [])
    ids = _ids(new)
    given = {**new, "visits": ids}
    if store.sites.ids_of(new["site"]) is None:
        raise Invalid([_no_site(new), *faults_anywhere(store, actor, new)])
    attendance, refers = _new(store, actor, given)
    faults = [
        *_faults(store, actor, attendance),
        *_left_faults(store, attendance),
        *_of_units(attendance, [one["unit"] for one in visits]),
    ]
    own = () if faults else OF_VISITS  # faults of these are named once, of the attendance
    texts = orjson.loads(body).get("visits", [])
    recorded: list[Recorded] = []
    for n, one in enumerate(visits):
        try:
            recorded.append(_visit(store, actor, attendance, {**one, "id": ids[n]}, texts[n]))
        except Invalid as refusal:
            faults += _of_visit(n, refusal, own)
    if faults:
        raise Invalid(faults)
    store.attendances.add(attendance, **refers, fingerprint=fingerprint)
    audit.created(store, actor, "attendance", attendance.id, attendance)
    return store.attendances.get(attendance.id), recorded


def _ids(new: Mapping[str, Any]) -> list[str]:
    return [one.get("id") or str(uuid5(UUID(new["id"]), one["unit"])) for one in new.get("visits", [])]


def _new(store: Store, actor: Actor, given: Mapping[str, Any]) -> tuple[Attendance, dict[str, int]]:
    """An attendance posted now, with the identities of its site and customer."""
    ids = store.sites.ids_of(given["site"])
    if ids is None:
        raise Invalid([_no_site(given)])
    zone = store.sites.get(given["site"]).time_zone
    return _by_clock(actor, given, zone), {"site_id": ids[0], "customer_id": ids[1]}


def _by_clock(actor: Actor, given: Mapping[str, Any], zone: str) -> Attendance:
    posted = {"posted_at": actor.at, "posted_by": actor.name}
    return from_plain(Attendance, {**posted, **by_clock(given, zone), "time_zone": zone})


def _no_site(given: Mapping[str, Any]) -> Fault:
    return Fault("site", given["site"], f"there is no site {given['site']!r}")


def faults_anywhere(store: Store, actor: Actor, new: Mapping[str, Any]) -> Iterator[Fault]:
    """What cannot be true of an attendance and its visits, whatever the site."""
    visits, given = new.get("visits", []), {**new, "visits": _ids(new)}
    attendance = _by_clock(actor, given, EASTERNMOST)
    yield from without_clock(given, _faults(store, actor, attendance))
    yield from left_anywhere(store, None, attendance.crew, given["arrived_at"])
    yield from _of_units(attendance, [one["unit"] for one in visits])
    for n, one in enumerate(visits):
        refusal = Invalid(
            place_unknown.of_visit(store, actor, {**one, **attendance.of_visits, "id": attendance.visits[n]})
        )
        yield from _of_visit(n, refusal, ())


def _faults(store: Store, actor: Actor, given: Attendance) -> Iterator[Fault]:
    """What cannot be true of an attendance, its visits aside."""
    yield from faults_of(given, actor.at)
    for n, code in enumerate(given.crew):
        if store.technicians.id_of(code) is None:
            yield Fault(f"crew.{n}", code, f"there is no technician {code!r}")
    if actor.technician not in (None, *given.crew[:1]):
        yield Fault("crew.0", given.crew[0], f"this token posts attendances that {actor.technician} leads")


def _left_faults(store: Store, given: Attendance) -> Iterator[Fault]:
    named = {f"crew.{n}": code for n, code in enumerate(given.crew)}
    return left_faults(store, named, local_day(given.arrived_at, given.time_zone))


def _of_units(given: Attendance, tags: Sequence[str]) -> Iterator[Fault]:
    """Whether there is one visit for each unit worked on."""
    if not tags and given.access == DONE:
        yield Fault("visits", [], "is required where there was access: one visit for each unit worked on")
    for n, tag in enumerate(tags):
        if tag in tags[:n]:
            yield Fault(f"visits.{n}.unit", tag, "is listed twice in this attendance")


def _of_visit(n: int, refusal: Invalid, own: Sequence[str]) -> Iterator[Fault]:
    """The faults of one visit of an attendance; of fields that it has of the attendance those of `own`."""
    for fault in refusal.faults:
        name = fault.field.partition(".")[0]
        if name not in OF_VISITS or name in own:
            yield replace(fault, field=f"visits.{n}.{fault.field}")


def _visit(
    store: Store, actor: Actor, attendance: Attendance, one: Mapping[str, Any], text: Mapping[str, Any]
) -> Recorded:
    own = {**attendance.of_visits, "attendance": attendance.id}
    document = visit_document(attendance, one["id"], text)
    return record_visit(
        store,
        actor,
        {**one, **own, "shared_by": len(attendance.visits)},
        fingerprint=fingerprint_of(document),
        body=orjson.dumps(document).decode(),
        attended=attendance.site,
    )


def add_visit(
    store: Store, actor: Actor, former: Attendance, one: Mapping[str, Any], text: Mapping[str, Any]
) -> Recorded:
    """Store a visit that an attendance was recorded without; its time on site is shared anew."""
    faults = []
    if former.access != DONE:
        faults.append(Fault("attendance", former.id, f"is recorded as {former.access}: correct that first"))
    if len(former.visits) >= MOST_VISITS:
        faults.append(Fault("attendance", former.id, f"has {MOST_VISITS} visits, the most that are taken"))
    if one["unit"] in {tag for _, tag in store.attendances.counting(former.id)}:
        faults.append(Fault("unit", one["unit"], "has another visit in the same attendance"))
    _refuse(faults)
    larger = replace(former, visits=(*former.visits, one["id"]))
    visit, due = _visit(store, actor, larger, one, text)
    attendance_shares.share(store, visit)
    return visit, due


def visit_document(attendance: Attendance, visit_id: str, text: Mapping[str, Any]) -> dict[str, Any]:
    """A visit of an attendance as the body of a visit by itself."""
    return {**text, **_plain({**attendance.of_visits, "attendance": attendance.id}), "id": visit_id}


def _plain(facts: Mapping[str, Any]) -> dict[str, Any]:
    """Facts of an attendance as JSON has them."""
    return {name: to_text(part) if name.endswith("_at") and part else part for name, part in facts.items()}


def change_attendance(store: Store, actor: Actor, former: Attendance, changes: Mapping[str, Any]) -> Attendance:
    """Change an attendance that was read as `former`; its visits that count are corrected with it."""
    if changes.get("site", former.site) != former.site:
        raise Invalid([Fault("site", changes["site"], "stays; void the visits and post another attendance")])
    changed = _with(former, by_clock(changes, former.time_zone))
    faults = list(_faults(store, replace(actor, technician=actor.technician if "crew" in changes else None), changed))
    if not changes.keys().isdisjoint(("arrived_at", "crew")):
        faults += _left_faults(store, changed)
    if faults:
        raise Invalid(faults)
    differing = {name: part for name, part in changed.of_visits.items() if part != former.of_visits[name]}
    body = orjson.dumps({**_plain(differing), "why": changes["why"]}).decode()
    for n, visit_id in enumerate(former.visits if differing else ()):
        try:
            visit = store.visits.get(visit_id)
            corrected, _ = correct_visit(store, actor, visit, {**differing, "why": changes["why"]}, body=body)
            if corrected.site != visit.site:
                _refuse(site_faults(corrected, former.site))
        except Invalid as refusal:
            faults += _of_visit(n, refusal, OF_VISITS)
    if faults:
        raise Invalid(faults)
    store.attendances.save(changed)
    audit.changed(store, actor, "attendance", former.id, before=former, after=changed)
    return changed


def _with(former: Attendance, changes: Mapping[str, Any]) -> Attendance:
    facts = {name: changes[name] for name in CHANGEABLE if name in changes}
    if "crew" in facts:
        facts["crew"] = tuple(facts["crew"])
    return replace(former, **facts, version=former.version + 1)


def body_of(attendance: Attendance) -> dict[str, Any]:
    """An attendance as its line in a file; its visits have lines of their own."""
    return {name: part for name, part in as_entered(attendance).items() if name not in KEPT_BY_US}


def take(store: Store, actor: Actor, line: Mapping[str, Any], fingerprint: str) -> str:
    """Store an attendance from a file, whose visits follow: "added", "changed" or "unchanged"."""
    if store.attendances.fingerprint(line["id"]) is None:
        attendance, refers = _new(store, actor, line)
        _refuse(_faults(store, actor, attendance))
        store.attendances.add(attendance, **refers, fingerprint=fingerprint)
        audit.created(store, actor, "attendance", attendance.id, attendance)
        return "added"
    former = replace(store.attendances.get(line["id"]), visits=())  # corrections of its visits follow in the file
    line = by_clock(line, former.time_zone)
    changed = _with(former, dict.fromkeys(("left_at", "note")) | {"access": DONE} | dict(line))
    if (changed.site, replace(changed, version=former.version)) == (line["site"], former):
        return "unchanged"
    if changed.site != line["site"]:
        raise Invalid([Fault("site", line["site"], f"stays; the attendance is stored at {former.site!r}")])
    _refuse(_faults(store, actor, changed))
    store.attendances.save(changed)
    audit.changed(store, actor, "attendance", former.id, before=former, after=changed)
    return "changed"


def _refuse(faults: Iterable[Fault]) -> None:
    if found := list(faults):
        raise Invalid(found)
