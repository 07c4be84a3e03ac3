"""Heat carried by the loop's flow, pump power, and the effect of too strong glycol."""

from dataclasses import dataclass

from service.domain.physics.glycol.properties import density, specific_heat
from service.domain.physics.lines.loop_flow import FLOW, Loop, flow_at_pressure
from service.domain.physics.ranges import Range

HEAT = Range("heat taken up by the loop", 0.0, 1e5, "W")


@dataclass(frozen=True, slots=True)
class Starvation:
    """Flow [m3/s] at this strength and at the target, and the shares [-] left of flow and of heat per kelvin."""

    flow: float
    target_flow: float
    flow_share: float
    heat_share: float


def capacity_rate(*, flow: float, mass_fraction: float, temperature: float) -> float:
    """
    Return the heat that the flow takes up for each kelvin it warms.

        C = V rho cp

    Parameters
    ----------
    flow : float
        Volume flow, 1e-9 to 0.1, [m^3/s]
    mass_fraction : float
        Strength, 0 to 0.6, [kg/kg]
    temperature : float
        Temperature of the glycol, above its freezing point, [K]

    Returns
    -------
    float
        Capacity rate, [W/K]

    Raises
    ------
    OutOfRange
        A value outside its range.

    Notes
    -----
    1 %, as the specific heat. In the trade's factor, Btu/h per gal/min and °F: water 500, propylene glycol 35 % 462.

    References
    ----------
    .. [1] Conservation of energy; properties by Melinder, 2010, as in CoolProp.

    Examples
    --------
    100 gal/h of 35 % at 28 °F: 769 Btu/h for each °F, 406 W/K.

    >>> capacity_rate(flow=1.0515e-4, mass_fraction=0.35, temperature=270.93)
    406.0
    """
    rho = density(mass_fraction=mass_fraction, temperature=temperature)
    return FLOW.check(flow) * rho * specific_heat(mass_fraction=mass_fraction, temperature=temperature)


def temperature_rise(*, heat: float, flow: float, mass_fraction: float, temperature: float) -> float:
    """
    Return how much the glycol warms on its way round.

        T_return - T_supply = Q / (V rho cp)

    Parameters
    ----------
    heat : float
        Heat that the loop takes up, 0 to 1e5, [W]
    flow : float
        Volume flow, 1e-9 to 0.1, [m^3/s]
    mass_fraction : float
        Strength, 0 to 0.6, [kg/kg]
    temperature : float
        Mean temperature of the glycol, above its freezing point, [K]

    Returns
    -------
    float
        Rise of temperature, [K]

    Raises
    ------
    OutOfRange
        A value outside its range.

    Notes
    -----
    The heat is taken as given; the trunk takes up a little less as the glycol warms.

    References
    ----------
    .. [1] Conservation of energy; properties by Melinder, 2010, as in CoolProp.

    Examples
    --------
    1000 Btu/h into 50 gal/h of 35 % at 28 °F: 2.60 °F.

    >>> temperature_rise(heat=293.07, flow=5.2576e-5, mass_fraction=0.35, temperature=270.93) * 1.8
    2.60
    """
    return HEAT.check(heat) / capacity_rate(flow=flow, mass_fraction=mass_fraction, temperature=temperature)


def starvation(loop: Loop, *, pressure: float, mass_fraction: float, target: float, temperature: float) -> Starvation:
    """
    Return how much flow and heat the loop has left at this strength, against the target at the same pressure.

        share of flow = V(w) / V(w_target),    share of heat = C(w) / C(w_target),    C = V rho cp

    Parameters
    ----------
    loop : Loop
        Bore and length in metres, allowance for fittings, roughness, [-]
    pressure : float
        Difference of pressure that the pump holds, 1 to 2e6, [Pa]
    mass_fraction : float
        Strength now, 0 to 0.6, [kg/kg]
    target : float
        Strength wanted, 0 to 0.6, [kg/kg]
    temperature : float
        Temperature of the glycol, above both freezing points, [K]

    Returns
    -------
    Starvation
        Flow now and at the target [m^3/s], and the shares left of flow and of heat per kelvin, [-]

    Raises
    ------
    OutOfRange
        A value outside its range.

    Notes
    -----
    The two viscosities come from one source, so that the shares are better than each flow: some 5 %. Where the weaker
    glycol flows at a Reynolds number of 2100 to 4000, the stronger may for once flow better, being laminar.

    References
    ----------
    .. [1] As `loop_flow.flow_at_pressure`. Where the flow is laminar the share is mu(w_target) / mu(w), by Poiseuille.

    Examples
    --------
    At 55 % instead of 35 % the viscosity is 2.6 times as high, and the flow 38 % of what it was:

    >>> loop = Loop(bore=0.009525, length=60.96)
    >>> starved = starvation(loop, pressure=165474.0, mass_fraction=0.55, target=0.35, temperature=270.93)
    >>> starved.flow_share, starved.heat_share
    (0.378, 0.35)
    """
    now, then = (
        flow_at_pressure(loop, pressure=pressure, mass_fraction=w, temperature=temperature)
        for w in (mass_fraction, target)
    )
    heat_now = capacity_rate(flow=now, mass_fraction=mass_fraction, temperature=temperature)
    heat_then = capacity_rate(flow=then, mass_fraction=target, temperature=temperature)
    return Starvation(flow=now, target_flow=then, flow_share=now / then, heat_share=heat_now / heat_then)
