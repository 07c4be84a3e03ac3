"""The glycol: kind, strength and pH."""

from collections.abc import Iterator

from service.domain.assessment.correcting import correct, ice_seen
from service.domain.assessment.evidence import Evidence, a_fact, a_reading, computed, percent
from service.domain.assessment.figure import Figure, Uncertain
from service.domain.assessment.finding import Finding
from service.domain.assessment.rule import Rule, act, fine, note, stop
from service.domain.assessment.strength import (
    NEEDED,
    PROPYLENE,
    STRENGTH,
    may_be_propylene,
    sample_usable,
    strength,
    target,
    uncompensated,
)
from service.domain.assessment.uncertainty import STRENGTH as UNSURE
from service.domain.assessment.uncertainty import surely_over, surely_under, taken, uncertainty
from service.domain.maintenance.catalogue import FOOD_GRADE, SLIPPERY
from service.domain.physics.glycol.properties import STRENGTH as CALCULABLE
from service.domain.physics.glycol.properties import freezing_point
from service.domain.physics.glycol.protection import (
    ETHYLENE,
    STRONG,
    STRONGEST_USEFUL,
    WEAK,
    WEAKEST_KEEPING,
)
from service.domain.physics.ranges import above, below

NEAR_TARGET = 0.03  # twice the error of a refractometer; judged, no source
NEAR_ROOM = 5.0  # K from 20 °C within which compensation changes the strength by less than 1 point
ROOM = 293.15
LEAST_PH = 8.0
FREEZING_DATA = 0.25  # K: standard uncertainty of the freezing points, which differ by 0.5 K between tables
REPAIRED = frozenset({"glycol_change"})
POISON = (
    "Ethylene glycol is poisonous to drink, even in small amounts, and tastes sweet: wear gloves, keep it from people "
    f"and animals, collect every drop and dispose of it by the local rules. {FOOD_GRADE}"
)


def _ethylene(e: Evidence) -> Iterator[Finding]:
    if e.bath.glycol == "ethylene":
        yield stop(
            "ethylene_glycol",
            f"The record says that this bath holds ethylene glycol. {ETHYLENE.reason}",
            advice="Take the unit out of service and tell the customer not to pour from the lines that it cools. "
            "Identify the fluid; drain, flush and refill with food-grade propylene glycol, and have the lines "
            "checked for leaks before beer is served again.",
            glycol="ethylene",
        )


def _unknown_kind(e: Evidence) -> Iterator[Finding]:
    if e.bath.glycol == "unknown":
        yield note(
            "glycol_kind_unknown",
            "The kind of glycol in this bath is not recorded. Strengths are calculated for propylene glycol.",
            advice="Check the drum's label or the filling record; where there is none, have a sample tested. "
            "Pink fluid in an old unit may be ethylene glycol.",
        )


def _taken(e: Evidence) -> str:
    """The strength, with its reading."""
    reading = e.reading("glycol_strength")
    return f"{percent(strength(e))} by mass ({e.show_reading(reading)})"


def _weak(e: Evidence) -> Iterator[Finding]:
    found = strength(e)
    if not below(found, WEAKEST_KEEPING):
        return
    freezes = freezing_point(found)
    figures = _figures(e, found)
    if not surely_under(found, WEAKEST_KEEPING, UNSURE):
        yield note(
            "glycol_weak",
            f"Glycol strength is {_taken(e)}: too close to {percent(WEAKEST_KEEPING)} to tell whether it is too weak.",
            advice="Measure again with a sample at room temperature, and correct it towards the target.",
            **figures,
        )
        return
    advice, amounts = correct(e, found)
    yield act(
        "glycol_weak",
        f"The glycol is weak: {_taken(e)}, freezing point {e.temperature(freezes)}. {WEAK.reason}",
        advice=f"{advice} Find the cause: a leak, or top-ups with water.",
        **figures,
        **amounts,
    )


