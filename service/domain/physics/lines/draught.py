"""Draught lines: volume, and pressure loss in the tubing and by rise."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi

from service.domain.physics.lines.beer import BEER_DENSITY
from service.domain.physics.lines.tubing import TubingRow
from service.domain.physics.ranges import Range

GRAVITY = 9.80665

LENGTH = Range("length of a line", 0.0, 500.0, "m")
RISE = Range("rise", -100.0, 100.0, "m")


@dataclass(frozen=True, slots=True)
class Section:
    """A section of line of one tubing: its row of the table and its length [m]."""

    row: TubingRow
    length: float

    def __post_init__(self) -> None:
        LENGTH.check(self.length)


def line_volume(*, bore: float, length: float) -> float:
    """Find the volume of a line from its geometry.

    .. math:: V = \\pi b^2 L / 4

    Parameters
    ----------
    bore : float
        inner diameter, 0.001 to 0.1 [m]
    length : float
        length, 0 to 500 [m]

    Returns
    -------
    float
        volume [m3]

    Raises
    ------
    OutOfRange
        outside these limits

    Notes
    -----
    The published volumes are rounded to fractions of an ounce: within 10 % of this.

    References
    ----------
    None: a cylinder. Compared with Draught Beer Tubing Specifications, see `tubing.TUBING`.

    Examples
    --------
    A foot of 3/8 in line, 0.7344 US fl oz (published: 3/4):

    >>> line_volume(bore=0.009525, length=0.3048) / 2.95735e-5
    0.7344
    """
    Range("bore", 1e-3, 0.1, "m").check(bore)
    LENGTH.check(length)
    return pi * bore**2 / 4.0 * length


def gravity_pressure(rise: float, density: float = BEER_DENSITY) -> float:
    """Find the pressure that beer loses by rising; negative where the tap is below the keg.

    .. math:: \\Delta p = \\rho g h

    Parameters
    ----------
    rise : float
        tap above the middle of the keg, -100 to 100 [m]
    density : float
        of the beer, 950 to 1150 [kg/m3]

    Returns
    -------
    float
        pressure [Pa]

    Raises
    ------
    OutOfRange
        outside these limits

    Notes
    -----
    The trade rounds 0.438 psi a foot up to 0.5, which is 14 % more.

    References
    ----------
    Hydrostatics; the trade's rule: course notes and a beer-system technician manual, p. 51.

    Examples
    --------
    One foot, in psi:

    >>> gravity_pressure(0.3048) / 6894.757
    0.438
    """
    return Range("density of beer", 950.0, 1150.0, "kg/m3").check(density) * GRAVITY * RISE.check(rise)


def line_restriction(sections: Sequence[Section], rise: float = 0.0) -> float:
    """Add up the pressure that beer loses from keg to faucet, in its tubing and by rising.

    .. math:: \\Delta p = \\sum r_i L_i + \\rho g h

    Parameters
    ----------
    sections : sequence of Section
        table row and length of each [m, Pa/m, m3/m, m]
    rise : float
        faucet above the middle of the keg, -100 to 100 [m]

    Returns
    -------
    float
        pressure to be applied for the table's pour rate [Pa]

    Raises
    ------
    OutOfRange
        outside these limits

    Notes
    -----
    Couplers, detectors and the faucet are not in it.

    References
    ----------
    Draught Beer Tubing Specifications, see `tubing.TUBING`.

    Examples
    --------
    20 ft of 1/4 in vinyl, 17 psi (Brewers Association, "Designing For Resistance"):

    >>> from service.domain.physics.lines.tubing import Tubing, tubing_row
    >>> line_restriction([Section(tubing_row(Tubing.VINYL, 0.00635), 6.096)]) / 6894.757
    17.0
    """
    return sum(section.row.restriction * section.length for section in sections) + gravity_pressure(rise)
