"""The rise of the air over the condenser: how much heat it takes, and whether too little air takes it."""

from collections.abc import Iterator

from service.domain.assessment.condenser_cleaning import CLEANED
from service.domain.assessment.evidence import Evidence, a_reading, worth
from service.domain.assessment.figure import Figure, Uncertain
from service.domain.assessment.finding import Finding
from service.domain.assessment.operating_state import operating_state
from service.domain.assessment.rule import Rule, act, fine, note
from service.domain.assessment.timed_bath import verdict
from service.domain.assessment.uncertainty import THERMOMETER, surely_over, surely_under, together
from service.domain.maintenance.catalogue import FAN, FINS, HOT, LICENSED, LOCKOUT
from service.domain.physics.bath.pull_down_verdict import Verdict
from service.domain.physics.ranges import below
from service.domain.physics.refrigeration.condenser import CLEAN_SPLIT, USUAL_AIR_RISE, air_rise

LEAST_RISE = 10.0 / 1.8  # K; half of the lowest usual one; judged, no source
RISE_SHARE = 0.6  # of the split is the air's rise: an effectiveness of 60 % of a small condenser; common practice
MORE_RISE, MUCH_MORE_RISE = 1.25, 1.5  # times the rise expected: 30 % less air gives 1.45, gas or charge 1.0 to 1.06
# (steady capillary model of another make)
LITTLE_RISE = 0.75  # of the rise expected of this unit; judged, no source
NO_HEAT = 3.0 / 1.8  # K; common practice, no source
AIRS = together(THERMOMETER, THERMOMETER)
LITTLE = "little heat is rejected."
LITTLE_HEAT = (
    "Check that the compressor runs and pumps; look for oil stains, which mean a low charge, and for a restriction."
)


def starved(e: Evidence, split: float) -> bool | None:
    """Whether the air warms up far more than by its share of the split expected [K]: too little air; None: unknown."""
    if not (e.has("condenser_air_in_temperature") and e.has("condenser_air_out_temperature")):
        return None
    rise = e.value("condenser_air_out_temperature") - e.value("condenser_air_in_temperature")
    expected = RISE_SHARE * split
    if surely_over(rise, MORE_RISE * expected, AIRS):
        return True
    return False if surely_under(rise, MUCH_MORE_RISE * expected, AIRS) and rise < MORE_RISE * expected else None


def _air_rise(e: Evidence) -> Iterator[Finding]:
    if not operating_state(e).settled:
        return
    rise = air_rise(air_in=e.value("condenser_air_in_temperature"), air_out=e.value("condenser_air_out_temperature"))
    spread = together(THERMOMETER, THERMOMETER)
    low, high = USUAL_AIR_RISE
    usual = f"{e.difference(low)} to {e.difference(high)}"
    text = f"Air rise across the condenser is {e.difference(rise)} (usual: {usual})"
    figures: dict[str, Figure] = {"air_rise": Uncertain(rise, "temperature_difference", spread)}
    if surely_over(rise, high, spread):
        advice = "Too little air flows: clean the condenser, clear its surroundings, check fan and blade."
        yield note("air_rise_high", f"{text}.", advice=advice, **figures)
    elif below(rise, NO_HEAT):
        make = act if verdict(e) is Verdict.NOT_COOLING else note
        yield make("air_rise_none", f"{text}: almost no heat is rejected.", advice=LITTLE_HEAT, **figures)
    elif surely_under(rise, least := _least_rise(e), spread):
        text += f"; a sound condenser gives at least {e.difference(least)}: {LITTLE}"
        yield note("air_rise_low", text, advice=LITTLE_HEAT, **figures)
    elif not surely_over(rise, least, spread):
        text += f"; a sound condenser gives at least {e.difference(least)}: too close to tell whether it gives enough"
        yield note("air_rise_unclear", f"{text}.", advice=STEADY, **figures)
    else:
        enough = f"; a sound condenser gives at least {e.difference(least)}: enough" if below(rise, low) else ""
        yield fine("air_rise_good", f"{text}{enough}.", **figures)


def _least_rise(e: Evidence) -> float:
    """The air rise of a sound unit at the least [K]: by its own clean split where that is recorded."""
    clean = worth(e.refrigeration.clean_split)
    if clean is None or not CLEAN_SPLIT.low <= clean <= CLEAN_SPLIT.high:
        return LEAST_RISE
    return LITTLE_RISE * RISE_SHARE * clean


STEADY = "Read both again with one thermometer, after ten minutes of steady running and close to the fins."


CARE = f"{LOCKOUT} {FAN} {FINS} {HOT} {LICENSED}"
ASKING = frozenset(
    {"warm_pour", "alarm", "condenser_fan", "compressor", "airflow_obstructed", "area_littered", "burnt"}
)

RULES = (
    Rule(
        codes=("air_rise_good", "air_rise_high", "air_rise_none", "air_rise_low", "air_rise_unclear"),
        needs=(a_reading("condenser_air_in_temperature"), a_reading("condenser_air_out_temperature")),
        judge=_air_rise,
        shows="whether the condenser has enough air",
        source="A refrigeration training site: 20 to 30 °F; 3 °F as almost none, 45 % of the clean split or 10 °F as "
        "little: common practice, no source",
        repaired_by=CLEANED,
        caution=CARE,
        asked_by=ASKING,
    ),
)
