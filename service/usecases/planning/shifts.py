"""Who works on a day, from when and where on: leave, hours, where the day begins, and what was done before."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Protocol

from service.domain.driving.day import Shift
from service.domain.driving.hours import clock_of
from service.domain.driving.travel import Point
from service.domain.errors import Fault, Invalid
from service.domain.instants import end_of_day, local_day, start_of_day, to_text, zone
from service.domain.record.assignments import away
from service.domain.record.attendances import Attendance, AttendanceFilter
from service.domain.record.fleet import Technician
from service.domain.record.visits import VisitFilter
from service.storage.store import Store
from service.usecases.record.company import zone_of

DAY_STARTS_AT = "08:00"
HOURS = 8.0
WORK_SHARE = 0.8  # of a day that is work and not travel, where only the hours of work are known; common practice
MOST = 100  # visits of a technician on one day; attendances that are read at a time


class Located(Protocol):
    """What has coordinates."""

    @property
    def latitude(self) -> float | None:
        """North of the equator [degrees]."""

    @property
    def longitude(self) -> float | None:
        """East of Greenwich [degrees]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Drive:
    """How a day is to be laid out: when it begins (a time of day, or an instant) and how many hours it has."""

    start: str | datetime | None = None
    hours: float | None = None


@dataclass(frozen=True, slots=True)
class Shifted:
    """A technician's shift and zone, the sites visited on the day so far, and what was assumed of it."""

    shift: Shift
    zone: str
    done: tuple[str, ...]
    notes: tuple[str, ...]


def working(store: Store, day: date, code: str | None) -> tuple[dict[str, Technician], list[str]]:
    """Who works on the day, of all or of the one who is asked for; and who is on leave."""
    everyone = sorted(store.technicians.by_id().values(), key=lambda each: each.code)
    out = {each.code: away(day, each.left_on, each.leave) for each in everyone if code in (None, each.code)}
    found = {each.code: each for each in everyone if each.code in out and not out[each.code]}
    names = {each.code: each.name for each in everyone}
    return found, [f"{names[code]} {why}." for code, why in out.items() if why and not why.startswith("left")]


def shift_of(store: Store, now: datetime, given: Drive, day: date, who: Technician, zones: Sequence[str]) -> Shifted:
    """A technician's day: on the day itself it goes on from now and here.

    It is by the company's clock, unless all of the technician's work is elsewhere: then by the first of the zones.
    """
    company = store.company.get()
    ours = zone_of(store)
    zone_name = ours if ours in zones else next(iter(zones), ours)
    begin = _begin(given, day, who.day_starts_at or company.day_starts_at or DAY_STARTS_AT, zone_name)
    hours = company.hours_per_day if who.hours_per_day is None else who.hours_per_day
    length = given.hours or (HOURS if hours is None else hours / WORK_SHARE)
    home = _point(who) or _point(company)
    done: tuple[str, ...] = ()
    start, first, worked = begin, home, 0
    if day == local_day(now, zone_name):
        done, first, worked = _so_far(store, who.code, day, zone_name, home)
        start = max(begin, int(now.timestamp()))
    work = None if given.hours is not None or hours is None else max(int(60 * hours) - worked, 0)
    end = max(begin + int(3600 * length), start)
    shift = Shift(technician=who.code, start=start, end=end, first=first, last=home, work=work)
    return Shifted(shift, zone_name, done, tuple(_notes(given, hours, home, who.name)))


def day_of(store: Store, given: Drive | None, on: date | None) -> date | None:
    """The day that is laid out: `on`, else that of an instant at which it begins; Invalid where they differ."""
    start = given.start if given else None
    if not isinstance(start, datetime):
        return on
    zones = [zone_of(store), *store.sites.zones()]
    days = [start.date()] if start.tzinfo is None else [local_day(start, each) for each in zones]
    if on is not None and on not in days:
        raise Invalid([Fault("start", start.isoformat(), f"is not on {on.isoformat()}, the day asked for")])
    return on or days[0]


def _begin(given: Drive, day: date, usual: str, zone_name: str) -> int:
    if isinstance(given.start, datetime):
        return int((given.start if given.start.tzinfo else given.start.replace(tzinfo=zone(zone_name))).timestamp())
    return clock_of(day, given.start or usual, zone_name)


def _point(of: Located) -> Point | None:
    known = of.latitude is not None and of.longitude is not None
    return Point("", of.latitude, of.longitude) if known else None


def _so_far(
    store: Store, code: str, day: date, zone_name: str, home: Point | None
) -> tuple[tuple[str, ...], Point | None, int]:
    """The sites where a technician was on the day, where the last one is, and the minutes worked."""
    text = day.isoformat()
    visits = store.visits.page(VisitFilter(technician=code, since=text, until=text), after=None, limit=MOST)
    since, until = start_of_day(day, zone_name), end_of_day(day, zone_name)
    there = [each for each in _since(store, since) if code in each.crew and each.arrived_at <= until]
    been = {(each.arrived_at, each.left_at, each.site) for each in there}
    been |= {(each.arrived_at, each.left_at, each.site) for each in visits if each.void is None}
    order = sorted(been, key=lambda each: (each[0], each[2]))
    worked = sum((left - arrived).total_seconds() for arrived, left, _ in order if left is not None)
    sites = tuple(dict.fromkeys(site for *_, site in order))
    if not sites:
        return (), home, 0
    last = store.sites.get(order[-1][2])
    return sites, Point(last.code, last.latitude, last.longitude, last.address), int(worked // 60)


def _since(store: Store, since: datetime) -> Iterator[Attendance]:
    """All attendances from an instant on, the newest first."""
    after: tuple[str, str] | None = None
    while page := store.attendances.page(AttendanceFilter(since=to_text(since)), after=after, limit=MOST):
        yield from page
        after = to_text(page[-1].arrived_at), page[-1].id


def _notes(given: Drive, hours: float | None, home: Point | None, name: str) -> list[str]:
    notes = []
    if given.hours is None and hours is None:
        notes.append(f"No hours of work are recorded for {name}: a day of {HOURS:g} h with travel is assumed.")
    if home is None:
        notes.append(f"Where the day of {name} begins is not known: the way to the first stop and home is left out.")
    return notes


def by_technician(zones: Mapping[str, list[str]], code: str) -> list[str]:
    """The zones of a technician's own work, else those of all."""
    return zones.get(code) or [each for some in zones.values() for each in some]
