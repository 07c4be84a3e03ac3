"""How the bath cools after a repair or a warm start, and what to do next."""

from collections.abc import Iterator
from functools import lru_cache
from math import isfinite

from service.domain.assessment.evidence import Evidence, computed, percent, span
from service.domain.assessment.finding import Figure, Finding
from service.domain.assessment.refrigerant_of import refrigerant_of
from service.domain.assessment.rule import Rule, act, fine, note
from service.domain.assessment.timed_bath import TIMED, PullDownSeen, pull_down
from service.domain.maintenance.catalogue import CAPACITORS, FAN, LICENSED, LOCKOUT, REFRIGERANT
from service.domain.physics.bath.pull_down import Estimate, final_temperature, time_to
from service.domain.physics.bath.pull_down_verdict import Because, Verdict, wait_before_measuring
from service.domain.physics.libraries import props_si
from service.domain.physics.refrigeration.gauges import Gauges, advise_gauges, hose_charge, share_of_charge
from service.domain.physics.refrigeration.refrigerants import Refrigerant

MOST_SHARE = 2.0  # of what the rating allows: thermometer, volume and rating can each be 15 % off; judged
STANDING, WARM = 293.15, 313.15  # K: a unit at rest on its suction hose, liquid at the condenser on the other
FIRST = (
    "Before the refrigerant circuit, check the rest: compressor and condenser fan run, condenser clean and air path "
    "clear, pump and agitator move the glycol, currents, frost line."
)


def _judged(e: Evidence) -> Iterator[Finding]:
    seen = pull_down(e)
    left = time_to(seen.fit, seen.aim)
    figures = _figures(seen, left)
    if seen.interrupted and seen.judgement.verdict is not Verdict.RECOVERING:
        yield note(
            "pull_down_unclear",
            f"{_way(e, seen)}, but the unit was worked on in between, so this does not show how it cools.",
            advice="Take two bath temperatures 10 minutes apart with the unit running and record the time of each.",
            **figures,
        )
        return
    if _faster_than_it_can(seen):
        yield note(
            "pull_down_doubtful",
            f"{_way(e, seen)}. That is faster than its rating allows: a reading or a time is wrong.",
            advice="Take two bath temperatures 10 minutes apart in the same place and record the time of each.",
            **figures,
        )
        return
    wait = span(wait_before_measuring(seen.fit, seen.judgement, set_point=seen.aim))
    found = seen.judgement.verdict
    if found is Verdict.RECOVERING:
        yield fine("pull_down_recovering", _recovering(e, seen, left, wait), **figures)
    elif found is Verdict.TOO_EARLY:
        advice = f"Measure again in {wait}, and leave the gauges off until then."
        yield note("pull_down_too_early", f"{_way(e, seen)}: too early to judge.", advice=advice, **figures)
    elif found is Verdict.SLOW:
        advice = f"{FIRST} Measure again in {wait}. {_gauge_advice(e, found)}".rstrip()
        yield act("pull_down_slow", f"{_way(e, seen)}: slow.{_why_slow(e, seen)}", advice=advice, **figures)
    else:
        advice = f"Do not wait longer. {FIRST} {_gauge_advice(e, found)}".rstrip()
        yield act("pull_down_not_cooling", f"{_way(e, seen)}: it is not cooling.", advice=advice, **figures)


def _faster_than_it_can(seen: PullDownSeen) -> bool:
    by_rating = seen.judgement.because is Because.SHARE_OF_RATING
    return by_rating and seen.share is not None and seen.share > MOST_SHARE


def _figures(seen: PullDownSeen, left: Estimate) -> dict[str, Figure]:
    fit, final = seen.fit, final_temperature(seen.fit)
    figures: dict[str, Figure] = {
        "verdict": str(seen.judgement.verdict),
        "because": str(seen.judgement.because),
        "first": computed(fit.start, "temperature"),
        "last": computed(fit.last, "temperature"),
        "elapsed": computed(fit.elapsed, "time"),
        "aim": computed(seen.aim, "temperature"),
    }
    if isfinite(left.value):
        figures["time_to_aim_at_least" if fit.bend == 0.0 else "time_to_aim"] = computed(left.value, "time")
    if final is not None:
        figures["final"] = computed(final.value, "temperature")
        figures["final_uncertainty"] = computed(final.uncertainty, "temperature_difference")
    if seen.share is not None:
        name = "share_of_trade_rate" if seen.judgement.because is Because.TRADE_RATE else "share_of_rating_at_least"
        figures[name] = computed(seen.share, "fraction")
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
    """One sentence about gauges; empty where ports, charge or refrigerant are not on the record."""
    circuit, fluid = e.refrigeration, refrigerant_of(e)
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
        ),
        needs=(TIMED,),
        judge=_judged,
        shows="whether the pull-down is normal",
        source="20 °F in 15 to 20 min from a warm bath, no noticeable change in 10 min: common practice, no source; "
        "rating by bath temperature from a process chiller's load sheet, 2 % less per °F under 50 °F",
        caution=f"{LOCKOUT} {CAPACITORS} {FAN} {REFRIGERANT} {LICENSED}",
        asked_by=frozenset({"warm_pour", "foaming", "alarm", "compressor", "condenser_fan"}),
        weight=1.5,
    ),
)
