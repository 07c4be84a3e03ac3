"""The condenser: its split against this unit's clean split, the loss from a high split, and the air's rise."""

from collections.abc import Iterator
from functools import lru_cache

from service.domain.assessment.evidence import (
    MOMENT,
    Evidence,
    Need,
    a_reading,
    computed,
    percent,
    worked_on_since,
    worth,
)
from service.domain.assessment.finding import Figure, Finding
from service.domain.assessment.refrigerant_of import (
    DISCHARGE,
    REFRIGERANT,
    condensing,
    evaporating,
    the_refrigerant,
)
from service.domain.assessment.rule import Rule, act, fine, note, unless_repaired
from service.domain.assessment.timed_bath import verdict
from service.domain.maintenance.catalogue import FAN, FINS, HOT, LICENSED, LOCKOUT
from service.domain.physics.bath.pull_down_verdict import Verdict
from service.domain.physics.glycol.protection import estimated_coil_temperature
from service.domain.physics.ranges import OutOfRange, above, below
from service.domain.physics.refrigeration.condenser import (
    CLEAN_SPLIT,
    SPLIT,
    USUAL_AIR_RISE,
    USUAL_SPLIT,
    air_rise,
    condenser_split,
    split_check,
)
from service.domain.physics.refrigeration.refrigerants import Refrigerant
from service.domain.physics.refrigeration.vapour_compression import CondensingPenalty, condensing_penalty

OLD_SPLIT = 40.0 / 1.8  # K: trade magazine, older units up to 40 °F
NOTED = 5.0 / 1.8  # K over the clean split; half the alarm, judged
NO_HEAT = 3.0 / 1.8  # K; common practice, no source
CLEAN = (
    "Clean the condenser and clear its air path. Check that the fan turns the right way at full speed and that warm "
    "air does not recirculate. Then read the split again before changing the charge."
)


def _air_in(e: Evidence) -> tuple[float, str] | None:
    """The air that enters the condenser [K], and the name of the reading."""
    for quantity, name in (("condenser_air_in_temperature", "air entering"), ("ambient_temperature", "ambient air")):
        if e.has(quantity):
            return e.value(quantity), name
    return None


def _cleaned(e: Evidence, quantity: str) -> bool:
    """Whether the condenser was cleaned after this was read."""
    return worked_on_since(e, e.reading(quantity), "condenser_clean", "condenser_deep_clean")


def _split(e: Evidence) -> Iterator[Finding]:
    air = _air_in(e)
    if air is None:
        return
    found, clean = condenser_split(condensing=condensing(e), air_in=air[0]), worth(e.refrigeration.clean_split)
    figures: dict[str, Figure] = {
        "split": computed(found, "temperature_difference"),
        "condensing": computed(condensing(e), "temperature"),
    }
    side = "below" if below(found, 0.0) else "above"
    text = f"The condenser is {e.difference(abs(found))} {side} the {air[1]}, {e.temperature(air[0])}"
    if below(found, 0.0):
        advice = "Read it again with the unit running; at rest the pressure shows nothing about the condenser."
        yield note("condenser_split_negative", f"{text}. That is impossible while it runs.", advice=advice, **figures)
    elif clean is None or not CLEAN_SPLIT.low <= clean <= CLEAN_SPLIT.high:
        yield _against_usual(e, found, text, figures)
    else:
        yield _against_clean(e, split=SPLIT.check(found), clean=clean, text=text, figures=figures)


def _against_usual(e: Evidence, found: float, text: str, figures: dict[str, Figure]) -> Finding:
    usual = f"{e.difference(USUAL_SPLIT[0])} to {e.difference(USUAL_SPLIT[1])}"
    if above(found, OLD_SPLIT):
        high = act("condenser_split_high", f"{text}; {usual} is usual for a clean condenser.", advice=CLEAN, **figures)
        return unless_repaired(high, _cleaned(e, "discharge_pressure"))
    advice = "Record this unit's clean split, read after cleaning: only the change from it shows dirt."
    return note("condenser_split_unjudged", f"{text} (usual: {usual}).", advice=advice, **figures)


def _against_clean(e: Evidence, *, split: float, clean: float, text: str, figures: dict[str, Figure]) -> Finding:
    check = split_check(split=split, clean=clean)
    figures |= {
        "clean_split": computed(clean, "temperature_difference"),
        "excess": computed(check.excess, "temperature_difference"),
    }
    beside = f"{text}; its clean split is {e.difference(clean)}"
    if below(check.excess, NOTED):
        return fine("condenser_split_good", f"{beside}: good.", **figures)
    cost, more = _cost(e, split=split, clean=clean)
    if check.alarm:
        high = act("condenser_split_high", f"{beside}.{cost}", advice=CLEAN, **figures, **more)
        return unless_repaired(high, _cleaned(e, "discharge_pressure"))
    return note("condenser_split_rising", f"{beside}.{cost}", advice="Clean it soon.", **figures, **more)


