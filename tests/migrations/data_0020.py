"""Rows in every table as they stood at revision 0020, for plain SQL. Never changed once 0020 has been released."""

from pathlib import Path
from runpy import run_path
from typing import Any

NIGHT = "2026-06-09T19:05:00.000000Z"
ROWS: dict[str, list[dict[str, Any]]] = run_path(str(Path(__file__).with_name("data_0019.py")))["ROWS"]
ROWS["photo"] = [
    {
        "id": 1,
        "uuid": "0199d1f0-6c1e-7a51-9f0a-000000000020",
        "customer_id": 1,
        "visit_id": 1,
        "sha256": "0" * 64,
        "sent_sha256": "1" * 64,
        "size": 5,
        "width": 2048,
        "height": 1536,
        "caption": "the burnt contact",
        "component": "switch-1",
        "moment": "as_found",
        "posted_at": NIGHT,
        "posted_by": "Rhea",
        "void": None,
    },
]
