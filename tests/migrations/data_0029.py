"""Rows in every table as they stood at revision 0029, for plain SQL. Never changed once 0029 has been released."""

from pathlib import Path
from runpy import run_path
from typing import Any

ROWS: dict[str, list[dict[str, Any]]] = run_path(str(Path(__file__).with_name("data_0028.py")))["ROWS"]
