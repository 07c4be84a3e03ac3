"""The air-cooled condenser: split against this unit's clean split, and air rise.

Clean splits in print run from 20 to 40 degF, so a unit is judged against its own clean split, not against a table.
"""

from dataclasses import dataclass

from service.domain.physics.ranges import Range, below

AIR_TEMPERATURE = Range("air temperature", 243.15, 343.15, "K")
CONDENSING_TEMPERATURE = Range("condensing temperature", 243.15, 353.15, "K")
SPLIT = Range("condenser split", 0.0, 60.0, "K", "temperature_difference")
CLEAN_SPLIT = Range("clean condenser split", 3.0, 40.0, "K", "temperature_difference")

SPLIT_ALARM = 10.0 / 1.8  # [K] over the clean split; common practice, no source
USUAL_SPLIT = (20.0 / 1.8, 35.0 / 1.8)  # [K] a refrigeration training site
OLD_SPLIT = 40.0 / 1.8  # [K] a trade magazine: older units up to 40 degF
USUAL_AIR_RISE = (20.0 / 1.8, 30.0 / 1.8)  # [K] the same training site


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
    unit at rest or with a wrong reading; it is returned for the caller to report.

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
    """Return the excess of the split over this unit's clean split.

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
    return SplitCheck(split=split, clean=clean, excess=excess, alarm=not below(excess, SPLIT_ALARM))


def air_rise(*, air_in: float, air_out: float) -> float:
    """Return the air rise across the condenser.

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
