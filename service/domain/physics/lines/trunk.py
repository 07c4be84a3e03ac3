"""The parts of a trunk: runs, conductance between tubes and core, and heat capacities.

The model of all trunk modules: at every position along the trunk one **core** (foil and tube walls, no heat along it)
that exchanges heat with the surroundings through the insulation, with the glycol supply tube, with the glycol
return tube and with the beer lines.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import log, pi

from service.domain.physics.lines.heat_gain import CORE, RESISTANCE, SURROUNDINGS
from service.domain.physics.ranges import Range

LAMINAR_NUSSELT = 3.66
"""[-]: developed laminar flow in a tube of one wall temperature (Incropera, Table 8.1; from memory)."""

CONTACT = 0.3
"""[-]: share of a tube's girth that touches its neighbours under the foil wrap; judged, no source found."""

LENGTH = Range("length of a run", 0.0, 500.0, "m")
CONDUCTANCE = Range("conductance of a tube", 1e-3, 100.0, "W/(m K)")
CAPACITY_RATE = Range("heat capacity rate", 0.01, 1e4, "W/K")
HEAT_CAPACITY = Range("heat capacity of one metre", 1.0, 1e5, "J/(m K)")
ELAPSED = Range("time", 0.0, 1e7, "s")
BORE = Range("bore", 1e-3, 0.1, "m")


@dataclass(frozen=True, slots=True)
class Run:
    """A section of trunk: length [m], surroundings [K], resistance from its core to them [m K/W]."""

    length: float
    surroundings: float
    resistance: float

    def __post_init__(self) -> None:
        LENGTH.check(self.length)
        SURROUNDINGS.check(self.surroundings)
        RESISTANCE.check(self.resistance)


@dataclass(frozen=True, slots=True)
class Bundle:
    """Conductance to the core [W/(m K)]: of each of the two glycol tubes, and of all the beer lines together."""

    glycol_conductance: float
    beer_conductance: float

    def __post_init__(self) -> None:
        CONDUCTANCE.check(self.glycol_conductance)
        CONDUCTANCE.check(self.beer_conductance)


@dataclass(frozen=True, slots=True)
class GlycolFlow:
    """Glycol as it enters the trunk [K], its heat capacity rate [W/K], the heat it takes up beyond the end [W]."""

    supply: float
    capacity_rate: float
    tower_heat: float = 0.0

    def __post_init__(self) -> None:
        CORE.check(self.supply)
        CAPACITY_RATE.check(self.capacity_rate)
        Range("heat taken up at the tower", 0.0, 1e4, "W").check(self.tower_heat)


@dataclass(frozen=True, slots=True)
class BeerFlow:
    """Beer as it enters the trunk [K] and the heat capacity rate of all flowing lines together [W/K]."""

    inlet: float
    capacity_rate: float

    def __post_init__(self) -> None:
        CORE.check(self.inlet)
        CAPACITY_RATE.check(self.capacity_rate)


def total_length(runs: Sequence[Run]) -> float:
    """Add up the lengths of a trunk's runs.

    .. math:: L = \\sum L_i

    Parameters
    ----------
    runs : sequence of Run
        the trunk's runs, from the cooler to the taps, together 0.1 to 500 m [m, K, m K/W]

    Returns
    -------
    float
        length of the trunk [m]

    Raises
    ------
    OutOfRange
        outside these limits

    References
    ----------
    None: a sum.

    Examples
    --------
    >>> total_length([Run(6.0, 277.0, 3.0), Run(30.0, 289.0, 3.0)])
    36.0
    """
    return Range("length of the trunk", 0.1, 500.0, "m").check(sum(run.length for run in runs))


def tube_conductance(
    *,
    bore: float,
    wall: float,
    wall_conductivity: float,
    fluid_conductivity: float,
    nusselt: float = LAMINAR_NUSSELT,
    contact: float = CONTACT,
) -> float:
    """Find the conductance between the liquid in one tube and the core of the bundle, per metre.

    .. math:: G' = c / (1 / (\\pi Nu k_f) + \\ln((b + 2 w) / b) / (2 \\pi k_w))

    Parameters
    ----------
    bore : float
        inner diameter, 0.001 to 0.1 [m]
    wall : float
        wall thickness, 0 to 0.02 [m]
    wall_conductivity : float
        of the wall, 0.05 to 500; polyethylene 0.4, stainless steel 15 (from memory) [W/(m K)]
    fluid_conductivity : float
        of the liquid, 0.1 to 1 [W/(m K)]
    nusselt : float
        Nusselt number inside, 3.66 (laminar) to 1000 [-]
    contact : float
        share of the girth that touches the bundle, 0.05 to 1 [-]

    Returns
    -------
    float
        conductance of one metre of tube [W/(m K)]

    Raises
    ------
    OutOfRange
        outside these limits

    Notes
    -----
    The contact share is a judgement: the result is good to a factor of two, and the trunk's answers depend on it
    mildly as long as it is well above 1 / R' of the insulation.

    References
    ----------
    F. P. Incropera et al., *Fundamentals of Heat and Mass Transfer*, Table 8.1 and eq. (3.28) (from memory).

    Examples
    --------
    3/8 in polyethylene with 1/16 in of wall, 35 % propylene glycol inside:

    >>> tube_conductance(bore=0.009525, wall=0.0015875, wall_conductivity=0.4, fluid_conductivity=0.407)
    0.9
    """
    BORE.check(bore)
    Range("wall thickness", 0.0, 0.02, "m").check(wall)
    Range("conductivity of the wall", 0.05, 500.0, "W/(m K)").check(wall_conductivity)
    Range("conductivity of the liquid", 0.1, 1.0, "W/(m K)").check(fluid_conductivity)
    Range("Nusselt number", LAMINAR_NUSSELT, 1000.0, "-").check(nusselt)
    Range("share of the girth in contact", 0.05, 1.0, "-").check(contact)
    inside = 1.0 / (pi * nusselt * fluid_conductivity)
    return contact / (inside + log((bore + 2.0 * wall) / bore) / (2.0 * pi * wall_conductivity))


def line_heat_capacity(*, bore: float, density: float, specific_heat: float) -> float:
    """Find the heat capacity of one metre of a line's liquid.

    .. math:: C' = \\rho c_p \\pi b^2 / 4

    Parameters
    ----------
    bore : float
        inner diameter, 0.001 to 0.1 [m]
    density : float
        of the liquid, 800 to 1200 [kg/m3]
    specific_heat : float
        of the liquid, 2000 to 4500 [J/(kg K)]

    Returns
    -------
    float
        heat capacity of one metre [J/(m K)]

    Raises
    ------
    OutOfRange
        outside these limits

    References
    ----------
    None: the definition of specific heat.

    Examples
    --------
    Beer in a 3/8 in line:

    >>> line_heat_capacity(bore=0.009525, density=1010.0, specific_heat=3850.0)
    277.1
    """
    BORE.check(bore)
    Range("density of the liquid", 800.0, 1200.0, "kg/m3").check(density)
    Range("specific heat of the liquid", 2000.0, 4500.0, "J/(kg K)").check(specific_heat)
    return density * specific_heat * pi * bore**2 / 4.0
