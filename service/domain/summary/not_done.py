"""What kept a cleaning from being done before a failure."""

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True, kw_only=True)
class NotDone:
    """At how many visits before the last failure a cleaning was not done, when last, and the reason recorded then."""

    visits: int
    last: date
    why: str
