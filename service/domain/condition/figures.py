"""Figures that follow from a unit's latest readings, and what is wrong by them."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from typing import ParamSpec

from service.domain.assessment.bands import BATH_BAND
from service.domain.assessment.head_control import may_be_held
from service.domain.bench.figures import SHARE, figure
from service.domain.bench.strengths import SOURCE as GLYCOL_SOURCE
from service.domain.bench.strengths import mass_fraction
from service.domain.condition.latest import MOMENT, Derived, change, newest
from service.domain.errors import Invalid
from service.domain.physics.electrical.motor_currents import current_share
from service.domain.physics.electrical.supply import voltage_check
from service.domain.physics.glycol.properties import STRENGTH, Glycol, freezing_point
from service.domain.physics.glycol.protection import estimated_coil_temperature
from service.domain.physics.ranges import OutOfRange, above
from service.domain.physics.refrigeration.condenser import air_rise, condenser_split
from service.domain.physics.refrigeration.refrigerants import Refrigerant, known_refrigerant
from service.domain.physics.refrigeration.saturation import (
    STANDARD_ATMOSPHERE,
    absolute_pressure,
    bubble_temperature,
    dew_temperature,
)
from service.domain.physics.refrigeration.superheat import atmosphere_at
from service.domain.quantities import Quantity
from service.domain.record.fleet import Bath, Refrigeration, Supply, Unit
from service.domain.record.unit_log import ReadingTaken
from service.domain.record.visits import Reading

SATURATION = "CoolProp 8.0.0, equations of state; gauge above the standard atmosphere of the site's elevation"
MARGIN_SOURCE = "An article on testing glycol in HVAC: at least 5 °F below the lowest exposed temperature"
RATED = "The rating recorded for the component"
BAND = "NEMA MG 1, 12.44 (clause from memory): 10 % either side of the nameplate's voltage"
UNDER_BATH = "the evaporator, taken as 15 °F (8.3 °C) under the bath"
BY_SUCTION = "the evaporator, by the suction pressure"
Split = tuple[datetime, float, str]
P = ParamSpec("P")


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What is recorded of a unit, as far as its figures need it."""

    glycol: Glycol = Glycol.PROPYLENE
    target: float | None = None
    set_point: float | None = None
    fluid: Refrigerant | None = None
    clean_split: float | None = None
    atmosphere: float = STANDARD_ATMOSPHERE
    voltage: float | None = None
    ratings: Mapping[str, Quantity]


def known_of(unit: Unit, elevation: float | None = None) -> Known:
    """What is known of a unit at a site of this elevation [m]; a refrigerant that we do not know counts as none."""
    bath, circuit, supply = unit.bath or Bath(), unit.refrigeration or Refrigeration(), unit.supply or Supply()
    return Known(
        glycol=Glycol.ETHYLENE if bath.glycol == Glycol.ETHYLENE else Glycol.PROPYLENE,
        target=_target(bath.target_strength),
        set_point=_value(bath.set_point),
        fluid=known_refrigerant(circuit.refrigerant),
        clean_split=_value(circuit.clean_split),
        atmosphere=atmosphere_at(elevation or 0.0),
        voltage=_value(supply.voltage),
        ratings={part.code: part.rated_current for part in unit.components if part.rated_current},
    )


def _value(quantity: Quantity | None) -> float | None:
    return None if quantity is None else quantity.value


def _target(quantity: Quantity | None) -> float | None:
    return None if quantity is None else within(mass_fraction, quantity)


def within(formula: Callable[P, float], *values: P.args, **named: P.kwargs) -> float | None:
    """What the formula gives; None outside its range."""
    try:
        return formula(*values, **named)
    except (OutOfRange, Invalid):
        return None


def strength_of(reading: Reading, kind: Glycol) -> float | None:
    """A reading of the strength by mass [kg/kg], in Brix by a compensating instrument; None where it has none."""
    if reading.value.dimension == "brix" and reading.sample_temperature is None:
        return None
    return _strength(reading.value, reading.sample_temperature, kind)


