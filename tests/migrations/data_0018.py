"""Rows in every table as they stood at revision 0018, for plain SQL. Never changed once 0018 has been released."""

from pathlib import Path
from runpy import run_path
from typing import Any

NIGHT = "2026-06-09T19:05:00.000000Z"
ROWS: dict[str, list[dict[str, Any]]] = run_path(str(Path(__file__).with_name("data_0017.py")))["ROWS"]
ROWS["issue"] = [
    {
        "id": 1,
        "uuid": "0199d1f0-6c1e-7a51-9f0a-000000000018",
        "customer_id": 1,
        "year": 2025,
        "issued_at": NIGHT,
        "issued_by": "Rhea",
        "as_of": NIGHT,
        "form": "pdf",
        "digest": "00ab",
        "program_version": "0.1.0",
        "sha256": "0" * 64,
        "size": 5,
        "body": "JVBERi0=",
    },
]
