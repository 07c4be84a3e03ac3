"""What the dated facts of units and sites were before each change."""

from collections.abc import Callable, Iterable
from typing import Any

import orjson
from sqlalchemy import ColumnElement, CompoundSelect, Select, select, union_all

from service.domain.instants import from_text
from service.domain.record.dated_facts import FactsChange, FactsHistory
from service.domain.record.fleet import Site
from service.storage.tables import change, former_tag, location, site, unit

Rows = Iterable[tuple[Any, ...]]
Of = Callable[[ColumnElement[Any]], ColumnElement[bool]]
BEFORE = (change.c.at, change.c.id, change.c.before)


def facts_of_units(of: Of) -> CompoundSelect[Any]:
    """The changes of units, by their present and former tags."""
    present = select(unit.c.id.label("of_unit"), *BEFORE).join(
        change, (change.c.resource == "unit") & (change.c.key == unit.c.tag)
    )
    former = select(former_tag.c.unit_id.label("of_unit"), *BEFORE).join(
        change, (change.c.resource == "unit") & (change.c.key == former_tag.c.tag)
    )
    both = union_all(present.where(of(unit.c.id)), former.where(of(former_tag.c.unit_id)))
    return both.order_by("at", "id")


def facts_of_sites(of: Of) -> Select[Any]:
    """The changes of the sites at which units stand, stood or are to stand, by the site's code."""
    here = select(unit.c.site_id).where(of(unit.c.id))
    moved = select(location.c.site_id).where(of(location.c.unit_id))
    codes = select(site.c.code).where(site.c.id.in_(here) | site.c.id.in_(moved))
    return (
        select(change.c.key, *BEFORE)
        .where(change.c.resource == "site", change.c.key.in_(codes))
        .order_by(change.c.at, change.c.id)
    )


def read_facts(units: Rows, sites: Rows) -> Callable[[int, Iterable[Site]], FactsHistory]:
    """From their rows the history of the facts of a unit, by its identity, and of those sites."""
    of_units, of_sites = _by_key(units), _by_key(sites)
    return lambda unit_id, its: FactsHistory(
        of_units.get(unit_id, ()), {each.code: of_sites[each.code] for each in its if each.code in of_sites}
    )


def _by_key(rows: Rows) -> dict[Any, tuple[FactsChange, ...]]:
    found: dict[Any, tuple[FactsChange, ...]] = {}
    for key, at, _, before in rows:
        found[key] = (*found.get(key, ()), FactsChange(from_text(at), orjson.loads(before or "{}")))
    return found
