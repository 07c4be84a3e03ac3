"""Keep what the dated facts of a site or unit were before a change."""

import orjson

from service.domain.audit import Actor
from service.domain.record.changes import Change
from service.domain.record.dated_facts import facts_of
from service.domain.record.fleet import Site, Unit
from service.storage.store import Store

SITE, UNIT = "site", "unit"


def keep(store: Store, actor: Actor, former: Site | Unit, changed: Site | Unit) -> None:
    """Keep the former facts where they differ; an import settles at its end what its own lines did not bring."""
    resource, key = (SITE, changed.code) if isinstance(changed, Site) else (UNIT, changed.tag)
    before, after = _text(former), _text(changed)
    if before == after:
        return
    if actor.importing:
        settle_later(store, resource, key, before)
    else:
        store.changes.add(Change(actor.at, actor.name, resource, key, before, after))


def settle_later(store: Store, resource: str, key: str, before: str | None = None) -> None:
    """Note facts that an import changed, `before` in the tables, or that lines of it brought changes of."""
    known = store.changes.facts.get((resource, key))
    store.changes.facts[resource, key] = known or before


def settle(store: Store, actor: Actor) -> None:
    """Add what an import made of facts where the changes that it brought end with others; histories follow."""
    for (resource, key), before in sorted(store.changes.facts.items()):
        present = key if resource == SITE else store.units.present_tag(key)
        ids = store.sites.ids_of(key) if resource == SITE else None
        if present is None or (resource == SITE and ids is None):
            continue  # the changes of a site or unit that is not known here
        now = _text(store.sites.get(key) if resource == SITE else store.units.get(present))
        tags = [key] if resource == SITE else [present, *store.tags.of(present)]
        known = store.changes.last_made(resource, *tags)
        if before is not None and (known is None or orjson.loads(known) != orjson.loads(now)):
            store.changes.add(Change(actor.at, actor.name, resource, present, before, now))
        places = [store.units.place(present)] if ids is None else store.units.places_at([ids[0]])
        for place in places:
            store.units.raise_log(place, 0)
    store.changes.facts.clear()


def _text(record: Site | Unit) -> str:
    return orjson.dumps(facts_of(record)).decode()
