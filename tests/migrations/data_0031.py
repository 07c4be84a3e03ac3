"""Rows in every table as they stood at revision 0031, for plain SQL. Never changed once 0031 has been released."""

from pathlib import Path
from runpy import run_path
from typing import Any

NIGHT = "2026-06-09T19:05:00.000000Z"
ROWS: dict[str, list[dict[str, Any]]] = run_path(str(Path(__file__).with_name("data_0030.py")))["ROWS"]
ROWS["unit_year"] = [{"unit_id": 1, "year": 2026, "basis": "0", "since": NIGHT, "day": None, "made": "[]"}]
