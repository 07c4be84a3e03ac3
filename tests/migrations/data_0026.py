"""Rows in every table as they stood at revision 0026, for plain SQL. Never changed once 0026 has been released."""

from pathlib import Path
from runpy import run_path
from typing import Any

ROWS: dict[str, list[dict[str, Any]]] = run_path(str(Path(__file__).with_name("data_0025.py")))["ROWS"]
ROWS["move"] = [
    {"id": 1, "state": "moved", "address": "postgresql://db.example/fleet", "at": "2026-06-09T19:05:00.000000Z"},
]
