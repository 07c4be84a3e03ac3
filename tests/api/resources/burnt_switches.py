"""A story that the search calls a strong root cause that can burn: five burnt switches behind a blocked condenser."""

from collections.abc import Sequence
from typing import Any

BURNT = {"component": "switch-1", "reason": "failed", "condition": "burnt", "evidence": "seen"}
BLOCKED = {"task": "condenser_clean", "result": "done", "as_found": "blocked"}
DAYS = ("2026-01-12", "2026-02-16", "2026-03-23", "2026-04-27", "2026-06-01")


def burn_switches(shop: Any, days: Sequence[str] = DAYS, *, blocked: bool = True) -> None:
    """Replace a burnt switch every five weeks; on the last day the condenser is found blocked, or nothing is recorded.

    The failures of these days alone are no more than probable, and of a cause that nobody knows: only what was found at
    the condenser names one that burns switches.
    """
    for day in days:
        found = [BLOCKED] if blocked and day == days[-1] else []
        shop.visit(day, kind="service_call", replacements=[BURNT], tasks=found, outcome="running")