def _figures(e: Evidence, found: float) -> dict[str, Figure]:
    """The strength and its freezing point, each with its uncertainty."""
    slope = abs(freezing_point(min(found + UNSURE, CALCULABLE.high)) - freezing_point(found))
    return {
        "reading": taken(e.reading("glycol_strength")),
        "strength": Uncertain(found, "mass_fraction", UNSURE),
        "freezing_point": Uncertain(freezing_point(found), "temperature", max(slope, FREEZING_DATA)),
    }


def _strong(e: Evidence) -> Iterator[Finding]:
    found = strength(e)
    if not above(found, STRONGEST_USEFUL):
        return
    # Beyond the data, as with concentrate in the bath, neither amounts nor the freezing point can be calculated.
    strong = found <= CALCULABLE.high
    advice, amounts = correct(e, found) if strong else ("Drain part of it and dilute.", {})
    figures = _figures(e, found) if strong else {"reading": taken(e.reading("glycol_strength"))}
    if not surely_over(found, STRONGEST_USEFUL, UNSURE):
        text = f"Glycol strength is {_taken(e)}: too close to {percent(STRONGEST_USEFUL)} to tell if it is too strong."
        yield note("glycol_strong", text, advice=advice, **figures, **amounts)
        return
    text = f"The glycol is too strong: {_taken(e)}. {STRONG.reason}"
    yield act("glycol_strong", text, advice=advice, **figures, **amounts)


def _in_order(e: Evidence) -> Iterator[Finding]:
    found, wanted = strength(e), target(e)
    if below(found, WEAKEST_KEEPING) or above(found, STRONGEST_USEFUL):
        return
    freezes = freezing_point(found)
    plain = f"Glycol strength is {_taken(e)}, freezing point {e.temperature(freezes)}"
    figures = _figures(e, found)
    if wanted is None or not above(abs(found - wanted), NEAR_TARGET):
        if not ice_seen(e):
            yield fine("glycol_strength_good", f"{plain}: good.", **figures)
        return
    advice, amounts = correct(e, found)
    side = "below" if found < wanted else "above"
    yield note(
        "glycol_off_target",
        f"{plain}: usable, but {abs(found - wanted) * 100:.0f} points {side} this unit's target.",
        advice=advice,
        **figures,
        **amounts,
    )


def _without_sample(e: Evidence) -> Iterator[Finding]:
    reading = e.reading("glycol_strength")
    if not sample_usable(reading) and may_be_propylene(e):
        sample = reading.sample_temperature
        lacks = f"with a sample at {e.temperature(sample.value)}" if sample else "without the sample's temperature"
        yield note(
            "brix_without_sample_temperature",
            f"{e.show_reading(reading)} cannot be used {lacks}: a sample straight from the bath can read 3 points too "
            "strong.",
            advice=f"Let the sample come to room temperature, {e.temperature(283.15)} to {e.temperature(303.15)}, and "
            "record its temperature with the reading.",
            reading=reading.value,
        )


def _uncompensated(e: Evidence) -> Iterator[Finding]:
    reading = e.reading("glycol_strength")
    sample = reading.sample_temperature
    if reading.value.dimension != "brix" or sample is None or not above(abs(sample.value - ROOM), NEAR_ROOM):
        return
    otherwise = uncompensated(reading.value.value, sample.value)
    yield note(
        "brix_compensation",
        f"The sample was at {e.temperature(sample.value)}. With a refractometer that compensates for "
        f"temperature (marked ATC) the strength is {percent(strength(e))} by mass; without, {percent(otherwise)}.",
        advice=f"If the instrument is not marked ATC, measure again with a sample near {e.temperature(ROOM)}.",
        sample_temperature=sample,
        strength_if_uncompensated=computed(otherwise, "mass_fraction"),
    )