def _cost(e: Evidence, *, split: float, clean: float) -> tuple[str, dict[str, Figure]]:
    """The loss from the warmer condenser, where the cycle can be calculated; else nothing."""
    cold = _evaporating(e)
    if cold is None:
        return "", {}
    now = condensing(e)
    try:
        cost = _penalty(the_refrigerant(e), _tenth(cold), _tenth(now - split + clean), _tenth(now))
    except (OutOfRange, ArithmeticError):  # the split stands; the ranges of the cycle are narrower
        return "", {}
    text = f" Calculated loss: {percent(-cost.capacity)} less cooling, {percent(cost.power)} more power."
    return text, {
        "capacity_lost": computed(-cost.capacity, "fraction"),
        "power_added": computed(cost.power, "fraction"),
    }


def _tenth(temperature: float) -> float:
    """To 0.1 K, so that the same cycle is calculated once; what lies half-way does not depend on the last bit."""
    return round(round(temperature, 6), 1)


@lru_cache(maxsize=1024)
def _penalty(fluid: Refrigerant, cold: float, clean: float, now: float) -> CondensingPenalty:
    return condensing_penalty(fluid, evaporating=cold, clean=clean, now=now)


def _evaporating(e: Evidence) -> float | None:
    if e.has("suction_pressure"):
        return evaporating(e)
    return estimated_coil_temperature(e.value("bath_temperature")) if e.has("bath_temperature") else None


def _air_rise(e: Evidence) -> Iterator[Finding]:
    rise = air_rise(air_in=e.value("condenser_air_in_temperature"), air_out=e.value("condenser_air_out_temperature"))
    low, high = USUAL_AIR_RISE
    when = MOMENT[e.reading("condenser_air_out_temperature").when]
    usual = f"{e.difference(low)} to {e.difference(high)}"
    text = f"Air rise across the condenser is {e.difference(rise)} {when} (usual: {usual})"
    figures: dict[str, Figure] = {"air_rise": computed(rise, "temperature_difference")}
    if above(rise, high):
        advice = "Too little air flows: clean the condenser, clear its surroundings, check fan and blade."
        if _cleaned(e, "condenser_air_out_temperature"):
            advice = "The condenser was cleaned after this reading: read it again as left."
        yield note("air_rise_high", f"{text}.", advice=advice, **figures)
    elif below(rise, NO_HEAT):
        advice = (
            "Check that the compressor runs and draws its current: without heat at the condenser there is no cooling."
        )
        make = act if verdict(e) is Verdict.NOT_COOLING else note
        yield make("air_rise_none", f"{text}: almost no heat is rejected.", advice=advice, **figures)
    else:
        yield fine("air_rise_good", f"{text}.", **figures)


CARE = f"{LOCKOUT} {FAN} {FINS} {HOT} {LICENSED}"
AIR_IN = Need(
    "condenser_air_in_temperature",
    "visit",
    "the temperature of the air entering the condenser",
    lambda e: _air_in(e) is not None,
)
ASKING = frozenset(
    {"warm_pour", "alarm", "condenser_fan", "compressor", "airflow_obstructed", "area_littered", "burnt"}
)

RULES = (
    Rule(
        codes=(
            "condenser_split_good",
            "condenser_split_rising",
            "condenser_split_high",
            "condenser_split_unjudged",
            "condenser_split_negative",
        ),
        needs=(REFRIGERANT, DISCHARGE, AIR_IN),
        judge=_split,
        shows="whether the condenser is dirty and what it costs",
        source="10 °F above the unit's clean split: common practice, no source; clean splits in print 20 to 35 °F, "
        "older units to 40 °F (training site, trade magazine); cost by the vapour-compression cycle, CoolProp 8",
        caution=CARE,
        asked_by=ASKING,
    ),
    Rule(
        codes=("air_rise_good", "air_rise_high", "air_rise_none"),
        needs=(a_reading("condenser_air_in_temperature"), a_reading("condenser_air_out_temperature")),
        judge=_air_rise,
        shows="whether the condenser has enough air",
        source="A refrigeration training site: 20 to 30 °F; 3 °F as almost none: common practice, no source",
        caution=CARE,
        asked_by=ASKING,
    ),
)
