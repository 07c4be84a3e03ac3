"""Where a unit stood: dated locations, and the one in force at an instant.

A location begins with its day at its site, and is in force until the next one begins. What was recorded is only added
to: of two locations from one day the one recorded later counts, and one at the site of the location before it is none.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta

from service.domain.instants import local_day, start_of_day
from service.domain.record.fleet import Site
from service.domain.record.pauses import Pause, Span, spans_of
from service.domain.record.visits import Visit

ALWAYS = datetime.min.replace(tzinfo=UTC)
INSTANT = timedelta(microseconds=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Location:
    """A site at which a unit stands from a day on; the first location has no day, author or instant of recording.

    `closures` are the site's.
    """

    site: Site
    starts_on: date | None = None
    reason: str | None = None
    at: datetime | None = None
    by: str | None = None
    customer_care_from: date | None = None
    customer_ended_on: date | None = None
    closures: tuple[Pause, ...] = ()

    @property
    def begins(self) -> datetime:
        """The instant from which it is in force."""
        return ALWAYS if self.starts_on is None else start_of_day(self.starts_on, self.site.time_zone)


@dataclass(frozen=True, slots=True)
class Stay:
    """Locations that follow each other, at one customer's sites or at one site, up to the instant `ends`."""

    locations: tuple[Location, ...]
    ends: datetime | None = None

    @property
    def customer(self) -> str:
        """Whose sites they are."""
        return self.locations[0].site.customer

    @property
    def first_day(self) -> date | None:
        """The first day there; None for that of a unit's first location."""
        return self.locations[0].starts_on

    @property
    def last_day(self) -> date | None:
        """The last day there by the site's clock; None for a stay that goes on."""
        return None if self.ends is None else local_day(self.ends - INSTANT, self.locations[-1].site.time_zone)

    def holds(self, instant: datetime) -> bool:
        """Whether the unit stands there at an instant."""
        return self.locations[0].begins <= instant and (self.ends is None or instant < self.ends)

    def closed(self) -> Iterator[Span]:
        """The closures of its sites in its days."""
        for each in self.locations:
            for span in spans_of((), each.closures, each.site.time_zone):
                first = max(span.first, each.starts_on or date.min)
                last = min(span.last or date.max, self.last_day or date.max)
                if first <= last:
                    yield span._replace(first=first, last=None if last == date.max else last)

    def site_in(self, year: int, as_of: datetime) -> Location | None:
        """The last of its locations that begins in a year and by an instant, or before; None for a later stay."""
        last = date(year, 12, 31)
        begun = (each for each in self.locations if each.begins <= as_of and (each.starts_on or date.min) <= last)
        return max(begun, key=lambda each: each.starts_on or date.min, default=None)


def in_force(recorded: Iterable[Location]) -> tuple[Location, ...]:
    """The locations that count, by day, from all that were recorded, in the order in which they were."""
    latest = {each.starts_on: each for each in recorded}
    found: list[Location] = []
    for each in sorted(latest.values(), key=lambda location: location.starts_on or date.min):
        if not found or each.site.code != found[-1].site.code:
            found.append(each)
    return tuple(found)


def location_at(locations: Sequence[Location], instant: datetime) -> Location:
    """The one in force at an instant; before the first begins, the first."""
    return next((each for each in reversed(locations) if each.begins <= instant), locations[0])


def stays(locations: Sequence[Location]) -> Iterator[Stay]:
    """The time at each customer, one after the other."""
    run: list[Location] = []
    for each in locations:
        if run and each.site.customer != run[-1].site.customer:
            yield Stay(tuple(run), each.begins)
            run = []
        run.append(each)
    yield Stay(tuple(run))


def stays_by_site(locations: Sequence[Location]) -> Iterator[Stay]:
    """The time at each site, one after the other."""
    ends = (*(each.begins for each in locations[1:]), None)
    return (Stay((each,), end) for each, end in zip(locations, ends, strict=True))


def located(visit: Visit, locations: Sequence[Location]) -> Visit:
    """The visit with the site, customer and time zone in force at its arrival."""
    site = location_at(locations, visit.arrived_at).site
    return replace(visit, site=site.code, customer=site.customer, time_zone=site.time_zone)
