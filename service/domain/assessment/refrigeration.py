"""The refrigerant circuit by its pressures, its line temperatures and its frost."""

from collections.abc import Iterator
from dataclasses import replace

from service.domain.assessment.evidence import Evidence, a_reading, computed
from service.domain.assessment.refrigerant_of import (
    DISCHARGE,
    REFRIGERANT,
    SUCTION,
    condensing,
    evaporating,
    refrigerant_of,
    suction_can_be_read,
    the_refrigerant,
)
from service.domain.assessment.rule import Rule, Said, act, fine, note
from service.domain.assessment.statement import Figure
from service.domain.maintenance.catalogue import HOT, LICENSED
from service.domain.maintenance.catalogue import REFRIGERANT as CIRCUIT
from service.domain.physics.refrigeration.frost import frost_position
from service.domain.physics.refrigeration.saturation import absolute_pressure
from service.domain.physics.refrigeration.superheat import USUAL_SUBCOOLING, USUAL_SUPERHEAT, subcooling, superheat
from service.domain.quantities import format_quantity

NO_SUPERHEAT = 1.0  # K: what a clamped probe is off at the least; judged, no source
FAR_UNDER_BATH = 25.0 / 1.8  # K, twice the coil's usual distance; common practice, no source


def _unknown(e: Evidence) -> Iterator[Said]:
    name = e.refrigeration.refrigerant
    if name is not None and refrigerant_of(e) is None and (e.has("suction_pressure") or e.has("discharge_pressure")):
        yield note(
            "refrigerant_unknown",
            f"Nothing can be made of the pressures: no saturation curve is known here for {name!r}.",
            advice="Put the refrigerant on the unit's record as the nameplate has it, for example R-134a.",
            refrigerant=name,
        )


def _saturation(e: Evidence) -> Iterator[Said]:
    fluid = the_refrigerant(e)
    said, figures = [], {}
    if e.has("suction_pressure"):
        figures["evaporating"] = computed(evaporating(e), "temperature")
        said.append(f"it evaporates at {e.temperature(evaporating(e))} ({e.told(e.reading('suction_pressure'))})")
    if e.has("discharge_pressure"):
        figures["condensing"] = computed(condensing(e), "temperature")
        said.append(f"it condenses at {e.temperature(condensing(e))} ({e.told(e.reading('discharge_pressure'))})")
    if said:
        yield fine("saturation", f"{fluid.name} at sea level: {' and '.join(said)}.", refrigerant=fluid.name, **figures)


def _superheat(e: Evidence) -> Iterator[Said]:
    found = superheat(
        the_refrigerant(e),
        suction_pressure=absolute_pressure(e.value("suction_pressure")),
        line_temperature=e.value("suction_line_temperature"),
    )
    low, high = USUAL_SUPERHEAT
    said = f"Superheat is {e.difference(found)} (usual: {e.difference(low)} to {e.difference(high)})"
    figures: dict[str, Figure] = {"superheat": computed(found, "temperature_difference")}
    if found <= NO_SUPERHEAT:
        yield act(
            "superheat_none",
            f"{said}: liquid may reach the compressor.",
            advice="Check the probe's contact first. Then look at the glycol's flow over the coil, ice on it, the "
            "metering device, and the charge.",
            **figures,
        )
    elif found > high:
        yield note(
            "superheat_high",
            f"{said}: the evaporator is short of refrigerant.",
            advice="Usual in a warm bath with a capillary: measure again near the set point. If it stays, look for a "
            "leak or a restricted capillary or drier.",
            **figures,
        )
    elif found < low:
        yield note("superheat_low", f"{said}.", advice="Check the probe's contact and the glycol's flow.", **figures)
    else:
        yield fine("superheat_good", f"{said}: in order.", **figures)


def _subcooling(e: Evidence) -> Iterator[Said]:
    found = subcooling(
        the_refrigerant(e),
        liquid_pressure=absolute_pressure(e.value("discharge_pressure")),
        line_temperature=e.value("liquid_line_temperature"),
    )
    low, high = USUAL_SUBCOOLING
    said = f"Subcooling is {e.difference(found)} (usual: {e.difference(low)} to {e.difference(high)})"
    figures: dict[str, Figure] = {"subcooling": computed(found, "temperature_difference")}
    if found < low:
        advice = "Low subcooling fits too little charge: look for oil stains and leaks before anything is added."
        yield note("subcooling_low", f"{said}.", advice=advice, **figures)
    elif found > high:
        advice = "High subcooling fits too much charge or a restriction after the condenser: see it with the split."
        yield note("subcooling_high", f"{said}.", advice=advice, **figures)
    else:
        yield fine("subcooling_good", f"{said}: in order.", **figures)


def _under_bath(e: Evidence) -> Iterator[Said]:
    distance = e.value("bath_temperature") - evaporating(e)
    if distance <= FAR_UNDER_BATH:
        return
    yield note(
        "evaporator_far_under_bath",
        f"The refrigerant evaporates {e.difference(distance)} under the bath; "
        f"{e.difference(10.0 / 1.8)} to {e.difference(15.0 / 1.8)} is usual.",
        advice="Look at the glycol's flow over the coil and at ice on it; then at a restriction or too little charge.",
        distance=computed(distance, "temperature_difference"),
    )


