"""The strength of propylene glycol from a refractometer reading.

A refractometer measures the refractive index; one in Brix shows it on the scale of sugar in water at 20 °C. Inhibitors
and dirt raise the reading: use the chart of the fluid's maker where there is one.
"""

from functools import lru_cache
from math import sqrt

from service.domain.physics.glycol.fractions import PURE_DENSITY, strength_from_volume
from service.domain.physics.glycol.properties import ROOM, STRENGTH, Glycol, density, strength_at_freezing_point
from service.domain.physics.libraries import root
from service.domain.physics.ranges import Range

SAMPLE = Range("sample temperature", 283.15, 303.15, "K")  # 10 to 30 °C, the span of the common compensated instrument
SUGAR = Range("Brix reading", -5.0, 45.0, "Brix")

WATER_INDEX = 1.33299  # sodium D line, 20 °C, ICUMSA 1974
PROPYLENE_INDEX = 1.4324  # sodium D line, 20 °C, CRC Handbook of Chemistry and Physics, 95th edition, 2014


def _lorentz_lorenz(index: float) -> float:
    return (index**2 - 1.0) / (index**2 + 2.0)


def refractive_index(*, mass_fraction: float, sample_temperature: float) -> float:
    """
    Return the refractive index of propylene glycol and water (sodium D line).

        (n^2 - 1) / (n^2 + 2) = rho(w, T) (w r_g + (1 - w) r_w),    r_i = (n_i^2 - 1) / ((n_i^2 + 2) rho_i) at 20 °C

    Parameters
    ----------
    mass_fraction : float
        Mass of glycol in the mass of solution, 0 to 0.6, [kg/kg]
    sample_temperature : float
        Temperature of the sample on the prism, 283.15 to 303.15, [K]

    Returns
    -------
    float
        Refractive index, [-]

    Raises
    ------
    OutOfRange
        A strength outside 0 to 0.6, or a sample outside 10 to 30 °C.

    Notes
    -----
    The Lorentz-Lorenz rule: each part refracts in proportion to its mass. Expect 0.0015 (1 Brix). The change with
    temperature, -0.0002 per kelvin at 35 %, lies in the range -0.0001 to -0.0004 given for liquids.

    References
    ----------
    .. [1] H. A. Lorentz and L. Lorenz, 1880; in M. Born and E. Wolf, Principles of Optics, 7th edition, section 2.3.3
       (from memory).
    .. [2] CRC Handbook of Chemistry and Physics, 95th edition, 2014: index of propylene glycol 1.4324.
    .. [3] ICUMSA, 1974: index of water 1.33299.

    Examples
    --------
    >>> refractive_index(mass_fraction=0.0, sample_temperature=293.15)
    1.33299
    >>> refractive_index(mass_fraction=0.35, sample_temperature=293.15)
    1.3730
    """
    SAMPLE.check(sample_temperature)
    # Water's density from the same data as the mixture's, so that plain water reads exactly zero.
    water = _lorentz_lorenz(WATER_INDEX) / density(mass_fraction=0.0, temperature=ROOM)
    glycol = _lorentz_lorenz(PROPYLENE_INDEX) / PURE_DENSITY[Glycol.PROPYLENE]
    per_mass = mass_fraction * glycol + (1.0 - mass_fraction) * water
    refraction = per_mass * density(mass_fraction=mass_fraction, temperature=sample_temperature)
    return sqrt((1.0 + 2.0 * refraction) / (1.0 - refraction))


def _indices_at_the_ends(sample_temperature: float) -> tuple[float, float]:
    """Return the refractive indices of water and of the strongest solution."""
    weakest, strongest = (
        refractive_index(mass_fraction=w, sample_temperature=sample_temperature) for w in (STRENGTH.low, STRENGTH.high)
    )
    return weakest, strongest


def _strength_at(index: float, sample_temperature: float) -> float:
    """Return the strength with this index; one beyond an end by less than a scale shows counts as the end."""
    weakest, strongest = _indices_at_the_ends(sample_temperature)
    within = min(max(index, weakest), strongest)
    return root(
        lambda w: refractive_index(mass_fraction=w, sample_temperature=sample_temperature) - within,
        STRENGTH.low,
        STRENGTH.high,
    )


def sugar_refractive_index(brix: float) -> float:
    """
    Return the refractive index at 20 °C that a Brix scale shows as this reading.

        n = 1.33299 + 1.42777e-3 B + 5.3777e-6 B^2 + 1.80414e-8 B^3

    Parameters
    ----------
    brix : float
        Reading, -5 to 45, [Brix]

    Returns
    -------
    float
        Refractive index on the sodium D line, [-]

    Raises
    ------
    OutOfRange
        A reading outside the scale.

    Notes
    -----
    Our least-squares fit to the scale in [1]_ from 0 to 45 Brix, within 0.00001 (0.005 Brix). Below zero it serves
    only as the mark that warm water would reach.

    References
    ----------
    .. [1] ICUMSA (International Commission for Uniform Methods of Sugar Analysis), 1974, as tabulated in a
       refractometer maker's data book, "Refractive index and Brix".

    Examples
    --------
    The scale in [1]_ has 1.36384 at 20 Brix:

    >>> sugar_refractive_index(20.0)
    1.36384
    """
    SUGAR.check(brix)
    return WATER_INDEX + brix * (1.42777e-3 + brix * (5.3777e-6 + brix * 1.80414e-8))


