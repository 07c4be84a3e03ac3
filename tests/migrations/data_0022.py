"""Rows in every table as they stood at revision 0022, for plain SQL. Never changed once 0022 has been released."""

from pathlib import Path
from runpy import run_path
from typing import Any

ROWS: dict[str, list[dict[str, Any]]] = run_path(str(Path(__file__).with_name("data_0021.py")))["ROWS"]
ROWS["site"][0]["opening_hours"] = '[{"weekday":"monday","from":"10:00","until":"14:00"}]'
ROWS["technician"][0] |= {"skills": '["refrigerant"]', "latitude": 39.7, "longitude": -105.0, "day_starts_at": "07:30"}
ROWS["travel_time"] = [{"from_site": "lantern-quay", "to_site": "pier", "minutes": 12}]
ROWS["company"][0] |= {"latitude": 39.7, "longitude": -105.0, "day_starts_at": "08:00"}
