"""Published data of beer tubing: pressure loss and volume per length, by kind and size."""

from dataclasses import dataclass
from enum import StrEnum

INCH = 0.0254
FOOT = 0.3048
PSI_PER_FOOT = 6894.757 / FOOT  # [Pa/m]
OUNCE_PER_FOOT = 2.95735296e-5 / FOOT  # [m3/m], US fluid ounce


class Tubing(StrEnum):
    """Kinds of beer tubing; vinyl and barrier are sized by bore, stainless steel by outer diameter."""

    VINYL = "vinyl"
    BARRIER = "barrier"
    STAINLESS = "stainless"


@dataclass(frozen=True, slots=True)
class TubingRow:
    """One row of the published table: size [m], pressure lost per metre [Pa/m], beer held per metre [m3/m]."""

    tubing: Tubing
    size: float
    restriction: float
    volume: float


def _row(tubing: Tubing, sixteenths: float, psi_per_foot: float, ounces_per_foot: float) -> TubingRow:
    """Return a row of the table in SI."""
    restriction, volume = psi_per_foot * PSI_PER_FOOT, ounces_per_foot * OUNCE_PER_FOOT
    return TubingRow(tubing, sixteenths * INCH / 16.0, restriction, volume)


TUBING = (
    _row(Tubing.VINYL, 3, 3.00, 1 / 6),
    _row(Tubing.VINYL, 4, 0.85, 1 / 3),
    _row(Tubing.VINYL, 5, 0.40, 1 / 2),
    _row(Tubing.VINYL, 6, 0.20, 3 / 4),
    _row(Tubing.VINYL, 8, 0.025, 1.33),
    _row(Tubing.BARRIER, 4, 0.30, 1 / 3),
    _row(Tubing.BARRIER, 5, 0.10, 1 / 2),
    _row(Tubing.BARRIER, 6, 0.06, 3 / 4),
    _row(Tubing.STAINLESS, 4, 1.20, 1 / 6),
    _row(Tubing.STAINLESS, 5, 0.30, 1 / 3),
    _row(Tubing.STAINLESS, 6, 0.12, 1 / 2),
)
"""Draught Beer Tubing Specifications, reference sheet of a beer-server certification course, 2021; the Brewers
Association's *Draught Beer Quality Manual*, 4th ed., prints the same figures (from memory)."""


class NoSuchTubing(ValueError):
    """A tubing size that is not in the published table; `sizes` are those that are [m]."""

    def __init__(self, tubing: Tubing, size: float) -> None:
        self.tubing, self.size = tubing, size
        self.sizes = tuple(row.size for row in TUBING if row.tubing == tubing)
        known = ", ".join(f"{known:.4g}" for known in self.sizes)
        super().__init__(f"no restriction is published for {tubing} of {size:g} m; known sizes are {known} m")


def tubing_row(tubing: Tubing, size: float) -> TubingRow:
    """Find a tubing's row in the published table.

    .. math:: size = table size within 0.2 mm

    Parameters
    ----------
    tubing : Tubing
        vinyl, barrier or stainless [-]
    size : float
        bore of vinyl and barrier, outer diameter of stainless [m]

    Returns
    -------
    TubingRow
        size, restriction and volume [m, Pa/m, m3/m]

    Raises
    ------
    NoSuchTubing
        a size that the table does not hold

    Notes
    -----
    The table is for about 2 fl oz/s of beer at 38 degF; it is a rule of the trade with one or two digits.

    References
    ----------
    Draught Beer Tubing Specifications, reference sheet of a beer-server certification course, 2021.

    Examples
    --------
    3/8 in barrier loses 0.06 psi a foot:

    >>> tubing_row(Tubing.BARRIER, 0.009525).restriction * 0.3048 / 6894.757
    0.060
    """
    for row in TUBING:
        if row.tubing == tubing and abs(row.size - size) <= 2e-4:
            return row
    raise NoSuchTubing(tubing, size)
