"""The quantities read at a unit, their dimensions, and the limits within which a reading is plausible.

The limits are wide enough for any fault and any climate: common practice, no source.
"""

from dataclasses import dataclass, field

from service.domain.quantities import Quantity, parse_quantity


@dataclass(frozen=True, slots=True)
class Limit:
    """The lowest and highest plausible value in one dimension."""

    low: Quantity
    high: Quantity


@dataclass(frozen=True, slots=True)
class ReadingKind:
    """A quantity that a visit may report: its limits by dimension, where it is read, a hint for what lies outside."""

    quantity: str
    spans: tuple[tuple[str, str, str], ...]
    of_component: bool = False
    at_tap: bool = False
    of_sample: bool = False
    hint: str = ""
    dimensions: tuple[str, ...] = field(init=False, repr=False)  # in which it may be given; asked for at every reading

    def __post_init__(self) -> None:
        object.__setattr__(self, "dimensions", tuple(dimension for dimension, _, _ in self.spans))


LIQUID = (("temperature", "-40 degF", "140 degF"),)
AIR = (("temperature", "-40 degF", "180 degF"),)
STRENGTH = (
    ("mass_fraction", "0 mass%", "100 mass%"),
    ("volume_fraction", "0 vol%", "100 vol%"),
    ("brix", "0 Brix", "60 Brix"),
    ("temperature", "-60 degF", "32 degF"),
)
REFRIGERANT = (("mass", "0 kg", "50 kg"),)
VOLTAGE = (("voltage", "0 V", "1000 V"),)

READING_KINDS = (
    ReadingKind("bath_temperature", LIQUID),
    ReadingKind("glycol_supply_temperature", LIQUID),
    ReadingKind("glycol_return_temperature", LIQUID),
    ReadingKind("beer_temperature_at_tap", LIQUID, at_tap=True),
    ReadingKind("cooler_temperature", LIQUID),
    ReadingKind("keg_temperature", LIQUID),
    ReadingKind("controller_set_point", LIQUID),
    ReadingKind("controller_temperature", LIQUID),
    ReadingKind("ambient_temperature", AIR),
    ReadingKind("condenser_air_in_temperature", AIR),
    ReadingKind("condenser_air_out_temperature", (("temperature", "-40 degF", "250 degF"),)),
    ReadingKind("current", (("current", "0 A", "500 A"),), of_component=True),
    ReadingKind("terminal_temperature", (("temperature", "-40 degF", "600 degF"),), of_component=True),
    ReadingKind(
        "contact_voltage_drop",
        (("voltage", "0 V", "50 V"),),
        of_component=True,
        hint="over an open contact it is voltage_across",
    ),
    ReadingKind("voltage_at", VOLTAGE, of_component=True),
    ReadingKind("voltage_before", VOLTAGE, of_component=True),
    ReadingKind("voltage_behind", VOLTAGE, of_component=True),
    ReadingKind("voltage_across", VOLTAGE, of_component=True),
    ReadingKind("supply_voltage", VOLTAGE),
    ReadingKind("glycol_strength", STRENGTH, of_sample=True),
    ReadingKind("glycol_ph", (("acidity", "0 pH", "14 pH"),)),
    ReadingKind("bath_level", (("fraction", "0 %", "120 %"),)),
    ReadingKind("glycol_flow", (("volume_flow", "0 gal/h", "3000 gal/h"),)),
    ReadingKind("pump_pressure", (("pressure", "-14.7 psi", "500 psi"),)),
    ReadingKind("suction_pressure", (("pressure", "-14.7 psi", "1000 psi"),)),
    ReadingKind("discharge_pressure", (("pressure", "-14.7 psi", "1500 psi"),)),
    ReadingKind("suction_line_temperature", (("temperature", "-80 degF", "200 degF"),)),
    ReadingKind("liquid_line_temperature", (("temperature", "-40 degF", "250 degF"),)),
    ReadingKind("discharge_line_temperature", (("temperature", "-40 degF", "400 degF"),)),
    ReadingKind("condenser_bend_temperature", (("temperature", "-40 degF", "250 degF"),)),
    ReadingKind("frost_distance_after_capillary", (("length", "-60 in", "240 in"),)),
    ReadingKind("refrigerant_added", REFRIGERANT),
    ReadingKind("refrigerant_recovered", REFRIGERANT),
)
BY_QUANTITY = {kind.quantity: kind for kind in READING_KINDS}
SAMPLE_LIMIT = ("-40 degF", "212 degF")
_LIMITS: dict[tuple[str, str], Limit] = {}


def limit_of(quantity: str, dimension: str) -> Limit:
    """The plausible range of a quantity in one of its dimensions."""
    known = _LIMITS.get((quantity, dimension))
    if known is None:
        low, high = next((low, high) for given, low, high in BY_QUANTITY[quantity].spans if given == dimension)
        known = Limit(parse_quantity(low, dimension), parse_quantity(high, dimension))
        _LIMITS[quantity, dimension] = known
    return known


def implausible(quantity: str, value: Quantity) -> str | None:
    """The message with the limits if the value is implausible, else None."""
    limit = limit_of(quantity, value.dimension)
    low, high = limit.low.value, limit.high.value
    if low - _slack(low) <= value.value <= high + _slack(high):
        return None
    hint = BY_QUANTITY[quantity].hint
    return f"{quantity} must be from {limit.low.entered} to {limit.high.entered}{hint and f': {hint}'}"


def _slack(limit: float) -> float:
    """How far an answer's six digits may lie beyond a limit: what an answer shows is accepted again."""
    return max(1e-9, 5e-6 * abs(limit))
