"""The readings and facts of one visit and its unit, in SI, for the rules.

A figure is computed from the readings of one moment, as found or as left: `moments` divides a visit. Of a moment, the
latest reading of each quantity and position counts.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from service.domain.assessment.doubt import set_aside
from service.domain.quantities import Quantity, format_quantity
from service.domain.record.fleet import Bath, Component, Refrigeration, Supply, Unit
from service.domain.record.visits import Reading, Visit

MOMENT = {"as_found": "as found", "as_left": "as left"}
PUMPS = ("pump", "pump_motor")


@dataclass(frozen=True, slots=True, eq=False)
class Evidence:
    """A visit or one moment of it, its unit, and the reader's system of units ("us" or "si").

    `elevation` is the site's [m], None where it is not recorded.

    `moment` is as_found, as_left, or None for the whole visit; `readings` are those of the moment in order of time,
    `set_aside` those of it that cannot be used; `baths` are the timed bath temperatures of the whole visit.
    `counting` holds the readings that count, by quantity; `parts` the components in place, by code; `seen` the codes
    of the observations, `absent` those of what was looked for and was not there.
    """

    visit: Visit
    unit: Unit
    system: str
    moment: str | None
    elevation: float | None
    readings: tuple[Reading, ...]
    set_aside: tuple[Reading, ...]
    baths: tuple[Reading, ...]
    counting: Mapping[str, tuple[Reading, ...]]
    parts: Mapping[str, Component]
    seen: frozenset[str]
    absent: frozenset[str] = frozenset()

    @property
    def bath(self) -> Bath:
        """The bath's record, empty where nothing is known."""
        return self.unit.bath or Bath()

    @property
    def refrigeration(self) -> Refrigeration:
        """The refrigerant circuit's record, empty where nothing is known."""
        return self.unit.refrigeration or Refrigeration()

    @property
    def supply(self) -> Supply:
        """The supply's record, empty where nothing is known."""
        return self.unit.supply or Supply()

    def each(self, quantity: str) -> tuple[Reading, ...]:
        """The counting readings of a quantity, one a component or tap."""
        return self.counting.get(quantity, ())

    def has(self, quantity: str) -> bool:
        """Whether the quantity was read."""
        return quantity in self.counting

    def reading(self, quantity: str) -> Reading:
        """The counting reading of a quantity that has one position; KeyError where it was not read."""
        return self.counting[quantity][-1]

    def value(self, quantity: str) -> float:
        """The counting value of a quantity in SI; KeyError where it was not read."""
        return self.reading(quantity).value.value

    def reading_at(self, quantity: str, component: str) -> Reading | None:
        """The counting reading at a component, None where it was not read there."""
        return next((each for each in self.each(quantity) if each.component == component), None)

    def at(self, quantity: str, component: str) -> float | None:
        """The counting value at a component in SI, None where it was not read there."""
        reading = self.reading_at(quantity, component)
        return None if reading is None else reading.value.value

    def part_at(self, component: str | None) -> Component | None:
        """The component of this code, None where none is in place."""
        return self.parts.get(component or "")

    def kind_at(self, component: str | None) -> str | None:
        """The kind of the component of this code, None where none is in place."""
        part = self.part_at(component)
        return None if part is None else part.kind

    def show(self, value: float, dimension: str) -> str:
        """An SI value in the reader's units."""
        return format_quantity(Quantity(value, dimension, ""), self.system)

    def temperature(self, kelvin: float) -> str:
        """A temperature in the reader's units."""
        return self.show(kelvin, "temperature")

    def difference(self, kelvin: float) -> str:
        """A temperature difference in the reader's units, in whole degrees: readings give no more."""
        scale = 1.8 if self.system == "us" else 1.0
        return self.show(round(round(kelvin * scale, 6)) / scale, "temperature_difference")

    def show_reading(self, reading: Reading) -> str:
        """A reading's value in the reader's units, and whether as found or as left."""
        return f"{format_quantity(reading.value, self.system)} {MOMENT[reading.when]}"


def gather(
    visit: Visit, unit: Unit, system: str, moment: str | None = None, elevation: float | None = None
) -> Evidence:
    """Sort the readings and facts of a visit and its unit: of one moment, or of the whole visit.

    Of the whole visit the latest reading as left counts; where there is none, the latest as found.
    """
    return _of_moment(_sorted(visit, unit), visit, unit, system, moment, elevation)


def gather_all(
    visit: Visit, unit: Unit, system: str, elevation: float | None = None
) -> tuple[Evidence, Sequence[Evidence]]:
    """The evidence of the whole visit, and that of each of its moments, the whole where it has none."""
    found = _sorted(visit, unit)
    whole, *each = (_of_moment(found, visit, unit, system, moment, elevation) for moment in (None, *moments(visit)))
    return whole, each or [whole]


