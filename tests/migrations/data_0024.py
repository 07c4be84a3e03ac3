"""Rows in every table as they stood at revision 0024, for plain SQL. Never changed once 0024 has been released."""

from pathlib import Path
from runpy import run_path
from typing import Any

ROWS: dict[str, list[dict[str, Any]]] = run_path(str(Path(__file__).with_name("data_0023.py")))["ROWS"]
ROWS["change"] = [
    *ROWS["change"],
    {"id": 2, "at": "2026-06-09T19:06:00.000000Z", "made_by": "Rhea", "resource": "site", "key": "lantern-quay",
     "before": '{"surroundings":"greasy"}', "after": '{"surroundings":"clean"}'},
]  # fmt: skip
