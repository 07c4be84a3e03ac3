"""Rows of the schema at 0006, in every table: those of the revision before, and what is new."""

from pathlib import Path
from runpy import run_path
from typing import Any

NIGHT = "2026-06-10T03:30:00.000000Z"
CALL = "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1c01"
ROWS: dict[str, list[dict[str, Any]]] = run_path(str(Path(__file__).with_name("data_0005.py")))["ROWS"]
ROWS["call"] = [
    {"id": 1, "customer_id": 1, "site_id": 1, "unit_id": 1, "uuid": CALL, "received_at": NIGHT, "by_name": "Ida",
     "by_phone": "1", "symptom": "warm_pour", "words": "warm", "urgency": "now", "promised_from": NIGHT,
     "promised_until": NIGHT, "technician_id": 1, "day": "2026-06-10", "state": "answered", "how": "visit",
     "closed_at": NIGHT, "why": None, "advice": None, "visit": "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b77",
     "posted_at": NIGHT, "posted_by": "Rhea", "fingerprint": "f", "version": 2},
]  # fmt: skip
ROWS["visit_call"] = [{"visit_id": 1, "position": 0, "customer_id": 1, "unit_id": 1, "call": CALL}]
for visit in ROWS["visit"]:
    visit["parts_promised_on"] = "2026-06-16"
for technician in ROWS["technician"]:
    technician |= {"leave": '[["2025-12-24","2025-12-31"]]', "hours_per_day": 7.5}
ROWS["assignment"] = [
    {"id": 1, "customer_id": 1, "site_id": 1, "unit_id": 1, "task": "pump_check", "technician_id": 1,
     "day": "2026-06-10", "postponed_to": None, "why": None, "note": None, "posted_at": NIGHT, "posted_by": "Rhea",
     "version": 1},
]  # fmt: skip
