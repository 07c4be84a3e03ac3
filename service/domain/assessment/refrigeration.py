"""The refrigerant circuit: pressures, line temperatures and frost."""

from collections.abc import Iterator
from dataclasses import replace

from service.domain.assessment.evidence import Evidence, a_reading, computed
from service.domain.assessment.finding import Figure, Finding
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
from service.domain.assessment.rule import Rule, act, fine, note
from service.domain.maintenance.catalogue import HOT, LICENSED
from service.domain.maintenance.catalogue import REFRIGERANT as CIRCUIT
from service.domain.physics.refrigeration.frost import frost_position
from service.domain.physics.refrigeration.saturation import absolute_pressure
from service.domain.physics.refrigeration.superheat import USUAL_SUBCOOLING, USUAL_SUPERHEAT, subcooling, superheat
from service.domain.quantities import format_quantity

NO_SUPERHEAT = 1.0  # K: least error of a clamped probe; judged, no source
FAR_UNDER_BATH = 25.0 / 1.8  # K, twice the coil's usual distance; common practice, no source


def _unknown(e: Evidence) -> Iterator[Finding]:
    name = e.refrigeration.refrigerant
    if name is not None and refrigerant_of(e) is None and (e.has("suction_pressure") or e.has("discharge_pressure")):
        yield note(
            "refrigerant_unknown",
            f"The pressures cannot be evaluated: there is no saturation curve for {name!r}.",
            advice="Record the refrigerant as on the nameplate, for example R-134a.",
            refrigerant=name,
        )


def _saturation(e: Evidence) -> Iterator[Finding]:
    fluid = the_refrigerant(e)
    parts, figures = [], {}
    if e.has("suction_pressure"):
        figures["evaporating"] = computed(evaporating(e), "temperature")
        parts.append(f"evaporates at {e.temperature(evaporating(e))} ({e.show_reading(e.reading('suction_pressure'))})")
    if e.has("discharge_pressure"):
        figures["condensing"] = computed(condensing(e), "temperature")
        parts.append(f"condenses at {e.temperature(condensing(e))} ({e.show_reading(e.reading('discharge_pressure'))})")
    if parts:
        yield fine("saturation", f"{fluid.name} at sea level {' and '.join(parts)}.", refrigerant=fluid.name, **figures)


def _superheat(e: Evidence) -> Iterator[Finding]:
    found = superheat(
        the_refrigerant(e),
        suction_pressure=absolute_pressure(e.value("suction_pressure")),
        line_temperature=e.value("suction_line_temperature"),
    )
    low, high = USUAL_SUPERHEAT
    text = f"Superheat is {e.difference(found)} (usual: {e.difference(low)} to {e.difference(high)})"
    figures: dict[str, Figure] = {"superheat": computed(found, "temperature_difference")}
    if found <= NO_SUPERHEAT:
        yield act(
            "superheat_none",
            f"{text}: liquid may reach the compressor.",
            advice="Check the probe's contact first. Then check the glycol's flow over the coil, ice on the coil, the "
            "metering device and the charge.",
            **figures,
        )
    elif found > high:
        yield note(
            "superheat_high",
            f"{text}: the evaporator is underfed.",
            advice="Usual in a warm bath with a capillary: measure again near the set point. If it stays high, look "
            "for a leak or a restricted capillary or drier.",
            **figures,
        )
    elif found < low:
        yield note("superheat_low", f"{text}.", advice="Check the probe's contact and the glycol's flow.", **figures)
    else:
        yield fine("superheat_good", f"{text}: good.", **figures)


def _subcooling(e: Evidence) -> Iterator[Finding]:
    found = subcooling(
        the_refrigerant(e),
        liquid_pressure=absolute_pressure(e.value("discharge_pressure")),
        line_temperature=e.value("liquid_line_temperature"),
    )
    low, high = USUAL_SUBCOOLING
    text = f"Subcooling is {e.difference(found)} (usual: {e.difference(low)} to {e.difference(high)})"
    figures: dict[str, Figure] = {"subcooling": computed(found, "temperature_difference")}
    if found < low:
        advice = "Low subcooling fits a low charge: look for oil stains and leaks before adding refrigerant."
        yield note("subcooling_low", f"{text}.", advice=advice, **figures)
    elif found > high:
        advice = "High subcooling fits an overcharge or a restriction after the condenser: compare with the split."
        yield note("subcooling_high", f"{text}.", advice=advice, **figures)
    else:
        yield fine("subcooling_good", f"{text}: good.", **figures)