def _acidity(e: Evidence) -> Iterator[Finding]:
    reading = e.reading("glycol_ph")
    if reading.value.value < LEAST_PH and not surely_under(reading.value.value, LEAST_PH, uncertainty(reading)):
        yield note(
            "glycol_ph_low",
            f"The glycol is at {e.show_reading(reading)}: too close to pH 8 to tell whether the inhibitor is used up.",
            advice="Measure again with a calibrated meter.",
            ph=taken(reading),
        )
    elif reading.value.value < LEAST_PH:
        yield act(
            "glycol_ph_low",
            f"The glycol is at {e.show_reading(reading)}, below pH 8: the inhibitor is used up, or there is none.",
            advice="Have it tested. Restore the inhibitor by the glycol maker's instructions or change the glycol. "
            "Look for corrosion and contamination.",
            ph=taken(reading),
        )
    else:
        yield fine(
            "glycol_ph_good",
            f"The glycol is at {e.show_reading(reading)}: good.",
            ph=taken(reading),
        )


CARE = f"{FOOD_GRADE} {SLIPPERY}"
ASKING = frozenset({"warm_pour", "frozen", "no_flow", "ice_on_coil", "pump", "pump_motor", "pump_noisy", "glycol_leak"})
KIND = a_fact("bath", "glycol")
REFRACTOMETER = "Freezing points by Melinder (IIF-IIR, 2010); Brix by ICUMSA 1974 and the Lorentz-Lorenz rule."

RULES = (
    Rule(
        codes=("ethylene_glycol",),
        needs=(KIND,),
        judge=_ethylene,
        shows="whether the bath holds poisonous ethylene glycol",
        source=ETHYLENE.source,
        caution=POISON,
        runs="whole",
    ),
    Rule(
        codes=("glycol_kind_unknown",),
        needs=(STRENGTH,),
        judge=_unknown_kind,
        shows="whether the strength can be trusted",
        source="common practice, no source",
        caution=FOOD_GRADE,
        weight=0.0,
        runs="whole",
    ),
    Rule(
        codes=("glycol_weak",),
        needs=NEEDED,
        judge=_weak,
        shows="whether the glycol is too weak",
        source=f"{WEAK.source}. {REFRACTOMETER}",
        repaired_by=REPAIRED,
        caution=CARE,
        asked_by=ASKING,
    ),
    Rule(
        codes=("glycol_strong",),
        needs=NEEDED,
        judge=_strong,
        shows="whether the glycol is too strong to flow well",
        source=f"{STRONG.source}. {REFRACTOMETER}",
        repaired_by=REPAIRED,
        caution=CARE,
        asked_by=ASKING,
        weight=0.5,
    ),
    Rule(
        codes=("glycol_strength_good", "glycol_off_target"),
        needs=NEEDED,
        judge=_in_order,
        shows="where the glycol freezes",
        source=f"{WEAK.source}. {REFRACTOMETER} Three points as off target: common practice, no source",
        caution=CARE,
        weight=0.2,
    ),
    Rule(
        codes=("brix_without_sample_temperature",),
        needs=(STRENGTH,),
        judge=_without_sample,
        shows="how strong the glycol is",
        source="ASTM D3321, scope (calibrate, and use the glycol's own scale); 0.12 Brix per kelvin is calculated",
        caution=SLIPPERY,
        weight=0.0,
    ),
    Rule(
        codes=("brix_compensation",),
        needs=NEEDED,
        judge=_uncompensated,
        shows="what the Brix reading means",
        source=REFRACTOMETER,
        caution=SLIPPERY,
        weight=0.0,
    ),
    Rule(
        codes=("glycol_ph_low", "glycol_ph_good"),
        needs=(a_reading("glycol_ph"), PROPYLENE),
        judge=_acidity,
        shows="whether the inhibitor still works",
        source="Article on process water: test, adjust or replace inhibited glycol below pH 8.0",
        repaired_by=REPAIRED,
        caution=CARE,
        weight=0.5,
    ),
)
