"""Register, change and retire glycol units."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from service.domain.audit import Actor
from service.domain.errors import Conflict, Fault, Invalid
from service.domain.instants import local_day, to_text
from service.domain.plain import from_plain
from service.domain.record.care import LastDone
from service.domain.record.checks import EASTERNMOST
from service.domain.record.fleet import Bath, Component, Refrigeration, Site, Supply, Trunk, Unit
from service.domain.record.tags import FormerTag
from service.storage.moved_visits import sharing_with
from service.storage.places import Place
from service.storage.store import Store
from service.usecases import audit
from service.usecases.maintenance.due import changed as history_changed
from service.usecases.maintenance.due import refresh_unit
from service.usecases.record import dated_facts, ends, locations, replaced
from service.usecases.record.calls import raise_logs
from service.usecases.record.out_of_service import registering_faults

PARTS = {"supply": Supply, "refrigeration": Refrigeration, "bath": Bath}


def add_unit(store: Store, actor: Actor, new: Mapping[str, Any]) -> Unit:
    """Register a unit at a site; what is due there follows from its installation."""
    if store.sites.ids_of(new["site"]) is None:
        raise Invalid([_no_site(new["site"]), *faults_anywhere(store, actor, new)])
    site, ids = _site(store, new["site"])
    today = local_day(actor.at, site.time_zone)
    unit = from_plain(Unit, {"registered_on": today, **new})
    ended = [] if actor.importing else registering_faults(store, site, unit, today)
    _check(unit, actor, site, beside=ended)
    _check_tag(store, unit.tag)
    store.units.add(unit, site_id=ids[0], customer_id=ids[1])
    replaced.link(store, store.units.place(unit.tag), unit.replaces)
    refresh_unit(store, *history_changed(store, store.units.place(unit.tag)))
    unit = replace(unit, replaces=store.units.get(unit.tag).replaces)
    audit.created(store, actor, "unit", unit.tag, unit)
    return unit


def faults_anywhere(_store: Store, actor: Actor, new: Mapping[str, Any]) -> list[Fault]:
    """What cannot be true of a new unit, whatever the site and the day there."""
    unit = from_plain(Unit, {"registered_on": local_day(actor.at, EASTERNMOST), **new})
    return [*_faults(unit, date.max), *([] if actor.importing else _later_rules(unit))]


def change_unit(store: Store, actor: Actor, former: Unit, changes: Mapping[str, Any]) -> Unit:
    """Change a unit that was read as `former`.

    Supply, refrigeration and bath are merged field by field, components by their codes (one that is not named stays;
    give it `removed_on` when it is taken out); a list of trunks replaces the former list. Another site is a location
    from today. By its former tag the unit is still found.
    """
    changed = replace(former, **_merged(former, changes), version=former.version + 1)
    site, ids = _site(store, changed.site)
    today = local_day(actor.at, site.time_zone)
    _check(changed, actor, site, former)
    place = store.units.place(former.tag, to_write=True)
    if changed.tag != former.tag:
        _check_tag(store, changed.tag, former.tag)
        rename(store, place, FormerTag(tag=former.tag, at=actor.at, by=actor.name), changed.tag)
    if changed.site != former.site:
        locations.record(store, actor, place, site=changed.site, starts_on=today, reason=None)
    store.units.save(changed, site_id=ids[0], customer_id=ids[1])
    dated_facts.keep(store, actor, former, changed)
    place = store.units.place(changed.tag)
    if changed.site != former.site:
        store.due.move(place)
        store.root_causes.move(place)
    changed = replaced.relink(store, place, former, changed)
    locations.settle(store, place, actor.at)
    ends.keep(store, actor, "unit", changed.tag, former.retired_on, changed.retired_on)
    audit.changed(store, actor, "unit", changed.tag, before=former, after=changed)
    return changed


def rename(store: Store, place: Place, former: FormerTag, new: str) -> None:
    """Give a unit another tag, and keep the one that it had; histories that name the unit change with it."""
    store.tags.add(place.id, place.customer_id, former, to_text(former.at))
    if new != place.tag:
        store.tags.rename(place.id, new)
        raise_logs(store, sharing_with(store.link, place.id) - {new})


def restore_tag(  # the line, read and as text
    store: Store, actor: Actor, made: Actor, place: Place, tag: str, line: str
) -> bool:
    """Store a former tag from a line of a file; whether it is new."""
    former = FormerTag(tag=tag, at=made.at, by=made.name)
    if former in store.log_of(place.tag).former_tags:
        return False
    _check_tag(store, former.tag, place.tag)
    if store.units.present_tag(former.tag) == former.tag != place.tag:
        raise Conflict(f"tag: {former.tag!r} is the tag of another unit.")
    rename(store, place, former, place.tag)
    audit.imported(store, actor, "former_tag", f"{place.tag}/{former.tag}", before=None, after=line)
    return True


def _check_tag(store: Store, tag: str, own: str | None = None) -> None:
    """Refuse a tag by which another unit is found."""
    known = store.units.present_tag(tag)
    if known is not None and known not in (tag, own):
        raise Conflict(f"tag: {tag!r} is a former tag of the unit {known!r}, which is still found by it.")


def _site(store: Store, code: str) -> tuple[Site, tuple[int, int]]:
    ids = store.sites.ids_of(code)
    if ids is None:
        raise Invalid([_no_site(code)])
    return store.sites.get(code), ids


def _no_site(code: str) -> Fault:
    return Fault("site", code, f"there is no site {code!r}")


def applied(former: Any, changes: Mapping[str, Any]) -> Any:
    """A customer, technician, site or unit with the changes in a line, at the same version."""
    if isinstance(former, Unit):
        return replace(former, **_merged(former, changes))
    return replace(former, **{name: tuple(v) if isinstance(v, list) else v for name, v in changes.items()})


def _merged(former: Unit, changes: Mapping[str, Any]) -> dict[str, Any]:
    made: dict[str, Any] = {}
    for name, value in changes.items():
        if name in PARTS and value is not None:
            made[name] = replace(getattr(former, name) or PARTS[name](), **value)
        elif name == "components":
            made[name] = _components(former.components, value or ())
        elif name == "last_done":
            made[name] = tuple(from_plain(LastDone, each) for each in value or ())
        elif name == "trunks":
            made[name] = tuple(from_plain(Trunk, trunk) for trunk in value or ())
        else:
            made[name] = value
    return made


def _components(former: Sequence[Component], changes: Sequence[Mapping[str, Any]]) -> tuple[Component, ...]:
    by_code = {component.code: component for component in former}
    for n, change in enumerate(changes):
        if "code" not in change:
            raise Invalid([Fault(f"components.{n}.code", None, "which component is it?")])
        known = by_code.get(change["code"])
        if known is None and "kind" not in change:
            raise Invalid([Fault(f"components.{n}.kind", None, f"{change['code']} is new: say what kind it is")])
        plain = {**change, "feeds": tuple(change["feeds"] or ())} if "feeds" in change else change
        by_code[change["code"]] = replace(known, **plain) if known else from_plain(Component, plain)
    return tuple(by_code.values())


def _check(unit: Unit, actor: Actor, site: Site, former: Unit | None = None, beside: Iterable[Fault] = ()) -> None:
    """Raise Invalid for what is wrong with a unit and was not before, with the faults found `beside`.

    In a file a day may be that of a site further east, where the unit stood before.
    """
    today = local_day(actor.at, site.time_zone)
    known = [] if former is None else [*_faults(former, today), *_later_rules(former)]
    later = [] if actor.importing else _later_rules(unit)  # a file takes what was recorded before these rules
    faults = [*beside, *(fault for fault in (*_faults(unit, today), *later) if fault not in known)]
    if faults and not (actor.importing and not _faults(unit, local_day(actor.at, EASTERNMOST))):
        raise Invalid(faults)


def _faults(unit: Unit, today: date) -> list[Fault]:
    return [
        *_day_faults(unit, today),
        *_last_done_faults(unit, today),
        *_component_faults(unit),
        *_component_day_faults(unit, today),
        *_trunk_faults(unit),
    ]


def _day_faults(unit: Unit, today: date) -> list[Fault]:
    faults = []
    for name in ("installed_on", "registered_on"):
        day = getattr(unit, name)
        if day is not None and day > today:
            faults.append(Fault(name, day.isoformat(), f"lies in the future; it is {today} at the site"))
    if unit.installed_on and unit.retired_on and unit.retired_on < unit.installed_on:
        faults.append(
            Fault("retired_on", unit.retired_on.isoformat(), f"lies before installed_on, {unit.installed_on}")
        )
    return faults


def _care_faults(unit: Unit) -> list[Fault]:
    if unit.care_from is None or unit.retired_on is None or unit.retired_on >= unit.care_from:
        return []
    message = f"lies before care_from, {unit.care_from}; leave that out for a unit that never came into our care"
    return [Fault("retired_on", unit.retired_on.isoformat(), message)]


def _later_rules(unit: Unit) -> list[Fault]:
    return [*_tap_faults(unit), *_care_faults(unit)]


def _last_done_faults(unit: Unit, today: date) -> list[Fault]:
    faults = []
    tasks = [each.task for each in unit.last_done]
    for n, each in enumerate(unit.last_done):
        if tasks.index(each.task) != n:
            faults.append(Fault(f"last_done.{n}.task", each.task, "appears twice"))
        if each.earliest is not None and each.earliest > today:
            faults.append(Fault(f"last_done.{n}.on", each.on, f"lies in the future; it is {today} at the site"))
    return faults


def _component_faults(unit: Unit) -> list[Fault]:
    faults = []
    codes = [component.code for component in unit.components]
    for n, component in enumerate(unit.components):
        if codes.index(component.code) != n:
            faults.append(Fault(f"components.{n}.code", component.code, "appears twice in one unit"))
        for fed in component.feeds:
            if fed not in codes or fed == component.code:
                known = ", ".join(code for code in codes if code != component.code) or "none"
                faults.append(Fault(f"components.{n}.feeds", fed, f"is no other component of this unit: {known}"))
    return faults


def _component_day_faults(unit: Unit, today: date) -> list[Fault]:
    faults = []
    for n, component in enumerate(unit.components):
        for name in ("installed_on", "removed_on"):
            day = getattr(component, name)
            if day is not None and day > today:
                message = f"lies in the future; it is {today} at the site"
                faults.append(Fault(f"components.{n}.{name}", day.isoformat(), message))
        if component.installed_on and component.removed_on and component.removed_on < component.installed_on:
            message = f"lies before installed_on, {component.installed_on}"
            faults.append(Fault(f"components.{n}.removed_on", component.removed_on.isoformat(), message))
    return faults


def _tap_faults(unit: Unit) -> list[Fault]:
    """A reading at a tap is of one line."""
    faults = []
    for n, trunk in enumerate(unit.trunks):
        taps = [line.tap for line in trunk.beer_lines]
        for place, tap in enumerate(taps):
            if tap in taps[:place]:
                faults.append(Fault(f"trunks.{n}.beer_lines.{place}.tap", tap, "appears twice in one trunk"))
    return faults


def _trunk_faults(unit: Unit) -> list[Fault]:
    codes = [trunk.code for trunk in unit.trunks]
    return [
        Fault(f"trunks.{n}.code", code, "appears twice in one unit")
        for n, code in enumerate(codes)
        if codes.index(code) != n
    ]
