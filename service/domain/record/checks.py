"""Checks of a visit: each fault has its field, the value given and the limit."""

from collections.abc import Iterator, Mapping
from datetime import date, datetime, timedelta
from typing import NamedTuple

from service.domain.errors import Fault
from service.domain.instants import local_day, to_text
from service.domain.quantities import parse_quantity
from service.domain.record.imprecise_days import UNKNOWN, days_of, is_exact
from service.domain.record.readings import BY_QUANTITY, SAMPLE_LIMIT, implausible
from service.domain.record.visits import Reading, Replacement, Visit

AHEAD = timedelta(hours=1)  # clocks of phones differ; more is a wrong date
LONGEST = timedelta(days=7)
AROUND = timedelta(days=2)  # a reading reported by phone may be from the evening before
LAST_ZONE = "Etc/GMT+12"  # where a day begins last
EASTERNMOST = "Pacific/Kiritimati"  # UTC+14: no place has a later day
FIRST_YEAR = 1970
NAMED = 20  # of the unit's components, in a fault


class InService(NamedTuple):
    """The day of a unit's installation and that of its retirement, as far as they are known."""

    since: date | None = None
    until: date | None = None


UNKNOWN_SERVICE = InService()


def faults_of(
    visit: Visit,
    *,
    kinds: Mapping[str, str] | None,
    now: datetime,
    in_service: InService,
    time_zone: str,
    recorded: bool = False,
) -> list[Fault]:
    """Every fault of a visit. `now` is the server's instant; `kinds` are the kinds of the unit's components by code.

    They are None where the unit is not known.

    What was `recorded` before may be of a unit that was moved since, to a site where the day of the visit is another.
    """
    last_day = local_day(min(now, visit.left_at or visit.arrived_at + AROUND), time_zone)
    return [
        *future(_instants(visit), now),
        *_readings_ahead(visit, now),
        *times(visit.arrived_at, visit.left_at),
        *_attendance(visit, LAST_ZONE if recorded else time_zone),
        *_days(visit, in_service, time_zone),
        *_readings(visit),
        *(() if kinds is None else _components(visit, kinds)),
        *(fault for n, part in enumerate(visit.replacements) for fault in _replacement(n, part, last_day)),
        *_tasks(visit),
        *_crew(visit),
        *_parts_used(visit),
    ]


def _instants(visit: Visit) -> dict[str, datetime | None]:
    return {
        "arrived_at": visit.arrived_at,
        "left_at": visit.left_at,
        "complaint.reported_at": visit.complaint.reported_at if visit.complaint else None,
    }


def _readings_ahead(visit: Visit, now: datetime) -> Iterator[Fault]:
    latest = now + AHEAD
    for n, reading in enumerate(visit.readings):
        if reading.at is not None and reading.at > latest:
            yield from future({f"readings.{n}.at": reading.at}, now)


def future(instants: Mapping[str, datetime | None], now: datetime) -> Iterator[Fault]:
    """The instants by field that lie in the future."""
    for field, instant in instants.items():
        if instant is not None and instant > now + AHEAD:
            yield Fault(field, to_text(instant), f"is in the future; it is now {to_text(now)}")


def times(arrived: datetime, left: datetime | None) -> Iterator[Fault]:
    """What cannot be true of an arrival and a leaving."""
    if arrived.year < FIRST_YEAR:
        yield Fault("arrived_at", to_text(arrived), f"is before the year {FIRST_YEAR}")
    if left is None:
        return
    if left < arrived:
        yield Fault("left_at", to_text(left), f"is before arrived_at, {to_text(arrived)}")
    elif left - arrived > LONGEST:
        yield Fault("left_at", to_text(left), f"is more than {LONGEST.days} days after arrived_at, {to_text(arrived)}")


def _attendance(visit: Visit, time_zone: str) -> Iterator[Fault]:
    if visit.by == "others" and visit.technician is not None:
        yield Fault("technician", visit.technician, "must be left out for a visit by others")
    if visit.by == "others" and visit.evidence != "reported":
        yield Fault("evidence", visit.evidence, 'must be "reported" for a visit by others')
    if visit.by == "us" and visit.firm is not None:
        yield Fault("firm", visit.firm, 'is allowed only for a visit by "others"')
    promised = visit.parts_promised_on
    if promised is not None and promised < local_day(visit.arrived_at, time_zone):
        yield Fault("parts_promised_on", promised.isoformat(), "is before the visit")
    reported = visit.complaint.reported_at if visit.complaint else None
    if reported is not None and reported > (visit.left_at or visit.arrived_at) + AROUND:
        yield Fault("complaint.reported_at", to_text(reported), f"is after the visit, {to_text(visit.arrived_at)}")


def _days(visit: Visit, in_service: InService, time_zone: str) -> Iterator[Fault]:
    """Whether the unit stood there: not before its installation, nor after its retirement."""
    day = local_day(visit.arrived_at, time_zone)
    if in_service.since is not None and day < in_service.since:
        yield Fault("unit", visit.unit, f"was installed on {in_service.since}, after the visit on {day}")
    if in_service.until is not None and day > in_service.until:
        yield Fault("unit", visit.unit, f"was retired on {in_service.until}, before the visit on {day}")


