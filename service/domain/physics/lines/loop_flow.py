"""The glycol loop: pressure for a flow, and flow at a pump's pressure.

In a closed loop the rise and the fall cancel, so height does not count.
"""

from dataclasses import dataclass
from math import pi

from service.domain.physics.glycol.properties import density, viscosity
from service.domain.physics.libraries import root
from service.domain.physics.ranges import Range

REYNOLDS = Range("Reynolds number", 1e-6, 1e9, "-")
ROUGHNESS = Range("roughness over bore", 0.0, 0.05, "-")
BORE = Range("bore of the tube", 1e-3, 0.5, "m")
LENGTH = Range("length of the tube, there and back", 0.1, 3000.0, "m")
ALLOWANCE = Range("allowance for fittings", 0.0, 5.0, "-")
FLOW = Range("flow", 1e-9, 0.1, "m3/s")
DENSITY = Range("density", 500.0, 2000.0, "kg/m3")
VISCOSITY = Range("viscosity", 1e-5, 10.0, "Pa*s")
PRESSURE = Range("pressure of the pump", 1.0, 2e6, "Pa")

FITTINGS_ALLOWANCE = 0.2  # of the straight tube's pressure drop; common practice, no source
SMOOTH_TUBE = 1.5e-6  # m, drawn or extruded tubing


@dataclass(frozen=True, slots=True)
class Loop:
    """Bore [m], length there and back [m], share [-] of the tube's drop added for fittings, wall roughness [m]."""

    bore: float
    length: float
    fittings: float = FITTINGS_ALLOWANCE
    roughness: float = SMOOTH_TUBE

    def __post_init__(self) -> None:
        """Reject dimensions that no loop has."""
        BORE.check(self.bore)
        LENGTH.check(self.length)
        ALLOWANCE.check(self.fittings)
        ROUGHNESS.check(self.roughness / self.bore)


def friction_factor(*, reynolds: float, relative_roughness: float = 0.0) -> float:
    """
    Return Darcy's friction factor, from creeping to turbulent flow without a jump between.

        f = 8 ((8 / Re)^12 + (A + B)^-1.5)^(1/12)
        A = (2.457 ln(1 / ((7 / Re)^0.9 + 0.27 e/D)))^16,    B = (37530 / Re)^16

    Parameters
    ----------
    reynolds : float
        Reynolds number, 1e-6 to 1e9, [-]
    relative_roughness : float
        Wall roughness over bore, 0 to 0.05, [-]

    Returns
    -------
    float
        Darcy (not Fanning) friction factor, [-]

    Raises
    ------
    OutOfRange
        A Reynolds number or a roughness outside its range.

    Notes
    -----
    64 / Re when laminar; within 1 % of Colebrook's equation for 1e4 to 1e7 in smooth tube, 2.5 % in rough. Between 2100
    and 4000 the flow itself is unsteady, and so is the figure; what matters there is that it does not jump, since
    glycol loops live at 300 to 2600.

    References
    ----------
    .. [1] S. W. Churchill, Friction factor equation spans all fluid-flow regimes, Chemical Engineering 84 (1977), 91,
       as in the library fluids.

    Examples
    --------
    Colebrook's equation gives 0.018514:

    >>> friction_factor(reynolds=1e5, relative_roughness=1e-4)
    0.01846
    """
    from fluids.friction import Churchill_1977

    REYNOLDS.check(reynolds)
    ROUGHNESS.check(relative_roughness)
    return float(Churchill_1977(reynolds, relative_roughness))


def tube_pressure_drop(loop: Loop, *, flow: float, density: float, viscosity: float) -> float:
    """
    Return the pressure that a flow of any liquid loses in the loop.

        dp = (1 + k) f L/D rho u^2 / 2,    u = 4 V / (pi D^2),    f by Churchill at Re = rho u D / mu

    Parameters
    ----------
    loop : Loop
        Bore and length in metres, allowance for fittings, roughness, [-]
    flow : float
        Volume flow, 1e-9 to 0.1, [m^3/s]
    density : float
        Density, 500 to 2000, [kg/m^3]
    viscosity : float
        Dynamic viscosity, 1e-5 to 10, [Pa*s]

    Returns
    -------
    float
        Pressure drop, [Pa]

    Raises
    ------
    OutOfRange
        A value outside its range.

    Notes
    -----
    2 % where laminar or fully turbulent, 20 % between. A bore 5 % narrower raises it by 23 to 28 %.

    References
    ----------
    .. [1] Crane Co., Flow of Fluids through Valves, Fittings and Pipe, Technical Paper 410, problem 7.13: oil of
       2.7 cSt and 0.815 of water's density, 2 gal/s in 100 ft of 2 in pipe of schedule 40: 66 500 Pa.

    Examples
    --------
    Problem 7.13 of [1]_:

    >>> pipe = Loop(bore=0.0525, length=30.48, fittings=0.0, roughness=4.57e-5)
    >>> tube_pressure_drop(pipe, flow=0.00757, density=815.0, viscosity=2.7e-6 * 815.0)
    66110.0
    """
    FLOW.check(flow)
    DENSITY.check(density)
    VISCOSITY.check(viscosity)
    speed = 4.0 * flow / (pi * loop.bore**2)
    reynolds = density * speed * loop.bore / viscosity
    factor = friction_factor(reynolds=reynolds, relative_roughness=loop.roughness / loop.bore)
    return (1.0 + loop.fittings) * factor * loop.length / loop.bore * density * speed**2 / 2.0


