"""Rows in every table as they stood at revision 0005, for plain SQL. Never changed once 0005 has been released."""

from pathlib import Path
from runpy import run_path
from typing import Any

ROWS: dict[str, list[dict[str, Any]]] = run_path(str(Path(__file__).with_name("data_0004.py")))["ROWS"]
for owner in ROWS["customer"] + ROWS["site"]:
    owner["care_from"] = "2026-03-02"
for unit in ROWS["unit"]:
    unit |= {"care_from": "2026-03-03", "last_done": '[{"task": "condenser_clean", "on": "2025-10"}]'}
ROWS["first_date"] = [
    {"unit_id": 1, "task": "pump_check", "customer_id": 1, "planned_on": "2026-03-16", "since": "2026-03-02"}
]