def _readings(visit: Visit) -> Iterator[Fault]:
    """What cannot be true of the readings; nearly all are sound, and a visit has dozens."""
    first, last = visit.arrived_at - AROUND, (visit.left_at or visit.arrived_at) + AROUND
    for n, reading in enumerate(visit.readings):
        yield from _reading(f"readings.{n}", reading)
        if reading.at is not None and not first <= reading.at <= last:
            message = f"is more than {AROUND.days} days from the visit"
            yield Fault(f"readings.{n}.at", to_text(reading.at), message)


def _reading(field: str, reading: Reading) -> Iterator[Fault]:
    known = BY_QUANTITY[reading.quantity]
    if reading.value.dimension not in known.dimensions:
        message = f"{reading.quantity} must be given as {' or '.join(known.dimensions)}".replace("_", " ")
        yield Fault(f"{field}.value", reading.value.entered, message)
    elif beyond := implausible(reading.quantity, reading.value):
        yield Fault(f"{field}.value", reading.value.entered, beyond)
    if known.of_component and reading.component is None:
        yield Fault(f"{field}.component", None, f"{reading.quantity} needs the component where it was read")
    if known.at_tap and reading.tap is None:
        yield Fault(f"{field}.tap", None, f"{reading.quantity} needs the tap where it was read")
    if reading.sample_temperature is not None:
        yield from _sample(field, reading)


def _sample(field: str, reading: Reading) -> Iterator[Fault]:
    if not BY_QUANTITY[reading.quantity].of_sample:
        yield Fault(f"{field}.sample_temperature", None, f"{reading.quantity} has no sample temperature")
    low, high = (parse_quantity(limit, "temperature") for limit in SAMPLE_LIMIT)
    sample = reading.sample_temperature
    if sample is not None and not low.value <= sample.value <= high.value:
        message = f"a sample temperature must be from {low.entered} to {high.entered}"
        yield Fault(f"{field}.sample_temperature", sample.entered, message)


def _components(visit: Visit, kinds: Mapping[str, str]) -> Iterator[Fault]:
    named: dict[str, list[str | None]] = {
        "readings": [part.component for part in visit.readings],
        "replacements": [part.component for part in visit.replacements],
        "observations": [part.component for part in visit.observations],
    }
    known = ", ".join(sorted(kinds)[:NAMED]) or "none recorded"
    known += f" and {len(kinds) - NAMED} more" if len(kinds) > NAMED else ""
    message = f"is not a component of {visit.unit} (it has: {known}); give its kind too to add it"
    for name, components in named.items():
        for n, component in enumerate(components):
            if component is not None and component not in kinds:
                yield Fault(f"{name}.{n}.component", component, message)


def _replacement(n: int, part: Replacement, last_day: date) -> Iterator[Fault]:
    field = f"replacements.{n}"
    reported = part.evidence == "reported"
    if part.on is None:
        if reported or part.by == "others":
            whose = "a reported replacement" if reported else "a replacement by others"
            yield Fault(f"{field}.on", None, f'is required for {whose}; write "{UNKNOWN}" where nobody knows it')
        return
    first, last = days_of(part.on)
    if not is_exact(part.on) and not reported and part.by == "us":
        yield Fault(f"{field}.on", part.on, "must be a day for a replacement that we made and saw")
    if first is not None and last is not None and first > last:
        yield Fault(f"{field}.on", part.on, "ends before it begins")
    if first is not None and first > last_day:
        yield Fault(f"{field}.on", part.on, f"is after the visit or in the future; latest: {last_day}")


def _tasks(visit: Visit) -> Iterator[Fault]:
    seen: set[str] = set()
    for n, task in enumerate(visit.tasks):
        if task.result == "not_done" and not task.reason:
            yield Fault(f"tasks.{n}.reason", None, "is required for a task that was not done")
        if task.task in seen:
            yield Fault(f"tasks.{n}.task", task.task, "is listed twice in this visit")
        seen.add(task.task)
    for n, observed in enumerate(visit.observations):
        if observed.code == "other" and not observed.note:
            yield Fault(f"observations.{n}.note", None, 'is required for the observation "other"')


def _crew(visit: Visit) -> Iterator[Fault]:
    if visit.by == "others" and visit.crew:
        yield Fault("crew", list(visit.crew), "must be left out for a visit by others")
    if visit.crew and visit.technician is None and visit.by == "us":
        yield Fault("technician", None, "is required where there is a crew")
    for n, code in enumerate(visit.crew):
        if code == visit.technician or code in visit.crew[:n]:
            yield Fault(f"crew.{n}", code, "is listed twice in this visit")


def _parts_used(visit: Visit) -> Iterator[Fault]:
    for n, part in enumerate(visit.parts_used):
        if part.count is None and part.quantity is None:
            yield Fault(f"parts_used.{n}", None, "needs a count, or a quantity with its unit")
