"""What one transaction can reach: a collection for each resource."""

from functools import cached_property
from typing import TYPE_CHECKING

from service.domain.errors import Unavailable
from service.domain.record.unit_log import UnitLog
from service.storage.answers import Answers
from service.storage.assignments import Assignments
from service.storage.attendances import Attendances
from service.storage.audit import Audit
from service.storage.calls import Calls
from service.storage.changes import Changes
from service.storage.company import TheCompany
from service.storage.due import DueItems
from service.storage.engine.database import Link
from service.storage.failure_statistics import FailureStatistics
from service.storage.failures import Failures
from service.storage.first_dates import FirstDates
from service.storage.fleet import Customers, Sites, Technicians
from service.storage.issues import Issues
from service.storage.jobs import JobsDone
from service.storage.learned import LearnedFigures
from service.storage.locations import Locations
from service.storage.log_cache import LogCache
from service.storage.moves import Moves
from service.storage.pauses import Pauses
from service.storage.photo_files import PhotoFiles
from service.storage.photos import Photos
from service.storage.root_causes import Baselines, RootCauses
from service.storage.sessions import Sessions
from service.storage.tags import Tags
from service.storage.tasks import TaskSettings
from service.storage.tokens import Tokens
from service.storage.travel_times import TravelTimes
from service.storage.unit_log import UnitLogs
from service.storage.units import Units
from service.storage.vans import Vans
from service.storage.versions import Versions
from service.storage.visits import Visits
from service.storage.year_cache import YearCache

if TYPE_CHECKING:
    from service.storage.unit_years import Made, UnitYears


class Store:
    """The database as one transaction sees it."""

    def __init__(
        self,
        link: Link,
        log_cache: LogCache | None = None,
        photo_files: PhotoFiles | None = None,
        year_cache: "YearCache[Made] | None" = None,
    ) -> None:
        self.link = link
        self._log_cache = log_cache or LogCache(most_parts=0)
        self._year_cache: YearCache[Made] = year_cache or YearCache(most=0)
        self._photo_files = photo_files

    @cached_property
    def company(self) -> TheCompany:
        """Our own company."""
        return TheCompany(self.link)

    @cached_property
    def customers(self) -> Customers:
        """Who pays."""
        return Customers(self.link)

    @cached_property
    def issues(self) -> Issues:
        """Documents that were handed out."""
        return Issues(self.link)

    @cached_property
    def changes(self) -> Changes:
        """What settings, calls and decisions were before."""
        return Changes(self.link)

    @cached_property
    def technicians(self) -> Technicians:
        """Who visits."""
        return Technicians(self.link)

    @cached_property
    def sites(self) -> Sites:
        """Where units are."""
        return Sites(self.link)

    @cached_property
    def units(self) -> Units:
        """The fleet."""
        return Units(self.link)

    @cached_property
    def visits(self) -> Visits:
        """What was done at the units."""
        return Visits(self.link)

    @cached_property
    def photos(self) -> Photos:
        """Photos of visits, without their bytes."""
        return Photos(self.link)

    @property
    def photo_files(self) -> PhotoFiles:
        """The bytes of the photos: files, which no transaction takes back."""
        if self._photo_files is None:
            raise Unavailable("no folder for photos is set")
        return self._photo_files

    @cached_property
    def assignments(self) -> Assignments:
        """Who does which work when."""
        return Assignments(self.link)

    @cached_property
    def attendances(self) -> Attendances:
        """Our arrivals at sites."""
        return Attendances(self.link)

    @cached_property
    def calls(self) -> Calls:
        """What customers called for."""
        return Calls(self.link)

    @cached_property
    def unit_logs(self) -> UnitLogs:
        """The history of each unit."""
        return UnitLogs(self.link, self._log_cache)

    @cached_property
    def unit_years(self) -> "UnitYears":
        """Years of units as letters show them."""
        from service.storage.unit_years import UnitYears  # it needs numpy and scipy: a third of a command's start

        return UnitYears(self.link, self._year_cache)

    def log_of(self, tag: str) -> UnitLog:
        """The history of the unit with a tag, or NotFound."""
        place = self.units.place(tag)
        return self.unit_logs.get(place.id, place.log_version)

    @cached_property
    def task_settings(self) -> TaskSettings:
        """What was set away from the catalogue's defaults."""
        return TaskSettings(self.link)

    @cached_property
    def learned(self) -> LearnedFigures:
        """What was learned from the fleet of how its units drift and foul."""
        return LearnedFigures(self.link)

    @cached_property
    def first_dates(self) -> FirstDates:
        """When tasks are to be done for the first time."""
        return FirstDates(self.link)

    @cached_property
    def vans(self) -> Vans:
        """What was taken into vans, put back and counted."""
        return Vans(self.link)

    @cached_property
    def travel_times(self) -> TravelTimes:
        """How long it takes from one site to another."""
        return TravelTimes(self.link)

    @cached_property
    def locations(self) -> Locations:
        """Where the units stood."""
        return Locations(self.link)

    @cached_property
    def tags(self) -> Tags:
        """What the units are named, and were."""
        return Tags(self.link)

    @cached_property
    def pauses(self) -> Pauses:
        """When units are out of service and sites closed."""
        return Pauses(self.link)

    @cached_property
    def due(self) -> DueItems:
        """What is due."""
        return DueItems(self.link)

    @cached_property
    def jobs_done(self) -> JobsDone:
        """The ledger of daily jobs."""
        return JobsDone(self.link)

    @cached_property
    def failures(self) -> Failures:
        """Which units have failures."""
        return Failures(self.link)

    @cached_property
    def root_causes(self) -> RootCauses:
        """What may lie behind repeated failures."""
        return RootCauses(self.link)

    @cached_property
    def baselines(self) -> Baselines:
        """What was learned from the fleet."""
        return Baselines(self.link)

    @cached_property
    def failure_statistics(self) -> FailureStatistics:
        """What units' failures say in figures."""
        return FailureStatistics(self.link)

    @cached_property
    def answers(self) -> Answers:
        """First answers by key."""
        return Answers(self.link)

    @cached_property
    def tokens(self) -> Tokens:
        """Tokens by id."""
        return Tokens(self.link)

    @cached_property
    def sessions(self) -> Sessions:
        """Signed-in browsers."""
        return Sessions(self.link)

    @cached_property
    def versions(self) -> Versions:
        """How often records were changed."""
        return Versions(self.link)

    @cached_property
    def moves(self) -> Moves:
        """Whether the records were moved to another database."""
        return Moves(self.link)

    @cached_property
    def audit(self) -> Audit:
        """The audit trail."""
        return Audit(self.link)