@lru_cache(maxsize=2048)
def _strength(shown: Quantity, sample: Quantity | None, kind: Glycol) -> float | None:
    """A refractometer shows few different values, and each takes two solutions of an equation."""
    found = within(mass_fraction, shown, sample=sample, glycol=kind)
    return None if found is None else within(STRENGTH.check, found)


@lru_cache(maxsize=2048)
def _freezing(strength: float, kind: Glycol) -> float | None:
    return within(freezing_point, strength, kind)


def freezing_of(reading: Reading, known: Known) -> float | None:
    """The freezing point by a reading of the strength [K]."""
    strength = strength_of(reading, known.glycol)
    return None if strength is None else _freezing(strength, known.glycol)


def coldest_of(readings: Sequence[ReadingTaken], known: Known) -> float | None:
    """The coldest surface by the set point, else by the latest bath: the same for all readings of the strength [K].

    A bath that is still warm does not show the coil of a cold one.
    """
    at = known.set_point if known.set_point is not None else _cold_bath(readings)
    return None if at is None else within(estimated_coil_temperature, at)


def _cold_bath(readings: Sequence[ReadingTaken]) -> float | None:
    baths = (each for each in readings if each.reading.quantity == "bath_temperature")
    bath = newest((each for each in baths if not above(each.reading.value.value, BATH_BAND[1])), "bath_temperature")
    return None if bath is None else bath.reading.value.value


def derived(
    readings: Sequence[ReadingTaken], known: Known, rules: "Iterable[Rule] | None" = None
) -> tuple[Derived, ...]:
    """The figures that follow from the readings by these rules, or by all."""
    return tuple(each for rule in rules or RULES for each in rule(readings, known))


def glycol(readings: Sequence[ReadingTaken], known: Known) -> Iterator[Derived]:
    """The glycol's strength, where it freezes and how far from that its coldest surface is."""
    latest = newest(readings, "glycol_strength")
    strength = None if latest is None else strength_of(latest.reading, known.glycol)
    if latest is None or strength is None:
        return
    beside = None if known.target is None else figure(known.target, "mass_fraction")
    yield _derived("glycol_strength", figure(strength, "mass_fraction"), latest, GLYCOL_SOURCE, beside, "the target")
    freezing = _freezing(strength, known.glycol)
    if freezing is None:
        return
    yield _derived("glycol_freezing_point", figure(freezing, "temperature"), latest, GLYCOL_SOURCE)
    if (coldest := _coldest(readings, known)) is not None:
        surface, named = coldest
        margin = figure(surface - freezing, "temperature_difference")
        yield _derived("freeze_margin", margin, latest, GLYCOL_SOURCE, figure(surface, "temperature"), named)


def _coldest(readings: Sequence[ReadingTaken], known: Known) -> tuple[float, str] | None:
    """The coldest surface that the glycol touches [K] and how it is known."""
    suction = newest(readings, "suction_pressure")
    found: list[tuple[float | None, str]] = []
    if suction is not None and known.fluid is not None:
        found.append((_saturated(dew_temperature, known, suction.reading), BY_SUCTION))
    found.append((coldest_of(readings, known), UNDER_BATH))
    return min(((surface, named) for surface, named in found if surface is not None), default=None)


def _saturated(curve: Callable[[Refrigerant, float], float], known: Known, gauge: Reading) -> float | None:
    absolute = within(absolute_pressure, gauge.value.value, atmosphere=known.atmosphere)
    return None if absolute is None or known.fluid is None else within(curve, known.fluid, absolute)


def _air(readings: Sequence[ReadingTaken], _known: Known) -> Iterator[Derived]:
    pairs = pairs_of(readings, ("condenser_air_in_temperature",), "condenser_air_out_temperature")
    for into, out in pairs[-1:]:
        rise = within(air_rise, air_in=into.reading.value.value, air_out=out.reading.value.value)
        if rise is not None:
            yield _derived("condenser_air_rise", figure(rise, "temperature_difference"), out, "Heat balance of the air")


