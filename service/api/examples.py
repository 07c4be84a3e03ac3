"""A body that each operation accepts, for the OpenAPI document; a test loads every one by its schema."""

from collections.abc import Mapping
from typing import Any

from service.api.endpoint import Operation

VISIT = {
    "id": "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b77",
    "unit": "GU-0007",
    "kind": "service_call",
    "technician": "rhea",
    "arrived_at": "2026-06-09T13:05:00-06:00",
    "left_at": "2026-06-09T14:40:00-06:00",
    "complaint": {"symptom": "warm_pour", "words": "first glass is warm"},
    "readings": [
        {"quantity": "bath_temperature", "value": "47 degF", "at": "2026-06-09T13:10:00-06:00", "when": "as_found"},
        {"quantity": "bath_temperature", "value": "38 degF", "at": "2026-06-09T14:35:00-06:00", "when": "as_left"},
    ],
    "tasks": [{"task": "condenser_clean", "result": "done", "as_found": "blocked"}],
    "replacements": [{"component": "switch-1", "reason": "failed", "condition": "burnt", "evidence": "seen"}],
    "observations": [{"code": "cover_panel_missing"}],
    "work": "Cleaned the condenser, replaced the power switch.",
    "outcome": "recovering",
}
BODIES: Mapping[str, Mapping[str, Any]] = {
    "change_company": {"name": "Coldline Service", "phone": "555-0100", "hours_per_day": 7.5},
    "add_customer": {"code": "lantern", "name": "The Lantern Room", "phone": "555-0142", "units_shown": "us"},
    "change_customer": {"phone": "555-0199"},
    "add_technician": {"code": "rhea", "name": "Rhea"},
    "change_technician": {"left_on": "2026-12-31"},
    "add_site": {
        "code": "lantern-quay",
        "customer": "lantern",
        "name": "Lantern Room, Quay",
        "time_zone": "America/Denver",
        "surroundings": "greasy",
        "closed_weekdays": ["monday"],
        "opening_hours": [{"weekday": "tuesday", "from": "09:00", "until": "15:00"}],
        "technician": "rhea",
    },
    "add_movement": {"action": "take", "item": "pump", "count": 2},
    "change_site": {"surroundings": "clean"},
    "add_unit": {
        "tag": "GU-0007",
        "site": "lantern-quay",
        "installed_on": "2023-05-02",
        "bath": {"volume": "38 L", "glycol": "propylene", "target_strength": "35 mass%", "set_point": "28 degF"},
        "components": [
            {"code": "switch-1", "kind": "power_switch", "feeds": ["pump-1"], "rated_current": "20 A"},
            {"code": "pump-1", "kind": "pump", "rated_current": "5.8 A"},
        ],
    },
    "change_unit": {"retired_on": "2026-12-31"},
    "add_location": {"site": "heron-landing", "from": "2026-06-01", "reason": "loaner"},
    "post_call": {
        "id": "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1c01",
        "received_at": "2026-06-09T11:20:00-06:00",
        "by": {"name": "Ida, bar", "phone": "555-0142"},
        "unit": "GU-0007",
        "symptom": "warm_pour",
        "words": "first glass is warm",
        "urgency": "today",
        "promised": {"from": "2026-06-09T13:00:00-06:00", "until": "2026-06-09T15:00:00-06:00"},
    },
    "change_call": {
        "state": "answered",
        "how": "phone_advice",
        "advice": "The breaker had tripped; switched on again.",
    },
    "assign": {"site": "lantern-quay", "technician": "rhea", "day": "2026-06-10"},
    "change_assignment": {"day": "2026-06-11"},
    "post_attendance": {
        "id": "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1d01",
        "site": "lantern-quay",
        "crew": ["rhea"],
        "arrived_at": "2026-06-09T13:05:00-06:00",
        "left_at": "2026-06-09T14:40:00-06:00",
        "visits": [
            {"unit": "GU-0007", "kind": "maintenance", "tasks": [{"task": "pump_check", "result": "done"}]},
            {"unit": "GU-0008", "kind": "maintenance", "tasks": [{"task": "pump_check", "result": "done"}]},
        ],
    },
    "add_visit": {
        "id": "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1d03",
        "unit": "GU-0009",
        "kind": "maintenance",
        "tasks": [{"task": "pump_check", "result": "done"}],
    },
    "change_attendance": {"left_at": "2026-06-09T14:55:00-06:00", "why": "left later"},
    "post_visit": VISIT,
    "correct_visit": {"outcome": "running", "why": "wrong outcome selected"},
    "unvoid_visit": {"reason": "it was the right unit"},
    "move_visit": {"unit": "GU-0008", "reason": "the sticker of the unit beside it was scanned"},
    "void_visit": {"reason": "recorded at the wrong unit"},
    "void_photo": {"reason": "shows a guest"},
    "ask_triage": {
        "unit": "GU-0007",
        "symptom": "warm_pour",
        "readings": [{"quantity": "cooler_temperature", "value": "35 degF"}],
        "observations": [{"code": "display_dark"}, {"code": "compressor_running", "present": False}],
    },
    "assess_visit": {name: VISIT[name] for name in ("unit", "kind", "arrived_at", "readings")},
    "keep_issue": {"format": "pdf"},
    "make_onboarding_plan": {"from": "2026-06-15", "weeks": 13, "hours_per_day": 16},
    "add_pause": {"from": "2026-06-01", "until": None, "reason": "switched off by the customer"},
    "change_pause": {"until": "2026-08-31"},
    "add_closure": {"from": "2026-11-01", "until": "2027-03-31", "reason": "season"},
    "change_closure": {"until": "2027-04-15"},
    "set_task": {"interval": "6 weeks", "note": "grease from the new grill"},
    "set_task_at": {"interval": "1 month", "note": "beside the fryer"},
    "decide_root_cause": {"state": "confirmed", "note": "the condenser was blocked on 2026-06-09"},
    "create_token": {"name": "Rhea", "role": "technician", "units_shown": "us"},
}


def body_of(operation: Operation) -> Any:
    """The operation's own example, or the one listed here; None without either."""
    return operation.body_example or BODIES.get(operation.view.__name__)
