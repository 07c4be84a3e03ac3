"""What a unit's own history does to the priors of triage: factors with their reasons, bounded on both sides.

A switch that burnt twice, glycol that thins from visit to visit, refrigerant that was added, a condenser long not
cleaned or found blocked. How far each moves a prior: common practice, no source; a factor is never above `MOST`.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta

from service.domain.instants import local_day
from service.domain.record.unit_log import UnitLog
from service.domain.triage.facts import mass_fraction

MOST = 10.0
LOOKED_BACK = timedelta(days=730)
THINNED = 0.03  # mass fraction over the readings of two years
FAILED = ("failed", "unknown")
# kind of component that failed -> explanation it makes likelier
KINDS = {
    "power_switch": "no_power",
    "power_cord": "no_power",
    "contactor": "compressor_not_starting",
    "temperature_controller": "controller_dark_or_not_calling",
    "compressor": "compressor_not_starting",
    "start_relay": "compressor_not_starting",
    "start_capacitor": "compressor_not_starting",
    "overload_protector": "compressor_not_starting",
    "condenser_fan": "condenser_fan_stopped",
    "pump": "pump_stopped",
    "pump_motor": "pump_stopped",
    "strainer": "pump_weak_or_strainer_blocked",
}
EACH_FAILURE = 2.0
TASKS = {
    ("condenser_clean", "blocked"): ("condenser_fouled", 2.5),
    ("condenser_clean", "heavy"): ("condenser_fouled", 1.8),
    ("strainer_clean", "blocked"): ("pump_weak_or_strainer_blocked", 2.5),
    ("strainer_clean", "heavy"): ("pump_weak_or_strainer_blocked", 1.8),
}
LONG_UNCLEANED = timedelta(days=180)

Shift = tuple[str, float, str]


def shifts(log: UnitLog, now: datetime) -> dict[str, tuple[float, str]]:
    """Factors on the priors of the explanations that the history speaks for, each with its reasons."""
    found: dict[str, tuple[float, str]] = {}
    for code, factor, reason in (*_replaced(log, now), *_refrigerant(log, now), *_glycol(log, now), *_care(log, now)):
        before, reasons = found.get(code, (1.0, ""))
        found[code] = (min(before * factor, MOST), f"{reasons} {reason}".strip())
    return found


def _replaced(log: UnitLog, now: datetime) -> Iterator[Shift]:
    since = local_day(now - LOOKED_BACK, log.time_zone)
    counts: dict[str, int] = {}
    for part in log.replaced():
        if part.reason in FAILED and part.surely_since(since) and part.kind in KINDS:
            counts[part.kind] = counts.get(part.kind, 0) + 1
    for kind, count in counts.items():
        times = "once" if count == 1 else f"{count} times"
        named = kind.replace("_", " ")
        yield KINDS[kind], EACH_FAILURE**count, f"The {named} was replaced {times} in two years as failed."


def _refrigerant(log: UnitLog, now: datetime) -> Iterator[Shift]:
    added = [each for each in log.readings() if each.reading.quantity == "refrigerant_added" and _recent(each.at, now)]
    if added:
        text = f"Refrigerant was added on {added[-1].on}."
        yield "low_charge", 4.0, text
        yield "overcharge", 3.0, text
        yield "non_condensable_gas", 3.0, text  # hoses that were not purged


def _glycol(log: UnitLog, now: datetime) -> Iterator[Shift]:
    """Glycol that thins, or was last found weak."""
    strengths: list[float] = []
    for each in log.readings():
        if each.reading.quantity == "glycol_strength" and _recent(each.at, now):
            value = mass_fraction(each.reading.value, each.reading.sample_temperature)
            strengths += [] if value is None else [value]
    if len(strengths) > 1 and strengths[0] - strengths[-1] >= THINNED:
        yield "evaporator_iced", 3.0, f"The glycol thinned by {100 * (strengths[0] - strengths[-1]):.0f} % by mass."
        yield "bath_low", 1.5, "Glycol that thins was topped up with water: it leaks."
    target = mass_fraction(log.unit.bath.target_strength if log.unit.bath else None)
    if strengths and target is not None and strengths[-1] - target >= THINNED:
        yield "glycol_too_strong", 3.0, "The glycol was stronger than its target when it was last measured."


def _care(log: UnitLog, now: datetime) -> Iterator[Shift]:
    last: dict[str, str | None] = {}
    cleaned = None
    for each in log.performed():
        if each.result == "done":
            last[each.task] = each.as_found
            if each.task in ("condenser_clean", "condenser_deep_clean"):
                cleaned = each.on
    for task, as_found in last.items():
        if (task, as_found) in TASKS:
            code, factor = TASKS[task, as_found or ""]
            yield code, factor, f"{task.replace('_', ' ').capitalize()} last found it {as_found}."
    if cleaned is not None and local_day(now - LONG_UNCLEANED, log.time_zone) > cleaned:
        yield "condenser_fouled", 1.5, f"The condenser was last cleaned on {cleaned}."


def _recent(at: datetime, now: datetime) -> bool:
    return now - LOOKED_BACK <= at <= now
