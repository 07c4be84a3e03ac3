"""Heat gain of a bundle in the ground: through insulation, conduit air and soil."""

from dataclasses import dataclass
from math import acosh, pi

from service.domain.physics.lines.heat_gain import CONDUCTIVITY, Jacket, film_resistance, jacket_resistance
from service.domain.physics.ranges import Range

CONDUIT_GAP = 5.5
"""[W/(m2 K)]: 20 mm of air in a conduit, 1.3 by conduction and 4.2 by radiation at 10 degC; calculated, no source."""

DEPTH = Range("depth to the centre", 0.01, 200.0, "m")


@dataclass(frozen=True, slots=True)
class Burial:
    """How a bundle lies in the ground: depth of its centre [m], soil [W/(m K)], conduit bore [m] or none."""

    depth: float
    soil_conductivity: float
    conduit_diameter: float | None = None

    def __post_init__(self) -> None:
        DEPTH.check(self.depth)
        CONDUCTIVITY.check(self.soil_conductivity)


def shape_factor(*, diameter: float, depth: float) -> float:
    """Find the conduction shape factor of one metre of horizontal cylinder under a plane.

    .. math:: S / L = 2 \\pi / \\cosh^{-1}(2 z / D)

    Parameters
    ----------
    diameter : float
        diameter of the cylinder, 0.001 to 3 [m]
    depth : float
        depth of its centre, more than 0.51 diameters, to 200 [m]

    Returns
    -------
    float
        shape factor of one metre [-]

    Raises
    ------
    OutOfRange
        outside these limits; a cylinder that breaks the surface

    Notes
    -----
    For a run much longer than its diameter in uniform soil. Exact for an isothermal cylinder.

    References
    ----------
    F. P. Incropera et al., *Fundamentals of Heat and Mass Transfer*, 6th ed., Table 4.1, case 2, p. 209.

    Examples
    --------
    >>> 3 * shape_factor(diameter=1.0, depth=100.0)
    3.146071
    """
    Range("diameter", 1e-3, 3.0, "m").check(diameter)
    Range("depth to the centre", 0.51 * diameter, 200.0, "m").check(depth)
    return 2.0 * pi / acosh(2.0 * depth / diameter)


def buried_resistance(jacket: Jacket, burial: Burial) -> float:
    """Find the resistance from a bundle's core through insulation, conduit air and soil to the undisturbed ground.

    .. math:: R' = \\ln(D_o / D_i) / (2 \\pi k) + 1 / (h_{gap} \\pi D_o) + 1 / (k_s S / L)

    Parameters
    ----------
    jacket : Jacket
        core diameter, insulation thickness and conductivity [m, m, W/(m K)]
    burial : Burial
        depth of the centre, soil conductivity, conduit bore or none [m, W/(m K), m]

    Returns
    -------
    float
        resistance of one metre [m K/W]

    Raises
    ------
    OutOfRange
        outside the limits of the parts; a conduit narrower than the jacket

    Notes
    -----
    Steady: right after weeks, too high a resistance in the first days. The temperature to use with it is the
    ground's own at that depth. Without a conduit there is no gap. Soil is 0.9 to 2.8 W/(m K), seldom known better
    than 30 % (Farouki, CRREL 82-8).

    References
    ----------
    F. P. Incropera et al., *Fundamentals of Heat and Mass Transfer*, 6th ed., Table 4.1 and problem 4.20.

    Examples
    --------
    Problem 4.20: 0.5 m pipe, 100 mm of cellular glass, centre 1.5 m deep; 120 K apart gives 84 W/m.

    >>> 120 / buried_resistance(Jacket(0.5, 0.1, 0.069), Burial(1.5, 0.52))
    83.95
    """
    outer, gap = jacket.outer_diameter, 0.0
    if burial.conduit_diameter is not None:
        Range("conduit diameter", outer, 3.0, "m").check(burial.conduit_diameter)
        gap = film_resistance(diameter=outer, coefficient=CONDUIT_GAP)
        outer = burial.conduit_diameter
    soil = 1.0 / (burial.soil_conductivity * shape_factor(diameter=outer, depth=burial.depth))
    return jacket_resistance(jacket) + gap + soil
