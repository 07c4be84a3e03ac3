"""The vapour-compression cycle of one unit, and the loss of capacity and power with a warmer condenser.

Fixed displacement: the compressor draws in the same volume of suction gas at any condensing temperature.
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from service.domain.physics.libraries import coolprop, coolprop_lock
from service.domain.physics.ranges import Range
from service.domain.physics.refrigeration.refrigerants import Refrigerant
from service.domain.physics.refrigeration.saturation import bubble_pressure, dew_pressure

EVAPORATING = Range("evaporating temperature", 233.15, 303.15, "K")
SUPERHEAT = Range("superheat", 0.0, 40.0, "K", "temperature_difference")
SUBCOOLING = Range("subcooling", 0.0, 40.0, "K", "temperature_difference")
ISENTROPIC_EFFICIENCY = Range("isentropic efficiency", 0.3, 1.0, "-")
CLEARANCE = Range("clearance", 0.0, 0.1, "-")
SMALLEST_LIFT = 5.0  # [K] condensing above evaporating


@dataclass(frozen=True, slots=True, kw_only=True)
class CycleConditions:
    """The fixed values of the cycle: superheat [K], subcooling [K], isentropic efficiency and clearance [-].

    `clearance` is the compressor's dead volume over its displacement; 0 leaves out the loss of volumetric efficiency.
    """

    superheat: float = 10.0 / 1.8
    subcooling: float = 10.0 / 1.8
    isentropic_efficiency: float = 0.65
    clearance: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Cycle:
    """One cycle; the heats are per volume of suction gas swept [J/m3], the pressures absolute [Pa]."""

    suction_pressure: float
    discharge_pressure: float
    cooling: float
    work: float
    heat_rejected: float

    @property
    def cop(self) -> float:
        """Cooling over compressor work [-]."""
        return self.cooling / self.work


@dataclass(frozen=True, slots=True, kw_only=True)
class CondensingPenalty:
    """Changes as fractions of the clean state: -0.055 capacity is 5.5 % less cooling, 0.156 energy 15.6 % more."""

    capacity: float
    power: float
    energy_per_cooling: float


TRADE_CONDITIONS = CycleConditions()
REAL_CONDITIONS = CycleConditions(clearance=0.04)
"""4 % of clearance: small reciprocating compressors have 3 to 6 % (textbooks of refrigeration; from memory)."""
RE_EXPANSION = 1.1  # [-] exponent of the gas that expands again from the clearance (from memory)


@lru_cache(maxsize=64)
def _state(fluid: str, phase: str) -> Any:
    """Return CoolProp's state of this fluid, held to "gas" or "liquid"; use it under `coolprop_lock` only."""
    library = coolprop()
    state = library.AbstractState("HEOS", fluid)
    state.specify_phase(getattr(library, f"iphase_{phase}"))
    return state


def _compressed(state: Any, pressure: float, entropy: float, start: float) -> float:
    """Return the gas enthalpy at this pressure and entropy: Newton on T (ds/dT = cp/T), the rest by dh = T ds."""
    inputs = coolprop().PT_INPUTS
    temperature = start
    for _ in range(30):
        state.update(inputs, pressure, temperature)
        short = entropy - state.smass()
        step = short * temperature / state.cpmass()
        if abs(step) < 0.01:
            return float(state.hmass() + temperature * short)
        temperature += max(-30.0, min(step, 30.0))
    raise ArithmeticError(f"no gas state found at {pressure:g} Pa and {entropy:g} J/(kg K)")


