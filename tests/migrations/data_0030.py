"""Rows in every table as they stood at revision 0030, for plain SQL. Never changed once 0030 has been released."""

from pathlib import Path
from runpy import run_path
from typing import Any

ROWS: dict[str, list[dict[str, Any]]] = run_path(str(Path(__file__).with_name("data_0029.py")))["ROWS"]
