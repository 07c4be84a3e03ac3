"""The refrigeration circuit in a steady state: compressor, condenser, capillary or valve, evaporator in a bath, charge.

The wetted share of the evaporator is the unknown: a wetter evaporator takes liquid from the condenser, so that
subcooling and the capillary's flow fall, and evaporates warmer, so that the compressor's flow rises. Where both flows
are equal, the state is steady. A valve wets the evaporator as far as its superheat allows. What does not fit is carried
back to the compressor.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import exp, sqrt
from typing import NamedTuple

from tests.simulation.units.refrigerants import HIGH, Refrigerant, Saturated, work

DRIEST = 0.03
TWO_PHASE_EVAPORATOR = 0.14  # mean density over that of the liquid
TWO_PHASE_CONDENSER = 0.22
HOTTEST = HIGH - 1.0
NEAR = 0.03  # K
MOST_ROUNDS, SHORTER = 60, 0.7


@dataclass(frozen=True, slots=True)
class Circuit:
    """A machine as built. Conductances and capacity rates in kW/K, volumes in m3, flow constants in SI."""

    fluid: Refrigerant
    metering: str
    swept: float
    clearance: float
    efficiency: float
    shell_loss: float
    evaporator: float
    superheater: float
    condenser: float
    subcooler: float
    air: float
    metering_flow: float
    valve_superheat: float
    charge: float
    condenser_volume: float
    evaporator_volume: float
    liquid_density: float  # at 30 degC


@dataclass(frozen=True, slots=True)
class Around:
    """What the circuit works in and with: temperatures in degC, shares of the sound machine."""

    bath: float
    air: float
    air_density: float = 1.0
    air_flow: float = 1.0
    fouling: float = 0.0
    recirculated: float = 0.0
    evaporator: float = 1.0
    metering: float = 1.0
    charge: float = 1.0
    leak: float = 0.0
    foreign_gas: float = 0.0  # kPa in the condenser
    lowest_condensing: float = -40.0


@dataclass(frozen=True, slots=True)
class Cycle:
    """What the circuit does: temperatures in degC, pressures in kPa absolute, powers in kW."""

    evaporating: float
    condensing: float
    suction: float
    head: float
    superheat: float
    subcooling: float
    flash: float
    carried_back: float
    wet: float
    air_in: float
    air_out: float
    discharge: float
    cooling: float
    power: float


def solve(circuit: Circuit, around: Around) -> Cycle:
    """The steady state of a running circuit."""
    guess = [around.bath - 8.0, around.air + 12.0, 4.0]
    surplus, cycle = _at(circuit, around, 1.0, 0.0, guess)
    if circuit.metering == "capillary" and surplus > 0.0:
        back = _root(lambda back: _at(circuit, around, 1.0, back, guess)[0], (0.0, surplus), 0.5)
        return _at(circuit, around, 1.0, back, guess)[1]
    wet = _root(lambda wet: _at(circuit, around, wet, 0.0, guess)[0], (1.0, surplus), DRIEST)
    if circuit.metering != "capillary":
        wet = min(wet, _root(lambda wet: _too_dry(circuit, around, wet, guess), (1.0, -cycle.superheat - 1.0), DRIEST))
    return _at(circuit, around, wet, 0.0, guess)[1]


def _too_dry(circuit: Circuit, around: Around, wet: float, guess: list[float]) -> float:
    """How far the superheat is above what the valve holds, K."""
    superheat = _at(circuit, around, wet, 0.0, guess)[1].superheat
    return superheat - min(circuit.valve_superheat, 0.7 * (around.bath - guess[0]))


def _root(f: Callable[[float], float], known: tuple[float, float], other: float) -> float:
    """Where f crosses zero between two ends, by the Illinois variant of false position; else the end nearer to zero."""
    (a, f_a), b = known, other
    f_b = f(b)
    if f_a * f_b > 0.0:
        return a if abs(f_a) < abs(f_b) else b
    middle = b
    for _ in range(14):
        middle = (a * f_b - b * f_a) / (f_b - f_a)
        f_middle = f(middle)
        if abs(f_middle) < 2e-3:
            break
        if f_middle * f_b < 0.0:
            a, f_a = b, f_b
        else:
            f_a *= 0.5
        b, f_b = middle, f_middle
    return middle


def _at(circuit: Circuit, around: Around, wet: float, back: float, guess: list[float]) -> tuple[float, Cycle]:
    """Metered flow over compressed flow less 1, and the cycle, for a wetted share and a share of liquid carried back.

    `guess` (evaporating, condensing, superheat) is where the iteration begins, and is left where it ended.
    """
    fluid, filled = circuit.fluid, _filled(circuit, around, wet, back)
    evaporating, condensing, superheat = guess
    low, high, before = 0.7, 0.85, (0.0, 0.0)
    for _ in range(MOST_ROUNDS):
        at = _Guess(evaporating, condensing, superheat, fluid.at(evaporating), fluid.at(condensing))
        pumped = _pumped(circuit, around, at, back)
        shed = _shed(circuit, around, at, filled, pumped)
        taken = _taken(circuit, around, at, (wet, back), pumped.flow, shed.liquid)
        colder, hotter = taken.evaporating - evaporating, shed.condensing - condensing
        low *= SHORTER if colder * before[0] < 0.0 else 1.0  # steps that overshoot get shorter
        high *= SHORTER if hotter * before[1] < 0.0 else 1.0
        before = colder, hotter
        evaporating += low * colder
        condensing += high * hotter
        superheat = taken.superheat
        if -NEAR < colder < NEAR and -NEAR < hotter < NEAR:
            break
    guess[:] = evaporating, condensing, superheat
    metered = _metered(circuit, around, pumped, shed)
    cycle = Cycle(
        evaporating=evaporating,
        condensing=fluid.bubble_temperature(pumped.head),
        suction=pumped.suction,
        head=pumped.head,
        superheat=superheat,
        subcooling=fluid.bubble_temperature(pumped.head) - condensing + shed.subcooling,
        flash=shed.flash,
        carried_back=back,
        wet=wet,
        air_in=shed.air_in,
        air_out=shed.air_out,
        discharge=pumped.discharge,
        cooling=taken.cooling,
        power=pumped.power,
    )
    return metered / pumped.flow - 1.0, cycle


class _Guess(NamedTuple):
    evaporating: float
    condensing: float
    superheat: float
    cold: Saturated
    hot: Saturated


class _Pumped(NamedTuple):
    flow: float
    suction: float
    head: float
    power: float
    leaving: float  # enthalpy
    discharge: float


class _Shed(NamedTuple):
    condensing: float
    subcooling: float
    flash: float
    liquid: float  # enthalpy
    air_in: float
    air_out: float


class _Taken(NamedTuple):
    evaporating: float
    superheat: float
    cooling: float


def _filled(circuit: Circuit, around: Around, wet: float, back: float) -> float:
    """The share of the condenser that is full of liquid; below 0, how much it is short of any."""
    liquid = circuit.liquid_density
    total = circuit.charge * around.charge * (1.0 - 0.8 * back)
    in_evaporator = circuit.evaporator_volume * TWO_PHASE_EVAPORATOR * liquid * wet
    vapour = TWO_PHASE_CONDENSER * liquid * circuit.condenser_volume
    return min((total - in_evaporator - vapour) / (circuit.condenser_volume * liquid - vapour), 0.75)


def _pumped(circuit: Circuit, around: Around, at: _Guess, back: float) -> _Pumped:
    """What the compressor moves and needs; a leak lets part of it expand back, warm."""
    fluid, cold, hot = circuit.fluid, at.cold, at.hot
    suction, head = cold.dew, hot.dew + around.foreign_gas
    ratio = head / suction
    kelvin = at.evaporating + 273.15
    density = cold.vapour_density * kelvin / (kelvin + at.superheat)
    volumetric = max(0.93 - circuit.clearance * (ratio**0.9 - 1.0), 0.05) * (1.0 - around.leak)
    vapour = circuit.swept * density * volumetric
    compressed = fluid.dew_temperature(head) if around.foreign_gas else at.condensing
    pressed = fluid.at(compressed) if around.foreign_gas else hot
    needed = work(cold, at.evaporating, at.superheat, pressed, compressed)
    efficiency = circuit.efficiency * (1.0 - 0.006 * (ratio - 5.0) ** 2 / (1.0 + 0.1 * ratio))
    power = vapour * needed / max(efficiency, 0.2) * (1.0 + 0.35 * around.leak)
    entering = cold.vapour_enthalpy + cold.vapour_heat * at.superheat
    flow = vapour / (1.0 - back)
    carried = back * (cold.vapour_enthalpy - cold.liquid_enthalpy)
    leaving = entering - carried + (1.0 - circuit.shell_loss) * power / flow
    above = max(leaving - hot.vapour_enthalpy, 0.0) / hot.vapour_heat
    return _Pumped(flow, suction, head, power, leaving, at.condensing + above)


def _shed(circuit: Circuit, around: Around, at: _Guess, filled: float, pumped: _Pumped) -> _Shed:
    """What the condenser gives to the air."""
    hot = at.hot
    moving = max(around.air_flow, 0.05)
    air = circuit.air * around.air_density * moving
    carried = (around.air_density * moving) ** 0.55
    conductance = circuit.condenser * (1.0 - around.fouling) / (0.72 / carried + 0.28)
    full = max(filled, 0.0)
    heat = pumped.flow * max(pumped.leaving - hot.liquid_enthalpy, 1.0)
    air_in = around.air + around.recirculated / (1.0 - around.recirculated) * heat / air
    aided = (1.0 - full) * air * (1.0 - exp(-conductance / air))
    made = min(max(air_in + heat / aided, around.lowest_condensing), HOTTEST)
    reach = full * circuit.subcooler * conductance / circuit.condenser / (pumped.flow * hot.liquid_heat)
    subcooling = max(at.condensing - air_in, 0.0) * (1.0 - exp(-reach))
    latent = hot.vapour_enthalpy - hot.liquid_enthalpy
    flash = min(max(-filled, 0.0) * 0.9, 0.6)
    liquid = hot.liquid_enthalpy - hot.liquid_heat * subcooling + flash * latent
    spread = heat / air if made > around.lowest_condensing else (made - air_in) * 0.6  # held up: less air, more rise
    air_out = air_in + min(spread, 0.9 * max(made - air_in, 0.0))
    return _Shed(made, subcooling, flash, liquid, air_in, air_out)


def _taken(
    circuit: Circuit, around: Around, at: _Guess, share: tuple[float, float], flow: float, liquid: float
) -> _Taken:
    """What the evaporator takes; `share`: wetted, carried back; `liquid`: the enthalpy that enters."""
    (wet, back), cold = share, at.cold
    gas = cold.vapour_enthalpy
    boiled = flow * max(gas - back * (gas - cold.liquid_enthalpy) - liquid, 1.0)
    made = around.bath - boiled / (wet * circuit.evaporator * around.evaporator)
    warmed = 1.0 - exp(-(1.0 - wet) * circuit.superheater / (flow * cold.vapour_heat))
    superheat = max(around.bath - at.evaporating, 0.0) * warmed
    return _Taken(max(made, -45.0), superheat, boiled + flow * cold.vapour_heat * superheat)


def _metered(circuit: Circuit, around: Around, pumped: _Pumped, shed: _Shed) -> float:
    """What capillary or wide open valve let pass: near choked, more with subcooling, much less with flash gas."""
    constant = circuit.metering_flow * around.metering
    if circuit.metering == "capillary":
        return constant * pumped.head**0.65 * (1.0 + 0.02 * shed.subcooling) / (1.0 + 9.0 * shed.flash)
    return constant * sqrt(max(pumped.head - pumped.suction, 1.0)) / (1.0 + 9.0 * shed.flash)
