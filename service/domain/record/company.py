"""Our own company: what is printed on documents, and how much work a day it can do."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from service.domain.record.fleet import Technician


@dataclass(frozen=True, slots=True, kw_only=True)
class Letterhead:
    """What lists and documents show of the company."""

    name: str | None = None
    address: str | None = None
    phone: str | None = None
    email: str | None = None
    licence: str | None = None

    @property
    def lines(self) -> tuple[str, ...]:
        """The lines to be printed, the name first; none where nothing is known."""
        contact = ", ".join(filter(None, (self.phone, self.email)))
        return tuple(" ".join(text.split()) for text in (self.name, self.address, contact, self.licence) if text)


NO_LETTERHEAD = Letterhead()


@dataclass(frozen=True, slots=True, kw_only=True)
class Company(Letterhead):
    """The company. `hours_per_day`: the work of a technician on a day, without travel; version 0: nothing recorded.

    The technicians' days begin and end at the coordinates and begin at `day_starts_at`. `time_zone` is the company's
    own; without one the sites' count. A straight line times `road_factor` is the road, driven at `travel_speed_kmh`
    [km/h]; `minutes_at_door` are added to each way to a site. Without them common values are taken.
    """

    hours_per_day: float | None = None
    latitude: float | None = None
    longitude: float | None = None
    day_starts_at: str | None = None
    time_zone: str | None = None
    road_factor: float | None = None
    travel_speed_kmh: float | None = None
    minutes_at_door: float | None = None
    version: int = 0

    @property
    def letterhead(self) -> Letterhead:
        """What is printed."""
        return Letterhead(
            name=self.name, address=self.address, phone=self.phone, email=self.email, licence=self.licence
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Capacity:
    """The technicians whose hours are known, and the hours of work that they do on a day, without travel."""

    technicians: int
    hours_per_day: float


def capacity(company: Company, technicians: Iterable[Technician], day: date) -> Capacity:
    """The capacity on a day: each technician's own hours, else the company's; leave is not taken off.

    >>> from service.domain.record.fleet import Technician
    >>> two = (Technician(code="rhea", name="Rhea", hours_per_day=6.0), Technician(code="tobin", name="Tobin"))
    >>> capacity(Company(hours_per_day=8.0), two, date(2026, 6, 15))
    Capacity(technicians=2, hours_per_day=14.0)
    """
    working = [each for each in technicians if each.is_with_us(day)]
    own = (company.hours_per_day if each.hours_per_day is None else each.hours_per_day for each in working)
    hours = [each for each in own if each is not None]
    return Capacity(technicians=len(hours), hours_per_day=sum(hours, 0.0))
