"""Rows in every table as they stood at revision 0023, for plain SQL. Never changed once 0023 has been released."""

from pathlib import Path
from runpy import run_path
from typing import Any

ROWS: dict[str, list[dict[str, Any]]] = run_path(str(Path(__file__).with_name("data_0022.py")))["ROWS"]
ROWS["van_movement"] = [
    {"id": 1, "uuid": "0199d1f0-6c1e-7a51-9f0a-000000000023", "technician_id": 1, "item": "pump", "action": "take",
     "amount": "2", "at": "2026-06-09T19:05:00.000000Z", "by": "Rhea"},
]  # fmt: skip
