"""Rows in every table as they stood at revision 0021, for plain SQL. Never changed once 0021 has been released."""

from pathlib import Path
from runpy import run_path
from typing import Any

NIGHT = "2026-06-09T19:05:00.000000Z"
ROWS: dict[str, list[dict[str, Any]]] = run_path(str(Path(__file__).with_name("data_0020.py")))["ROWS"]
ROWS["learned_figures"] = [{"learned_at": NIGHT, "figures": '{"drifts": {}, "fouling": {}}'}]
