"""Rows in every table as they stood at revision 0007, for plain SQL. Never changed once 0007 has been released."""

from pathlib import Path
from runpy import run_path
from typing import Any

ROWS: dict[str, list[dict[str, Any]]] = run_path(str(Path(__file__).with_name("data_0006.py")))["ROWS"]
PAUSES = (
    '[{"number": 1, "texts": [{"first": "2026-06-01", "reason": "off", "withdrawn": false,'
    ' "at": "2026-05-20T12:00:00Z", "by": "office"}]}]'
)
for owner in ROWS["customer"] + ROWS["site"]:
    owner["ended_on"] = "2027-12-31"
for site in ROWS["site"]:
    site["closures"] = PAUSES
for unit in ROWS["unit"]:
    unit["pauses"] = PAUSES
for item in ROWS["due_item"]:
    item["away"] = "2026-11-01/2027-03-31"
