"""The refrigerant circuit: pressures, line temperatures and frost."""

from collections.abc import Iterator
from dataclasses import replace

from service.domain.assessment.air import air_entering
from service.domain.assessment.clues import equal_while_running
from service.domain.assessment.evidence import Evidence, a_reading, computed
from service.domain.assessment.figure import Figure, Uncertain
from service.domain.assessment.finding import Finding
from service.domain.assessment.head_control import without_fan
from service.domain.assessment.motors import runs
from service.domain.assessment.operating_state import operating_state
from service.domain.assessment.refrigerant_of import (
    DISCHARGE,
    REFRIGERANT,
    SUCTION,
    condensing,
    condensing_uncertainty,
    evaporating,
    evaporating_uncertainty,
    refrigerant_of,
    the_refrigerant,
)
from service.domain.assessment.rule import Rule, act, fine, note
from service.domain.assessment.starting import APART, just_started
from service.domain.assessment.uncertainty import THERMOMETER, surely_over, taken, together
from service.domain.maintenance.catalogue import HOT, LICENSED
from service.domain.maintenance.catalogue import REFRIGERANT as CIRCUIT
from service.domain.physics.refrigeration.frost import frost_position
from service.domain.quantities import format_quantity

NEAR_SET = 273.15  # K: a bath above it is on its way down
MILD = 302.6  # K, 85 °F
OVER_BATH = 2.0  # K; judged
ICE_CAN_LAST = 277.6  # K, 40 °F of the bath; judged, no source
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
    rest = operating_state(e).at_rest
    if e.has("suction_pressure"):
        figures["evaporating"] = Uncertain(evaporating(e), "temperature", evaporating_uncertainty(e))
        does = "is saturated on the low side" if rest else "evaporates"
        parts.append(f"{does} at {e.temperature(evaporating(e))} ({e.show_reading(e.reading('suction_pressure'))})")
    if e.has("discharge_pressure"):
        figures["condensing"] = Uncertain(condensing(e), "temperature", condensing_uncertainty(e))
        does = "is saturated on the high side" if rest else "condenses"
        parts.append(f"{does} at {e.temperature(condensing(e))} ({e.show_reading(e.reading('discharge_pressure'))})")
    if parts:
        text = f"{fluid.name} at {_place(e)} {' and '.join(parts)}."
        height = computed(e.elevation or 0.0, "length")
        yield fine("saturation", text, refrigerant=fluid.name, elevation=height, **figures)


def _place(e: Evidence) -> str:
    if e.elevation is None:
        return "sea level (assumed: the site's elevation is not recorded)"
    return f"{e.show(e.elevation, 'length')} above sea level"


def _at_rest(e: Evidence) -> Iterator[Finding]:
    state = operating_state(e)
    if equal_while_running(e) is not None:
        return  # reported by itself
    if state.at_rest and (e.has("suction_pressure") or e.has("discharge_pressure")):
        yield note(
            "pressures_at_rest",
            "The unit was at rest: its pressures show the temperature of its coldest part, not how it runs. Superheat, "
            "subcooling and split are not calculated; after 15 minutes of running they can be.",
            state=state.state,
            probability=round(state.probability, 2),
        )


def _on_their_way(e: Evidence) -> Iterator[Finding]:
    """Pressures read minutes after the compressor stood."""
    start = just_started(e)
    if start is None or equal_while_running(e) is not None:
        return  # equal pressures are reported by themselves
    if e.has("suction_pressure") or e.has("discharge_pressure"):
        yield note(
            "pressures_after_start",
            f"The compressor stood {start.ago} before: its pressures are still on their way. Superheat, subcooling and "
            "split are not calculated.",
            advice="Read pressures and lines again after 15 minutes of running.",
        )


def _over_bath(e: Evidence) -> Iterator[Finding]:
    """A running unit whose refrigerant would evaporate warmer than its bath, which cools nothing."""
    over = evaporating(e) - e.value("bath_temperature")
    apart = e.value("discharge_pressure") - e.value("suction_pressure")
    spread = together(THERMOMETER, evaporating_uncertainty(e))
    if apart < APART or not surely_over(over, OVER_BATH, spread) or not runs(e, "compressor"):
        return
    yield act(
        "evaporator_over_bath",
        f"By its pressure {the_refrigerant(e).name} would evaporate {e.difference(over)} over the bath, which it could "
        "not cool: the refrigerant on record, a gauge or the bath's reading is wrong.",
        advice="Read the refrigerant on the nameplate and correct the record; then read suction and bath again.",
        over=Uncertain(over, "temperature_difference", spread),
    )


