"""Rows in every table as they stood at revision 0004, for plain SQL. Never changed once 0004 has been released."""

from hashlib import sha256
from pathlib import Path
from runpy import run_path
from typing import Any

ROWS: dict[str, list[dict[str, Any]]] = run_path(str(Path(__file__).with_name("data_0003.py")))["ROWS"]
for token in ROWS["token"]:
    token |= {"technician_id": 1, "expires_at": "2027-06-09T19:05:00.000000Z", "last_used_at": token["created_at"]}
for entry in ROWS["audit"]:
    entry |= {"token_id": "ab12", "technician": "rhea"}
# The entry, each field with its length before it, behind the hash that stands before the first entry.
ENTRY = (
    b"1:1,27:2026-06-09T19:05:00.000000Z,4:Rhea,10:technician,4:ab12,4:rhea,1:r,7:created,5:visit,"
    b"36:0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b77,-,2:{},"
)
ROWS["audit_chain"] = [{"number": 1, "audit_id": 1, "hash": sha256(b"0" * 64 + ENTRY).hexdigest()}]