def _under_bath(e: Evidence) -> Iterator[Finding]:
    distance = e.value("bath_temperature") - evaporating(e)
    if distance <= FAR_UNDER_BATH:
        return
    yield note(
        "evaporator_far_under_bath",
        f"The refrigerant evaporates {e.difference(distance)} below the bath; "
        f"{e.difference(10.0 / 1.8)} to {e.difference(15.0 / 1.8)} is usual.",
        advice="Check the glycol's flow over the coil and ice on the coil; then a restriction or a low charge.",
        distance=computed(distance, "temperature_difference"),
    )


POINTS_AT = {
    "capillary_restricted": "a restricted capillary",
    "moisture_in_circuit": "moisture in the circuit",
    "low_charge": "low charge",
    "overcharge": "overcharge",
    "low_heat_load": "a low heat load",
    "no_glycol_flow": "no glycol flow",
}
FROST_LOOK = "Check bath, flow, air and currents first: frost is a hint, not a measurement."


def _frost(e: Evidence) -> Iterator[Finding]:
    if e.refrigeration.metering not in (None, "capillary"):
        return
    reading = e.reading("frost_distance_after_capillary")
    position = frost_position(reading.value.value)
    causes = ", ".join(POINTS_AT[each] for each in position.points_at)
    far = format_quantity(replace(reading.value, value=abs(reading.value.value)), e.system)
    figures: dict[str, Figure] = {"position": position.code, "distance": reading.value}
    if position.normal:
        yield fine(
            "frost_normal", f"The frost line is {e.show_reading(reading)} past the capillary's end: normal.", **figures
        )
    elif reading.value.value < 0.0:
        text = f"The frost line is {far} back on the capillary, which is not normal. It fits {causes}."
        yield act("frost_on_capillary", text, advice=FROST_LOOK, **figures)
    else:
        text = f"The frost line is {far} past the capillary's end, farther than usual. It fits {causes}."
        yield note("frost_far", text, advice=FROST_LOOK, **figures)


def _frost_seen(e: Evidence) -> Iterator[Finding]:
    if "frost_on_capillary" in e.seen and not e.has("frost_distance_after_capillary"):
        causes = ", ".join(POINTS_AT[each] for each in frost_position(-0.01).points_at)
        text = f"Frost was seen on the capillary itself, which is not normal. It fits {causes}."
        yield act("frost_on_capillary", text, advice=FROST_LOOK, position="on_capillary")


CARE = f"{CIRCUIT} {HOT} {LICENSED}"
SATURATION = "Saturation by CoolProp 8 (Bell et al. 2014), within 0.2 psi of a chart citing NIST REFPROP, at sea level"
COOLING = frozenset({"warm_pour", "alarm", "compressor", "frost_on_capillary", "oil_stain"})
FROST = "Frost 2 in past the capillary's end is normal, frost back on it is not: common practice, no source"

RULES = (
    Rule(
        codes=("refrigerant_unknown",),
        needs=(),
        judge=_unknown,
        shows="what the pressures mean",
        source="ASHRAE 34 designations",
        caution=CARE,
    ),
    Rule(
        codes=("saturation",),
        needs=(REFRIGERANT,),
        judge=_saturation,
        shows="at which temperatures the refrigerant evaporates and condenses",
        source=SATURATION,
        caution=CARE,
        weight=0.3,
    ),
    Rule(
        codes=("superheat_none", "superheat_low", "superheat_good", "superheat_high"),
        needs=(REFRIGERANT, SUCTION, a_reading("suction_line_temperature", suction_can_be_read)),
        judge=_superheat,
        shows="whether the evaporator is fed",
        source=f"Packaged chiller manual CG-SVX038A, p. 39: 10 to 20 °F at the compressor. {SATURATION}",
        caution=CARE,
        asked_by=COOLING,
        weight=0.7,
    ),
    Rule(
        codes=("subcooling_low", "subcooling_good", "subcooling_high"),
        needs=(REFRIGERANT, DISCHARGE, a_reading("liquid_line_temperature", DISCHARGE.can_be_had)),
        judge=_subcooling,
        shows="whether the charge is roughly right",
        source=f"A refrigeration training site: 10 to 15 °F. {SATURATION}",
        caution=CARE,
        asked_by=COOLING,
        weight=0.7,
    ),
    Rule(
        codes=("evaporator_far_under_bath",),
        needs=(REFRIGERANT, SUCTION, a_reading("bath_temperature")),
        judge=_under_bath,
        shows="whether the coil absorbs enough heat",
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
        shows="whether the evaporator is fed, without gauges",
        source=FROST,
        caution=CARE,
        asked_by=COOLING,
        weight=0.5,
    ),
    Rule(
        codes=("frost_on_capillary",),
        needs=(),
        judge=_frost_seen,
        shows="what the frost means",
        source=FROST,
        caution=CARE,
    ),
)
