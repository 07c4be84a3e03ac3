"""The air-cooled condenser: split against this unit's own clean split, air rise, and what lost airflow does.

Clean splits in print run from 20 to 40 degF, so a unit is judged against its own clean split, not against a table.
"""

from dataclasses import dataclass
from math import expm1, log1p

from service.domain.physics.ranges import Range

AIR_TEMPERATURE = Range("air temperature", 243.15, 343.15, "K")
CONDENSING_TEMPERATURE = Range("condensing temperature", 243.15, 353.15, "K")
SPLIT = Range("condenser split", 0.0, 60.0, "K")
CLEAN_SPLIT = Range("clean condenser split", 3.0, 40.0, "K")
AIR_RISE = Range("air rise", 0.5, 50.0, "K")
HEAT = Range("heat rejected", 0.0, 200_000.0, "W")
AIRFLOW_SHARE = Range("share of the clean airflow", 0.1, 1.0, "-")
EFFECTIVENESS = Range("condenser effectiveness", 0.05, 0.99, "-")
EXPONENT = Range("exponent of airflow", 0.0, 1.0, "-")

SPLIT_ALARM = 10.0 / 1.8  # [K] over the clean split; common practice, no source
USUAL_SPLIT = (20.0 / 1.8, 35.0 / 1.8)  # [K] a refrigeration training site; older units up to 40 degF
USUAL_AIR_RISE = (20.0 / 1.8, 30.0 / 1.8)  # [K] the same training site
STANDARD_AIR_HEAT = 1.204 * 1006.0  # [J/(m3 K)] density times specific heat of air at 20 degC, 101325 Pa


@dataclass(frozen=True, slots=True, kw_only=True)
class SplitCheck:
    """A split beside the clean one: `excess` [K] over it, and whether that reaches the alarm."""

    split: float
    clean: float
    excess: float
    alarm: bool


def condenser_split(*, condensing: float, air_in: float) -> float:
    """Return the condensing temperature above the air entering the condenser.

    split = T_condensing - T_air_in, with T_condensing at bubble for the head pressure. Negative is possible only in a
    unit that stands still or with a reading that is off; it is returned for the caller to say so.

    Parameters
    ----------
    condensing : float
        Condensing temperature [K].
    air_in : float
        Temperature of the air entering [K].

    Returns
    -------
    float
        Split [K].

    Raises
    ------
    OutOfRange
        If a temperature lies outside its range (air 243.15 to 343.15 K, condensing 243.15 to 353.15 K).

    Notes
    -----
    Measure clean and later splits alike, in steady running and with the bath near its set point.

    References
    ----------
    A refrigeration training site: clean 20 to 35 degF; Wang, Handbook of Air Conditioning and Refrigeration: 20 to
    30 degF (edition and page not read).

    Examples
    --------
    >>> condenser_split(condensing=313.71, air_in=299.82) * 1.8
    25.0
    """
    return CONDENSING_TEMPERATURE.check(condensing) - AIR_TEMPERATURE.check(air_in)


def split_check(*, split: float, clean: float) -> SplitCheck:
    """Return how far the split lies over this unit's own clean split.

    excess = split - clean; alarm when excess >= 10 degF (5.56 K). Valid for splits 0 to 60 K, clean ones 3 to 40 K.

    Parameters
    ----------
    split : float
        Split found [K].
    clean : float
        This unit's split when its condenser was clean [K].

    Returns
    -------
    SplitCheck
        Excess [K] and whether it reaches the alarm [-].

    Raises
    ------
    OutOfRange
        If a split lies outside its range.

    Notes
    -----
    The split grows with the heat rejected: after a warm start it reads high for a while, dirt or no dirt.

    References
    ----------
    Alarm at 10 degF over the clean split: common practice, no source.

    Examples
    --------
    >>> check = split_check(split=40.0 / 1.8, clean=25.0 / 1.8)
    >>> check.excess * 1.8, check.alarm
    (15.0, True)
    """
    excess = SPLIT.check(split) - CLEAN_SPLIT.check(clean)
    return SplitCheck(split=split, clean=clean, excess=excess, alarm=excess >= SPLIT_ALARM - 1e-9)


