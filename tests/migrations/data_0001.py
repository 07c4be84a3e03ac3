"""Rows in every table as they stood at revision 0001, for plain SQL. Never changed once 0001 has been released."""

from typing import Any

NIGHT = "2026-06-09T19:05:00.000000Z"
FEEDS = '{"feeds": ["pump-1"], "rated_current": [20.0, "current", "20 A"], "rating": "resistive"}'
RUN = '{"surroundings": "underground", "length": [36.576, "length", "120 ft"]}'

ROWS: dict[str, list[dict[str, Any]]] = {
    "customer": [
        {"id": 1, "code": "lantern", "name": "The Lantern Room", "contact": "Ida", "phone": "1",
         "email": "a@example.org", "units_shown": "us", "version": 3},
        {"id": 2, "code": "anchor", "name": "The Anchor", "version": 1},
    ],
    "technician": [
        {"id": 1, "code": "rhea", "name": "Rhea", "phone": "2", "email": "b@example.org", "left_on": "2026-01-01",
         "version": 2},
    ],
    "site": [
        {"id": 1, "customer_id": 1, "code": "lantern-quay", "name": "Quay", "address": "12 Quay Street",
         "time_zone": "America/Denver", "latitude": 39.74, "longitude": -104.99, "surroundings": "greasy",
         "closed_weekdays": "monday,tuesday", "access": "Ring twice.", "technician_id": 1, "version": 4},
        {"id": 2, "customer_id": 2, "code": "anchor-bay", "name": "Bay", "time_zone": "Pacific/Auckland",
         "closed_weekdays": "", "version": 1},
    ],
    "unit": [
        {"id": 1, "customer_id": 1, "site_id": 1, "tag": "GU-0007", "maker": "Northmere", "model": "B-75",
         "serial": "9", "place": "cellar", "installed_on": "2023-05-02", "installed_by": "us", "retired_on": None,
         "registered_on": "2023-05-03", "supply": '{"voltage": [115.0, "voltage", "115 V"], "phases": 1}',
         "refrigeration": '{"refrigerant": "R-134a", "low_side_port": true}', "bath": '{"glycol": "propylene"}',
         "trunks": f'[{{"code": "bar", "runs": [{RUN}], "beer_lines": [{{"tap": "1"}}]}}]', "version": 5},
        {"id": 2, "customer_id": 2, "site_id": 2, "tag": "GU-0008", "registered_on": "2024-01-01",
         "retired_on": "2025-01-01", "version": 2},
    ],
    "component": [
        {"unit_id": 1, "code": "switch-1", "customer_id": 1, "position": 0, "kind": "power_switch", "details": FEEDS,
         "installed_on": "2023-05-02", "removed_on": None},
        {"unit_id": 1, "code": "pump-1", "customer_id": 1, "position": 1, "kind": "pump", "details": "{}",
         "removed_on": "2026-06-09"},
    ],
    "visit": [
        {"id": 1, "customer_id": 1, "unit_id": 1, "uuid": "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b77",
         "kind": "service_call", "by_whom": "us", "evidence": "seen", "firm": None, "technician_id": 1,
         "arrived_at": NIGHT,
         "left_at": "2026-06-09T20:40:00.000000Z", "day": "2026-06-09", "symptom": "foaming", "reported_at": NIGHT,
         "words": "all foam", "work": "Replaced the fan.", "advice": "Watch it.", "outcome": "recovering",
         "posted_at": NIGHT, "posted_by": "Rhea", "void": None, "fingerprint": "f", "version": 2},
        {"id": 2, "customer_id": 1, "unit_id": 1, "uuid": "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b78", "kind": "maintenance",
         "by_whom": "others", "evidence": "reported", "firm": "Another firm", "arrived_at": NIGHT, "day": "2026-06-09",
         "posted_at": NIGHT, "posted_by": "Rhea", "void": f'["{NIGHT}", "Rhea", "wrong unit"]', "fingerprint": "g",
         "version": 2},
    ],
    "reading": [
        {"visit_id": 1, "position": 0, "customer_id": 1, "unit_id": 1, "quantity": "glycol_strength", "component": None,
         "tap": None, "value": 24.5, "dimension": "brix", "entered": "24.5 Brix", "sample_temperature": 293.15,
         "sample_temperature_entered": "20 degC", "at": NIGHT, "moment": "as_found", "evidence": "seen"},
    ],
    "task_result": [
        {"visit_id": 1, "position": 0, "customer_id": 1, "unit_id": 1, "task": "condenser_clean", "result": "done",
         "reason": None, "as_found": "blocked", "day": "2026-06-09", "void": 0},
    ],
    "replacement": [
        {"visit_id": 1, "position": 0, "customer_id": 1, "unit_id": 1, "component": "pump-1", "reason": "unknown",
         "condition": "unknown", "evidence": "reported", "day": "2026-06-05", "told_on": "2026-06-05",
         "by_whom": "others", "note": "not seen"},
    ],
    "observation": [
        {"visit_id": 1, "position": 0, "customer_id": 1, "unit_id": 1, "code": "other", "component": "pump-1",
         "note": "wet floor"},
    ],
    "correction": [
        {"visit_id": 1, "number": 1, "customer_id": 1, "made_at": NIGHT, "made_by": "Rhea", "why": "typo",
         "changes": '{"work": "Replaced the fan."}', "former": '{"work": "Replaced the fun."}'},
    ],
    "task_setting": [{"task": "pump_check", "changes": '{"interval": "4 months"}', "version": 1}],
    "unit_task_setting": [
        {"unit_id": 1, "task": "pump_check", "customer_id": 1, "changes": '{"minutes": 25}', "version": 1},
    ],
    "due_item": [
        {"unit_id": 1, "task": "follow_up", "customer_id": 1, "site_id": 1, "due_on": "2026-06-10",
         "basis": "follow_up", "why": "It was left recovering.", "interval": None, "last_done_on": None},
    ],
    "answer": [
        {"caller": "", "key": "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b77", "fingerprint": "f",
         "visit": "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b77", "body": "{}", "given_at": NIGHT},
    ],
    "token": [
        {"id": "ab12", "hash": "h", "name": "Rhea", "role": "technician", "units_shown": "us", "created_at": NIGHT,
         "revoked_at": NIGHT},
    ],
    "audit": [
        {"id": 1, "at": NIGHT, "actor": "Rhea", "role": "technician", "request_id": "r", "action": "made",
         "noun": "visit", "key": "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b77", "before": None, "after": "{}"},
    ],
    "day_done": [{"job": "due_items", "site_id": 1, "day": "2026-06-09", "done_at": NIGHT}],
}  # fmt: skip
