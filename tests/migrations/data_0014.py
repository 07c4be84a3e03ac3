"""Rows in every table as they stood at revision 0014, for plain SQL. Never changed once 0014 has been released."""

from pathlib import Path
from runpy import run_path
from typing import Any

ROWS: dict[str, list[dict[str, Any]]] = run_path(str(Path(__file__).with_name("data_0013.py")))["ROWS"]
for unit in ROWS["unit"]:
    unit["replaces_id"] = 1 if unit["id"] == 2 else None
