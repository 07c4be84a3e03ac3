"""What can be wrong: each fault changes the situation by a severity that is drawn, and names the explanation it is."""

from collections.abc import Callable
from dataclasses import dataclass
from random import Random

from tests.simulation.units.glycol import freezing_point
from tests.simulation.units.situation import Situation
from tests.simulation.units.text import celsius
from tests.simulation.units.unit import Unit

Plant_it = Callable[[Situation, Unit, Random], float]


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault. `code` is the explanation's, `danger` what it puts people or the unit in, `weight` its frequency."""

    code: str
    plant: Plant_it
    weight: float = 1.0
    danger: str | None = None
    symptom: str = "warm_pour"
    observed: tuple[tuple[str, float], ...] = ()  # observation, probability that a technician records it
    possible: Callable[[Unit], bool] = lambda unit: True


def _cooler_warm(now: Situation, unit: Unit, rng: Random) -> float:
    now.cooler = celsius(rng.uniform(43, 55))
    now.keg = now.cooler + rng.uniform(-2.0, 0.0)
    return now.cooler


def _keg_not_yet_cold(now: Situation, unit: Unit, rng: Random) -> float:
    taps = [tap for trunk in unit.trunks for tap in trunk.taps]
    now.warm_kegs = {tap: celsius(rng.uniform(46, 62)) for tap in rng.sample(taps, rng.randint(1, min(2, len(taps))))}
    return float(len(now.warm_kegs))


def _one_tap_only(now: Situation, unit: Unit, rng: Random) -> float:
    tap = rng.choice([tap for trunk in unit.trunks for tap in trunk.taps])
    now.tap_gains[tap] = rng.uniform(5.0, 12.0)
    return now.tap_gains[tap]


def _lines_just_cleaned(now: Situation, unit: Unit, rng: Random) -> float:
    now.lines_cleaned, gain = True, rng.uniform(5.0, 14.0)
    now.tap_gains |= {tap: gain + rng.uniform(-1.5, 1.5) for trunk in unit.trunks for tap in trunk.taps}
    return gain


def _no_power(now: Situation, unit: Unit, rng: Random) -> float:
    now.supply = rng.choice(("breaker", "cord", "switch", "switch"))
    return 1.0


def _controller_dark(now: Situation, unit: Unit, rng: Random) -> float:
    now.controller_dark = True
    return 1.0


def _condenser_fouled(now: Situation, unit: Unit, rng: Random) -> float:
    share = rng.uniform(0.35, 0.75)
    now.air_flow, now.fouling = 1.0 - share, rng.uniform(0.05, 0.25)
    return share


def _fan_stopped(now: Situation, unit: Unit, rng: Random) -> float:
    now.fan_turns = False
    return 1.0


def _low_charge(now: Situation, unit: Unit, rng: Random) -> float:
    now.charge = rng.uniform(0.4, 0.78)
    return 1.0 - now.charge


def _restriction(now: Situation, unit: Unit, rng: Random) -> float:
    now.metering = rng.uniform(0.3, 0.65) / (1.0 if unit.design.metering == "capillary" else 1.3)
    return 1.0 - now.metering


def _overcharge(now: Situation, unit: Unit, rng: Random) -> float:
    now.charge = rng.uniform(1.3, 1.6)
    return now.charge - 1.0


def _foreign_gas(now: Situation, unit: Unit, rng: Random) -> float:
    now.foreign_gas = rng.uniform(90, 260)
    return now.foreign_gas


def _recirculating(now: Situation, unit: Unit, rng: Random) -> float:
    now.recirculated = rng.uniform(0.35, 0.6)
    return now.recirculated


def _not_starting(now: Situation, unit: Unit, rng: Random) -> float:
    now.compressor_starts = False
    return 1.0


def _weak(now: Situation, unit: Unit, rng: Random) -> float:
    now.leak = rng.uniform(0.25, 0.55)
    return now.leak


def _iced(now: Situation, unit: Unit, rng: Random) -> float:
    now.evaporator, now.strength = rng.uniform(0.25, 0.5), rng.uniform(8.0, 17.0)
    now.cut_out = max(now.cut_out, freezing_point(now.strength) + 0.3)  # colder, the bath itself is slush
    now.cut_in = max(now.cut_in, now.cut_out + 1.0)
    return 1.0 - now.evaporator


def _bath_low(now: Situation, unit: Unit, rng: Random) -> float:
    now.level = rng.uniform(0.3, 0.6)
    return now.level


def _pump_stopped(now: Situation, unit: Unit, rng: Random) -> float:
    if rng.random() < 0.7:
        now.pump_turns = False
    else:
        now.pump_coupled = False
    return 1.0


def _pump_weak(now: Situation, unit: Unit, rng: Random) -> float:
    now.flow = rng.uniform(0.2, 0.45)
    now.pump_current, now.strainer_blocked = rng.uniform(0.85, 1.1), rng.random() < 0.6
    return now.flow


def _air(now: Situation, unit: Unit, rng: Random) -> float:
    now.flow, now.air_in_loop = rng.uniform(0.25, 0.6), True
    now.pump_current = rng.uniform(0.7, 1.0)
    return now.flow


def _too_strong(now: Situation, unit: Unit, rng: Random) -> float:
    now.strength = rng.uniform(46, 58)
    return now.strength


def _one_trunk_short(now: Situation, unit: Unit, rng: Random) -> float:
    trunk = rng.choice(unit.trunks).code
    now.blocked_trunks[trunk] = rng.uniform(0.1, 0.25)
    return now.blocked_trunks[trunk]


