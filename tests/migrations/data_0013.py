"""Rows in every table as they stood at revision 0013, for plain SQL. Never changed once 0013 has been released."""

from pathlib import Path
from runpy import run_path
from typing import Any

NIGHT = "2026-06-09T19:05:00.000000Z"
ROWS: dict[str, list[dict[str, Any]]] = run_path(str(Path(__file__).with_name("data_0012.py")))["ROWS"]
ROWS["former_tag"] = [
    {"tag": "GU-0001", "unit_id": 1, "customer_id": 1, "changed_at": NIGHT, "changed_by": "Rhea"},
]
