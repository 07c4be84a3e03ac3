"""Rows in every table as they stood at revision 0025, for plain SQL. Never changed once 0025 has been released."""

from pathlib import Path
from runpy import run_path
from typing import Any

ROWS: dict[str, list[dict[str, Any]]] = run_path(str(Path(__file__).with_name("data_0024.py")))["ROWS"]
ROWS["company"][0] |= {
    "time_zone": "America/Denver", "road_factor": 1.4, "travel_speed_kmh": 45.0, "minutes_at_door": 5.0,
}  # fmt: skip
ROWS["call"][0]["skills"] = '["refrigerant"]'