def loop_pressure_drop(loop: Loop, *, flow: float, mass_fraction: float, temperature: float) -> float:
    """
    Return the pressure that a flow of propylene glycol loses in the loop.

        dp(V, rho(w, T), mu(w, T)) of `tube_pressure_drop`

    Parameters
    ----------
    loop : Loop
        Bore and length in metres, allowance for fittings, roughness, [-]
    flow : float
        Volume flow, 1e-9 to 0.1, [m^3/s]
    mass_fraction : float
        Strength, 0 to 0.6, [kg/kg]
    temperature : float
        Temperature of the glycol, above its freezing point, [K]

    Returns
    -------
    float
        Pressure drop, [Pa]

    Raises
    ------
    OutOfRange
        A value outside its range.

    Notes
    -----
    Where laminar it follows the viscosity, which two sources give 13 % apart.

    References
    ----------
    .. [1] As `tube_pressure_drop`; properties by Melinder, 2010, as in CoolProp.

    Examples
    --------
    50 gal/h through 200 ft of 3/8 in tube at 28 °F and 35 %: 24 psi.

    >>> loop = Loop(bore=0.009525, length=60.96, fittings=0.0)
    >>> loop_pressure_drop(loop, flow=5.2576e-5, mass_fraction=0.35, temperature=270.93) / 6894.757
    24.0
    """
    return tube_pressure_drop(
        loop,
        flow=flow,
        density=density(mass_fraction=mass_fraction, temperature=temperature),
        viscosity=viscosity(mass_fraction=mass_fraction, temperature=temperature),
    )


def flow_at_pressure(loop: Loop, *, pressure: float, mass_fraction: float, temperature: float) -> float:
    """
    Return the flow that a pressure drives through the loop.

        V such that dp(V) = p

    Parameters
    ----------
    loop : Loop
        Bore and length in metres, allowance for fittings, roughness, [-]
    pressure : float
        Difference of pressure that the pump holds, 1 to 2e6, [Pa]
    mass_fraction : float
        Strength, 0 to 0.6, [kg/kg]
    temperature : float
        Temperature of the glycol, above its freezing point, [K]

    Returns
    -------
    float
        Volume flow, [m^3/s]

    Raises
    ------
    OutOfRange
        A value outside its range, or a pressure that would drive a flow outside 1e-9 to 0.1.

    Notes
    -----
    For a pump whose pressure falls with flow, take the pressure at the flow found, and again.

    References
    ----------
    .. [1] As `loop_pressure_drop`, solved by Brent's method.

    Examples
    --------
    >>> loop = Loop(bore=0.009525, length=60.96, fittings=0.0)
    >>> flow_at_pressure(loop, pressure=24.0 * 6894.757, mass_fraction=0.35, temperature=270.93)
    5.26e-05
    """
    PRESSURE.check(pressure)
    rho = density(mass_fraction=mass_fraction, temperature=temperature)
    mu = viscosity(mass_fraction=mass_fraction, temperature=temperature)

    def drop(flow: float) -> float:
        return tube_pressure_drop(loop, flow=flow, density=rho, viscosity=mu)

    Range("pressure of the pump for this loop", drop(FLOW.low), drop(FLOW.high), "Pa").check(pressure)
    return root(lambda flow: drop(flow) - pressure, FLOW.low, FLOW.high)


def flow_of_displacement_pump(
    loop: Loop, *, displacement: float, relief_pressure: float, mass_fraction: float, temperature: float
) -> float:
    """
    Return the flow of a pump that moves a fixed volume a turn, until its relief valve opens.

        V = min(V_displaced, V at the relief pressure)

    Parameters
    ----------
    loop : Loop
        Bore and length in metres, allowance for fittings, roughness, [-]
    displacement : float
        Volume that the pump displaces in time, 1e-9 to 0.1, [m^3/s]
    relief_pressure : float
        Difference of pressure at which the pump's relief valve sends the rest back, 1 to 2e6, [Pa]
    mass_fraction : float
        Strength, 0 to 0.6, [kg/kg]
    temperature : float
        Temperature of the glycol, above its freezing point, [K]

    Returns
    -------
    float
        Volume flow through the loop, [m^3/s]

    Raises
    ------
    OutOfRange
        A value outside its range.

    Notes
    -----
    A new pump without slip; a worn one gives less. Without a relief valve the pressure rises until something yields.

    References
    ----------
    .. [1] As `flow_at_pressure`.

    Examples
    --------
    100 gal/h displaced, relief at 60 psi: at 55 % the valve is open and a sixth of it never reaches the loop.

    >>> loop = Loop(bore=0.0127, length=91.44)
    >>> flow_of_displacement_pump(
    ...     loop, displacement=1.0515e-4, relief_pressure=413685.0, mass_fraction=0.55, temperature=270.93
    ... )
    8.7e-05
    """
    FLOW.check(displacement)
    at_relief = flow_at_pressure(loop, pressure=relief_pressure, mass_fraction=mass_fraction, temperature=temperature)
    return min(displacement, at_relief)
