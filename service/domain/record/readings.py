"""Which quantities are read at a unit, in which dimensions, and between which limits a reading can be true.

The limits are physical plausibility, wide enough for any fault and any climate: common practice, no source.
"""

from dataclasses import dataclass

from service.domain.quantities import Quantity, parse_quantity


@dataclass(frozen=True, slots=True)
class Limit:
    """The lowest and highest believable value of one dimension, as entered text; SI values beside them."""

    low: Quantity
    high: Quantity


@dataclass(frozen=True, slots=True)
class QuantityWord:
    """A quantity that a visit may report: its limits by dimension, and what it is read on."""

    word: str
    spans: tuple[tuple[str, str, str], ...]
    of_component: bool = False
    at_tap: bool = False
    of_sample: bool = False

    @property
    def dimensions(self) -> tuple[str, ...]:
        """The dimensions in which it may be given."""
        return tuple(dimension for dimension, _, _ in self.spans)


LIQUID = (("temperature", "-40 degF", "140 degF"),)
AIR = (("temperature", "-40 degF", "180 degF"),)
STRENGTH = (
    ("mass_fraction", "0 mass%", "100 mass%"),
    ("volume_fraction", "0 vol%", "100 vol%"),
    ("brix", "0 Brix", "60 Brix"),
    ("temperature", "-60 degF", "32 degF"),
)
REFRIGERANT = (("mass", "0 kg", "50 kg"),)

QUANTITIES = (
    QuantityWord("bath_temperature", LIQUID),
    QuantityWord("glycol_supply_temperature", LIQUID),
    QuantityWord("glycol_return_temperature", LIQUID),
    QuantityWord("beer_temperature_at_tap", LIQUID, at_tap=True),
    QuantityWord("cooler_temperature", LIQUID),
    QuantityWord("ambient_temperature", AIR),
    QuantityWord("condenser_air_in_temperature", AIR),
    QuantityWord("condenser_air_out_temperature", (("temperature", "-40 degF", "250 degF"),)),
    QuantityWord("current", (("current", "0 A", "500 A"),), of_component=True),
    QuantityWord("terminal_temperature", (("temperature", "-40 degF", "600 degF"),), of_component=True),
    QuantityWord("contact_voltage_drop", (("voltage", "0 V", "50 V"),), of_component=True),
    QuantityWord("supply_voltage", (("voltage", "0 V", "1000 V"),)),
    QuantityWord("glycol_strength", STRENGTH, of_sample=True),
    QuantityWord("glycol_ph", (("acidity", "0 pH", "14 pH"),)),
    QuantityWord("bath_level", (("fraction", "0 %", "120 %"),)),
    QuantityWord("suction_pressure", (("pressure", "-14.7 psi", "1000 psi"),)),
    QuantityWord("discharge_pressure", (("pressure", "-14.7 psi", "1500 psi"),)),
    QuantityWord("suction_line_temperature", (("temperature", "-80 degF", "200 degF"),)),
    QuantityWord("liquid_line_temperature", (("temperature", "-40 degF", "250 degF"),)),
    QuantityWord("frost_distance_after_capillary", (("length", "-60 in", "240 in"),)),
    QuantityWord("refrigerant_added", REFRIGERANT),
    QuantityWord("refrigerant_recovered", REFRIGERANT),
)
BY_WORD = {quantity.word: quantity for quantity in QUANTITIES}
SAMPLE_LIMIT = ("-40 degF", "212 degF")
_LIMITS: dict[tuple[str, str], Limit] = {}


def limit_of(word: str, dimension: str) -> Limit:
    """The believable span of a quantity word in one of its dimensions."""
    known = _LIMITS.get((word, dimension))
    if known is None:
        low, high = next((low, high) for given, low, high in BY_WORD[word].spans if given == dimension)
        known = Limit(parse_quantity(low, dimension), parse_quantity(high, dimension))
        _LIMITS[word, dimension] = known
    return known


def implausible(word: str, value: Quantity) -> str | None:
    """A sentence with the limits when the value cannot be true, else None."""
    limit = limit_of(word, value.dimension)
    if limit.low.value - 1e-9 <= value.value <= limit.high.value + 1e-9:
        return None
    return f"{word} is believable from {limit.low.entered} to {limit.high.entered}"
