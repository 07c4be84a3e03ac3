"""Pause a unit or close a site: nothing falls due there meanwhile; correct, end or withdraw a pause."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

import orjson

from service.domain.audit import Actor
from service.domain.errors import Conflict, Fault, Invalid, NotFound
from service.domain.instants import to_text
from service.domain.record.checks import AHEAD
from service.domain.record.pauses import Of, Pause, PauseText, plain_text
from service.storage.places import Place
from service.storage.store import Store
from service.usecases import audit
from service.usecases.record.fleet import refresh_units

NAMES: Mapping[Of, str] = {"unit": "pause", "site": "closure"}
FIELDS = {"from": "first", "until": "last", "reason": "reason", "withdrawn": "withdrawn"}


def pause_of(store: Store, of: Of, key: str, number: int) -> Pause:
    """One pause of a unit or closure of a site, or NotFound."""
    found = next((each for each in store.pauses.of(of, key) if each.number == number), None)
    if found is None:
        raise NotFound(NAMES[of], f"{key}/{number}")
    return found


def add_pause(store: Store, actor: Actor, of: Of, key: str, new: Mapping[str, Any]) -> Pause:
    """Pause a unit or close a site."""
    known = store.pauses.of(of, key)
    number = max((each.number for each in known), default=0) + 1
    return _put(store, actor, of, key, known, Pause(number=number, texts=(_text(actor, new),)))


def change_pause(store: Store, actor: Actor, of: Of, key: str, former: Pause, changes: Mapping[str, Any]) -> Pause:
    """Correct, end or withdraw a pause that was read as `former`; what was recorded before is kept."""
    given = {FIELDS[name]: value for name, value in changes.items() if name in FIELDS}
    text = replace(former.text, **given, at=actor.at, by=actor.name)
    return _put(store, actor, of, key, store.pauses.of(of, key), replace(former, texts=(*former.texts, text)))


def take(store: Store, actor: Actor, of: Of, line: Mapping[str, Any], text: str) -> str:
    """Store the pause in a line of an import, which is `text`: "added", "changed" or "unchanged"."""
    at, key = line.get("at", actor.at), line[of]
    if at > actor.at + AHEAD:
        raise Invalid([Fault("at", to_text(at), f"is in the future; it is now {to_text(actor.at)}")])
    known = store.pauses.of(of, key)
    wanted = _text(actor, line)
    former = next((each for each in known if _is_meant(each, line)), None)
    if former is None:
        number = line.get("number") or max((each.number for each in known), default=0) + 1
        texts = (*(_text(actor, each) for each in line.get("former", ())), wanted)
        _put(store, actor, of, key, known, Pause(number=number, texts=texts), line=text)
        return "added"
    if _facts(former.text) == _facts(wanted):
        return "unchanged"
    _put(store, actor, of, key, known, replace(former, texts=(*former.texts, wanted)), line=text)
    return "changed"


def _is_meant(known: Pause, line: Mapping[str, Any]) -> bool:
    """By its number, where a line has none by its first day."""
    if "number" in line:
        return bool(known.number == line["number"])
    return bool(known.text.first == line["from"])


def _facts(text: PauseText) -> tuple[Any, ...]:
    return text.first, text.last, text.reason, text.withdrawn


def _text(actor: Actor, given: Mapping[str, Any]) -> PauseText:
    plain = {FIELDS[name]: given[name] for name in FIELDS if name in given}
    return PauseText(**plain, at=given.get("at") or actor.at, by=given.get("by") or actor.name)


def _put(  # noqa: PLR0913 (whose pause it is, and what was known)
    store: Store, actor: Actor, of: Of, key: str, known: Sequence[Pause], new: Pause, *, line: str | None = None
) -> Pause:
    """Store a pause, bring what follows from it up to date and record it; `line` is that of an import."""
    others = [each for each in known if each.number != new.number]
    _check(new.text, others)
    before = next((each for each in known if each.number == new.number), None)
    store.pauses.put(of, key, known, sorted((*others, new), key=lambda each: each.number))
    refresh_units(store, actor, _places(store, of, key))
    named = f"{key}/{new.number}"
    after, former = plain_text(new.text), None if before is None else plain_text(before.text)
    if line is not None:
        text = None if former is None else orjson.dumps(former).decode()
        audit.imported(store, actor, NAMES[of], named, before=text, after=line)
    elif former is None:
        audit.created(store, actor, NAMES[of], named, after)
    else:
        audit.changed(store, actor, NAMES[of], named, before=former, after=after)
    return new


def _places(store: Store, of: Of, key: str) -> list[Place]:
    """The units for which it counts."""
    if of == "unit":
        return [store.units.place(key, to_write=True)]
    ids = store.sites.ids_of(key)
    return [] if ids is None else store.units.places_at([ids[0]])


def _check(new: PauseText, others: Iterable[Pause]) -> None:
    if new.last is not None and new.last < new.first:
        raise Invalid([Fault("until", new.last.isoformat(), f"lies before from, {new.first}")])
    if new.withdrawn:
        return
    overlapped = next((each for each in others if not each.text.withdrawn and new.overlaps(each.text)), None)
    if overlapped is not None:
        of = f"number {overlapped.number}, {_days(overlapped.text)} ({overlapped.text.reason})"
        raise Conflict(f"{_days(new)} overlaps {of}.")


def _days(text: PauseText) -> str:
    return f"{text.first} until {text.last}" if text.last else f"{text.first} and still open"
