"""The rise of the air over the condenser: how much heat it takes, and whether too little air takes it."""

from collections.abc import Iterator

from service.domain.assessment.air import air_rise_of
from service.domain.assessment.clean_split import expected_split, perhaps_celsius, recorded_split, usual_bath
from service.domain.assessment.condenser_cleaning import CLEANED, found_clean
from service.domain.assessment.evidence import Evidence, a_reading
from service.domain.assessment.figure import Figure, Uncertain
from service.domain.assessment.finding import Finding
from service.domain.assessment.head_control import COLD_AIR
from service.domain.assessment.motors import stands
from service.domain.assessment.operating_state import operating_state
from service.domain.assessment.rule import Rule, act, fine, note
from service.domain.assessment.timed_bath import verdict
from service.domain.assessment.uncertainty import THERMOMETER, surely_over, surely_under, together
from service.domain.maintenance.catalogue import FAN, FINS, HOT, LICENSED, LOCKOUT
from service.domain.physics.bath.pull_down_verdict import Verdict
from service.domain.physics.ranges import below
from service.domain.physics.refrigeration.capacity import capacity_share
from service.domain.physics.refrigeration.condenser import USUAL_AIR_RISE, air_rise

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
    if (rise := air_rise_of(e)) is None:
        return None
    expected = RISE_SHARE * split
    if surely_over(rise, MORE_RISE * expected, AIRS):
        return True
    return False if surely_under(rise, MUCH_MORE_RISE * expected, AIRS) and rise < MORE_RISE * expected else None


def warms_more(e: Evidence, split: float) -> bool:
    """Whether the air warms up more than by its share of the split expected [K], as far as it was read."""
    rise = air_rise_of(e)
    return rise is not None and rise > MORE_RISE * RISE_SHARE * split


def _air_rise(e: Evidence) -> Iterator[Finding]:
    if not operating_state(e).settled:
        return
    rise = air_rise(air_in=e.value("condenser_air_in_temperature"), air_out=e.value("condenser_air_out_temperature"))
    low, high = _usual_rise(e)
    text = f"Air rise across the condenser is {e.difference(rise)} (usual: {e.difference(low)} to {e.difference(high)})"
    figures: dict[str, Figure] = {"air_rise": Uncertain(rise, "temperature_difference", AIRS)}
    if surely_over(rise, high, AIRS):
        yield _much(e, text, figures)
    elif below(rise, NO_HEAT):
        make = act if verdict(e) is Verdict.NOT_COOLING else note
        yield make("air_rise_none", f"{text}: almost no heat is rejected.", advice=LITTLE_HEAT, **figures)
    elif surely_under(rise, least := _least_rise(e), AIRS):
        text += f"; a sound condenser gives at least {e.difference(least)}: {LITTLE}"
        yield note("air_rise_low", text, advice=LITTLE_HEAT, **figures)
    elif below(rise, least):
        text += f"; a sound condenser gives at least {e.difference(least)}: too close to tell whether it gives enough"
        yield note("air_rise_unclear", f"{text}.", advice=STEADY, **figures)
    else:
        enough = f"; a sound condenser gives at least {e.difference(least)}: enough" if below(rise, low) else ""
        yield fine("air_rise_good", f"{text}{enough}.", **figures)


def _much(e: Evidence, text: str, figures: dict[str, Figure]) -> Finding:
    """Too little air: by dirt, by a fan that stands, by a control in cold air, or by the air's unit."""
    entering = e.reading("condenser_air_in_temperature")
    if stands(e, "condenser_fan"):
        return note("air_rise_high", f"{text}: the fan stands.", advice=None, **figures)
    if below(entering.value.value, COLD_AIR):
        advice = perhaps_celsius(e, entering) + "A control slows the fan in cold air: look at the condenser's face."
        return note("air_rise_high", f"{text}: little air flows.", advice=advice, **figures)
    clean = "" if found_clean(e) else "clean the condenser, "
    advice = f"Too little air flows: {clean}clear its surroundings, check fan and blade."
    return note("air_rise_high", f"{text}.", advice=advice, **figures)


def _usual_rise(e: Evidence) -> tuple[float, float]:
    """The usual air rise [K]: a share of the split that this unit has clean, else what is in print."""
    clean = recorded_split(e)
    if clean is None:
        return USUAL_AIR_RISE
    share = RISE_SHARE * expected_split(e, clean)
    return LITTLE_RISE * share, MUCH_MORE_RISE * share


def _least_rise(e: Evidence) -> float:
    """The air rise of a sound unit at the least [K]: by its own clean split where that is recorded.

    A capillary feeds less in cold air, so that there is less heat.
    """
    clean, air = recorded_split(e), e.value("condenser_air_in_temperature")
    fed = capacity_share(None, rated_bath=usual_bath(e), bath=usual_bath(e), ambient=air, metering="capillary")
    least = LEAST_RISE if clean is None else LITTLE_RISE * RISE_SHARE * clean
    return least if e.refrigeration.metering not in (None, "capillary") else min(fed, 1.0) * least


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
        source="Where no clean split is recorded, a refrigeration training site: 20 to 30 °F; 45 to 90 % of the clean "
        "split; 3 °F as almost none, 45 % of the clean split or 10 °F as little: common practice, no source",
        repaired_by=CLEANED,
        caution=CARE,
        asked_by=ASKING,
    ),
)
