"""Rows in every table as they stood at revision 0009, for plain SQL. Never changed once 0009 has been released."""

from pathlib import Path
from runpy import run_path
from typing import Any

ROWS: dict[str, list[dict[str, Any]]] = run_path(str(Path(__file__).with_name("data_0008.py")))["ROWS"]
for visit in ROWS["visit"]:
    visit["site_id"] = 1
ROWS["location"] = [
    {
        "unit_id": 1, "number": 0, "customer_id": 1, "site_id": 1, "starts_on": None, "reason": None, "made_at": None,
        "made_by": None,
    },
]  # fmt: skip
