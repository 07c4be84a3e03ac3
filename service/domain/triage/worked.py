"""What a visit's own work shows of the cause: how a part was found, and whether the cause was worked on."""

from collections.abc import Iterator
from dataclasses import replace

from service.domain.assessment.condenser_cleaning import CLEANED
from service.domain.assessment.finding import Finding
from service.domain.assessment.settle import EXPLAINED
from service.domain.record.fleet import Unit
from service.domain.record.visits import Visit
from service.domain.triage.explanations import BY_CODE
from service.domain.triage.question import Seen

DIRTY = {"heavy": True, "blocked": True, "clean": False}  # found lightly fouled is neither
GRADED = dict.fromkeys(CLEANED, "condenser_dirty") | {"strainer_clean": "strainer_dirty"}
TASKS = {"condenser_fouled": CLEANED, "pump_weak_or_strainer_blocked": frozenset({"strainer_clean"})}
KINDS = {
    "no_power": frozenset({"power_switch", "power_cord"}),
    "controller_dark_or_not_calling": frozenset({"temperature_controller"}),
    "compressor_does_not_stop": frozenset({"temperature_controller", "contactor"}),
    "condenser_fan_stopped": frozenset({"condenser_fan"}),
    "compressor_not_starting": frozenset({"compressor", "start_capacitor", "start_relay", "overload_protector"}),
    "compressor_weak": frozenset({"compressor"}),
    "pump_stopped": frozenset({"pump", "pump_motor"}),
    "pump_weak_or_strainer_blocked": frozenset({"pump", "pump_motor", "strainer"}),
}
BURNT = frozenset({"burnt", "discoloured"})
WHY_BURNT = "What burnt has a reason: compare the currents through it with its rating, and look at joints and voltage."
WORKED_ON = "It was worked on in this visit: the readings as left show whether that was it."


def found_dirty(visit: Visit) -> Iterator[Seen]:
    """How condenser and strainer were found, as triage asks for it."""
    for task in visit.tasks:
        if task.task in GRADED and task.as_found in DIRTY:
            yield Seen(code=GRADED[task.task], present=DIRTY[task.as_found])


def after_work(cause: Finding, visit: Visit, unit: Unit) -> Finding:
    """The cause; where each of its explanations was worked on in the visit, without the advice to do it."""
    done = {task.task for task in visit.tasks if task.result == "done" and DIRTY.get(task.as_found or "") is not False}
    kinds = {unit.kinds.get(part.component) for part in visit.replacements if part.by == "us"}
    codes = str(cause.figures[EXPLAINED]).replace(" and ", ", ").split(", ")
    if not all(TASKS.get(code, frozenset()) & done or KINDS.get(code, frozenset()) & kinds for code in codes):
        return cause
    burnt = any(part.by == "us" and part.condition in BURNT for part in visit.replacements)
    beside = [BY_CODE[str(cause.figures["second"])].test] if "second" in cause.figures else []
    return replace(cause, advice=" ".join((*([WHY_BURNT] if burnt else []), WORKED_ON, *beside)))
