"""A bath that is too warm: what explains it, or what is to be checked."""

from service.domain.assessment.bands import BATH_BAND
from service.domain.assessment.clues import equal_while_running
from service.domain.assessment.condenser_cleaning import cleaned
from service.domain.assessment.evidence import Evidence, listed
from service.domain.assessment.figure import Figure
from service.domain.assessment.finding import Finding
from service.domain.assessment.motors import currents_of, locked, runs, stands, starts_at
from service.domain.assessment.operating_state import operating_state
from service.domain.assessment.pull_down import may_be_its_load
from service.domain.assessment.rule import act, note
from service.domain.assessment.switches import SWITCHES
from service.domain.assessment.timed_bath import pull_down, verdict
from service.domain.assessment.voltages import open_contacts
from service.domain.physics.bath.pull_down_verdict import Verdict

TWO_READINGS = "Take two bath temperatures 10 minutes apart and record the time of each: they show whether it cools."


def warmest(e: Evidence) -> float:
    """The warmest that the bath may be: by its controller where that is recorded, else by the usual band [K]."""
    return max(starts_at(e), BATH_BAND[1])


def warm(e: Evidence, text: str, figures: dict[str, Figure]) -> Finding:
    """The finding on a bath that is warmer than it may be."""
    over = f"{text}, warmer than {e.temperature(warmest(e))}"
    doing = verdict(e)
    if operating_state(e).state == "off" and not runs(e, "compressor"):
        text = f"{over}: the unit seems to be without power."
        return note("bath_warm", text, advice="First find where its power stops.", **figures)
    if (before := _before_all_else(e)) is not None:
        return note("bath_warm", f"{over}.", advice=f"First see {before}.", **figures)
    if doing is Verdict.RECOVERING:
        return note("bath_warm", f"{over}, and cooling down.", advice="Stay until it reaches its set point.", **figures)
    if _loaded(e):
        advice = "Read it again with the taps closed: its load may explain it."
        return note("bath_warm", f"{over}.", advice=advice, **figures)
    if doing is Verdict.TOO_EARLY or e.visit.outcome == "recovering" or _may_be_on_its_way(e):
        return note("bath_warm", f"{over}.", advice=TWO_READINGS, **figures)
    return act("bath_warm", f"{over}.", advice=f"Check {listed(_to_check(e))}.", **figures)


def _before_all_else(e: Evidence) -> str | None:
    """What the readings show to be wrong, so that nothing else is to be checked before it."""
    if opened := [code for code in open_contacts(e) if e.kind_at(code) in SWITCHES]:
        return f"why the power stops at {listed(opened)}"
    if stands(e, "compressor") or any(locked(e, each) for each in currents_of(e, "compressor")):
        return "why its compressor does not run"
    return None if equal_while_running(e) is None else "whether its compressor pumps"


def _to_check(e: Evidence) -> list[str]:
    """What may keep the bath warm, without what was read or worked on in the visit."""
    checks = [] if _is_running(e) else ["that the compressor runs"]
    checks += [] if runs(e, "condenser_fan") else ["that the condenser fan runs"]
    clean = "that the condenser is clean and nothing blocks its air"
    checks.append("that nothing blocks the condenser's air" if cleaned(e) else clean)
    checks += [] if _is_running(e) else ["that the controller calls for cooling"]
    return [*checks, "that the pump moves the glycol"]


def _is_running(e: Evidence) -> bool:
    """Whether the compressor runs, by its current or by two pressures."""
    gauges = e.has("suction_pressure") and e.has("discharge_pressure")
    return runs(e, "compressor") or (gauges and operating_state(e).settled)


def _may_be_on_its_way(e: Evidence) -> bool:
    """Whether it runs and nothing shows whether it cools: then it may be pulling down, as after a warm start."""
    return operating_state(e).state in ("pulling_down", "starting") and _is_running(e) and verdict(e) is None


def _loaded(e: Evidence) -> bool:
    """Whether the compressor runs, as that of a bath that falls does, and its load may explain how the bath goes."""
    doing = verdict(e)
    cooled = doing is Verdict.SLOW or _is_running(e)
    return doing is not None and cooled and may_be_its_load(e, pull_down(e), doing)
