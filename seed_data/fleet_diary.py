"""Who drives when: nobody is in two places at once, and nobody works at night."""

from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from random import Random
from zoneinfo import ZoneInfo

from fleet_plan import Job
from fleet_town import LEFT_DAYS_AGO, Place

# whose rounds Joss had before he left
JOSS_HAD = ("ferryman", "skittle-barn", "weirgate", "bellows-reed")
STAFF = ("rhea", "bram", "ines")
LATEST_START = time(16, 0)

# minutes on site: what every attendance takes, and what each task adds
BASE = {"maintenance": 15, "service_call": 60, "follow_up": 20, "installation": 190}
MINUTES = {
    "condenser_clean": 20, "condenser_deep_clean": 50, "glycol_strength_check": 8, "glycol_change": 75,
    "bath_level_check": 4, "pump_check": 8, "strainer_clean": 10, "electrical_check": 22, "trunk_check": 9,
    "controller_check": 14, "follow_up": 12,
}  # fmt: skip


@dataclass
class Diary:
    """Until when each technician is taken, day by day."""

    today: date
    rng: Random
    taken: dict[tuple[str, date], datetime] = field(default_factory=dict)

    def schedule(self, job: Job, reported: datetime | None) -> tuple[str, datetime, datetime]:
        """Technician, arrival and departure, in the site's own time."""
        zone = ZoneInfo(job.place.zone)
        earliest = datetime.combine(job.day, time(7, 40), zone) + timedelta(minutes=self.rng.randint(0, 55))
        if reported is not None:
            earliest = reported + timedelta(minutes=self.rng.randint(40, 170))
        who, arrived = self._soonest(job, earliest.astimezone(ZoneInfo("UTC")))
        left = arrived + timedelta(minutes=self._minutes(job))
        self.taken[who, job.day] = left + timedelta(minutes=self.rng.randint(8, 25))
        return who, arrived.astimezone(zone), left.astimezone(zone)

    def _soonest(self, job: Job, earliest: datetime) -> tuple[str, datetime]:
        """The usual technician if there is time left in the day, else whoever is free first."""
        choices = [(who, max(earliest, self.taken.get((who, job.day), earliest))) for who in self._crew(job)]
        first = choices[0]
        if first[1].astimezone(ZoneInfo(job.place.zone)).time() <= LATEST_START:
            return first
        return min(choices, key=lambda choice: choice[1])

    def _crew(self, job: Job) -> list[str]:
        """Those who could go, the likeliest first."""
        usual = self._usual(job.place, job.day)
        others = [who for who in STAFF if who != usual]
        self.rng.shuffle(others)
        # on one day at one site the same person does all the units
        known = (usual, job.day) in self.taken
        return [usual, *others] if known or self.rng.random() < 0.85 else [*others, usual]

    def _usual(self, place: Place, day: date) -> str:
        gone = (self.today - day).days <= LEFT_DAYS_AGO
        return place.technician if gone or place.code not in JOSS_HAD else "joss"

    def _minutes(self, job: Job) -> int:
        done = [task for task in job.tasks if task not in job.skipped]
        return BASE[job.kind] + sum(MINUTES[task] for task in done) + self.rng.randint(4, 25)
