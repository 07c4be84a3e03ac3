"""What the forward model takes from a unit's record, in SI, with a stated guess where the record is silent."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from service.domain.physics.glycol.properties import ROOM
from service.domain.physics.glycol.strength import strength_by_scale
from service.domain.physics.ranges import OutOfRange, Range
from service.domain.physics.refrigeration.capacity import USUAL_AMBIENT, USUAL_REFRIGERANT
from service.domain.physics.refrigeration.refrigerants import Refrigerant, known_refrigerant, refrigerant
from service.domain.physics.refrigeration.saturation import STANDARD_ATMOSPHERE
from service.domain.quantities import Quantity
from service.domain.record.fleet import Bath, Refrigeration, Unit

MOTORS = {"compressor": ("compressor",), "fan": ("condenser_fan",), "pump": ("pump", "pump_motor")}

# Where the forward model has a meaning, by part and field of a unit's record. Every rated air is warmer than every
# rated bath, so that the circuit rejects heat where it is rated. Common practice, no source.
LIMITS = {
    ("supply", "voltage"): Range("voltage", 20.0, 1000.0, "V"),
    ("refrigeration", "rated_cooling"): Range("rated_cooling", 20.0, 1e5, "W"),
    ("refrigeration", "rated_ambient"): Range("rated_ambient", 288.15, 333.15, "K"),
    ("refrigeration", "rated_bath"): Range("rated_bath", 243.15, 288.15, "K"),
    ("refrigeration", "clean_split"): Range("clean_split", 1.0, 40.0, "K", "temperature_difference"),
    ("bath", "volume"): Range("volume", 0.001, 5.0, "m3"),
    ("bath", "set_point"): Range("set_point", 243.15, 293.15, "K"),
}


def beyond(unit: Unit) -> Iterator[tuple[str, OutOfRange]]:
    """What the unit's record has outside the limits of the model: the path of each, and the error."""
    for (part, name), limits in LIMITS.items():
        value = _value(getattr(getattr(unit, part), name, None))
        try:
            if value is not None:
                limits.check(value)
        except OutOfRange as found:
            yield f"{part}.{name}", found


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """The installation [SI]; `known` names what was recorded. Guesses: common practice, no source."""

    refrigerant: Refrigerant
    capillary: bool
    cooling: float
    ambient: float
    bath: float
    split: float
    atmosphere: float
    volume: float
    set_point: float
    strength: float
    rated: Mapping[str, float]  # current by motor
    voltage: float
    trunks: int
    run_length: float  # [m] of trunk outside the cooler
    run_air: float  # [K] around it
    known: frozenset[str]

    def knows(self, name: str) -> bool:
        """Whether this was recorded."""
        return name in self.known


def facts_of(unit: Unit, atmosphere: float | None = None) -> Facts:
    """The facts of a unit; `atmosphere` is the pressure of the air at its site [Pa], None where nobody knows it."""
    circuit, bath = unit.refrigeration or Refrigeration(), unit.bath or Bath()
    fluid = known_refrigerant(circuit.refrigerant)
    rated = rated_currents(unit)
    found = {
        "cooling": _value(circuit.rated_cooling),
        "ambient": _value(circuit.rated_ambient),
        "bath": _value(circuit.rated_bath),
        "split": _value(circuit.clean_split),
        "volume": _value(bath.volume),
        "set_point": _value(bath.set_point),
        "strength": mass_fraction(bath.target_strength),
        "voltage": _value(unit.supply.voltage) if unit.supply else None,
        "atmosphere": atmosphere,
    }
    known = {name for name, value in found.items() if value is not None} | rated.keys()
    known |= {"refrigerant"} if fluid else set()
    known |= {"metering"} if circuit.metering else set()
    return Facts(
        refrigerant=fluid or refrigerant(USUAL_REFRIGERANT),
        capillary=circuit.metering in (None, "capillary"),
        rated=rated,
        known=frozenset(known),
        trunks=max(len(unit.trunks), 1),
        run_length=_run(unit, "length") or USUAL_RUN,
        run_air=_run(unit, "temperature") or USUAL_RUN_AIR,
        **{name: GUESSES[name] if value is None else value for name, value in found.items()},
    )


NOMINAL = (115.0, 208.0, 230.0)


def supplied(facts: Facts, read: Iterable[float]) -> Facts:
    """With the nominal voltage nearest to the highest that was read, where the record has none."""
    highest = max(read, default=0.0)
    if facts.knows("voltage") or highest < LIMITS["supply", "voltage"].low:
        return facts
    return replace(facts, voltage=min(NOMINAL, key=lambda nominal: abs(highest / nominal - 1.0)))


GUESSES = {
    "cooling": 800.0,
    "ambient": USUAL_AMBIENT,
    "bath": 270.93,
    "split": 12.0,
    "volume": 0.040,
    "set_point": 270.93,
    "strength": 0.35,
    "voltage": 115.0,
    "atmosphere": STANDARD_ATMOSPHERE,
}


USUAL_RUN, USUAL_RUN_AIR = 20.0, 296.0  # [m], [K]


def _run(unit: Unit, name: str) -> float | None:
    """The mean over the trunks of the length, or of the air's temperature, of the runs outside the cooler."""
    runs = [run for trunk in unit.trunks for run in trunk.runs if run.surroundings != "cooler"]
    values: list[float] = [value.value for run in runs if (value := getattr(run, name)) is not None]
    if not values:
        return None
    return sum(values) / (len(unit.trunks) if name == "length" else len(values))


def _value(quantity: Quantity | None) -> float | None:
    return None if quantity is None else quantity.value


def rated_currents(unit: Unit) -> dict[str, float]:
    """Rated currents [A] of compressor, fan and pump, from the components in place."""
    found: dict[str, float] = {}
    for motor, kinds in MOTORS.items():
        for part in unit.components:
            if part.kind in kinds and part.removed_on is None and part.rated_current is not None:
                found[motor] = part.rated_current.value
    return found


def mass_fraction(value: Quantity | None, sample: Quantity | None = None) -> float | None:
    """A strength as a mass fraction, whatever the scale; None where it has none of propylene glycol."""
    if value is None:
        return None
    try:
        at = ROOM if sample is None else sample.value
        return strength_by_scale(value.value, value.dimension, sample_temperature=at)
    except OutOfRange:
        return None
