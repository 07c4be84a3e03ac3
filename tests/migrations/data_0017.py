"""Rows in every table as they stood at revision 0017, for plain SQL. Never changed once 0017 has been released."""

from pathlib import Path
from runpy import run_path
from typing import Any

ROWS: dict[str, list[dict[str, Any]]] = run_path(str(Path(__file__).with_name("data_0016.py")))["ROWS"]
TOKEN = ROWS["token"][0]["id"]
AT = "2026-06-09T20:00:00.000000Z"
ROWS["session"] = [
    {
        "id": "0a1b2c3d4e5f",
        "hash": "0" * 64,
        "token_id": TOKEN,
        "started_at": AT,
        "last_used_at": AT,
        "device": "a browser",
        "ended_at": AT,
    }
]
ROWS["sign_in_link"] = [{"hash": "1" * 64, "token_id": TOKEN, "expires_at": AT, "used_at": AT}]
