"""The fleet: customers, their sites, the glycol units there, and the technicians.

Quantities are SI with the entered text beside them; days are dates at the site.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import lru_cache

from service.domain.quantities import Quantity
from service.domain.record.care import LastDone

SURROUNDINGS = ("clean", "dusty", "greasy", "outdoor")
RUN_SURROUNDINGS = ("cooler", "indoor", "attic", "underground", "outdoor")
WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
UNIT_SYSTEMS = ("si", "us")
METERING = ("capillary", "expansion_valve", "electronic_valve")
GLYCOLS = ("propylene", "ethylene", "unknown")
SWITCH_RATINGS = ("motor", "ac_only", "resistive")
TUBINGS = ("barrier", "vinyl", "stainless")
COMPONENT_KINDS = (
    "power_switch",
    "contactor",
    "pump",
    "pump_motor",
    "temperature_controller",
    "compressor",
    "condenser_fan",
    "heat_exchanger",
    "agitator",
    "strainer",
    "power_cord",
    "overload_protector",
    "start_capacitor",
    "start_relay",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Customer:
    """Who pays. `units_shown`: SI or US customary units for this customer. `care_from`: the day our care began.

    `ended_on` is the first day on which it is no longer a customer.
    """

    code: str
    name: str
    contact: str | None = None
    phone: str | None = None
    email: str | None = None
    units_shown: str | None = None
    care_from: date | None = None
    ended_on: date | None = None
    version: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Leave:
    """Days on which a technician does not work, the first and the last included."""

    from_: date
    until: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Technician:
    """Who visits. The visits of a technician who has left stay.

    `skills` are what some work asks for. The day begins and ends at the coordinates and begins at `day_starts_at`;
    without them the company's count.
    """

    code: str
    name: str
    phone: str | None = None
    email: str | None = None
    left_on: date | None = None
    leave: tuple[Leave, ...] = ()
    hours_per_day: float | None = None
    skills: tuple[str, ...] = ()
    latitude: float | None = None
    longitude: float | None = None
    day_starts_at: str | None = None
    version: int = 1

    def is_with_us(self, day: date) -> bool:
        """Whether the technician has not left by a day; leave does not count."""
        return self.left_on is None or self.left_on > day


@dataclass(frozen=True, slots=True, kw_only=True)
class OpeningHours:
    """Hours on a weekday in which a site can be visited, by its clock; until 02:00 is after midnight."""

    weekday: str
    from_: str
    until: str


@lru_cache(maxsize=128)
def _numbers(weekdays: tuple[str, ...]) -> frozenset[int]:
    return frozenset(map(WEEKDAYS.index, weekdays))


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """Where the units are. `surroundings` are the condenser's; `technician` usually serves the site.

    `elevation` is above sea level: a gauge reads above the air's own pressure. `opening_hours` limit the weekdays that
    they name; another weekday is open all day unless it is one of `closed_weekdays`.

    `ended_on` is the first day on which we no longer serve it.
    """

    code: str
    customer: str
    name: str
    time_zone: str
    address: str | None = None
    latitude: float | None = None
    longitude: float | None = None
    elevation: Quantity | None = None
    surroundings: str | None = None
    closed_weekdays: tuple[str, ...] = ()
    opening_hours: tuple[OpeningHours, ...] = ()
    access: str | None = None
    technician: str | None = None
    care_from: date | None = None
    ended_on: date | None = None
    version: int = 1

    @property
    def closed(self) -> frozenset[int]:
        """Closed weekdays as Python numbers them, Monday 0."""
        return _numbers(self.closed_weekdays)


@dataclass(frozen=True, slots=True, kw_only=True)
class Supply:
    """The electrical supply by nameplate and panel."""

    voltage: Quantity | None = None
    phases: int | None = None
    frequency: Quantity | None = None
    breaker: Quantity | None = None
    rated_current: Quantity | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Refrigeration:
    """The refrigerant circuit; `rated_cooling` holds at `rated_ambient` and `rated_bath`."""

    refrigerant: str | None = None
    charge: Quantity | None = None
    metering: str | None = None
    low_side_port: bool | None = None
    high_side_port: bool | None = None
    rated_cooling: Quantity | None = None
    rated_ambient: Quantity | None = None
    rated_bath: Quantity | None = None
    clean_split: Quantity | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Bath:
    """The glycol bath and how its controller is set."""

    volume: Quantity | None = None
    glycol: str | None = None
    glycol_brand: str | None = None
    target_strength: Quantity | None = None
    set_point: Quantity | None = None
    differential: Quantity | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Component:
    """A position in a unit that holds an item; it may feed others, as a switch feeds a pump."""

    code: str
    kind: str
    feeds: tuple[str, ...] = ()
    rated_current: Quantity | None = None
    rated_power: Quantity | None = None
    rating: str | None = None
    maker: str | None = None
    model: str | None = None
    installed_on: date | None = None
    removed_on: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """A section of trunk in one kind of surroundings."""

    surroundings: str
    length: Quantity
    temperature: Quantity | None = None
    rise: Quantity | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BeerLine:
    """One beer line of a trunk, named by its tap."""

    tap: str
    bore: Quantity | None = None
    tubing: str | None = None
    product: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Trunk:
    """The insulated bundle of beer and glycol lines from cooler to taps."""

    code: str
    core_diameter: Quantity | None = None
    insulation_thickness: Quantity | None = None
    glycol_bore: Quantity | None = None
    runs: tuple[Run, ...] = ()
    beer_lines: tuple[BeerLine, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit:
    """One glycol unit, known by the tag on its sticker.

    `care_from` is the day from which we care for it, None where that is its site's or customer's, or its registration.
    `replaces` and `replaced_by` are the tags of the unit that stood in its place before, and of the one after it, which
    was put there on `replaced_on`.
    """

    tag: str
    site: str
    maker: str | None = None
    model: str | None = None
    serial: str | None = None
    place: str | None = None
    installed_on: date | None = None
    installed_by: str | None = None
    retired_on: date | None = None
    registered_on: date
    care_from: date | None = None
    last_done: tuple[LastDone, ...] = ()
    supply: Supply | None = None
    refrigeration: Refrigeration | None = None
    bath: Bath | None = None
    components: tuple[Component, ...] = ()
    trunks: tuple[Trunk, ...] = ()
    replaces: str | None = None
    replaced_by: str | None = None
    replaced_on: date | None = None
    version: int = 1

    @property
    def kinds(self) -> dict[str, str]:
        """The kind of each component by code, removed ones included."""
        return {part.code: part.kind for part in self.components}


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitFilter:
    """How to narrow the list of units; `text` is searched without regard to case.

    `today_in` is the date in each time zone: without `retired`, units that are retired by then are left out.
    """

    customer: str | None = None
    site: str | None = None
    tag: str | None = None
    text: str | None = None
    retired: bool = False
    today_in: Mapping[str, date] = field(default_factory=dict)