def air_rise(*, air_in: float, air_out: float) -> float:
    """Return how much the air warms through the condenser.

    rise = T_air_out - T_air_in. Valid for air from 243.15 to 343.15 K.

    Parameters
    ----------
    air_in : float
        Temperature of the air entering [K].
    air_out : float
        Temperature of the air leaving [K].

    Returns
    -------
    float
        Air rise [K].

    Raises
    ------
    OutOfRange
        If a temperature lies outside the range.

    Notes
    -----
    More rise than when clean means less air; a usual rise under a high split points at the surface or the charge.

    References
    ----------
    A refrigeration training site: 20 to 30 degF; Wang, Handbook of Air Conditioning and Refrigeration: 13 degF at
    900 cfm per ton (edition and page not read).

    Examples
    --------
    >>> air_rise(air_in=300.0, air_out=312.5)
    12.5
    """
    return AIR_TEMPERATURE.check(air_out) - AIR_TEMPERATURE.check(air_in)


def condenser_airflow(*, heat: float, rise: float) -> float:
    """Return the airflow that carries this heat off with this air rise.

    V = Q / (rho c_p rise), air of 20 degC at sea level. Valid up to 200 kW and for a rise of 0.5 to 50 K.

    Parameters
    ----------
    heat : float
        Heat rejected by the condenser [W].
    rise : float
        Air rise [K].

    Returns
    -------
    float
        Airflow [m3/s].

    Raises
    ------
    OutOfRange
        If heat or rise lies outside its range.

    Notes
    -----
    At 1600 m the air is 18 % thinner and the flow so much larger.

    References
    ----------
    Heat balance of the air. Wang, Handbook of Air Conditioning and Refrigeration: 13 degF at 900 cfm per ton, which is
    12 600 Btu/h, 1.05 times the ton's 12 000 (edition and page not read).

    Examples
    --------
    >>> round(condenser_airflow(heat=12_600 / 3.412142, rise=13.0 / 1.8) / 0.0004719474, -1)
    890.0
    """
    return HEAT.check(heat) / (STANDARD_AIR_HEAT * AIR_RISE.check(rise))


def split_ratio(airflow_share: float, *, effectiveness: float, exponent: float = 0.5) -> float:
    """Return by what factor the split grows when less air passes, at the same heat rejected.

    eps = 1 - exp(-NTU); split = Q / (C eps), so split/split_clean = eps_clean / (a eps(a)) with
    NTU(a) = NTU_clean a^(exponent - 1): the surface coefficient falls with a^exponent. Valid for a from 0.1 to 1.

    Parameters
    ----------
    airflow_share : float
        Airflow over clean airflow, a [-].
    effectiveness : float
        Clean air rise over clean split, eps_clean [-].
    exponent : float
        Power with which the surface coefficient follows the airflow; 0.5 for plain fins [-].

    Returns
    -------
    float
        Split over clean split, 1 or more [-].

    Raises
    ------
    OutOfRange
        If an argument lies outside its range.

    Notes
    -----
    Condensing at one temperature, resistance on the air side only; 10 % is a fair error.

    References
    ----------
    Effectiveness of an exchanger with one fluid condensing: Incropera, Fundamentals of Heat and Mass Transfer, 6th
    ed., eq. 11.35a, from memory. Published result it is held against: ASME J. Energy Resources Technology 117(4)
    (1995) 349-353: airflow down 40 %, pressure rise across the compressor up 19 %.

    Examples
    --------
    >>> split_ratio(1.0, effectiveness=0.6), split_ratio(0.6, effectiveness=0.6)
    (1.0, 1.44)
    """
    AIRFLOW_SHARE.check(airflow_share)
    units_clean = -log1p(-EFFECTIVENESS.check(effectiveness))
    units = units_clean * airflow_share ** (EXPONENT.check(exponent) - 1.0)
    return effectiveness / (airflow_share * -expm1(-units))
