"""Rows in every table as they stood at revision 0016, for plain SQL. Never changed once 0016 has been released."""

from pathlib import Path
from runpy import run_path
from typing import Any

ROWS: dict[str, list[dict[str, Any]]] = run_path(str(Path(__file__).with_name("data_0015.py")))["ROWS"]
ROWS["change"] = [
    {
        "id": 1,
        "at": "2026-06-09T19:05:00.000000Z",
        "made_by": "Rhea",
        "resource": "task",
        "key": "pump_check",
        "before": None,
        "after": '{"interval":"4 months"}',
    }
]
