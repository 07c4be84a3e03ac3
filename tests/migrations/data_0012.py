"""Rows in every table as they stood at revision 0012, for plain SQL. Never changed once 0012 has been released."""

from pathlib import Path
from runpy import run_path
from typing import Any

ROWS: dict[str, list[dict[str, Any]]] = run_path(str(Path(__file__).with_name("data_0011.py")))["ROWS"]
for site in ROWS["site"]:
    site |= {"elevation": '[1609.344, "length", "5280 ft"]'}