POINTS_AT = {
    "capillary_restricted": "a restricted capillary",
    "moisture_in_circuit": "moisture in the circuit",
    "low_charge": "too little charge",
    "overcharge": "too much charge",
    "low_heat_load": "little heat to take up",
    "no_glycol_flow": "no glycol flow",
}
FROST_LOOK = "Look at bath, flow, air and currents first; frost is a hint, not a measurement."


def _frost(e: Evidence) -> Iterator[Said]:
    if e.refrigeration.metering not in (None, "capillary"):
        return
    reading = e.reading("frost_distance_after_capillary")
    position = frost_position(reading.value.value)
    causes = ", ".join(POINTS_AT[each] for each in position.points_at)
    far = format_quantity(replace(reading.value, value=abs(reading.value.value)), e.system)
    figures: dict[str, Figure] = {"position": position.code, "distance": reading.value}
    if position.normal:
        yield fine("frost_normal", f"Frost stands {e.told(reading)} past the capillary's end: normal.", **figures)
    elif reading.value.value < 0.0:
        said = f"Frost stands {far} back on the capillary, which is not normal. It fits {causes}."
        yield act("frost_on_capillary", said, advice=FROST_LOOK, **figures)
    else:
        said = f"Frost stands {far} past the capillary's end, farther than usual. It fits {causes}."
        yield note("frost_far", said, advice=FROST_LOOK, **figures)


def _frost_seen(e: Evidence) -> Iterator[Said]:
    if "frost_on_capillary" in e.seen and not e.has("frost_distance_after_capillary"):
        causes = ", ".join(POINTS_AT[each] for each in frost_position(-0.01).points_at)
        said = f"Frost was seen on the capillary itself, which is not normal. It fits {causes}."
        yield act("frost_on_capillary", said, advice=FROST_LOOK, position="on_capillary")


CARE = f"{CIRCUIT} {HOT} {LICENSED}"
SATURATION = "Saturation by CoolProp 8 (Bell et al. 2014), within 0.2 psi of a chart citing NIST REFPROP, at sea level"
COOLING = frozenset({"warm_pour", "alarm", "compressor", "frost_on_capillary", "oil_stain"})
FROST = "Frost 2 in past the capillary's end is normal, frost back on it is not: common practice, no source"

RULES = (
    Rule(
        codes=("refrigerant_unknown",),
        needs=(),
        judge=_unknown,
        tells="what the pressures mean",
        source="ASHRAE 34 designations",
        caution=CARE,
    ),
    Rule(
        codes=("saturation",),
        needs=(REFRIGERANT,),
        judge=_saturation,
        tells="at which temperatures the refrigerant boils and condenses",
        source=SATURATION,
        caution=CARE,
        weight=0.3,
    ),
    Rule(
        codes=("superheat_none", "superheat_low", "superheat_good", "superheat_high"),
        needs=(REFRIGERANT, SUCTION, a_reading("suction_line_temperature", suction_can_be_read)),
        judge=_superheat,
        tells="whether the evaporator is fed",
        source=f"Packaged chiller manual CG-SVX038A, p. 39: 10 to 20 °F at the compressor. {SATURATION}",
        caution=CARE,
        asked_by=COOLING,
        weight=0.7,
    ),
    Rule(
        codes=("subcooling_low", "subcooling_good", "subcooling_high"),
        needs=(REFRIGERANT, DISCHARGE, a_reading("liquid_line_temperature", DISCHARGE.can_be_had)),
        judge=_subcooling,
        tells="whether the charge is about right",
        source=f"A refrigeration training site: 10 to 15 °F. {SATURATION}",
        caution=CARE,
        asked_by=COOLING,
        weight=0.7,
    ),
    Rule(
        codes=("evaporator_far_under_bath",),
        needs=(REFRIGERANT, SUCTION, a_reading("bath_temperature")),
        judge=_under_bath,
        tells="whether the coil takes up heat as it should",
        source="A chiller maker's answer: coil 10 to 15 °F under the bath; 25 °F as the limit: common practice, no "
        f"source. {SATURATION}",
        caution=CARE,
        asked_by=COOLING,
        weight=0.5,
    ),
    Rule(
        codes=("frost_normal", "frost_on_capillary", "frost_far"),
        needs=(a_reading("frost_distance_after_capillary", lambda e: e.refrigeration.metering in (None, "capillary")),),
        judge=_frost,
        tells="without gauges whether the evaporator is fed",
        source=FROST,
        caution=CARE,
        asked_by=COOLING,
        weight=0.5,
    ),
    Rule(
        codes=("frost_on_capillary",),
        needs=(),
        judge=_frost_seen,
        tells="what the frost means",
        source=FROST,
        caution=CARE,
    ),
)
