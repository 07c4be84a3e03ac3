"""The load against what the unit can do today."""

from collections.abc import Iterator

from service.domain.assessment.air import air_entering
from service.domain.assessment.bands import BATH_BAND
from service.domain.assessment.evidence import Evidence, a_fact, computed, known, percent, worth
from service.domain.assessment.figure import Figure, Uncertain
from service.domain.assessment.finding import Finding
from service.domain.assessment.motors import cooling_wanted
from service.domain.assessment.refrigerant_of import refrigerant_of
from service.domain.assessment.rule import Rule, act, fine, note
from service.domain.assessment.timed_bath import loop_load
from service.domain.assessment.uncertainty import surely_over, together
from service.domain.maintenance.catalogue import LICENSED, LOCKOUT
from service.domain.physics.ranges import below
from service.domain.physics.refrigeration.capacity import capacity_share

MODEL = 0.1  # of the capacity: standard uncertainty of the model near the rating
PER_METRE = 0.35  # W/(m K): 7 to 12 Btu/h a foot of trunk in air of 75 to 90 °F (heat-gain calculation)
TRUNK = 0.4  # of the trunk's gain: seams, damage, age; judged
PUMP_SHARE = 0.7  # of the pump's rated power that reaches the glycol; judged
MILD = 299.8  # K, 80 °F: in cooler air the condenser gains little by less; judged
LOW_TODAY = 0.93  # of the rating: less is worth a note; judged


def _against(e: Evidence) -> Iterator[Finding]:
    air = air_entering(e)
    if air is None:
        return
    rated, bath = known(e.refrigeration.rated_cooling), worth(e.bath.set_point) or BATH_BAND[0]
    share = capacity_share(
        refrigerant_of(e),
        rated_bath=worth(e.refrigeration.rated_bath) or bath,
        bath=bath,
        rated_ambient=worth(e.refrigeration.rated_ambient),
        ambient=air,
        metering=e.refrigeration.metering,
    )
    capacity = Uncertain(rated * share, "power", MODEL * rated * share)
    load, measured = loop_load(e), True
    if load is None:
        load, measured = standing_load(e, bath), False
    figures: dict[str, Figure] = {
        "rated_cooling": computed(rated, "power"),
        "capacity_today": capacity,
        "share_of_rating": Uncertain(share, "fraction", MODEL * share),
    }
    text = f"With air at {e.temperature(air)} the unit cools {about(e, capacity)}, {percent(share)} of its rating"
    if load is not None:
        yield _beside(e, text, figures | {"load": load}, capacity, load, measured=measured)
    elif below(share, LOW_TODAY) and _bath_cold(e):
        yield fine("capacity_low_today", f"{text}; its bath is cold, so that is enough now.", **figures)
    elif below(share, LOW_TODAY):
        advice = "Read the loop's flow, supply and return: they give the load, which decides whether that is enough."
        yield note("capacity_low_today", f"{text}.", advice=advice, **figures)


def _beside(
    e: Evidence, text: str, figures: dict[str, Figure], capacity: Uncertain, load: Uncertain, *, measured: bool
) -> Finding:
    what = "The load read at the loop is" if measured else "Trunk and pump alone take"
    text = f"{text}. {what} {about(e, load)}"
    spread = together(capacity.uncertainty, load.uncertainty)
    if surely_over(load.value, capacity.value, spread):
        advice = (
            "This is no fault of the refrigeration: check the kegs' temperature, the insulation, and what is poured; "
            "bring cooler air to the condenser."
        )
        return act("load_over_capacity", f"{text}: more than the unit can cool today.", advice=advice, **figures)
    if surely_over(capacity.value, load.value, spread):
        rest = "" if measured else f"; {about(e, _left(capacity, load))} are left for beer"
        return fine("load_carried", f"{text}: within its capacity{rest}.", **figures)
    if not measured and _bath_cold(e):
        return fine("load_carried", f"{text}; its bath is cold, so that is enough now.", **figures)
    advice = "Expect a slow recovery while much is poured. Keep warm kegs out."
    if (air := air_entering(e)) is not None and air >= MILD:
        advice = f"{advice[:-1]} and bring cooler air to the condenser."
    return note("load_near_capacity", f"{text}: too close to its capacity to tell.", advice=advice, **figures)


def _bath_cold(e: Evidence) -> bool:
    """Whether the bath was read and is cold enough: then the unit carries the load that it has."""
    return e.has("bath_temperature") and not cooling_wanted(e)


def _left(capacity: Uncertain, load: Uncertain) -> Uncertain:
    return Uncertain(capacity.value - load.value, "power", together(capacity.uncertainty, load.uncertainty))


def standing_load(e: Evidence, bath: float) -> Uncertain | None:
    """What trunk and pump bring in without beer, by the record [W]; None where no trunk's surroundings are known."""
    runs = [run for trunk in e.unit.trunks for run in trunk.runs if run.temperature is not None]
    if not runs:
        return None
    gain = sum(PER_METRE * run.length.value * max(known(run.temperature) - bath, 0.0) for run in runs)
    pump = sum(PUMP_SHARE * (worth(part.rated_power) or 0.0) for part in e.parts.values() if part.kind == "pump")
    return Uncertain(gain + pump, "power", together(TRUNK * gain, 0.3 * pump))


def about(e: Evidence, power: Uncertain) -> str:
    """A power to two digits: "about 820 W"."""
    rounded = float(f"{power.value:.2g}")
    return f"about {e.show(rounded, 'power')}"


RULES = (
    Rule(
        codes=("capacity_low_today", "load_over_capacity", "load_near_capacity", "load_carried"),
        needs=(a_fact("refrigeration", "rated_cooling"),),
        judge=_against,
        shows="whether the unit can carry its load today",
        source="Capacity from the rating by the vapour-compression cycle, CoolProp 8, good to 10 %; loop by heat "
        "balance; trunk 7 to 12 Btu/h a foot at 75 to 90 °F by the heat-gain calculation",
        caution=f"{LOCKOUT} {LICENSED}",
        asked_by=frozenset({"warm_pour", "foaming"}),
        weight=0.4,
    ),
)
