"""Rows in every table as they stood at revision 0002, for plain SQL. Never changed once 0002 has been released."""

from pathlib import Path
from runpy import run_path
from typing import Any

NIGHT = "2026-06-09T19:05:00.000000Z"

ROWS: dict[str, list[dict[str, Any]]] = {
    **run_path(str(Path(__file__).with_name("data_0001.py")))["ROWS"],
    "root_cause": [
        {"id": 1, "customer_id": 1, "unit_id": 1, "kind": "power_switch", "tier": "probable", "state": "dismissed",
         "luck_probability": 0.04, "document": '{"unit": "GU-0007"}', "evidence_key": "e", "first_seen": NIGHT,
         "updated_at": NIGHT, "decided_by": "Rhea", "decided_at": NIGHT, "why": "bad batch", "resolved_on": None,
         "after_remedy": None, "absent_since": NIGHT, "version": 2},
    ],
    "failure_statistics": [{"unit_id": 1, "layout": "1", "figures": "AAA="}],
    "baseline": [{"id": 1, "figures": "{}", "learned_at": NIGHT}],
}  # fmt: skip
