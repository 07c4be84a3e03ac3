"""The ends of units, sites and customers: what they were before, from which the lists of past days are answered."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import date, datetime
from typing import Literal

import orjson

from service.domain.audit import Actor
from service.domain.record.changes import Change
from service.domain.record.unit_log import UnitLog
from service.storage.documents import day
from service.storage.store import Store

Of = Literal["unit", "site", "customer"]


def keep(store: Store, actor: Actor, of: Of, key: str, former: date | None, now: date | None) -> None:
    """Keep that an end was changed. A file brings the changes of its own ends; one that came without any has none."""
    if former == now:
        return
    if actor.importing:
        keys = [key, *store.tags.of(key)] if of == "unit" else [key]
        known = store.changes.last_made("end", *(f"{of}/{each}" for each in keys))
        if known is None or known == _text(now):
            return
    store.changes.add(Change(actor.at, actor.name, "end", f"{of}/{key}", _text(former), _text(now)))


def _text(end: date | None) -> str:
    return orjson.dumps({"on": end}).decode()


class Ends:
    """The ends as they were known at an instant."""

    def __init__(self, store: Store) -> None:
        self._changes: dict[str, list[Change]] = {}
        for change in store.changes.of("end"):
            self._changes.setdefault(change.key, []).append(change)

    def known_at(self, log: UnitLog, instant: datetime) -> UnitLog:
        """A unit's history with the ends that were known at an instant, where it stood then."""
        tags = (*(former.tag for former in log.former_tags), log.unit.tag)
        unit = replace(log.unit, retired_on=self._then("unit", tags, log.unit.retired_on, instant))
        known = replace(log, unit=unit).known_at(instant)
        site, customer = known.site, (known.site.customer,)
        return replace(
            known,
            site=replace(site, ended_on=self._then("site", (site.code,), site.ended_on, instant)),
            customer_ended_on=self._then("customer", customer, known.customer_ended_on, instant),
        )

    def _then(self, of: Of, keys: Iterable[str], now: date | None, instant: datetime) -> date | None:
        later = [each for key in keys for each in self._changes.get(f"{of}/{key}", ()) if each.at > instant]
        if not later:
            return now
        first = min(later, key=lambda each: each.at)
        return None if first.before is None else day(orjson.loads(first.before)["on"])