def _wet(now: Situation, unit: Unit, rng: Random) -> float:
    trunk = rng.choice(unit.trunks).code
    now.wet_trunks[trunk] = rng.uniform(2.0, 4.0)
    return now.wet_trunks[trunk]


def _set_point_wrong(now: Situation, unit: Unit, rng: Random) -> float:
    wrong = rng.choice((rng.uniform(5.0, 10.0), rng.uniform(5.0, 10.0), rng.uniform(-5.0, -3.0)))
    now.cut_out, now.cut_in = now.cut_out + wrong, now.cut_in + wrong
    now.set_to = unit.set_point + wrong
    return wrong


def _thermometer_wrong(now: Situation, unit: Unit, rng: Random) -> float:
    wrong = rng.choice((-1, 1)) * rng.uniform(4.0, 9.0) / 1.8
    if rng.random() < 0.5:
        now.bath_probe_error = wrong
    else:
        now.sensor_error = wrong
    return wrong


def _capacity_short(now: Situation, unit: Unit, rng: Random) -> float:
    now.ambient = celsius(rng.uniform(102, 114))
    now.room, now.pints = rng.uniform(6.0, 12.0), rng.uniform(150, 250) * len(unit.trunks)
    return now.ambient


def _heavy_pouring(now: Situation, unit: Unit, rng: Random) -> float:
    now.pints = rng.uniform(350, 700) * len(unit.trunks)
    now.keg += 2.0
    return now.pints


def _overload(now: Situation, unit: Unit, rng: Random) -> float:
    now.overload = rng.uniform(1.35, 1.9)
    return now.overload


def _hot_terminal(now: Situation, unit: Unit, rng: Random) -> float:
    now.terminal_rise = rng.uniform(47.0, 95.0)
    return now.terminal_rise


def _ethylene(now: Situation, unit: Unit, rng: Random) -> float:
    now.glycol = "ethylene"
    return 1.0


def _two_trunks(unit: Unit) -> bool:
    return len(unit.trunks) > 1


FAULTS = (
    Fault("cooler_warm", _cooler_warm),
    Fault("keg_not_cold", _keg_not_yet_cold),
    Fault("one_tap_only", _one_tap_only),
    Fault("lines_just_cleaned", _lines_just_cleaned),
    Fault("no_power", _no_power, 1.5, symptom="unit_dead", observed=(("display_dark", 0.9),)),
    Fault(
        "controller_dark_or_not_calling",
        _controller_dark,
        1.5,
        "voltage_at_dead_controller",
        symptom="unit_dead",
        observed=(("display_dark", 0.97),),
    ),
    Fault("condenser_fouled", _condenser_fouled, 1.5, observed=(("airflow_obstructed", 0.6),)),
    Fault("condenser_fan_stopped", _fan_stopped),
    Fault("low_charge", _low_charge, observed=(("oil_stain", 0.3),)),
    Fault("restriction", _restriction),
    Fault("overcharge", _overcharge),
    Fault("non_condensable_gas", _foreign_gas),
    Fault("hot_air_recirculating", _recirculating, observed=(("airflow_obstructed", 0.3),)),
    Fault("compressor_not_starting", _not_starting),
    Fault("compressor_weak", _weak),
    Fault("evaporator_iced", _iced, 1.5, "ice", observed=(("ice_on_coil", 0.9),)),
    Fault("bath_low", _bath_low, observed=(("glycol_leak", 0.5),)),
    Fault("pump_stopped", _pump_stopped),
    Fault("pump_weak_or_strainer_blocked", _pump_weak, observed=(("pump_noisy", 0.5),)),
    Fault("air_in_loop", _air, observed=(("air_in_lines", 0.7), ("pump_noisy", 0.5))),
    Fault("glycol_too_strong", _too_strong),
    Fault("trunk_short_of_flow", _one_trunk_short, possible=_two_trunks),
    Fault("insulation_wet", _wet, observed=(("insulation_wet", 0.7),)),
    Fault("set_point_wrong", _set_point_wrong),
    Fault("thermometer_wrong", _thermometer_wrong),
    Fault("capacity_short", _capacity_short),
    Fault("pouring_too_much", _heavy_pouring),
    Fault("overload", _overload, danger="overload", symptom="alarm"),
    Fault(
        "overheated_terminal",
        _hot_terminal,
        danger="overheated_terminal",
        symptom="other",
        observed=(("controls_scorched", 0.5),),
    ),
    Fault("ethylene", _ethylene, danger="ethylene", symptom="other"),
)
BY_CODE = {fault.code: fault for fault in FAULTS}
OUTSIDE_THE_LIST = ("overload",)  # `something_else` to triage
OUTSIDE_TRIAGE = ("overheated_terminal", "ethylene")  # dangers that no beer shows
EXCLUSIVE = (
    {"low_charge", "overcharge"},
    {"evaporator_iced", "glycol_too_strong"},
    {"evaporator_iced", "set_point_wrong"},
    {"cooler_warm", "keg_not_cold", "lines_just_cleaned"},
    {"condenser_fouled", "condenser_fan_stopped"},
)
DEAD = {"no_power", "controller_dark_or_not_calling", "compressor_not_starting"}
BESIDE_DEAD = {"bath_low", "cooler_warm", "overheated_terminal"}


def together(a: Fault, b: Fault) -> bool:
    """Whether two faults can be at one unit at once, and both be seen."""
    both = {a.code, b.code}
    if a.code == b.code or (both & DEAD and not both & BESIDE_DEAD):
        return False
    return not any(both <= group for group in EXCLUSIVE)
