"""Rows in every table as they stood at revision 0010, for plain SQL. Never changed once 0010 has been released."""

from pathlib import Path
from runpy import run_path
from typing import Any

ROWS: dict[str, list[dict[str, Any]]] = run_path(str(Path(__file__).with_name("data_0009.py")))["ROWS"]
ROWS["company"] = [
    {"id": 1, "name": "Coldline", "address": "1 Depot Road", "phone": "555-0100", "email": "office@example.org",
     "licence": "Licence 4711", "hours_per_day": 7.5, "version": 1},
]  # fmt: skip
