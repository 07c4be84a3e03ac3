"""The load on a unit: heat from trunk, towers, poured beer and pump, by part and in total."""

from dataclasses import dataclass

from service.domain.physics.ranges import Range

HEAT = Range("heat load", 0.0, 100_000.0, "W")
POUR_FLOW = Range("beer poured", 0.0, 0.01, "m3/s")
TEMPERATURE_DROP = Range("temperature drop of the beer", 0.0, 40.0, "K", "temperature_difference")
BEER_DENSITY = Range("density of the beer", 980.0, 1150.0, "kg/m3")
BEER_SPECIFIC_HEAT = Range("specific heat of the beer", 3500.0, 4200.0, "J/(kg K)")
SHAFT_POWER = Range("pump shaft power", 0.0, 5000.0, "W")
SHARE = Range("share of the power that reaches the glycol", 0.0, 1.0, "-")
ALLOWANCE = Range("allowance", 0.0, 1.0, "-")
CAPACITY = Range("capacity", 1.0, 200_000.0, "W")

USUAL_ALLOWANCE = 0.15  # [-] a brewery chiller guide
USUAL_DENSITY = 1010.0 * 0.9982  # [kg/m3] specific gravity 1.010
USUAL_SPECIFIC_HEAT = 0.92 * 4186.8  # [J/(kg K)] 0.92 Btu/(lb degF); 0.92 to 0.96 in print
# 120 Btu/degF for a steel half keg of 15.5 US gal with its beer.


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitLoad:
    """The load by part [W] and the allowance as a fraction."""

    trunk: float
    tower: float
    pour: float
    pump: float
    allowance: float = 0.0

    @property
    def sum(self) -> float:
        """The parts together, without the allowance [W]."""
        return self.trunk + self.tower + self.pour + self.pump

    @property
    def total(self) -> float:
        """The parts together with the allowance [W]."""
        return self.sum * (1.0 + self.allowance)


def pour_load(
    *,
    flow: float,
    drop: float,
    density: float = USUAL_DENSITY,
    specific_heat: float = USUAL_SPECIFIC_HEAT,
) -> float:
    """Return the heat that beer flowing through the trunk gives to the glycol.

    Q = V rho c (T_in - T_out). Valid up to 10 L/s and for a drop of 0 to 40 K.

    Parameters
    ----------
    flow : float
        Beer poured, averaged over the hour [m3/s].
    drop : float
        How much the trunk cools the beer [K].
    density : float
        Density of the beer [kg/m3].
    specific_heat : float
        Specific heat of the beer [J/(kg K)].

    Returns
    -------
    float
        Heat [W].

    Raises
    ------
    OutOfRange
        If an argument lies outside its range.

    Notes
    -----
    A trunk holds a temperature; it cannot cool warm kegs. The specific heat is good to 4 %.

    References
    ----------
    Engineering Manual, Commercial Refrigeration Load Calculations (H-ENGM0408, 2008), table 9, page 18: 120 Btu/degF
    a half keg, from which 0.92 Btu/(lb degF) follows.

    Examples
    --------
    >>> pint = 473.176e-6
    >>> round(pour_load(flow=120 * pint / 3600, drop=2.0 / 1.8) * 3.412142)
    232
    """
    mass_flow = POUR_FLOW.check(flow) * BEER_DENSITY.check(density)
    return mass_flow * BEER_SPECIFIC_HEAT.check(specific_heat) * TEMPERATURE_DROP.check(drop)


def pump_heat(shaft_power: float, *, share: float = 1.0) -> float:
    """Return the heat that the circulating pump puts into the glycol.

    Q = share x P: in a closed loop all shaft power ends as heat in the fluid, and where the motor sits in the bath or
    is cooled by it, its losses too. Valid up to 5 kW.

    Parameters
    ----------
    shaft_power : float
        Power at the shaft [W].
    share : float
        Share that reaches the glycol [-].

    Returns
    -------
    float
        Heat [W].

    Raises
    ------
    OutOfRange
        If an argument lies outside its range.

    Notes
    -----
    The nameplate power is an upper bound: most pumps draw less.

    References
    ----------
    Energy balance; 1 hp = 2545 Btu/h, so a 1/3 hp motor puts at most 848 Btu/h into the loop.

    Examples
    --------
    >>> round(pump_heat(745.7 / 3) * 3.412142)
    848
    """
    return SHAFT_POWER.check(shaft_power) * SHARE.check(share)


def unit_load(*, trunk: float, tower: float, pour: float, pump: float, allowance: float = USUAL_ALLOWANCE) -> UnitLoad:
    """Return the load on the unit by part and in total.

    total = (trunk + tower + pour + pump)(1 + allowance). Valid for parts of 0 to 100 kW.

    Parameters
    ----------
    trunk : float
        Heat gain of the trunks [W].
    tower : float
        Heat gain of the towers [W].
    pour : float
        Heat taken from the beer poured [W].
    pump : float
        Heat from the pump [W].
    allowance : float
        Fraction added for what is not known: fittings, damaged insulation, the bath's own walls [-].

    Returns
    -------
    UnitLoad
        Parts and total [W].

    Raises
    ------
    OutOfRange
        If a part or the allowance lies outside its range.

    Notes
    -----
    No sourced figure for towers was found; the example's 400 Btu/h are common practice, no source, as for the pump.

    References
    ----------
    Energy balance; 15 % from a brewery chiller guide. Example: 150 ft of trunk at 9.12 Btu/(h ft), 400 for towers,
    233 for the pour and 400 for the pump come to 2401 Btu/h, with the allowance to 2761.

    Examples
    --------
    >>> parts = {"trunk": 150 * 9.12, "tower": 400.0, "pour": 233.0, "pump": 400.0}
    >>> load = unit_load(**{name: heat / 3.412142 for name, heat in parts.items()})
    >>> round(load.sum * 3.412142), round(load.total * 3.412142)
    (2401, 2761)
    """
    for part in (trunk, tower, pour, pump):
        HEAT.check(part)
    ALLOWANCE.check(allowance)
    return UnitLoad(trunk=trunk, tower=tower, pour=pour, pump=pump, allowance=allowance)


def duty(load: float, *, capacity: float) -> float:
    """Return the share of the time the compressor has to run; above 1 the unit cannot hold the bath temperature.

    duty = load / capacity. Valid for loads of 0 to 100 kW, capacities of 1 W to 200 kW.

    Parameters
    ----------
    load : float
        Load on the unit [W].
    capacity : float
        Its capacity at today's ambient and this bath [W].

    Returns
    -------
    float
        Share of the time [-].

    Raises
    ------
    OutOfRange
        If an argument lies outside its range.

    Notes
    -----
    The quotient carries both errors: 0.8 to 1.2 means "at its limit", not "fits".

    References
    ----------
    Energy balance of the bath in steady running.

    Examples
    --------
    >>> duty(1450.0, capacity=2900.0)
    0.5
    """
    return HEAT.check(load) / CAPACITY.check(capacity)