def split_of(readings: Sequence[ReadingTaken], known: Known, *, uncontrolled: bool = False) -> list[Split]:
    """(instant, condenser split [K], visit) of each visit that read head pressure and air, oldest first.

    `uncontrolled`: without those that a control of the head in cold air may have made, which show no dirt.
    """
    found = []
    for air, head in pairs_of(readings, ("condenser_air_in_temperature", "ambient_temperature"), "discharge_pressure"):
        condensing = _saturated(bubble_temperature, known, head.reading)
        if condensing is None:
            continue
        if uncontrolled and may_be_held(condensing=condensing, air=air.reading.value.value):
            continue
        split = within(condenser_split, condensing=condensing, air_in=air.reading.value.value)
        if split is not None:
            found.append((head.at, split, head.visit))
    return found


def pairs_of(
    readings: Sequence[ReadingTaken], firsts: tuple[str, ...], second: str
) -> list[tuple[ReadingTaken, ReadingTaken]]:
    """Of each visit the readings of one of `firsts` and of `second` from the same moment, as found before as left."""
    by_moment = {(each.visit, each.reading.when, each.reading.quantity): each for each in readings}
    found: dict[str, tuple[ReadingTaken, ReadingTaken]] = {}
    for moment in MOMENT:
        for visit in {each.visit for each in readings}:
            first = next((by_moment[key] for name in firsts if (key := (visit, moment, name)) in by_moment), None)
            other = by_moment.get((visit, moment, second))
            if first is not None and other is not None:
                found.setdefault(visit, (first, other))
    return sorted(found.values(), key=lambda pair: pair[1].at)


def splits(readings: Sequence[ReadingTaken], known: Known) -> Iterator[Derived]:
    """The condenser's latest split."""
    for at, split, visit in split_of(readings, known)[-1:]:
        beside = None if known.clean_split is None else figure(known.clean_split, "temperature_difference")
        value = figure(split, "temperature_difference")
        yield Derived(
            of="condenser_split",
            value=value,
            beside=beside,
            beside_is=None if beside is None else "this unit's own clean split",
            difference=beside and change(beside, value),
            at=at,
            visit=visit,
            source=SATURATION,
        )


def currents(readings: Sequence[ReadingTaken], known: Known) -> Iterator[Derived]:
    """The latest current of each component that has a rating."""
    for component, rating in known.ratings.items():
        latest = newest(readings, "current", component)
        if latest is None:
            continue
        share = within(current_share, latest.reading.value.value, rated=rating.value)
        if share is None:
            continue
        yield _derived("current_share", figure(share, SHARE), latest, RATED, rating, "rating")


def voltage(readings: Sequence[ReadingTaken], known: Known) -> Iterator[Derived]:
    """The latest supply voltage against the nameplate."""
    latest = newest(readings, "supply_voltage")
    if latest is None or known.voltage is None:
        return
    try:
        checked = voltage_check(latest.reading.value.value, rated=known.voltage)
    except OutOfRange:
        return
    nameplate = figure(known.voltage, "voltage")
    yield _derived(
        "supply_voltage_deviation", figure(checked.deviation, SHARE), latest, BAND, nameplate, "the nameplate"
    )


def _derived(
    of: str,
    value: Quantity,
    taken: ReadingTaken,
    source: str,
    beside: Quantity | None = None,
    beside_is: str | None = None,
) -> Derived:
    alike = beside is not None and beside.dimension == value.dimension
    return Derived(
        of=of,
        component=taken.place[1],
        value=value,
        beside=beside,
        beside_is=None if beside is None else beside_is,
        difference=change(beside, value) if alike and beside else None,
        at=taken.at,
        visit=taken.visit,
        source=source,
    )


Rule = Callable[[Sequence[ReadingTaken], Known], Iterator[Derived]]
RULES: tuple[Rule, ...] = (glycol, _air, splits, currents, voltage)