def _under_bath(e: Evidence) -> Iterator[Finding]:
    distance = e.value("bath_temperature") - evaporating(e)
    spread = together(THERMOMETER, evaporating_uncertainty(e))
    settled = operating_state(e).settled and not without_fan(e)
    if not settled or not surely_over(distance, _usual_distance(e), spread):
        return
    yield note(
        "evaporator_far_under_bath",
        f"The refrigerant evaporates {e.difference(distance)} below the bath; "
        f"{e.difference(10.0 / 1.8)} to {e.difference(15.0 / 1.8)} is usual near the set point.",
        advice=COIL if e.value("bath_temperature") < ICE_CAN_LAST else CHARGE,
        distance=Uncertain(distance, "temperature_difference", spread),
    )


COIL = "Check the glycol's flow over the coil and ice on the coil; then a restriction or a low charge."
CHARGE = (
    "In a bath this warm ice is not likely: look first for a restriction (a cold drier or capillary) or a low charge "
    "(oil stains), then at the glycol's flow over the coil."
)


def _usual_distance(e: Evidence) -> float:
    """The distance that still is usual [K]: more in a warm bath, and on a capillary in cold air."""
    warm = max(0.0, e.value("bath_temperature") - NEAR_SET)
    air = air_entering(e)
    cold = 0.0 if air is None else max(0.0, MILD - air)
    return FAR_UNDER_BATH + 0.85 * warm + 0.5 * cold


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
    figures: dict[str, Figure] = {"position": position.code, "distance": taken(reading)}
    if position.normal:
        yield fine(
            "frost_normal", f"The frost line is {e.show_reading(reading)} past the capillary's end: normal.", **figures
        )
    elif reading.value.value < 0.0:
        text = f"The frost line is {far} back on the capillary, which is not normal and fits {causes}."
        yield act("frost_on_capillary", text, advice=FROST_LOOK, **figures)
    else:
        text = f"The frost line is {far} past the capillary's end, farther than usual. It fits {causes}."
        yield note("frost_far", text, advice=FROST_LOOK, **figures)


def _frost_seen(e: Evidence) -> Iterator[Finding]:
    if "frost_on_capillary" in e.seen and not e.has("frost_distance_after_capillary"):
        causes = ", ".join(POINTS_AT[each] for each in frost_position(-0.01).points_at)
        text = f"Frost was seen on the capillary itself, which is not normal and fits {causes}."
        yield act("frost_on_capillary", text, advice=FROST_LOOK, observed="frost_on_capillary", position="on_capillary")


CARE = f"{CIRCUIT} {HOT} {LICENSED}"
SATURATION = "Saturation by CoolProp 8 (Bell et al. 2014), within 0.2 psi of a chart citing NIST REFPROP"
COOLING = frozenset({"warm_pour", "alarm", "compressor", "frost_on_capillary", "oil_stain"})
FROST = "Frost 2 in past the capillary's end is normal, frost back on it is not: common practice, no source"

RULES = (
    Rule(
        codes=("refrigerant_unknown",),
        needs=(),
        judge=_unknown,
        shows="what the pressures mean",
        source="ASHRAE 34 designations",
        runs="whole",
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
        codes=("pressures_at_rest",),
        needs=(REFRIGERANT,),
        judge=_at_rest,
        shows="what the pressures of a unit at rest mean",
        source="Physics: refrigerant at rest moves to the coldest part. Sides equal within 7 to 10 min on a capillary: "
        "a refrigerator maker's manual",
        caution=CARE,
        weight=0.0,
    ),
    Rule(
        codes=("pressures_after_start",),
        needs=(REFRIGERANT,),
        judge=_on_their_way,
        shows="what the pressures of a unit just started mean",
        source="common practice, no source",
        caution=CARE,
        weight=0.0,
    ),
    Rule(
        codes=("evaporator_over_bath",),
        needs=(REFRIGERANT, SUCTION, DISCHARGE, a_reading("bath_temperature")),
        judge=_over_bath,
        shows="whether pressures and bath agree",
        source=f"Heat flows from the bath to a colder evaporator only. {SATURATION}",
        caution=CARE,
        weight=0.0,
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
        runs="whole",
        caution=CARE,
    ),
)
