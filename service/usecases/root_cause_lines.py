"""A case as a line of the export, and taken in again."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any

import orjson

from service.domain.errors import Fault, Invalid
from service.domain.instants import to_text
from service.domain.record.checks import AHEAD
from service.domain.root_causes.life_cycle import RootCause
from service.storage.store import Store
from service.storage.units import Place

LIFE = ("state", "decided_by", "decided_at", "note", "resolved_on", "first_seen", "updated_at", "absent_since")
INSTANTS = ("first_seen", "updated_at", "decided_at", "absent_since")


def told(case: RootCause) -> dict[str, Any]:
    """The candidate as it was last found and the case's life, without what is computed anew."""
    life = {
        "state": case.state,
        "decided_by": case.decided_by,
        "note": case.why,
        "resolved_on": case.resolved_on and case.resolved_on.isoformat(),
        **{name: at and to_text(at) for name in INSTANTS for at in [getattr(case, name)]},
    }
    given = {name: value for name, value in life.items() if value is not None}
    return {"record": "root_cause", **orjson.loads(case.document), **given}


def restore(store: Store, place: Place, data: Mapping[str, Any], text: str, now: datetime) -> str:
    """Store a case as a line tells it, unless what the book holds was decided later; "added", "changed", "unchanged".

    `data` is the line as its schema reads it, `text` its JSON. Invalid when its life cannot be true.
    """
    _check(data, now)
    case = _case(data, text)
    former = store.root_causes.at(place.id).get(case.kind)
    if former is None:
        store.root_causes.add(case, place)
        return "added"
    if case.decided_at is None or (former.decided_at is not None and former.decided_at >= case.decided_at):
        return "unchanged"
    store.root_causes.save(_following(case, former))
    return "changed"


def _following(case: RootCause, former: RootCause) -> RootCause:
    return replace(case, id=former.id, version=former.version + 1)


def _case(data: Mapping[str, Any], text: str) -> RootCause:
    document = {name: value for name, value in orjson.loads(text).items() if name not in LIFE}
    life: dict[str, Any] = {name: data.get(name) for name in LIFE if name not in ("note", "state")}
    return RootCause(
        unit=data["unit"],
        kind=data["component_kind"],
        tier=data["tier"],
        luck_probability=data["luck_probability"],
        document=orjson.dumps(document).decode(),
        evidence_key=data["evidence_key"],
        state=data["state"],
        why=data.get("note"),
        **life,
    )


def _check(data: Mapping[str, Any], now: datetime) -> None:
    faults = [
        Fault(name, to_text(data[name]), f"lies in the future; it is now {to_text(now)}")
        for name in INSTANTS
        if data.get(name) and data[name] > now + AHEAD
    ]
    needed = ("decided_by", "decided_at", "note") if data["state"] != "open" or data.get("decided_at") else ()
    if data["state"] == "resolved":
        needed = (*needed, "resolved_on")
    faults += [
        Fault(name, None, "what was decided has its author, instant and note") for name in needed if not data.get(name)
    ]
    if faults:
        raise Invalid(faults)
