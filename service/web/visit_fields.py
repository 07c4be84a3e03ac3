"""What the form of a visit shows of its unit: readings, due tasks, components, open calls, cautions."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from service.api.state import Caller
from service.domain.condition.latest import latest_readings
from service.domain.maintenance.tasks import AS_FOUND, Task
from service.domain.record.failed import BROKEN
from service.domain.record.fleet import COMPONENT_KINDS
from service.domain.record.unit_log import UnitLog
from service.domain.record.visits import CONDITIONS, FOULING, KINDS, OBSERVATIONS, OUTCOMES, SYMPTOMS, Visit
from service.usecases.maintenance.due import due_at, fleet_tasks
from service.usecases.system import Store
from service.web.units import Due, in_words
from service.web.visit_rows import STRENGTH_UNITS, groups, main_rows, unit_of

DUE_WITHIN = 14  # days ahead: what falls due so soon is offered as work of today
GRADED = ("condenser_clean", "condenser_deep_clean", "strainer_clean")
CODES = {
    "kinds": KINDS,
    "symptoms": SYMPTOMS,
    "outcomes": OUTCOMES,
    "conditions": CONDITIONS,
    "broken": BROKEN,
    "observations": OBSERVATIONS,
    "grades": {grade: FOULING[grade] for grade in AS_FOUND},
    "graded": GRADED,
    "component_kinds": COMPONENT_KINDS,
    "strength_units": STRENGTH_UNITS,
}


def fields_of(store: Store, log: UnitLog, now: datetime, caller: Caller, stored: Visit | None = None) -> dict[str, Any]:
    """All that the form shows, for one unit and one caller; of a stored visit the calls that it answers too."""
    answered = stored.calls if stored else ()
    unit, system = log.unit, caller.units_shown
    items, today = due_at(store, unit.tag, now)
    due = [each for each in in_words(store, items, today) if (each.item.due_on - today).days <= DUE_WITHIN]
    tasks = fleet_tasks(store)
    latest = latest_readings(list(log.readings()))
    return {
        **CODES,
        "log": log,
        "unit": unit,
        "site": log.site,
        "system": system,
        "main_rows": main_rows(unit, latest, system),
        "groups": groups(unit, latest, system),
        "degree": unit_of("temperature", system),
        "due": due,
        "other_tasks": _others(tasks, due),
        "components": [part for part in unit.components if part.removed_on is None],
        "calls": [call for call in log.calls if call.waiting or call.id in answered],
        "technicians": sorted(store.technicians.by_id().values(), key=lambda each: each.name),
        "cautions": list(dict.fromkeys(text for each in due for text in each.task.cautions)),
        "made": int(now.timestamp() * 1000),
        "writer": caller.technician or caller.token_id,
    }


def _others(tasks: Mapping[str, Task], due: Sequence[Due]) -> list[Task]:
    named = {each.item.task for each in due}
    return [task for code, task in tasks.items() if code not in named]
