"""Who does which work on which day, and what was postponed."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from service.domain.record.fleet import Leave


@dataclass(frozen=True, slots=True, kw_only=True)
class Assignment:
    """The work at a site, at one unit or of one task there, given to a technician on a day, or postponed with a reason.

    `note` is the owner's reason for going beyond a task's outer limit.
    """

    id: int = 0
    site: str
    unit: str | None = None
    task: str | None = None
    technician: str | None = None
    day: date | None = None
    postponed_to: date | None = None
    why: str | None = None
    note: str | None = None
    posted_at: datetime
    posted_by: str
    version: int = 1


def away(day: date, left_on: date | None, leave: Iterable[Leave]) -> str | None:
    """Why a technician does not work on a day, `left_on` being the first one without work; None for one who does."""
    if left_on is not None and day >= left_on:
        return f"left on {left_on.isoformat()}"
    for each in leave:
        if each.from_ <= day <= each.until:
            return f"is on leave from {each.from_.isoformat()} to {each.until.isoformat()}"
    return None
