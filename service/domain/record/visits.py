"""A visit to one unit: what was found, measured, done, replaced and left."""

from dataclasses import dataclass
from datetime import date, datetime
from types import MappingProxyType

from service.domain.instants import local_day
from service.domain.quantities import Quantity

KINDS = ("maintenance", "service_call", "follow_up", "installation")
OUTCOMES = ("running", "recovering", "down", "waiting_for_parts")
BY = ("us", "others")
EVIDENCE = ("seen", "reported")
MOMENTS = ("as_found", "as_left")
REASONS = ("failed", "precaution", "upgrade", "unknown")
SYMPTOMS = ("warm_pour", "foaming", "no_flow", "unit_dead", "noisy", "leaking", "frozen", "alarm", "other")
NO_COLD_BEER = ("warm_pour", "foaming", "no_flow", "unit_dead", "frozen")
FOULING = MappingProxyType(
    {"clean": "clean", "light": "lightly fouled", "heavy": "heavily fouled", "blocked": "blocked"}
)
"""How a condenser or strainer was found, in words."""
CONDITIONS = (
    "good",
    "worn",
    "discoloured",
    "burnt",
    "seized",
    "leaking",
    "stuck",
    "broken",
    "noisy",
    "open_circuit",
    "unknown",
)
USED_IN = ("mass", "volume", "length")  # what a part or consumable is measured in
OBSERVATIONS = (
    "bath_cap_missing",
    "cover_panel_missing",
    "fasteners_missing",
    "glycol_leak",
    "oil_stain",
    "ice_on_coil",
    "display_dark",
    "controls_scorched",
    "pump_noisy",
    "air_in_lines",
    "insulation_wet",
    "insulation_damaged",
    "airflow_obstructed",
    "area_littered",
    "frost_on_capillary",
    "other",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Complaint:
    """What the customer noticed: a symptom, and the customer's own words."""

    symptom: str
    reported_at: datetime | None = None
    words: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One measured quantity; `when` is as_found or as_left, `at` the instant if it was recorded."""

    quantity: str
    value: Quantity
    when: str
    at: datetime | None = None
    component: str | None = None
    tap: str | None = None
    sample_temperature: Quantity | None = None
    evidence: str = "seen"


@dataclass(frozen=True, slots=True, kw_only=True)
class TaskResult:
    """A task of the catalogue: done, not done (with the reason) or not needed."""

    task: str
    result: str
    reason: str | None = None
    as_found: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RemovedItem:
    """The item that was taken out, as its nameplate says."""

    maker: str | None = None
    model: str | None = None
    serial: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """The item that was put in: its nameplate, where it came from, the last day of its warranty."""

    maker: str | None = None
    model: str | None = None
    serial: str | None = None
    source: str | None = None
    warranty_until: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PartUsed:
    """A part or consumable used up on a visit: how many, or how much in all, and where it came from."""

    description: str
    count: int | None = None
    quantity: Quantity | None = None
    source: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Replacement:
    """An item put into a component's position; a reported one has day and author.

    `on` is a day, or, of what others did or was reported, a month, a year, a range "2026-08-01/2026-10-15" or
    "unknown".
    """

    component: str
    reason: str
    condition: str
    evidence: str
    on: str | None = None
    by: str = "us"
    note: str | None = None
    item: Item | None = None
    removed_item: RemovedItem | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Observation:
    """Something seen that is no reading."""

    code: str
    component: str | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Void:
    """Why a visit no longer counts; it stays in the record."""

    reason: str
    by: str
    at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """A visit in its present state; `by` others is a visit only reported to us.

    `site`, `customer` and `time_zone` are those of the unit's location at the arrival. `crew` are the technicians
    beside `technician`. `internal_note` is for us: no customer document shows it. `calls` are the ids of the calls that
    it answers. `attendance` is the id of its attendance, whose time on site is shared by `shared_by` visits.
    """

    id: str
    unit: str
    kind: str
    arrived_at: datetime
    left_at: datetime | None = None
    technician: str | None = None
    crew: tuple[str, ...] = ()
    by: str = "us"
    evidence: str = "seen"
    firm: str | None = None
    complaint: Complaint | None = None
    calls: tuple[str, ...] = ()
    attendance: str | None = None
    shared_by: int | None = None
    readings: tuple[Reading, ...] = ()
    tasks: tuple[TaskResult, ...] = ()
    replacements: tuple[Replacement, ...] = ()
    observations: tuple[Observation, ...] = ()
    work: str | None = None
    advice: str | None = None
    internal_note: str | None = None
    parts_used: tuple[PartUsed, ...] = ()
    signed_by: str | None = None
    outcome: str | None = None
    parts_promised_on: date | None = None
    posted_at: datetime
    posted_by: str
    time_zone: str
    site: str = ""
    customer: str = ""
    void: Void | None = None
    version: int = 1

    @property
    def day(self) -> date:
        """The calendar date of the arrival at the site."""
        return local_day(self.arrived_at, self.time_zone)

    def made_by(self, part: Replacement) -> str:
        """Who made a replacement: at a visit by others they did, whatever stands beside the part."""
        return part.by if self.by == "us" else self.by


UNVOIDED = '{"void":null}'  # the changes of a correction that takes a void back


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction:
    """A change to a posted visit: who, when, why, the fields given, and the former text.

    One that takes a void back has the void in its former text. `from_unit` is the unit of the visit before it was moved
    to the right one.
    """

    number: int
    at: datetime
    by: str
    why: str
    changes: str
    former: str
    from_unit: str | None = None

    @property
    def unvoids(self) -> bool:
        """Whether it took a void back."""
        return self.changes == UNVOIDED


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitFilter:
    """How to narrow the list of visits; days are at the site."""

    unit: str | None = None
    site: str | None = None
    customer: str | None = None
    technician: str | None = None
    since: str | None = None
    until: str | None = None
