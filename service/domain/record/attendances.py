"""An attendance: one arrival of ours at one site, with its crew, its times and whether we got to the units."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from service.domain.errors import Fault
from service.domain.instants import to_text
from service.domain.record.checks import future, times
from service.domain.record.visits import Visit

DONE = "done"
ACCESS = (DONE, "no_access", "cancelled_at_door")
MOST_VISITS = 50
OF_VISITS = ("arrived_at", "left_at", "technician", "crew")  # a visit has these of its attendance


@dataclass(frozen=True, slots=True, kw_only=True)
class Attendance:
    """An attendance. The first of the crew leads; `visits` are the ids of its visits that count, by unit.

    `time_zone` is the site's.
    """

    id: str
    site: str
    crew: tuple[str, ...]
    arrived_at: datetime
    left_at: datetime | None = None
    access: str = DONE
    note: str | None = None
    visits: tuple[str, ...] = ()
    posted_at: datetime
    posted_by: str
    time_zone: str
    version: int = 1

    @property
    def of_visits(self) -> dict[str, object]:
        """What each of its visits has of it."""
        lead, *others = self.crew
        return {
            "arrived_at": self.arrived_at,
            "left_at": self.left_at,
            "technician": lead,
            "crew": tuple(others),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class AttendanceFilter:
    """How to narrow the list of attendances; `since` is an instant as it is stored."""

    site: str | None = None
    access: str | None = None
    since: str | None = None


def faults_of(given: Attendance, now: datetime) -> Iterator[Fault]:
    """Everything in an attendance that cannot be true, its visits aside."""
    yield from future({"arrived_at": given.arrived_at, "left_at": given.left_at}, now)
    yield from times(given.arrived_at, given.left_at)
    if not given.crew:
        yield Fault("crew", [], "is required: at least one technician")
    for n, code in enumerate(given.crew):
        if code in given.crew[:n]:
            yield Fault(f"crew.{n}", code, "is listed twice")
    if given.access != DONE and given.visits:
        message = f"with it no visit counts as performed; leave out or void {', '.join(given.visits)}"
        yield Fault("access", given.access, message)


def site_faults(visit: Visit, site: str) -> Iterator[Fault]:
    """Whether the unit stood, at the arrival, at the site of the attendance."""
    if visit.site != site:
        yield Fault("unit", visit.unit, f"stands at the site {visit.site!r}, not at {site!r}")


def unfit(visit: Visit, given: Attendance) -> Iterator[Fault]:
    """Why a visit cannot count in an attendance."""
    if given.access != DONE:
        yield Fault("attendance", given.id, f"has the access {given.access}, with which no visit counts")
    for name, value in given.of_visits.items():
        if getattr(visit, name) != value:
            yield Fault(name, _shown(getattr(visit, name)), f"differs from the attendance, {_shown(value)}")


def _shown(value: object) -> object:
    return to_text(value) if isinstance(value, datetime) else list(value) if isinstance(value, tuple) else value
