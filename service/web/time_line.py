"""What a root cause rests on and what became of it, in order of time."""

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any, NamedTuple


class Moment(NamedTuple):
    """Something on a day; `after` is the number of days since the failure before, None for what is no failure."""

    day: str
    what: str
    visit: str = ""
    after: int | None = None
    note: str = ""


def time_line(cause: Mapping[str, Any]) -> list[Moment]:
    """The failures, when they were found to belong together, and the decision, the earliest first."""
    return sorted(_moments(cause), key=lambda each: each.day)


def _moments(cause: Mapping[str, Any]) -> Iterator[Moment]:
    former: date | None = None
    for event in sorted(cause["events"], key=lambda each: each["day"]):
        day = date.fromisoformat(event["day"])
        words = f"{event['component']} {event['condition']}".replace("_", " ")
        how = " (reported to us)" if event["evidence"] == "reported" else ""
        before = "; ".join(f"{name.replace('_', ' ')} {value}" for name, value in event["readings_before"].items())
        after = None if former is None else (day - former).days
        yield Moment(event["day"], f"{words}{how}", event["visit"], after, before)
        former = day
    yield Moment(cause["first_seen"][:10], "first found by the search")
    if cause["decided_at"]:
        yield Moment(cause["decided_at"][:10], f"{cause['state']} by {cause['decided_by']}", note=cause["note"] or "")
    if cause["resolved_on"]:
        yield Moment(cause["resolved_on"], "resolved")
    if cause["absent_since"]:
        yield Moment(cause["absent_since"][:10], "no longer found in the records")