def cycle(
    refrigerant: Refrigerant,
    *,
    evaporating: float,
    condensing: float,
    conditions: CycleConditions = TRADE_CONDITIONS,
) -> Cycle:
    """Return the cycle between these temperatures.

    1: p_dew(T_e), T_e + superheat; 2s: p_bubble(T_c), s1; h2 = h1 + (h2s - h1)/eta; 3: p_bubble(T_c), T_c - subcooling;
    cooling = eta_v rho1 (h1 - h3); work = eta_v rho1 (h2 - h1); eta_v = 1 - c ((p2/p1)^(1/1.1) - 1).
    Valid for T_e 233.15 to 303.15 K and T_c from T_e + 5 K to the
    refrigerant's `hottest`.

    Parameters
    ----------
    refrigerant : Refrigerant
        The fluid [-].
    evaporating : float
        Evaporating temperature, at dew [K].
    condensing : float
        Condensing temperature, at bubble [K].
    conditions : CycleConditions
        Superheat [K], subcooling [K], isentropic efficiency and clearance [-].

    Returns
    -------
    Cycle
        Pressures [Pa]; cooling, work and heat rejected [J/m3].

    Raises
    ------
    OutOfRange
        If a temperature, superheat, subcooling or the efficiency lies outside its range.

    Notes
    -----
    Pressure drops and the fan's power are left out, and without a clearance the loss of volumetric efficiency: real
    capacity falls faster.

    References
    ----------
    Textbook vapour-compression cycle; properties: Bell et al., Ind. Eng. Chem. Res. 53 (2014) 2498-2508 (CoolProp
    8.0.0). Values of the example: computed with CoolProp 8.0.0 outside this project, a regression value.

    Examples
    --------
    >>> from service.domain.physics.refrigeration.refrigerants import refrigerant
    >>> at_105 = cycle(refrigerant("R-134a"), evaporating=263.7056, condensing=313.7056)
    >>> at_105.cop, at_105.discharge_pressure / at_105.suction_pressure
    (2.789, 5.032)
    """
    EVAPORATING.check(evaporating)
    Range("condensing temperature", evaporating + SMALLEST_LIFT, refrigerant.hottest, "K").check(condensing)
    SUPERHEAT.check(conditions.superheat)
    SUBCOOLING.check(conditions.subcooling)
    ISENTROPIC_EFFICIENCY.check(conditions.isentropic_efficiency)
    CLEARANCE.check(conditions.clearance)
    low, high = dew_pressure(refrigerant, evaporating), bubble_pressure(refrigerant, condensing)
    with coolprop_lock:
        inputs = coolprop().PT_INPUTS
        gas, liquid = _state(refrigerant.fluid, "gas"), _state(refrigerant.fluid, "liquid")
        gas.update(inputs, low, evaporating + conditions.superheat)
        h1, s1, rho1 = gas.hmass(), gas.smass(), gas.rhomass()
        liquid.update(inputs, high, condensing - conditions.subcooling)
        h3 = liquid.hmass()
        h2 = h1 + (_compressed(gas, high, s1, condensing + 15.0) - h1) / conditions.isentropic_efficiency
    drawn_in = rho1 * (1.0 - conditions.clearance * ((high / low) ** (1.0 / RE_EXPANSION) - 1.0))
    return Cycle(
        suction_pressure=low,
        discharge_pressure=high,
        cooling=drawn_in * (h1 - h3),
        work=drawn_in * (h2 - h1),
        heat_rejected=drawn_in * (h2 - h3),
    )


def condensing_penalty(
    refrigerant: Refrigerant,
    *,
    evaporating: float,
    clean: float,
    now: float,
    conditions: CycleConditions = TRADE_CONDITIONS,
) -> CondensingPenalty:
    """Return the change of capacity, power and energy per cooling from condensing at `now` instead of `clean`.

    Each is x(now)/x(clean) - 1 of two cycles with the same suction state. Ranges as for `cycle`.

    Parameters
    ----------
    refrigerant : Refrigerant
        The fluid [-].
    evaporating : float
        Evaporating temperature, at dew [K].
    clean : float
        Condensing temperature of the clean condenser in the same air, at bubble [K].
    now : float
        Condensing temperature found, at bubble [K].
    conditions : CycleConditions
        Superheat [K], subcooling [K] and isentropic efficiency [-].

    Returns
    -------
    CondensingPenalty
        Changes of capacity, power and energy per cooling as fractions [-].

    Raises
    ------
    OutOfRange
        As `cycle`.

    Notes
    -----
    The evaporator is held; in a unit it warms a little as capacity falls, which takes back part of the loss. On the
    other side volumetric efficiency falls with the pressure ratio: the real loss of capacity is rather larger.

    References
    ----------
    As `cycle`; the example is a regression value computed with CoolProp 8.0.0 outside this project (15 degF
    evaporating, 10 degF superheat and subcooling, efficiency 0.65, condensing 105 to 115 degF).

    Examples
    --------
    >>> from service.domain.physics.refrigeration.refrigerants import refrigerant
    >>> cost = condensing_penalty(refrigerant("R-134a"), evaporating=263.7056, clean=313.7056, now=319.2611)
    >>> cost.capacity, cost.power, cost.energy_per_cooling
    (-0.055, 0.092, 0.156)
    """
    before = cycle(refrigerant, evaporating=evaporating, condensing=clean, conditions=conditions)
    after = cycle(refrigerant, evaporating=evaporating, condensing=now, conditions=conditions)
    return CondensingPenalty(
        capacity=after.cooling / before.cooling - 1.0,
        power=after.work / before.work - 1.0,
        energy_per_cooling=before.cop / after.cop - 1.0,
    )
