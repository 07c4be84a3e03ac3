"""Readings as values of the model's channels: of one moment, what was found before what was left."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import chain

from service.domain.assessment.clues import NO_HEAT
from service.domain.assessment.doubt import baths_at_once, wrong_units
from service.domain.assessment.motors import IDLE, IDLE_AMPERES, is_locked
from service.domain.assessment.pumping import seen_at_once
from service.domain.assessment.starting import EQUAL
from service.domain.record.fleet import Unit
from service.domain.record.visits import Reading
from service.domain.triage.asked_visit import steady
from service.domain.triage.derived import EQUAL_WHILE_RUNNING, OPEN_CONTACT
from service.domain.triage.facts import MOTORS, mass_fraction, rated_currents
from service.domain.triage.taps import of_glasses, of_taps, put_taps, taps_missed, timed

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
NO_RATE = 900.0  # [s] where no rate was read: what one would be taken over
LIVE = 50.0  # [V]
CONTRADICTION = 9.0  # [K] between bath and supply


@dataclass(frozen=True, slots=True)
class Measured:
    """Channel values [SI] with the reading of each, the driving temperatures [K], and readings that contradict."""

    values: Mapping[str, float]
    readings: Mapping[str, Reading]
    bath: float | None = None
    room: float | None = None
    air_in: float | None = None
    rate_seconds: float = NO_RATE
    apart: float = 300.0  # [s] between the bath's reading and others, where no rate corrects for it
    suspect: tuple[Reading, ...] = field(default=())
    signs: Mapping[str, bool] = field(default_factory=dict)  # what the taps show by their number and trunks
    taps_missed: float = 0.5  # probability that a tap which alone is warm was not read


def of_one_moment(readings: Sequence[Reading]) -> tuple[Reading, ...]:
    """The readings as found; where there is none, those as left."""
    found = tuple(reading for reading in readings if reading.when == "as_found")
    return found or tuple(readings)


def measure(unit: Unit, readings: Sequence[Reading]) -> Measured:
    """The values of the channels."""
    of_moment = of_one_moment(readings)
    at_once = tuple(chain.from_iterable(baths_at_once(of_moment)))
    doubtful = {id(each) for each in at_once} | wrong_units(of_moment).keys()
    chosen = steady(unit, [each for each in of_moment if id(each) not in doubtful])
    values: dict[str, float] = {}
    source: dict[str, Reading] = {}
    for reading in chosen:
        channel = _channel(unit, reading)
        value = _strength(unit, reading) if channel == "strength" else reading.value.value
        if channel is not None and value is not None and channel not in values:
            values[channel], source[channel] = value, reading
    _behind_open_switch(unit, chosen, values, source)
    _before_contactor(unit, chosen, values, source)
    put_taps(chosen, values, source)
    baths = timed([each for each in chosen if each.quantity == "bath_temperature"])
    seconds = _rate(baths, values, source)
    equal = _without_equal_pressures(unit, chosen, values, source)
    bath = baths[0] if baths else None
    centre = _centre(source)
    warmed = _warmed(bath, centre, values)
    _brought_to(centre, values, source)
    suspect = (*equal, *at_once)
    if bath is not None and "supply" in values and abs(bath.value.value - values["supply"]) > CONTRADICTION:
        suspect = (*suspect, bath, source["supply"])
    return Measured(
        values=values,
        readings=source | ({"bath": bath} if bath else {}),
        bath=bath.value.value + warmed if bath else values.get("supply"),
        room=_first(chosen, "ambient_temperature"),
        air_in=_first(chosen, "condenser_air_in_temperature"),
        rate_seconds=seconds,
        apart=_apart(bath, centre, values),
        suspect=suspect,
        signs=_signs(unit, chosen, equal),
        taps_missed=taps_missed(unit, chosen),
    )


def _signs(unit: Unit, readings: Sequence[Reading], equal: Sequence[Reading]) -> dict[str, bool]:
    """What follows from the readings beside their values."""
    taps = (*of_taps(unit, readings), *of_glasses(readings))
    return dict((*taps, *_of_contactors(unit, readings), *_of_display(readings), *_of_equal(readings, equal)))


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


def _before_contactor(
    unit: Unit, readings: Sequence[Reading], values: dict[str, float], source: dict[str, Reading]
) -> None:
    """What a voltage before a contactor shows of the switch before it."""
    for reading in readings:
        at_contactor = unit.kinds.get(reading.component or "") == "contactor"
        if reading.quantity == "voltage_before" and at_contactor and "behind" not in values:
            values["behind"], source["behind"] = reading.value.value, reading


def _without_equal_pressures(
    unit: Unit, readings: Sequence[Reading], values: dict[str, float], source: dict[str, Reading]
) -> tuple[Reading, ...]:
    """The pressures, taken out, of a compressor that draws current between equal ones: probably of another moment.

    Where they were read at once, and bath or air show too that no heat is moved, they stay: it pumps nothing.
    """
    rated = rated_currents(unit).get("compressor")
    if not {"compressor", "suction", "discharge"} <= values.keys():
        return ()
    current = values["compressor"]
    stands = current < (IDLE * rated if rated else IDLE_AMPERES) or is_locked(current, rated)
    if stands or abs(values["discharge"] - values["suction"]) >= EQUAL:
        return ()
    if _moves_no_heat(readings, values) and seen_at_once(readings, {source["compressor"].component}):
        return ()
    for channel in ("suction", "discharge"):
        del values[channel]
    return source.pop("suction"), source.pop("discharge")


def _moves_no_heat(readings: Sequence[Reading], values: Mapping[str, float]) -> bool:
    """Whether the bath does not fall, or the condenser's air does not warm up."""
    entering = _first(readings, "condenser_air_in_temperature")
    cold = entering is not None and "air_out" in values and values["air_out"] - entering < NO_HEAT
    return cold or values.get("bath_rate", -1.0) >= 0.0


def _of_contactors(unit: Unit, readings: Sequence[Reading]) -> Iterator[tuple[str, bool]]:
    """Whether voltage reaches what the contactor feeds: read before and behind it, or at the compressor."""
    read = {(each.quantity, each.component): each.value.value for each in readings}
    for code, kind in unit.kinds.items():
        before, behind = read.get(("voltage_before", code)), read.get(("voltage_behind", code))
        if kind == "contactor" and before is not None and behind is not None and before > LIVE:
            yield OPEN_CONTACT.code, behind < LIVE
        at = read.get(("voltage_at", code))
        if kind == "compressor" and at is not None:
            yield OPEN_CONTACT.code, at < LIVE


def _of_equal(readings: Sequence[Reading], equal: Sequence[Reading]) -> Iterator[tuple[str, bool]]:
    """Equal pressures beside a current, where no times show that they were read before it ran."""
    amps = [each for each in readings if each.quantity == "current"]
    if equal and any(each.at is None for each in (*equal, *amps)):
        yield EQUAL_WHILE_RUNNING.code, True


def _of_display(readings: Sequence[Reading]) -> Iterator[tuple[str, bool]]:
    """A display that shows a temperature is not dark, so the controller has its supply."""
    if any(each.quantity == "controller_temperature" for each in readings):
        yield "display_dark", False


def _rate(baths: Sequence[Reading], values: dict[str, float], source: dict[str, Reading]) -> float:
    timed = [each for each in baths if each.at is not None]
    if len(timed) < 2:
        return NO_RATE
    first, last = timed[0], timed[-1]
    seconds = last.at.timestamp() - first.at.timestamp()  # type: ignore[union-attr]  # both have an instant
    if not SHORTEST <= seconds <= LONGEST:
        return NO_RATE
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
