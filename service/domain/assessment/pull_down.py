"""How the bath cools after a repair or a warm start, and what to do next."""

from collections.abc import Iterator
from functools import lru_cache
from math import isfinite

from service.domain.assessment.clues import equal_while_running
from service.domain.assessment.evidence import Evidence, computed, percent, span
from service.domain.assessment.figure import Figure, Uncertain
from service.domain.assessment.finding import Finding
from service.domain.assessment.motors import cooling_wanted, runs, stands
from service.domain.assessment.operating_state import operating_state
from service.domain.assessment.refrigerant_of import refrigerant_of
from service.domain.assessment.rule import Rule, act, fine, note
from service.domain.assessment.timed_bath import TIMED, PullDownSeen, pull_down
from service.domain.maintenance.catalogue import CAPACITORS, FAN, LICENSED, LOCKOUT, REFRIGERANT
from service.domain.physics.bath.pull_down import Estimate, final_temperature, time_to
from service.domain.physics.bath.pull_down_verdict import Because, Verdict, wait_before_measuring
from service.domain.physics.libraries import props_si
from service.domain.physics.refrigeration.gauges import Gauges, advise_gauges, hose_charge, share_of_charge
from service.domain.physics.refrigeration.refrigerants import Refrigerant

SHARE_ERROR = 0.2  # of a share of the rating: thermometer, volume and rating
MOST_SHARE = 2.0  # of what the rating allows: thermometer, volume and rating can each be 15 % off; judged
LEAST_WAIT = 300.0  # s: less shows nothing with a thermometer
NEAR = 12.0 / 1.8  # K above the aim within which a full load may balance a sound unit on a hot day; judged
TWO_READINGS = "Take two bath temperatures 10 minutes apart with the unit running and record the time of each."
STANDING, WARM = 293.15, 313.15  # K: a unit at rest on its suction hose, liquid at the condenser on the other
FIRST = (
    "check that compressor and condenser fan run, that the condenser is clean and its air path clear, and that pump "
    "and agitator move the glycol. Read currents and frost line before you suspect the refrigerant circuit."
)


def _judged(e: Evidence) -> Iterator[Finding]:
    seen = pull_down(e)
    left = time_to(seen.fit, seen.aim)
    figures = _figures(seen, left)
    found = seen.judgement.verdict
    if found is not Verdict.RECOVERING and _rests(e):
        return
    if seen.interrupted and found is not Verdict.RECOVERING:
        text = f"{_way(e, seen)}, but the unit was worked on in between, so this does not show how it cools."
        yield note("pull_down_unclear", text, advice=TWO_READINGS, **figures)
    elif _faster_than_it_can(seen):
        yield note(
            "pull_down_doubtful",
            f"{_way(e, seen)}. That is faster than its rating allows: a reading or a time is wrong.",
            advice="Take two bath temperatures 10 minutes apart in the same place and record the time of each.",
            **figures,
        )
    elif found is Verdict.RECOVERING:
        yield fine("pull_down_recovering", _recovering(e, seen, left, _wait(seen)), **figures)
    elif found is Verdict.TOO_EARLY:
        advice = f"Measure again in {_wait(seen)}, and leave the gauges off until then."
        yield note("pull_down_too_early", f"{_way(e, seen)}: too early to judge.", advice=advice, **figures)
    else:
        yield _not_enough(e, seen, figures)


def _rests(e: Evidence) -> bool:
    """Whether it stands and need not cool, or why it stands is another rule's matter."""
    state = operating_state(e)
    known = stands(e, "compressor") or state.state == "off"
    return state.at_rest and (known or (e.has("bath_temperature") and not cooling_wanted(e)))


def _not_enough(e: Evidence, seen: PullDownSeen, figures: dict[str, Figure]) -> Finding:
    """The finding of a bath that cools too slowly or not at all; what its load may explain is no fault."""
    found = seen.judgement.verdict
    if found is Verdict.SLOW and seen.slow_for_certain:
        advice = f"First {FIRST} Measure again in {_wait(seen)}. {_gauge_advice(e, found)}".rstrip()
        return act("pull_down_slow", f"{_way(e, seen)}: slow.{_why_slow(e, seen)}", advice=advice, **figures)
    if may_be_its_load(e, seen, found):
        slow = "it cools, though slowly" if found is Verdict.SLOW else "it does not cool further"
        text = f"{_way(e, seen)}: {slow}. Its load may explain that: beer, trunk and pump can take all of its cooling."
        advice = f"Measure again in {_wait(seen)} with the taps closed; read the loop's flow, supply and return."
        return note("pull_down_loaded", text, advice=advice, **figures)
    advice = f"Do not wait longer: {FIRST} {_gauge_advice(e, found)}".rstrip()
    if equal_while_running(e) is not None:
        advice = "Do not wait longer: see first whether its compressor pumps."
    return act("pull_down_not_cooling", f"{_way(e, seen)}: it is not cooling.", advice=advice, **figures)


def may_be_its_load(e: Evidence, seen: PullDownSeen, found: Verdict) -> bool:
    """Whether a full load may explain a bath that falls slowly, or stays level not far above its aim."""
    if found is Verdict.SLOW:
        return not seen.slow_for_certain
    return found is Verdict.NOT_COOLING and _near_its_balance(e, seen)


def _near_its_balance(e: Evidence, seen: PullDownSeen) -> bool:
    return operating_state(e).settled and seen.fit.last - seen.aim < NEAR and runs(e, "compressor")


def _wait(seen: PullDownSeen) -> str:
    return span(max(wait_before_measuring(seen.fit, seen.judgement, set_point=seen.aim), LEAST_WAIT))