def brix(*, mass_fraction: float, sample_temperature: float) -> float:
    """
    Return what an uncompensated Brix scale shows for propylene glycol.

        B such that n_sugar(B) = n(w, T)

    Parameters
    ----------
    mass_fraction : float
        Mass of glycol in the mass of solution, 0 to 0.6, [kg/kg]
    sample_temperature : float
        Temperature of the sample on the prism, 283.15 to 303.15, [K]

    Returns
    -------
    float
        Reading, [Brix]

    Raises
    ------
    OutOfRange
        A strength outside 0 to 0.6, or a sample outside 10 to 30 °C.

    Notes
    -----
    A sample colder than 20 °C reads too strong, by 0.12 Brix a kelvin at 35 %. Expect 1 Brix.

    References
    ----------
    .. [1] ICUMSA, 1974, refractive index of sugar solutions.
    .. [2] A glycol chiller maker's maintenance article, 2019: 35 % propylene glycol reads 26.5 Brix.

    Examples
    --------
    35 vol %, the mixture of [2]_, reads within a Brix of its 26.5:

    >>> brix(mass_fraction=0.3585, sample_temperature=293.15)
    25.96
    """
    index = refractive_index(mass_fraction=mass_fraction, sample_temperature=sample_temperature)
    return root(lambda reading: sugar_refractive_index(reading) - index, SUGAR.low, SUGAR.high)


def strength_from_brix(*, reading: float, sample_temperature: float, compensated: bool) -> float:
    """
    Return the strength of propylene glycol by a reading in Brix and the temperature of the sample.

        w such that n(w, T) = n_sugar(B); a compensated instrument has already brought the reading to T = 20 °C

    Parameters
    ----------
    reading : float
        Reading, [Brix]
    sample_temperature : float
        Temperature of the sample on the prism, 283.15 to 303.15, [K]
    compensated : bool
        Whether the instrument compensates for temperature (marked ATC), [-]

    Returns
    -------
    float
        Mass of glycol in the mass of solution, [kg/kg]

    Raises
    ------
    OutOfRange
        A sample outside 10 to 30 °C, or a reading that no strength from 0 to 0.6 gives.

    Notes
    -----
    Expect 1 Brix, about 1.5 points of strength. Compensation is made for sugar unless the instrument says glycol: near
    20 °C that does not matter. Uncompensated, a sample 20 K too cold would read 3 points too strong.

    References
    ----------
    .. [1] ASTM D3321, use of the refractometer for field testing of coolants: scope.
    .. [2] A glycol chiller maker's maintenance article, 2019: 35 % propylene glycol reads 26.5 Brix.

    Examples
    --------
    >>> strength_from_brix(reading=26.5, sample_temperature=293.15, compensated=True)
    0.367
    >>> strength_from_brix(reading=26.5, sample_temperature=283.15, compensated=False)
    0.350
    """
    SAMPLE.check(sample_temperature)
    at = ROOM if compensated else sample_temperature
    weakest, strongest = (brix(mass_fraction=w, sample_temperature=at) for w in (STRENGTH.low, STRENGTH.high))
    Range("Brix reading", weakest - 0.1, strongest + 0.1, "Brix").check(reading)
    return _strength_at(sugar_refractive_index(reading), at)


@lru_cache(maxsize=4096)
def strength_by_scale(
    value: float, dimension: str, *, sample_temperature: float = ROOM, glycol: Glycol = Glycol.PROPYLENE
) -> float:
    """
    Return a strength as a mass fraction, whichever scale it was read on.

        w as it stands, or by `strength_from_volume`, `strength_at_freezing_point` or `strength_from_brix`

    Parameters
    ----------
    value : float
        What was read, [kg/kg], [m3/m3], [K] or [Brix]
    dimension : str
        mass_fraction, volume_fraction, temperature (the freezing point) or brix, [-]
    sample_temperature : float
        Temperature of the sample of a reading in Brix, by an instrument that compensates, [K]
    glycol : Glycol
        Propylene or ethylene glycol; Brix is read as propylene, [-]

    Returns
    -------
    float
        Mass of glycol in the mass of solution, [kg/kg]

    Raises
    ------
    OutOfRange
        A value that no strength from 0 to 0.6 gives; a mass fraction is not checked.

    Notes
    -----
    The first two scales are exact; a refractometer is good to about 1.5 points of strength.

    References
    ----------
    As the three functions named.

    Examples
    --------
    >>> strength_by_scale(26.5, "brix"), strength_by_scale((15.0 + 459.67) / 1.8, "temperature")
    (0.367, 0.2438)
    """
    if dimension == "volume_fraction":
        return strength_from_volume(value, glycol)
    if dimension == "temperature":
        return strength_at_freezing_point(value, glycol)
    if dimension == "brix":
        return strength_from_brix(reading=value, sample_temperature=sample_temperature, compensated=True)
    return value