class _Sorted(NamedTuple):
    """The components in place by code, the usable readings in order of time, and by moment those set aside."""

    parts: Mapping[str, Component]
    usable: Sequence[Reading]
    aside: Mapping[str, Sequence[Reading]]


def _sorted(visit: Visit, unit: Unit) -> _Sorted:
    in_order = sorted(visit.readings, key=lambda each: (each.when == "as_left", each.at or visit.arrived_at))
    parts = {part.code: part for part in unit.components if part.removed_on is None}
    pumps = frozenset(code for code, part in parts.items() if part.kind in PUMPS)
    aside = {when: set_aside([each for each in in_order if each.when == when], pumps) for when in MOMENT}
    return _Sorted(parts, [each for each in in_order if each not in aside[each.when]], aside)


def _of_moment(
    found: _Sorted, visit: Visit, unit: Unit, system: str, moment: str | None, elevation: float | None
) -> Evidence:
    parts, usable, aside = found
    readings = tuple(each for each in usable if moment in (None, each.when) or _lasts(visit, each))
    return Evidence(
        visit=visit,
        unit=unit,
        system=system,
        moment=moment,
        elevation=elevation,
        readings=readings,
        set_aside=tuple(each for when, those in aside.items() if moment in (None, when) for each in those),
        baths=tuple(each for each in usable if each.quantity == "bath_temperature" and each.at is not None),
        counting=_counting(readings),
        parts=parts,
        seen=frozenset(observed.code for observed in visit.observations),
    )


def moments(visit: Visit) -> tuple[str, ...]:
    """The moments at which a visit took readings, in order of time."""
    taken = {reading.when for reading in visit.readings}
    return tuple(moment for moment in MOMENT if moment in taken)


def _lasts(visit: Visit, reading: Reading) -> bool:
    """Whether a reading holds for the whole visit: the glycol's strength, unless the glycol was changed."""
    changed = any(each.task == "glycol_change" and each.result == "done" for each in visit.tasks)
    return reading.quantity == "glycol_strength" and reading.when == "as_found" and not changed


def _counting(readings: Sequence[Reading]) -> dict[str, tuple[Reading, ...]]:
    found: dict[str, dict[tuple[str | None, str | None], Reading]] = {}
    for reading in readings:
        found.setdefault(reading.quantity, {})[reading.component, reading.tap] = reading
    return {quantity: tuple(places.values()) for quantity, places in found.items()}


def read_at_moment(e: Evidence, quantity: str) -> tuple[Reading, ...]:
    """Every reading of a quantity, as of three phases; of a whole visit those as left, else those as found."""
    readings = tuple(reading for reading in e.readings if reading.quantity == quantity)
    return tuple(reading for reading in readings if reading.when == "as_left") or readings


def known(quantity: Quantity | None) -> float:
    """The value of a quantity that a rule's needs have found; LookupError where they have not."""
    if quantity is None:
        raise LookupError("a rule asked for a quantity that is not among its needs")
    return quantity.value


def worth(quantity: Quantity | None) -> float | None:
    """The value of a quantity that may not be known."""
    return None if quantity is None else quantity.value


def computed(value: float, dimension: str) -> Quantity:
    """A calculated figure."""
    return Quantity(value, dimension, "")


def percent(share: float) -> str:
    """A fraction as a percentage: "35 %"."""
    return f"{round(share * 100)} %"


def span(seconds: float) -> str:
    """A duration: seconds below one minute, minutes up to two hours, then hours."""
    if 0.0 < seconds < 60.0:
        return f"{seconds:.0f} s"
    minutes = round(seconds / 60.0)
    return f"{minutes} min" if minutes <= 120 else f"{seconds / 3600.0:.1f} h".replace(".0 h", " h")


def listed(items: Iterable[str]) -> str:
    """A list in a sentence: "a, b and c"."""
    *first, last = items
    return f"{', '.join(first)} and {last}" if first else last


@dataclass(frozen=True, slots=True)
class Need:
    """An input without which a rule cannot run: a reading of the visit or a fact on the unit's record.

    `quantity` is set where any reading of it is enough.
    """

    name: str
    of: str
    phrase: str
    found: Callable[[Evidence], bool]
    can_be_had: Callable[[Evidence], bool] | None = None  # None: anywhere, as most readings
    quantity: str | None = None


def a_reading(quantity: str, can_be_had: Callable[[Evidence], bool] | None = None) -> Need:
    """A reading that a rule needs."""
    phrase = f"the {quantity.replace('_', ' ').replace(' ph', ' pH')}"
    return Need(quantity, "visit", phrase, lambda e: e.has(quantity), can_be_had, quantity)


def a_fact(part: str, name: str) -> Need:
    """A fact on the unit's record that a rule needs: its part ("bath") and the name in it ("volume")."""
    phrase = f"the {part}'s {name.replace('_', ' ')} on the unit's record"
    return Need(f"{part}.{name}", "unit", phrase, lambda e: getattr(getattr(e.unit, part), name, None) is not None)
