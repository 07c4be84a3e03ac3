"""Rows in every table as they stood at revision 0011, for plain SQL. Never changed once 0011 has been released."""

from pathlib import Path
from runpy import run_path
from typing import Any

NIGHT = "2026-06-10T03:30:00.000000Z"
ATTENDANCE = "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1d01"
ROWS: dict[str, list[dict[str, Any]]] = run_path(str(Path(__file__).with_name("data_0010.py")))["ROWS"]
ROWS["attendance"] = [
    {"id": 1, "customer_id": 1, "site_id": 1, "uuid": ATTENDANCE, "crew": '["rhea"]', "arrived_at": NIGHT,
     "left_at": NIGHT, "access": "done", "note": "back door", "posted_at": NIGHT, "posted_by": "Rhea",
     "fingerprint": "f", "version": 1},
]  # fmt: skip
for visit in ROWS["visit"]:
    visit |= {"attendance": ATTENDANCE, "shared_by": len(ROWS["visit"])}
