"""The condenser: its split against this unit's own clean split, what that costs, and the air's rise."""

from collections.abc import Iterator
from functools import lru_cache

from service.domain.assessment.evidence import MOMENT, Evidence, Need, a_reading, computed, mended_since, percent, worth
from service.domain.assessment.refrigerant_of import (
    DISCHARGE,
    REFRIGERANT,
    condensing,
    evaporating,
    the_refrigerant,
)
from service.domain.assessment.rule import Rule, Said, act, fine, note, unless_mended
from service.domain.assessment.statement import Figure
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
    "Clean the condenser and free its air, check that the fan turns the right way at full speed and that it does not "
    "draw its own warm air in; then read the split again before touching the charge."
)


def _air_in(e: Evidence) -> tuple[float, str] | None:
    """The air that enters the condenser [K], and in which words it was read."""
    for word, words in (("condenser_air_in_temperature", "air entering"), ("ambient_temperature", "ambient air")):
        if e.has(word):
            return e.value(word), words
    return None


def _cleaned(e: Evidence, word: str) -> bool:
    """Whether the condenser was cleaned after this was read."""
    return mended_since(e, e.reading(word), "condenser_clean", "condenser_deep_clean")


def _split(e: Evidence) -> Iterator[Said]:
    air = _air_in(e)
    if air is None:
        return
    found, clean = condenser_split(condensing=condensing(e), air_in=air[0]), worth(e.refrigeration.clean_split)
    figures: dict[str, Figure] = {
        "split": computed(found, "temperature_difference"),
        "condensing": computed(condensing(e), "temperature"),
    }
    side = "under" if below(found, 0.0) else "over"
    said = f"The condenser is {e.difference(abs(found))} {side} the {air[1]}, {e.temperature(air[0])}"
    if below(found, 0.0):
        advice = "Read again with the unit running; at rest the pressure says nothing of the condenser."
        yield note("condenser_split_negative", f"{said}: it cannot be while it runs.", advice=advice, **figures)
    elif clean is None or not CLEAN_SPLIT.low <= clean <= CLEAN_SPLIT.high:
        yield _against_usual(e, found, said, figures)
    else:
        yield _against_clean(e, split=SPLIT.check(found), clean=clean, said=said, figures=figures)


def _against_usual(e: Evidence, found: float, said: str, figures: dict[str, Figure]) -> Said:
    usual = f"{e.difference(USUAL_SPLIT[0])} to {e.difference(USUAL_SPLIT[1])}"
    if above(found, OLD_SPLIT):
        high = act("condenser_split_high", f"{said}; clean ones have {usual}.", advice=CLEAN, **figures)
        return unless_mended(high, _cleaned(e, "discharge_pressure"))
    advice = "Record this unit's clean split, read after cleaning: units differ, and only their own tells dirt."
    return note("condenser_split_unjudged", f"{said} (usual: {usual}).", advice=advice, **figures)


def _against_clean(e: Evidence, *, split: float, clean: float, said: str, figures: dict[str, Figure]) -> Said:
    check = split_check(split=split, clean=clean)
    figures |= {
        "clean_split": computed(clean, "temperature_difference"),
        "excess": computed(check.excess, "temperature_difference"),
    }
    beside = f"{said}; clean it had {e.difference(clean)}"
    if below(check.excess, NOTED):
        return fine("condenser_split_good", f"{beside}: in order.", **figures)
    cost, more = _cost(e, split=split, clean=clean)
    if check.alarm:
        high = act("condenser_split_high", f"{beside}.{cost}", advice=CLEAN, **figures, **more)
        return unless_mended(high, _cleaned(e, "discharge_pressure"))
    return note("condenser_split_rising", f"{beside}.{cost}", advice="Clean it soon.", **figures, **more)


def _cost(e: Evidence, *, split: float, clean: float) -> tuple[str, dict[str, Figure]]:
    """What the warmer condenser costs, where the cycle can be reckoned; else nothing is said of it."""
    cold = _evaporating(e)
    if cold is None:
        return "", {}
    now = condensing(e)
    try:
        cost = _penalty(the_refrigerant(e), round(cold, 1), round(now - split + clean, 1), round(now, 1))
    except (OutOfRange, ArithmeticError):  # the split is true all the same; the cycle's own ranges are narrower
        return "", {}
    words = f" By the cycle that is {percent(-cost.capacity)} less cooling at {percent(cost.power)} more power."
    return words, {
        "capacity_lost": computed(-cost.capacity, "fraction"),
        "power_added": computed(cost.power, "fraction"),
    }


@lru_cache(maxsize=1024)
def _penalty(fluid: Refrigerant, cold: float, clean: float, now: float) -> CondensingPenalty:
    return condensing_penalty(fluid, evaporating=cold, clean=clean, now=now)


def _evaporating(e: Evidence) -> float | None:
    if e.has("suction_pressure"):
        return evaporating(e)
    return estimated_coil_temperature(e.value("bath_temperature")) if e.has("bath_temperature") else None


def _air_rise(e: Evidence) -> Iterator[Said]:
    rise = air_rise(air_in=e.value("condenser_air_in_temperature"), air_out=e.value("condenser_air_out_temperature"))
    low, high = USUAL_AIR_RISE
    when = MOMENT[e.reading("condenser_air_out_temperature").when]
    usual = f"{e.difference(low)} to {e.difference(high)}"
    said = f"The air warms by {e.difference(rise)} in the condenser {when} (usual: {usual})"
    figures: dict[str, Figure] = {"air_rise": computed(rise, "temperature_difference")}
    if above(rise, high):
        advice = "Too little air passes: clean the condenser, free its surroundings, check fan and blade."
        if _cleaned(e, "condenser_air_out_temperature"):
            advice = "The condenser was cleaned after this reading: read it again as left."
        yield note("air_rise_high", f"{said}.", advice=advice, **figures)
    elif below(rise, NO_HEAT):
        advice = (
            "Check that the compressor runs and draws its current: a condenser that gives off no heat does no work."
        )
        word = act if verdict(e) is Verdict.NOT_COOLING else note
        yield word("air_rise_none", f"{said}: next to no heat is given off.", advice=advice, **figures)
    else:
        yield fine("air_rise_good", f"{said}.", **figures)


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
        tells="whether the condenser is dirty and what that costs",
        source="10 °F over this unit's own clean split: common practice, no source; clean splits in print 20 to 35 °F, "
        "older units to 40 °F (training site, trade magazine); cost by the vapour-compression cycle, CoolProp 8",
        caution=CARE,
        asked_by=ASKING,
    ),
    Rule(
        codes=("air_rise_good", "air_rise_high", "air_rise_none"),
        needs=(a_reading("condenser_air_in_temperature"), a_reading("condenser_air_out_temperature")),
        judge=_air_rise,
        tells="whether enough air passes the condenser",
        source="A refrigeration training site: 20 to 30 °F; 3 °F as next to none: common practice, no source",
        caution=CARE,
        asked_by=ASKING,
    ),
)
