"""Changes of records whose history past days are answered from.

They are settings, calls, decisions on root causes, ends, assignments, and those facts of sites and units that change
with time.
"""

from dataclasses import dataclass
from datetime import datetime

KEPT = ("task", "unit_task", "call", "root_cause")
OF_A_PART = ("end", "assignment")  # kept by themselves: ends of units, sites, customers; what assignments were before
FACTS = ("site", "unit")


@dataclass(frozen=True, slots=True)
class Change:
    """One change of one record; `before` and `after` are JSON texts, None where there was nothing."""

    at: datetime
    by: str
    resource: str
    key: str
    before: str | None
    after: str
