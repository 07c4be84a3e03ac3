"""What perfect instruments would show at an instant: degC, gauge pressures in kPa, currents in A, flow in L/h."""

from math import exp

from tests.simulation.units.glycol import heat_per_litre, viscosity
from tests.simulation.units.plant import Moment, Plant

START = 70.0  # s in which pressures spread, common practice
EQUAL = 150.0  # s in which they equalise through a capillary, common practice: within 7 to 10 minutes
FAN_PERIOD = 150.0  # s of a cycling fan, common practice
LOCKED = 6.0  # locked rotor current over rated current, NEC table 430.251(A)


def loop(plant: Plant, moment: Moment) -> dict[str, float]:
    """Supply, return, and glycol flow; nothing with the loop at rest."""
    flow = plant.flow()
    if not flow:
        return {}
    rate = flow * heat_per_litre(plant.now.strength) / 3600.0  # kW/K
    load = sum(plant.trunk_load(trunk, moment.bath) for trunk in plant.unit.trunks)
    supply = moment.bath + 0.25 * plant.unit.pump_power / rate
    return {
        "glycol_supply_temperature": supply,
        "glycol_return_temperature": supply + min(load / rate, 12.0),
        "glycol_flow": flow,
    }


def beer(plant: Plant, moment: Moment) -> dict[str, float]:
    """Beer at each tap, of the second glass and later."""
    now, found = plant.now, {}
    shown = loop(plant, moment)
    for trunk in plant.unit.trunks:
        share = now.blocked_trunks.get(trunk.code, 1.0)
        warm = max((degrees - 32.0) / 1.8 + now.room for around, _, degrees in trunk.runs if around != "cooler")
        if shown:
            rise = shown["glycol_return_temperature"] - shown["glycol_supply_temperature"]
            glycol = shown["glycol_supply_temperature"] + 0.5 * rise / max(share, 0.1)
            glycol = min(glycol, warm)
        else:
            glycol = warm
        passed = 1.0 - exp(-trunk.units_of_transfer)
        for tap in trunk.taps:
            keg = now.warm_kegs.get(tap, now.keg)
            found[tap] = keg + (glycol - keg) * passed + 0.6 + now.tap_gains.get(tap, 0.0)
    return found


def pressures(plant: Plant, moment: Moment) -> dict[str, float]:
    """Gauges and lines, running, just started, or at rest."""
    unit, now = plant.unit, plant.now
    fluid = unit.circuit.fluid
    cycle = plant.cycle(moment.bath)
    coldest = min(moment.bath, now.ambient)
    even = fluid.at(coldest).dew + 0.45 * now.foreign_gas
    resting_head = even
    if unit.circuit.metering != "capillary":
        resting_head = max(even, fluid.at(now.ambient).dew * 0.97 + now.foreign_gas)
    line = cycle.evaporating + cycle.superheat + 0.02 * (now.ambient - cycle.evaporating)
    liquid = cycle.condensing - cycle.subcooling
    suction_rest_line = 0.5 * (moment.bath + now.ambient)
    if moment.runs:
        part = 1.0 - exp(-moment.since / START)
    else:
        part = exp(-moment.since / (EQUAL if unit.circuit.metering == "capillary" else 6.0 * EQUAL))
    suction_part = part if moment.runs else exp(-moment.since / EQUAL)

    def mixed(running: float, resting: float, share: float = part) -> float:
        return resting + (running - resting) * share

    warm_air = mixed(cycle.air_out, now.ambient)
    return {
        "suction_pressure": mixed(cycle.suction, even, suction_part) - unit.air_pressure,
        "discharge_pressure": mixed(cycle.head, resting_head) - unit.air_pressure,
        "suction_line_temperature": mixed(line, suction_rest_line, suction_part),
        "liquid_line_temperature": mixed(liquid, now.ambient),
        "condenser_air_in_temperature": mixed(cycle.air_in, now.ambient),
        "condenser_air_out_temperature": warm_air,
    }


def display(plant: Plant, moment: Moment) -> dict[str, float]:
    """What the controller shows; nothing when it is dark."""
    now = plant.now
    if not now.powered or now.controller_dark:
        return {}
    set_to = plant.unit.set_point if now.set_to is None else now.set_to
    return {"controller_set_point": set_to, "controller_temperature": moment.bath + now.sensor_error}


def on_lines(plant: Plant, moment: Moment) -> dict[str, float]:
    """A bend in the middle of the condenser and the discharge line, by a probe."""
    now, cycle = plant.now, plant.cycle(moment.bath)
    part = 1.0 - exp(-moment.since / START) if moment.runs else exp(-moment.since / (2.0 * EQUAL))
    hot = {"condenser_bend_temperature": cycle.condensing, "discharge_line_temperature": cycle.discharge}
    return {quantity: now.ambient + (value - now.ambient) * part for quantity, value in hot.items()}


def kegs(plant: Plant) -> dict[str, float]:
    """The beer in the keg of each tap."""
    taps = [tap for trunk in plant.unit.trunks for tap in trunk.taps]
    return {tap: plant.now.warm_kegs.get(tap, plant.now.keg) for tap in taps}


def _fan_share(plant: Plant, moment: Moment) -> float:
    """Of its full current, while the compressor runs; in cold air a head pressure control slows it or lets it rest."""
    unit = plant.unit
    if not plant.now.fan_turns:
        return 0.0
    if unit.lowest_condensing < plant.now.ambient + unit.design.split:
        return 1.0
    if unit.fan_cycles:
        return float(moment.since % FAN_PERIOD < FAN_PERIOD / 2)
    return 0.7


def currents(plant: Plant, moment: Moment, trying: bool = False) -> dict[str, float]:
    """Of the motors; `trying`: the meter hangs on while a compressor that does not start tries to."""
    unit, now = plant.unit, plant.now
    found = {"compressor-1": 0.0, "fan-1": 0.0, "pump-1": 0.0}
    if not now.powered:
        return found
    if trying:
        found["compressor-1"] = 0.93 * LOCKED * unit.compressor_rating
    if moment.runs:
        real = 1e3 * plant.cycle(moment.bath).power / now.volts
        steady = max((real**2 + unit.magnetising**2) ** 0.5, now.overload * unit.compressor_rating)
        found["compressor-1"] = steady * (1.0 + 0.2 * exp(-moment.since / 40.0))
        found["fan-1"] = _fan_share(plant, moment) * 1e3 * unit.fan_power / now.volts / 0.65
    if now.pump_turns:
        thick = viscosity(now.strength, -2.0) / viscosity(35.0, -2.0)
        working = 0.75 + 0.25 * thick if unit.positive_displacement else 0.6 + 0.4 * now.flow
        idle = 1.0 if now.pump_coupled else 0.6
        found["pump-1"] = 1e3 * unit.pump_power / now.volts / 0.6 * working * idle * now.pump_current
    return found