def _faster_than_it_can(seen: PullDownSeen) -> bool:
    by_rating = seen.judgement.because is Because.SHARE_OF_RATING
    return by_rating and seen.share is not None and seen.share > MOST_SHARE


def _figures(seen: PullDownSeen, left: Estimate) -> dict[str, Figure]:
    fit, final = seen.fit, final_temperature(seen.fit)
    figures: dict[str, Figure] = {
        "verdict": str(seen.judgement.verdict),
        "because": str(seen.judgement.because),
        "first": Uncertain(fit.start, "temperature", fit.thermometer),
        "last": Uncertain(fit.last, "temperature", fit.thermometer),
        "elapsed": computed(fit.elapsed, "time"),
        "aim": computed(seen.aim, "temperature"),
    }
    if isfinite(left.value):
        name = "time_to_aim_at_least" if fit.bend == 0.0 else "time_to_aim"
        figures[name] = Uncertain(left.value, "time", left.uncertainty)
    if final is not None:
        figures["final"] = Uncertain(final.value, "temperature", final.uncertainty)
    if seen.share is not None:
        name = "share_of_trade_rate" if seen.judgement.because is Because.TRADE_RATE else "share_of_rating_at_least"
        figures[name] = Uncertain(seen.share, "fraction", SHARE_ERROR * abs(seen.share))
    if seen.at_most is not None:
        figures["share_of_rating_at_most"] = Uncertain(seen.at_most, "fraction", SHARE_ERROR * abs(seen.at_most))
    return figures


def _way(e: Evidence, seen: PullDownSeen) -> str:
    fit = seen.fit
    return f"The bath went from {e.temperature(fit.start)} to {e.temperature(fit.last)} in {span(fit.elapsed)}"


def _of_rating(seen: PullDownSeen) -> str:
    by_rating = seen.judgement.because is not Because.TRADE_RATE
    if seen.share is None or not by_rating or seen.share <= 0.0:
        return ""
    return f" That is at least {percent(seen.share)} of the cooling expected by its rating."


def _recovering(e: Evidence, seen: PullDownSeen, left: Estimate, wait: str) -> str:
    if seen.judgement.because is Because.AT_SET_POINT:
        return f"{_way(e, seen)}: it is at its operating temperature."
    text = f"{_way(e, seen)}: recovering normally.{_of_rating(seen)}"
    if isfinite(left.value):
        straight = " at the earliest, as cooling slows near the set point" if seen.fit.bend == 0.0 else ""
        text += f" It will reach {e.temperature(seen.aim)} in {span(left.value)}{straight}."
    return f"{text} Measure again in {wait}."


def _why_slow(e: Evidence, seen: PullDownSeen) -> str:
    final = final_temperature(seen.fit)
    if seen.judgement.because is Because.ENDS_ABOVE_SET_POINT and final is not None:
        return f" It will level off at {e.temperature(final.value)} and will not reach {e.temperature(seen.aim)}."
    return _of_rating(seen)


def _gauge_advice(e: Evidence, verdict: Verdict) -> str:
    """One sentence about gauges; empty where they were read, or ports, charge or refrigerant are not on the record."""
    circuit, fluid = e.refrigeration, refrigerant_of(e)
    if e.has("suction_pressure") or e.has("discharge_pressure"):
        return ""
    if circuit.low_side_port is False and circuit.high_side_port is False:
        return "There is no port for gauges. Only certified people may pierce the tube, and only with good reason."
    if fluid is None or circuit.charge is None or circuit.low_side_port is None or circuit.high_side_port is None:
        return ""
    share = share_of_charge(held=_held(fluid, circuit.high_side_port), charge=circuit.charge.value)
    low_side_only = not circuit.high_side_port
    advice = advise_gauges(
        verdict=verdict, share=share, capillary=circuit.metering == "capillary", low_side_only=low_side_only
    )
    ports = "only a low-side port" if low_side_only else "both ports"
    return {
        Gauges.NOT_NEEDED: "",
        Gauges.LEAVE_OFF: f"Leave the gauges off: the hoses would hold {percent(share)} of the charge. If the "
        "charge is in doubt, recover it and weigh in a new charge.",
        Gauges.LAST_RESORT: f"Gauges last: with {ports} they show little on such a small charge. First temperatures, "
        "currents, air and frost.",
        Gauges.CONNECT: f"Then connect gauges: the hoses hold only {percent(share)} of the charge.",
    }[advice]


@lru_cache(maxsize=64)
def _held(fluid: Refrigerant, both: bool) -> float:
    """What the hoses hold [kg]: vapour on the low side, liquid on the high side."""
    held = hose_charge(density=props_si("D", "T", STANDING, "Q", 1, fluid.fluid))
    return held + (hose_charge(density=props_si("D", "T", WARM, "Q", 0, fluid.fluid)) if both else 0.0)


RULES = (
    Rule(
        codes=(
            "pull_down_recovering",
            "pull_down_slow",
            "pull_down_not_cooling",
            "pull_down_too_early",
            "pull_down_unclear",
            "pull_down_doubtful",
            "pull_down_loaded",
        ),
        needs=(TIMED,),
        judge=_judged,
        shows="whether the pull-down is normal",
        source="20 °F in 15 to 20 min from a warm bath, no noticeable change in 10 min: common practice, no source; "
        "capacity by bath and ambient temperature from the vapour-compression cycle, CoolProp 8",
        caution=f"{LOCKOUT} {CAPACITORS} {FAN} {REFRIGERANT} {LICENSED}",
        asked_by=frozenset({"warm_pour", "foaming", "alarm", "compressor", "condenser_fan"}),
        weight=1.5,
        runs="last",
    ),
)
