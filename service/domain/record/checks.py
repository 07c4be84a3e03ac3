"""What cannot be true of a visit, each told with its field, the value given and the limit."""

from collections.abc import Iterator, Mapping
from datetime import date, datetime, timedelta

from service.domain.errors import Fault
from service.domain.instants import local_day, to_text
from service.domain.quantities import parse_quantity
from service.domain.record.readings import BY_WORD, SAMPLE_LIMIT, implausible
from service.domain.record.visits import Reading, Replacement, Visit

AHEAD = timedelta(hours=1)  # clocks of phones differ; more is a wrong date
LONGEST = timedelta(days=7)
AROUND = timedelta(days=2)  # a reading told by phone may be from the evening before
FIRST_YEAR = 1970


def faults_of(
    visit: Visit, *, kinds: Mapping[str, str], now: datetime, retired_on: date | None, time_zone: str
) -> list[Fault]:
    """Every fault of a visit. `kinds` are the kinds of the unit's components by code; `now` is the server's instant."""
    last_day = local_day(min(now, visit.left_at or visit.arrived_at + AROUND), time_zone)
    return [
        *_future(visit, now),
        *_times(visit),
        *_attendance(visit, retired_on, time_zone),
        *(fault for n, reading in enumerate(visit.readings) for fault in _reading(f"readings.{n}", reading, visit)),
        *_components(visit, kinds),
        *(fault for n, part in enumerate(visit.replacements) for fault in _replacement(n, part, last_day)),
        *_tasks(visit),
    ]


def _future(visit: Visit, now: datetime) -> Iterator[Fault]:
    told = {
        "arrived_at": visit.arrived_at,
        "left_at": visit.left_at,
        "complaint.reported_at": visit.complaint.reported_at if visit.complaint else None,
        **{f"readings.{n}.at": reading.at for n, reading in enumerate(visit.readings)},
    }
    for field, instant in told.items():
        if instant is not None and instant > now + AHEAD:
            yield Fault(field, to_text(instant), f"lies in the future; it is now {to_text(now)}")


def _times(visit: Visit) -> Iterator[Fault]:
    arrived, left = visit.arrived_at, visit.left_at
    if arrived.year < FIRST_YEAR:
        yield Fault("arrived_at", to_text(arrived), f"lies before the year {FIRST_YEAR}")
    if left is None:
        return
    if left < arrived:
        yield Fault("left_at", to_text(left), f"lies before arrived_at, {to_text(arrived)}")
    elif left - arrived > LONGEST:
        yield Fault(
            "left_at", to_text(left), f"lies more than {LONGEST.days} days after arrived_at, {to_text(arrived)}"
        )


def _attendance(visit: Visit, retired_on: date | None, time_zone: str) -> Iterator[Fault]:
    if visit.by == "others" and visit.technician is not None:
        yield Fault("technician", visit.technician, "must be left out when the visit was by others")
    if visit.by == "others" and visit.evidence != "reported":
        yield Fault("evidence", visit.evidence, 'a visit by others is known to us only as "reported"')
    if visit.by == "us" and visit.firm is not None:
        yield Fault("firm", visit.firm, 'is told only when the visit was by "others"')
    told = visit.complaint.reported_at if visit.complaint else None
    if told is not None and told > (visit.left_at or visit.arrived_at) + AROUND:
        yield Fault("complaint.reported_at", to_text(told), f"lies after the visit, {to_text(visit.arrived_at)}")
    if retired_on is not None and local_day(visit.arrived_at, time_zone) > retired_on:
        yield Fault("unit", visit.unit, f"was retired on {retired_on}, before this visit")


def _reading(field: str, reading: Reading, visit: Visit) -> Iterator[Fault]:
    known = BY_WORD[reading.quantity]
    if reading.value.dimension not in known.dimensions:
        message = f"{reading.quantity} is given as {' or '.join(known.dimensions)}".replace("_", " ")
        yield Fault(f"{field}.value", reading.value.entered, message)
    elif beyond := implausible(reading.quantity, reading.value):
        yield Fault(f"{field}.value", reading.value.entered, beyond)
    if known.of_component and reading.component is None:
        yield Fault(f"{field}.component", None, f"{reading.quantity} needs the component it was read at")
    if known.at_tap and reading.tap is None:
        yield Fault(f"{field}.tap", None, f"{reading.quantity} needs the tap it was read at")
    if reading.sample_temperature is not None:
        yield from _sample(field, reading)
    if reading.at is not None:
        first, last = visit.arrived_at - AROUND, (visit.left_at or visit.arrived_at) + AROUND
        if not first <= reading.at <= last:
            yield Fault(f"{field}.at", to_text(reading.at), f"lies more than {AROUND.days} days off the visit")


def _sample(field: str, reading: Reading) -> Iterator[Fault]:
    if not BY_WORD[reading.quantity].of_sample:
        yield Fault(f"{field}.sample_temperature", None, f"{reading.quantity} has no sample")
    low, high = (parse_quantity(limit, "temperature") for limit in SAMPLE_LIMIT)
    sample = reading.sample_temperature
    if sample is not None and not low.value <= sample.value <= high.value:
        message = f"a sample is believable from {low.entered} to {high.entered}"
        yield Fault(f"{field}.sample_temperature", sample.entered, message)


def _components(visit: Visit, kinds: Mapping[str, str]) -> Iterator[Fault]:
    named: dict[str, list[str | None]] = {
        "readings": [part.component for part in visit.readings],
        "replacements": [part.component for part in visit.replacements],
        "observations": [part.component for part in visit.observations],
    }
    for name, components in named.items():
        for n, component in enumerate(components):
            if component is not None and component not in kinds:
                known = ", ".join(sorted(kinds)) or "none recorded"
                message = f"is no component of {visit.unit} (it has: {known}); name its kind beside it to add it"
                yield Fault(f"{name}.{n}.component", component, message)


def _replacement(n: int, part: Replacement, last_day: date) -> Iterator[Fault]:
    field = f"replacements.{n}"
    if part.evidence == "reported" and part.on is None:
        yield Fault(f"{field}.on", None, "a reported replacement says on which day")
    if part.by == "others" and part.evidence == "seen" and part.on is None:
        yield Fault(f"{field}.on", None, "a replacement by others says on which day")
    if part.on is not None and part.on > last_day:
        yield Fault(f"{field}.on", part.on.isoformat(), f"lies after the visit or in the future; at most {last_day}")


def _tasks(visit: Visit) -> Iterator[Fault]:
    seen: set[str] = set()
    for n, told in enumerate(visit.tasks):
        if told.result == "not_done" and not told.reason:
            yield Fault(f"tasks.{n}.reason", None, "a task not done says why")
        if told.task in seen:
            yield Fault(f"tasks.{n}.task", told.task, "is told twice in one visit")
        seen.add(told.task)
    for n, observed in enumerate(visit.observations):
        if observed.code == "other" and not observed.note:
            yield Fault(f"observations.{n}.note", None, 'the observation "other" says in a note what was seen')
