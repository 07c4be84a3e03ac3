"""Rows in every table as they stood at revision 0019, for plain SQL. Never changed once 0019 has been released."""

from pathlib import Path
from runpy import run_path
from typing import Any

ROWS: dict[str, list[dict[str, Any]]] = run_path(str(Path(__file__).with_name("data_0018.py")))["ROWS"]
for part in ROWS["replacement"]:
    part |= {"reported_on": "2026-05", "earliest": "2026-05-01", "latest": "2026-05-31"}
