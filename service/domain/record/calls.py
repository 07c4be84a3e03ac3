"""A customer's call: received when, by whom, for which site and unit, and how it ended."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from service.domain.errors import Fault
from service.domain.instants import local_day, to_text
from service.domain.record.checks import AHEAD

# How soon somebody must be there, most urgent first; common practice, no source.
URGENCIES = ("now", "today", "this_week", "can_wait")
# Days from the one on which it was received to the last one for it; common practice, no source.
WITHIN = {"now": 0, "today": 0, "this_week": 7, "can_wait": 30}
STATES = ("open", "assigned", "answered", "cancelled")
WAITING = ("open", "assigned")
VISIT, PHONE_ADVICE = "visit", "phone_advice"
CLOSED_BY = ("how", "at", "why", "advice")


@dataclass(frozen=True, slots=True, kw_only=True)
class CalledBy:
    """Who called."""

    name: str | None = None
    phone: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Promised:
    """The time in which the customer was promised somebody."""

    from_: datetime
    until: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Call:
    """A call in its present state. `visit` is the visit that answered it.

    `time_zone` is the site's; of a call without a site that of the company, UTC where it has none.
    `skills` are those that whoever goes there must have.
    `how`, `at`, `why` and `advice` say how it was closed without a visit; a call answered by a visit has `how` visit.
    """

    id: str
    received_at: datetime
    symptom: str
    by: CalledBy | None = None
    site: str | None = None
    unit: str | None = None
    words: str | None = None
    urgency: str = "today"
    skills: tuple[str, ...] = ()
    promised: Promised | None = None
    technician: str | None = None
    day: date | None = None
    state: str = "open"
    how: str | None = None
    at: datetime | None = None
    why: str | None = None
    advice: str | None = None
    visit: str | None = None
    posted_at: datetime
    posted_by: str
    time_zone: str = "UTC"
    version: int = 1

    @property
    def waiting(self) -> bool:
        """Whether it is still to be answered."""
        return self.state in WAITING

    @property
    def received_on(self) -> date:
        """The day on which it was received."""
        return local_day(self.received_at, self.time_zone)

    @property
    def due_on(self) -> date:
        """The last day for it: that of the end of the promised window, else by its urgency."""
        if self.promised is not None:
            return local_day(self.promised.until, self.time_zone)
        return self.received_on + timedelta(days=WITHIN[self.urgency])


@dataclass(frozen=True, slots=True, kw_only=True)
class CallFilter:
    """How to narrow the list of calls; `since` is an instant as it is stored."""

    state: str | None = None
    site: str | None = None
    unit: str | None = None
    since: str | None = None


def settled(call: Call, at: datetime) -> Call:
    """The call with the fields of its state alone: a reopened call loses its end, an ended one gets its instant."""
    if call.waiting:
        state = "assigned" if call.technician else "open"
        return replace(call, state=state, how=None, at=None, why=None, advice=None, visit=None)
    if call.state == "cancelled":
        return replace(call, at=call.at or at, how=None, advice=None, visit=None)
    return replace(call, at=call.at or at, why=None)


def answered_by(call: Call, visit: str | None, at: datetime | None) -> Call:
    """The call as a visit answers it at an instant; without one it waits again."""
    former = replace(call, version=call.version + 1, why=None, advice=None)
    if visit is None:
        return replace(former, state="assigned" if call.technician else "open", how=None, at=None, visit=None)
    return replace(former, state="answered", how=VISIT, at=at, visit=visit)


def faults_of(call: Call, now: datetime) -> Iterator[Fault]:
    """Everything in a call that cannot be true."""
    yield from _times(call, now)
    if call.day is not None and call.technician is None:
        yield Fault("day", call.day.isoformat(), "is the day of the technician: name the technician too")
    if call.state == "answered" and call.how is None:
        yield Fault("how", None, 'is required: "phone_advice"; a visit answers a call by naming it in `calls`')
    if call.state == "answered" and call.how == VISIT and call.visit is None:
        yield Fault("how", VISIT, "a visit answers a call by naming it in `calls`")
    if call.state == "cancelled" and not call.why:
        yield Fault("why", None, "is required for a cancelled call")


def _times(call: Call, now: datetime) -> Iterator[Fault]:
    for name in ("received_at", "at"):
        instant = getattr(call, name)
        if instant is not None and instant > now + AHEAD:
            yield Fault(name, to_text(instant), f"is in the future; it is now {to_text(now)}")
    if call.at is not None and call.at < call.received_at and call.visit is None:
        yield Fault("at", to_text(call.at), f"is before received_at, {to_text(call.received_at)}")
    if call.promised is not None and call.promised.until < call.promised.from_:
        yield Fault("promised.until", to_text(call.promised.until), "is before promised.from")
