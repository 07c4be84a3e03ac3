"""Rows in every table as they stood at revision 0008, for plain SQL. Never changed once 0008 has been released."""

from pathlib import Path
from runpy import run_path
from typing import Any

ROWS: dict[str, list[dict[str, Any]]] = run_path(str(Path(__file__).with_name("data_0007.py")))["ROWS"]
for visit in ROWS["visit"]:
    visit |= {
        "crew": '["rhea"]',
        "internal_note": "pays late",
        "parts_used": '[{"description": "glycol", "quantity": [0.004, "volume", "4 L"], "source": "the van"}]',
        "signed_by": "Ida",
    }
for part in ROWS["replacement"]:
    part |= {"item": '{"serial": "F-2", "warranty_until": "2027-06-09"}', "removed_item": '{"serial": "F-1"}'}
