"""The records of an import one by one: each is stored, or refused with its faults, and counted by its kind."""

from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from functools import cached_property, partial
from typing import Any

import orjson

from service.domain.audit import Actor
from service.domain.errors import Conflict, DomainError, Fault, Invalid, KeyReused, NotFound
from service.domain.record.pauses import Of
from service.storage.store import Store
from service.usecases import audit
from service.usecases.maintenance import learning, tasks
from service.usecases.maintenance.due import refresh_stale
from service.usecases.planning import assignments, onboarding, vans
from service.usecases.record import (
    attendance_shares,
    attendances,
    calls,
    company,
    fleet,
    locations,
    moved_visits,
    new_components,
    pauses,
    photos,
    site_clock,
    units,
    visits,
)
from service.usecases.record.line_authors import author_of, check_not_ahead
from service.usecases.root_causes import root_causes
from service.usecases.transfer import (
    answer_lines,
    audit_lines,
    baseline_lines,
    change_lines,
    root_cause_lines,
    token_lines,
    travel_times,
    version_lines,
)
from service.usecases.transfer.import_tally import Line, Tally
from service.usecases.transfer.import_units import Known, KnownUnits
from service.usecases.year import issues

CHUNK = 200


class ImportSession:
    """One import: look-ups are cached, due items and root causes are refreshed at the end."""

    def __init__(self, store: Store, actor: Actor, *, keeps: bool = True, with_tokens: bool = False) -> None:
        self.store, self.keeps, self.with_tokens = store, keeps, with_tokens
        self.actor = replace(actor, importing=True)
        self.tally = Tally()
        self._versions = version_lines.Versions(store)
        self._trail = audit_lines.Trail(store, into_nothing=self._versions.restores)
        self._places = KnownUnits(store)
        self._to_refresh: set[str] = set()
        self._moved: set[str] = set()

    def take(self, line: Line) -> tuple[Fault, ...]:
        """Store one record and count it; return its faults."""
        try:
            check_not_ahead(self.actor, "posted_at", line.data)
            count = self._takers[line.kind](line)
        except Invalid as refusal:
            return refusal.faults
        except DomainError as refusal:
            if not isinstance(refusal, NotFound | Conflict | KeyReused):
                raise
            return (Fault("record", line.kind, str(refusal)),)
        count[line.kind] += 1
        return ()

    def refresh(self) -> None:
        """Write what is still pending, refresh the due items of every changed unit, and search it for root causes."""
        self.store.visits.flush()
        change_lines.settle(self.store, self.actor)
        self._trail.record(self.actor, whole=not self.tally.errors)
        # looked up anew: a later line may have moved or retired the unit, or changed its site
        for tag in sorted(self._moved):
            locations.stand(self.store, self.store.units.place(tag), self.actor.at)
        self._versions.settle()
        places = [self.store.units.place(tag) for tag in sorted(self._to_refresh | self._moved)]
        raised = {place.id: self.store.units.raise_log(place, 0) for place in places}
        after: int | None = 0
        while after is not None:
            after, _ = refresh_stale(self.store, after, CHUNK)
        found = self.tally.added["baseline"] or self.tally.added["root_cause"]
        look = root_causes.judge_remedies if found else root_causes.search_many  # what the file has, the night compares
        look(self.store, raised, self.actor.at)

    @cached_property
    def _takers(self) -> dict[str, Callable[[Line], Counter[str]]]:
        return {
            "audit_entry": lambda line: self._counted(self._trail.take(line.data)),
            "company": lambda line: self._counted(company.take(self.store, self.actor, line.data)),
            "customer": self._customer,
            "technician": self._technician,
            "site": self._site,
            "unit": self._unit,
            "former_tag": self._former_tag,
            "location": self._location,
            "change": self._change,
            "learned": lambda line: self._counted(learning.take(self.store, line.data)),
            "task": lambda line: self._counted(tasks.take(self.store, self.actor, line.data)),
            "unit_task": self._unit_task,
            "first_date": lambda line: self._counted(onboarding.take(self.store, self.actor, line.data, line.text)),
            "travel_time": lambda line: self._counted(travel_times.take(self.store, self.actor, line.data, line.text)),
            "van_movement": lambda line: self._counted(vans.take(self.store, self.actor, line.data, line.text)),
            "pause": partial(self._pause, "unit"),
            "closure": partial(self._pause, "site"),
            "call": lambda line: self._counted(calls.take(self.store, self.actor, line.data, line.fingerprint)),
            "attendance": lambda line: self._counted(
                attendances.take(self.store, self.actor, line.data, line.fingerprint)
            ),
            "assignment": self._assignment,
            "visit": self._visit,
            "photo": lambda line: self._counted(photos.take(self.store, self.actor, line.data, keep=self.keeps)),
            "correction": self._correction,
            "void": partial(self._voided, change=visits.void_visit),
            "unvoid": partial(self._voided, change=visits.unvoid_visit),
            "visit_move": self._visit_move,
            "baseline": lambda line: self._counted(baseline_lines.take(self.store, self.actor, line.data, line.text)),
            "root_cause": self._root_cause,
            "issue": lambda line: self._counted(issues.take(self.store, self.actor, line.data)),
            "answer": lambda line: self._counted(answer_lines.take(self.store, self.actor, line.data)),
            "version": lambda line: self._counted(self._versions.take(line.data)),
            "last_id": lambda line: self._counted(self._versions.take_last(line.data)),
            "token": self._token,
        }

    def _change(self, line: Line) -> Counter[str]:
        author = author_of(self.actor, line.data)
        return self._counted(change_lines.take(self.store, self.actor, author, line.data, line.text))

    def _customer(self, line: Line) -> Counter[str]:
        if self.store.customers.id_of(line.data["code"]) is None:
            fleet.add_customer(self.store, self.actor, line.data)
            return self.tally.added
        return self._changed(self.store.customers.get(line.data["code"]), line, fleet.change_customer)

    def _technician(self, line: Line) -> Counter[str]:
        if self.store.technicians.id_of(line.data["code"]) is None:
            fleet.add_technician(self.store, self.actor, line.data)
            return self.tally.added
        former = self.store.technicians.get(line.data["code"])
        line = replace(line, data=fleet.technician_fields(line.data))
        return self._changed(former, line, fleet.change_technician)

    def _site(self, line: Line) -> Counter[str]:
        self._places.clear()
        if self.store.sites.ids_of(line.data["code"]) is None:
            fleet.add_site(self.store, self.actor, line.data)
            return self.tally.added
        line = replace(line, data=fleet.site_fields(line.data))
        return self._changed(self.store.sites.get(line.data["code"]), line, fleet.change_site)

    def _unit(self, line: Line) -> Counter[str]:
        self._places.clear()
        tag = self.store.units.present_tag(line.data["tag"])
        if tag is None:
            units.add_unit(self.store, self.actor, line.data)
            if self._versions.restores:
                self._to_refresh.add(line.data["tag"])  # its log has its version
            return self.tally.added
        named = replace(line, data={**line.data, "tag": tag})  # a line from before its tag was changed
        return self._changed(self.store.units.get(tag), named, units.change_unit)

    def _former_tag(self, line: Line) -> Counter[str]:
        place = self._places.at(line.data["unit"]).place
        author = author_of(self.actor, line.data)
        if not units.restore_tag(self.store, self.actor, author, place, line.data["tag"], line.text):
            return self.tally.unchanged
        self._to_refresh.add(place.tag)
        return self.tally.added

    def _location(self, line: Line) -> Counter[str]:
        place = self._places.at(line.data["unit"]).place
        if not locations.restore(self.store, author_of(self.actor, line.data), place, line.data):
            return self.tally.unchanged
        self._places.forget(place.tag)
        self._moved.add(place.tag)
        return self.tally.added

    def _changed(self, former: Any, line: Line, change: Callable[..., Any]) -> Counter[str]:
        wanted = units.applied(former, line.data)
        if wanted == former:
            return self.tally.unchanged
        change(self.store, self.actor, former, line.data)
        return self.tally.changed

    def _unit_task(self, line: Line) -> Counter[str]:
        return self._counted(
            tasks.take_at(self.store, self.actor, self._places.at(line.data["unit"]).place.tag, line.data)
        )

    def _pause(self, of: Of, line: Line) -> Counter[str]:
        self._places.clear()
        return self._counted(pauses.take(self.store, self.actor, of, line.data, line.text))

    def _counted(self, done: str) -> Counter[str]:
        return getattr(self.tally, done)  # type: ignore[no-any-return]

    def _visit(self, line: Line) -> Counter[str]:
        known = self.store.visits.fingerprint(line.data["id"])
        if known == line.fingerprint:
            return self.tally.unchanged
        place, unit, recorded = self._places.at(line.data["unit"])
        data, text = site_clock.of_visit(self.store, place, line.data, line.text)
        wanted, named = new_components.split(data)
        here = self.store.locations.place_of(place, recorded, wanted["arrived_at"])
        visit = visits.new_visit(self.actor, wanted, here)
        if known is not None:
            if not visits.is_known(self.store, visit):
                raise KeyReused(f"The visit {visit.id!r} is already stored with other content; correct it instead.")
            return self.tally.unchanged
        kinds = new_components.joined(unit.kinds, named)
        technician_id = visits.checked(self.store, self.actor, visit, here, kinds)
        calls.check_named(self.store, visit, here.site, open_only=False)
        attendance_shares.check_named(self.store, visit)
        unit = new_components.register(self.store, self.actor, place, unit, kinds)
        self._places.keep(Known(place, unit, recorded))
        self.store.visits.add(visit, here, technician_id=technician_id, fingerprint=line.fingerprint, parts_later=True)
        attendance_shares.share(self.store, visit)
        if visit.calls:
            self.store.visits.flush()
            calls.settle(self.store, self.actor, visit, visit.calls)
        audit.imported(self.store, self.actor, "visit", visit.id, before=None, after=text)
        self._to_refresh.add(place.tag)
        return self.tally.added

    def _correction(self, line: Line) -> Counter[str]:
        data, former = line.data, self.store.visits.get(line.data["visit"])
        body = orjson.dumps(orjson.loads(line.text)["correction"]).decode()
        changes, body = site_clock.of_correction(self.store, former, data["correction"], body)
        wanted = orjson.loads(body)
        for made in self.store.visits.corrections(former.id):
            if (made.at, made.by, orjson.loads(made.changes)) == (data["at"], data["by"], wanted):
                return self.tally.unchanged
        self._places.forget(former.unit)  # a correction may name new components
        author = author_of(self.actor, data)
        visits.correct_visit(self.store, self.actor, former, changes, body=body, author=author, search=False)
        self._to_refresh.add(former.unit)
        return self.tally.added

    def _voided(self, line: Line, change: Callable[..., Any]) -> Counter[str]:
        """A void, or one taken back; a visit that is void already stays as it is."""
        data, former = line.data, self.store.visits.get(line.data["visit"])
        known = (line.kind, data["at"], data["by"]) in visits.voids_taken_back(self.store, former)
        if known or (line.kind == "void" and former.void is not None):
            return self.tally.unchanged
        change(self.store, self.actor, former, data["reason"], author=author_of(self.actor, data), search=False)
        self._to_refresh.add(former.unit)
        return self.tally.added

    def _visit_move(self, line: Line) -> Counter[str]:
        former, source = self.store.visits.get(line.data["visit"]), self._places.at(line.data["from_unit"]).place
        made = author_of(self.actor, line.data)
        if not moved_visits.restore(self.store, self.actor, made, former, source, line.data["reason"]):
            return self.tally.unchanged
        self._to_refresh |= {former.unit, source.tag}
        return self.tally.added

    def _root_cause(self, line: Line) -> Counter[str]:
        place = self._places.at(line.data["unit"]).place
        done = root_cause_lines.restore(
            self.store, place, line.data, line.text, self.actor.at, numbered=self._numbered(line)
        )
        if done != "unchanged":
            self._to_refresh.add(place.tag)
            key = f"{place.tag}/{line.data['component_kind']}"
            audit.imported(self.store, self.actor, "root_cause", key, before=None, after=line.text)
        return self._counted(done)

    def _assignment(self, line: Line) -> Counter[str]:
        numbered = self._numbered(line)
        return self._counted(assignments.take(self.store, self.actor, line.data, numbered=numbered))

    def _numbered(self, line: Line) -> bool:
        """Whether the number of a line is kept: where there were records before, it may be another one's."""
        return "id" in line.data and self._versions.restores

    def _token(self, line: Line) -> Counter[str]:
        if not self.with_tokens:
            return self.tally.left_out
        return self._counted(token_lines.take(self.store, self.actor, line.data))
