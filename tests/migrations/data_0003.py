"""Rows in every table as they stood at revision 0003, for plain SQL. Never changed once 0003 has been released."""

from pathlib import Path
from runpy import run_path
from typing import Any

ROWS: dict[str, list[dict[str, Any]]] = run_path(str(Path(__file__).with_name("data_0002.py")))["ROWS"]
del ROWS["day_done"]
ROWS["job_done"] = [{"job": "due_items", "day": "2026-06-09", "done_at": "2026-06-09T19:05:00.000000Z"}]
for unit in ROWS["unit"]:
    unit |= {"log_version": 7, "due_version": 7, "due_rules": 42}
for cause in ROWS["root_cause"]:
    cause["probability_of_chance"] = cause.pop("luck_probability")
for statistics in ROWS["failure_statistics"]:
    statistics["log_version"] = 7
for entry in ROWS["audit"]:
    entry |= {"resource": entry.pop("noun"), "action": "created"}
for part in ROWS["replacement"]:
    part["reported_on"] = part.pop("told_on")
