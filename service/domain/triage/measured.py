"""Readings as values of the model's channels: of one moment, what was found before what was left."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from service.domain.record.fleet import Unit
from service.domain.record.visits import Reading
from service.domain.triage.facts import MOTORS, mass_fraction

DIRECT = {
    "glycol_supply_temperature": "supply",
    "glycol_return_temperature": "return",
    "cooler_temperature": "cooler",
    "keg_temperature": "keg",
    "condenser_air_out_temperature": "air_out",
    "suction_pressure": "suction",
    "discharge_pressure": "discharge",
    "suction_line_temperature": "suction_line",
    "liquid_line_temperature": "liquid_line",
    "discharge_line_temperature": "discharge_line",
    "condenser_bend_temperature": "bend",
    "supply_voltage": "before",
    "terminal_temperature": "terminal",
    "glycol_strength": "strength",
    "bath_level": "level",
    "glycol_flow": "flow",
    "controller_set_point": "set_point",
    "controller_temperature": "display",
}
SHORTEST = 180.0  # [s] between two readings of the bath that give a rate
LONGEST = 3600.0
CONTRADICTION = 9.0  # [K] between bath and supply


@dataclass(frozen=True, slots=True)
class Measured:
    """Channel values [SI] with the reading of each, the driving temperatures [K], and readings that contradict."""

    values: Mapping[str, float]
    readings: Mapping[str, Reading]
    bath: float | None = None
    room: float | None = None
    air_in: float | None = None
    rate_seconds: float = 900.0
    apart: float = 300.0  # [s] between the bath's reading and others, where no rate corrects for it
    suspect: tuple[Reading, ...] = field(default=())


def of_one_moment(readings: Sequence[Reading]) -> tuple[Reading, ...]:
    """The readings as found; where there is none, those as left."""
    found = tuple(reading for reading in readings if reading.when == "as_found")
    return found or tuple(readings)


def measure(unit: Unit, readings: Sequence[Reading]) -> Measured:
    """The values of the channels."""
    chosen = of_one_moment(readings)
    values: dict[str, float] = {}
    source: dict[str, Reading] = {}
    for reading in chosen:
        channel = _channel(unit, reading)
        value = _strength(unit, reading) if channel == "strength" else reading.value.value
        if channel is not None and value is not None and channel not in values:
            values[channel], source[channel] = value, reading
    _behind_open_switch(unit, chosen, values, source)
    _taps(chosen, values, source)
    baths = _timed([each for each in chosen if each.quantity == "bath_temperature"])
    seconds = _rate(baths, values, source)
    bath = baths[0] if baths else None
    centre = _centre(source)
    warmed = _warmed(bath, centre, values)
    _brought_to(centre, values, source)
    suspect: tuple[Reading, ...] = ()
    if bath is not None and "supply" in values and abs(bath.value.value - values["supply"]) > CONTRADICTION:
        suspect = (bath, source["supply"])
    return Measured(
        values=values,
        readings=source | ({"bath": bath} if bath else {}),
        bath=bath.value.value + warmed if bath else values.get("supply"),
        room=_first(chosen, "ambient_temperature"),
        air_in=_first(chosen, "condenser_air_in_temperature"),
        rate_seconds=seconds,
        apart=_apart(bath, centre, values),
        suspect=suspect,
    )


def _channel(unit: Unit, reading: Reading) -> str | None:
    kind = unit.kinds.get(reading.component or "")
    if reading.quantity == "current":
        return next((motor for motor, kinds in MOTORS.items() if kind in kinds), None)
    if reading.quantity in ("voltage_before", "voltage_behind"):
        if kind == "power_switch":
            return reading.quantity.removeprefix("voltage_")
        return "at_controller" if kind == "temperature_controller" and reading.quantity == "voltage_before" else None
    if reading.quantity == "voltage_at" and kind == "temperature_controller":
        return "at_controller"
    return DIRECT.get(reading.quantity)


def _strength(unit: Unit, reading: Reading) -> float | None:
    """A strength as a mass fraction; None where the scale gives none, or the glycol is ethylene."""
    ethylene = unit.bath is not None and unit.bath.glycol == "ethylene"
    return None if ethylene else mass_fraction(reading.value, reading.sample_temperature)


def _behind_open_switch(
    unit: Unit, readings: Sequence[Reading], values: dict[str, float], source: dict[str, Reading]
) -> None:
    """What a voltage across the switch leaves behind it."""
    for reading in readings:
        at_switch = unit.kinds.get(reading.component or "") == "power_switch"
        if reading.quantity == "voltage_across" and at_switch and "before" in values and "behind" not in values:
            values["behind"], source["behind"] = max(values["before"] - reading.value.value, 0.0), reading


def _taps(readings: Sequence[Reading], values: dict[str, float], source: dict[str, Reading]) -> None:
    """The warmest tap, and the coldest where there are several."""
    taps = sorted(
        (each for each in readings if each.quantity == "beer_temperature_at_tap"), key=lambda each: each.value.value
    )
    if taps:
        values["tap_warm"], source["tap_warm"] = taps[-1].value.value, taps[-1]
    if len({each.tap for each in taps}) > 1:
        values["tap_cold"], source["tap_cold"] = taps[0].value.value, taps[0]


def _timed(readings: Sequence[Reading]) -> list[Reading]:
    """By instant; those without one keep their place before the others."""
    return sorted(readings, key=lambda each: each.at.timestamp() if each.at else float("-inf"))


def _rate(baths: Sequence[Reading], values: dict[str, float], source: dict[str, Reading]) -> float:
    timed = [each for each in baths if each.at is not None]
    if len(timed) < 2:
        return 900.0
    first, last = timed[0], timed[-1]
    seconds = last.at.timestamp() - first.at.timestamp()  # type: ignore[union-attr]  # both have an instant
    if SHORTEST <= seconds <= LONGEST:
        values["bath_rate"] = (last.value.value - first.value.value) / seconds
        source["bath_rate"] = last
    return seconds


AT_THE_CIRCUIT = ("suction", "suction_line", "discharge", "liquid_line", "air_out")


def _centre(source: Mapping[str, Reading]) -> float | None:
    """The instant of the circuit's readings, else of the supply's [s]."""
    for channel in (*AT_THE_CIRCUIT, "supply"):
        if channel in source:
            at = source[channel].at
            return None if at is None else at.timestamp()
    return None


def _warmed(bath: Reading | None, centre: float | None, values: Mapping[str, float]) -> float:
    """By how much the bath's temperature changed until the centre, at the rate that was read."""
    if bath is None or bath.at is None or centre is None:
        return 0.0
    return values.get("bath_rate", 0.0) * (centre - bath.at.timestamp())


def _brought_to(centre: float | None, values: dict[str, float], source: Mapping[str, Reading]) -> None:
    """Move what follows the bath to its value at the centre."""
    for channel in ("supply", "return", "display"):
        at = source[channel].at if channel in source else None
        if at is not None and centre is not None:
            values[channel] += values.get("bath_rate", 0.0) * (centre - at.timestamp())


def _apart(bath: Reading | None, centre: float | None, values: Mapping[str, float]) -> float:
    if "bath_rate" in values:
        return 60.0
    if bath is None or bath.at is None or centre is None:
        return 300.0
    return abs(centre - bath.at.timestamp())


def _first(readings: Sequence[Reading], quantity: str) -> float | None:
    return next((each.value.value for each in readings if each.quantity == quantity), None)
