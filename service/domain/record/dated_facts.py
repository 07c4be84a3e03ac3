"""Facts of a site or unit that change with time: each day is answered from those that were recorded by it.

A site's air and closed weekdays change, a unit is set or filled otherwise. A time zone, an elevation or a name that is
changed was wrong before: it holds for the past too.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import Any

from service.domain.plain import as_entered, from_plain
from service.domain.quantities import Quantity, parse_quantity
from service.domain.record.fleet import SURROUNDINGS, WEEKDAYS, Bath, Refrigeration, Site, Supply, Unit

Facts = Mapping[str, Any]
PARTS = {"supply": Supply, "refrigeration": Refrigeration, "bath": Bath}
DIMENSIONS = {
    "voltage": ("voltage",),
    "frequency": ("frequency",),
    "breaker": ("current",),
    "rated_current": ("current",),
    "charge": ("mass",),
    "rated_cooling": ("power",),
    "rated_ambient": ("temperature",),
    "rated_bath": ("temperature",),
    "clean_split": ("temperature_difference",),
    "volume": ("volume",),
    "target_strength": ("mass_fraction", "volume_fraction"),
    "set_point": ("temperature",),
    "differential": ("temperature_difference",),
}
NOBODY = Unit(tag="", site="", registered_on=date.min)


@dataclass(frozen=True, slots=True)
class FactsChange:
    """A change of the dated facts of a site or unit: when it was recorded, and what they were before."""

    at: datetime
    before: Facts


def facts_of(record: Site | Unit) -> dict[str, Any]:
    """The dated facts of a site or unit as JSON values; what is not known is left out."""
    if isinstance(record, Site):
        found: dict[str, Any] = {"surroundings": record.surroundings, "closed_weekdays": list(record.closed_weekdays)}
    else:
        parts = {name: getattr(record, name) for name in PARTS}
        found = {name: None if part is None else as_entered(part) for name, part in parts.items()}
        found["ratings"] = {each.code: each.rated_current.entered for each in record.components if each.rated_current}
    return {name: fact for name, fact in found.items() if fact}


def site_with(site: Site, facts: Facts) -> Site:
    """The site as it was with these facts."""
    closed = tuple(facts.get("closed_weekdays", ()))
    return replace(site, surroundings=facts.get("surroundings"), closed_weekdays=closed)


def unit_with(unit: Unit, facts: Facts) -> Unit:
    """The unit as it was with these facts; a component without a rating among them had none."""
    parts: dict[str, Any] = {
        name: from_plain(kind, facts[name], _read) if name in facts else None for name, kind in PARTS.items()
    }
    ratings = {code: _read("rated_current", text, {}) for code, text in facts.get("ratings", {}).items()}
    components = tuple(replace(each, rated_current=ratings.get(each.code)) for each in unit.components)
    return replace(unit, **parts, components=components)


def _read(name: str, text: str, _beside: Facts) -> Quantity:
    return parse_quantity(text, *DIMENSIONS[name])


def check_facts(resource: str, facts: Facts) -> None:
    """Raise ValueError, TypeError, KeyError or AttributeError where these are not facts of a site or of a unit."""
    if resource == "site":
        if facts.get("surroundings") not in (None, *SURROUNDINGS) or not {*facts.get("closed_weekdays", ())} <= {
            *WEEKDAYS
        }:
            raise ValueError("a site has surroundings and closed weekdays")
    else:
        unit_with(NOBODY, facts)


def _then(changes: Sequence[FactsChange], instant: datetime) -> Facts | None:
    """The facts at an instant, from the changes in their order; None where they are those of today."""
    return next((each.before for each in changes if each.at > instant), None)


@dataclass(frozen=True, slots=True)
class FactsHistory:
    """The changes of a unit's dated facts and of those of its sites by code, the oldest first."""

    unit: tuple[FactsChange, ...] = ()
    sites: Mapping[str, tuple[FactsChange, ...]] = field(default_factory=dict)

    def __bool__(self) -> bool:
        return bool(self.unit or self.sites)

    def unit_at(self, unit: Unit, instant: datetime) -> Unit:
        """The unit as it was recorded by an instant."""
        facts = _then(self.unit, instant)
        return unit if facts is None else unit_with(unit, facts)

    def site_at(self, site: Site, instant: datetime) -> Site:
        """One of its sites as it was recorded by an instant."""
        facts = _then(self.sites.get(site.code, ()), instant)
        return site if facts is None else site_with(site, facts)

    def by(self, instant: datetime) -> "FactsHistory":
        """The changes recorded by an instant."""
        sites = {code: tuple(each for each in made if each.at <= instant) for code, made in self.sites.items()}
        return FactsHistory(tuple(each for each in self.unit if each.at <= instant), sites)
