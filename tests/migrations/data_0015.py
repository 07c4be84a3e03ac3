"""Rows in every table as they stood at revision 0015, for plain SQL. Never changed once 0015 has been released."""

from pathlib import Path
from runpy import run_path
from typing import Any

ROWS: dict[str, list[dict[str, Any]]] = run_path(str(Path(__file__).with_name("data_0014.py")))["ROWS"]
for made in ROWS["correction"]:
    made["from_unit_id"] = 2
