"""A root cause as a line of the export, and imported again."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any

import orjson

from service.domain.errors import Fault, Invalid
from service.domain.instants import to_text
from service.domain.record.checks import AHEAD
from service.domain.root_causes.explanation import in_words, without_words
from service.domain.root_causes.life_cycle import RootCause
from service.storage.places import Place
from service.storage.store import Store

LIFE = ("id", "state", "decided_by", "decided_at", "note", "resolved_on", "first_seen", "updated_at", "absent_since",
        "after_remedy")  # fmt: skip
INSTANTS = ("first_seen", "updated_at", "decided_at", "absent_since")


def line_of(root_cause: RootCause) -> dict[str, Any]:
    """What was last found and its life cycle, without what is computed anew."""
    life = {
        "state": root_cause.state,
        "decided_by": root_cause.decided_by,
        "note": root_cause.why,
        "resolved_on": root_cause.resolved_on and root_cause.resolved_on.isoformat(),
        "after_remedy": root_cause.after_remedy and orjson.loads(root_cause.after_remedy),
        **{name: at and to_text(at) for name in INSTANTS for at in [getattr(root_cause, name)]},
    }
    given = {name: value for name, value in life.items() if value is not None}
    document = in_words(orjson.loads(root_cause.document))
    return {"record": "root_cause", **document, "id": root_cause.id, **given}


def restore(  # a line, and where and when it is stored
    store: Store, place: Place, data: Mapping[str, Any], text: str, now: datetime, *, numbered: bool
) -> str:
    """Store a root cause from a line, unless the stored one was decided later; "added", "changed" or "unchanged".

    One that is `numbered` keeps its number.
    `data` is the line as its schema reads it, `text` its JSON. Invalid when its life cycle cannot be true.
    """
    _check(data, now)
    new = _root_cause(data, text)
    former = store.root_causes.at(place.id).get(new.kind)
    if former is None:
        if numbered and store.versions.of("root_cause", str(new.id)) is not None:
            raise Invalid([Fault("id", new.id, "is the number of another root cause")])
        store.root_causes.add(new if numbered else replace(new, id=0), place)
        return "added"
    if new.decided_at is None or (former.decided_at is not None and former.decided_at >= new.decided_at):
        return "unchanged"
    store.root_causes.save(replace(new, id=former.id, version=former.version + 1))
    return "changed"


def _root_cause(data: Mapping[str, Any], text: str) -> RootCause:
    document = without_words({name: value for name, value in orjson.loads(text).items() if name not in LIFE})
    life: dict[str, Any] = {name: data.get(name) for name in LIFE if name not in ("id", "note", "state")}
    life["after_remedy"] = life["after_remedy"] and orjson.dumps(life["after_remedy"]).decode()
    return RootCause(
        unit=data["unit"],
        kind=data["component_kind"],
        tier=data["tier"],
        probability_of_chance=data["probability_of_chance"],
        document=orjson.dumps(document).decode(),
        evidence_key=data["evidence_key"],
        state=data["state"],
        why=data.get("note"),
        id=data.get("id", 0),
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
        Fault(name, None, "a decision needs its author, instant and note") for name in needed if not data.get(name)
    ]
    if faults:
        raise Invalid(faults)
