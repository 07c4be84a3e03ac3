"""Heat gain of an insulated bundle for each metre; `buried` treats bundles in the ground."""

from dataclasses import dataclass
from math import log, pi

from service.domain.physics.ranges import Range

FOAM_CONDUCTIVITY = 0.0361
"""[W/(m K)]: dry elastomeric foam, 0.25 Btu in/(h ft2 degF) at 75 degF mean (from memory); wet foam is far worse."""

STILL_AIR = 9.37
"""[W/(m2 K)]: still indoor air with radiation, 1.65 Btu/(h ft2 degF), a common handbook value (from memory)."""

CORE = Range("core temperature", 233.15, 333.15, "K")
SURROUNDINGS = Range("surroundings temperature", 233.15, 353.15, "K")
DIAMETER = Range("diameter", 1e-3, 2.0, "m")
THICKNESS = Range("insulation thickness", 0.0, 0.5, "m")
CONDUCTIVITY = Range("thermal conductivity", 0.005, 500.0, "W/(m K)")
COEFFICIENT = Range("surface coefficient", 0.5, 1e5, "W/(m2 K)")
RESISTANCE = Range("thermal resistance", 1e-4, 1e3, "m K/W")


@dataclass(frozen=True, slots=True)
class Jacket:
    """The round core of a bundle [m] and its insulation: thickness [m], thermal conductivity [W/(m K)]."""

    core_diameter: float
    thickness: float
    conductivity: float = FOAM_CONDUCTIVITY

    def __post_init__(self) -> None:
        DIAMETER.check(self.core_diameter)
        THICKNESS.check(self.thickness)
        CONDUCTIVITY.check(self.conductivity)

    @property
    def outer_diameter(self) -> float:
        """Across the insulation [m]."""
        return self.core_diameter + 2.0 * self.thickness


def cylinder_resistance(*, inner_diameter: float, outer_diameter: float, conductivity: float) -> float:
    """Find the resistance to radial conduction of one metre of hollow cylinder.

    .. math:: R' = \\ln(D_o / D_i) / (2 \\pi k)

    Parameters
    ----------
    inner_diameter : float
        inner diameter, 0.001 to 2 [m]
    outer_diameter : float
        outer diameter, the inner one or more, to 3 [m]
    conductivity : float
        thermal conductivity, 0.005 to 500 [W/(m K)]

    Returns
    -------
    float
        resistance of one metre [m K/W]

    Raises
    ------
    OutOfRange
        outside these limits

    Notes
    -----
    Exact for steady radial conduction; the error is that of the conductivity (10 % and more for foam in use).

    References
    ----------
    National Institute of Building Sciences, *Mechanical Insulation Design Guide*, Design Data, eq. (3).

    Examples
    --------
    2 in of fibreglass on a 4 in pipe, Cengel problem 3-75E: 5.516 h ft degF/Btu = 3.187 m K/W.

    >>> cylinder_resistance(inner_diameter=0.1016, outer_diameter=0.2032, conductivity=0.03461)
    3.187
    """
    DIAMETER.check(inner_diameter)
    CONDUCTIVITY.check(conductivity)
    Range("outer diameter", inner_diameter, 3.0, "m").check(outer_diameter)
    return log(outer_diameter / inner_diameter) / (2.0 * pi * conductivity)


def film_resistance(*, diameter: float, coefficient: float) -> float:
    """Find the resistance between one metre of cylinder's surface and the fluid at it.

    .. math:: R' = 1 / (h \\pi D)

    Parameters
    ----------
    diameter : float
        diameter of the surface, 0.001 to 3 [m]
    coefficient : float
        surface coefficient, convection and radiation together, 0.5 to 1e5 [W/(m2 K)]

    Returns
    -------
    float
        resistance of one metre [m K/W]

    Raises
    ------
    OutOfRange
        outside these limits

    Notes
    -----
    The coefficient itself is seldom known better than 20 %.

    References
    ----------
    National Institute of Building Sciences, *Mechanical Insulation Design Guide*, Design Data (q = hs A dT).

    Examples
    --------
    The outer surface of Cengel problem 3-75E, 0.0955 h ft degF/Btu:

    >>> film_resistance(diameter=0.2032, coefficient=28.39)
    0.0552
    """
    Range("diameter", 1e-3, 3.0, "m").check(diameter)
    COEFFICIENT.check(coefficient)
    return 1.0 / (coefficient * pi * diameter)


def air_resistance(jacket: Jacket, coefficient: float = STILL_AIR) -> float:
    """Find the resistance from a bundle's core through its insulation to the air.

    .. math:: R' = \\ln(D_o / D_i) / (2 \\pi k) + 1 / (h \\pi D_o)

    Parameters
    ----------
    jacket : Jacket
        core diameter, insulation thickness and conductivity [m, m, W/(m K)]
    coefficient : float
        surface coefficient, 0.5 to 1e5 [W/(m2 K)]

    Returns
    -------
    float
        resistance of one metre [m K/W]

    Raises
    ------
    OutOfRange
        outside the limits of `cylinder_resistance` and `film_resistance`

    Notes
    -----
    Seams, damage and wet foam let in more than this.

    References
    ----------
    National Institute of Building Sciences, *Mechanical Insulation Design Guide*, Design Data.

    Examples
    --------
    >>> air_resistance(Jacket(0.0508, 0.0254, 0.03606), 9.369)
    3.394
    """
    return jacket_resistance(jacket) + film_resistance(diameter=jacket.outer_diameter, coefficient=coefficient)


def heat_gain(*, resistance: float, surroundings: float, core: float) -> float:
    """Find the heat gain of one metre of bundle; negative where it loses heat.

    .. math:: q' = (T_a - T_c) / R'

    Parameters
    ----------
    resistance : float
        from core to surroundings, 1e-4 to 1000 [m K/W]
    surroundings : float
        air or undisturbed ground, 233.15 to 353.15 [K]
    core : float
        the bundle's core, 233.15 to 333.15 [K]

    Returns
    -------
    float
        heat gain of one metre [W/m]

    Raises
    ------
    OutOfRange
        outside these limits

    Notes
    -----
    As good as the resistance.

    References
    ----------
    National Institute of Building Sciences, *Mechanical Insulation Design Guide*, Design Data.

    Examples
    --------
    A 2 in core at 30 degF under 1 in of foam in 75 degF air, 7.66 Btu/(h ft):

    >>> heat_gain(resistance=3.394, surroundings=297.04, core=272.04)
    7.366
    """
    RESISTANCE.check(resistance)
    SURROUNDINGS.check(surroundings)
    CORE.check(core)
    return (surroundings - core) / resistance


def jacket_resistance(jacket: Jacket) -> float:
    """Find the resistance of one metre of a bundle's insulation.

    .. math:: R' = \\ln(D_o / D_i) / (2 \\pi k)

    Parameters
    ----------
    jacket : Jacket
        core diameter, insulation thickness and conductivity [m, m, W/(m K)]

    Returns
    -------
    float
        resistance of one metre [m K/W]

    References
    ----------
    National Institute of Building Sciences, *Mechanical Insulation Design Guide*, Design Data, eq. (3).

    Examples
    --------
    >>> jacket_resistance(Jacket(0.1016, 0.0508, 0.03461))
    3.187
    """
    return cylinder_resistance(
        inner_diameter=jacket.core_diameter, outer_diameter=jacket.outer_diameter, conductivity=jacket.conductivity
    )
