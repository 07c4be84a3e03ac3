"""The supply: voltage against its band, torque at low voltage, unbalance of three phases."""

from dataclasses import dataclass
from itertools import pairwise

from service.domain.physics.ranges import Range, above

RATED_VOLTAGE = Range("rated voltage", 12.0, 1000.0, "V")
VOLTAGE = Range("supply voltage", 0.0, 1500.0, "V")
LIVE_VOLTAGE = Range("phase-to-phase voltage", 10.0, 1500.0, "V")
BAND = 0.10  # [-] NEMA MG 1
DERATE_ABOVE, STOP_ABOVE = 0.01, 0.05  # [-] of unbalance, NEMA MG 1
UNBALANCE = Range("voltage unbalance", 0.0, STOP_ABOVE, "-")
# (unbalance, factor): 1 and 5 % bound the curve, 3 % -> 0.90 read in print, the others from memory.
DERATING = ((0.01, 1.00), (0.02, 0.95), (0.03, 0.90), (0.04, 0.82), (0.05, 0.75))


@dataclass(frozen=True, slots=True, kw_only=True)
class VoltageCheck:
    """A voltage [V] beside its band [V]: `deviation` from the rating as a fraction, `inside` the band or not."""

    voltage: float
    low: float
    high: float
    deviation: float
    inside: bool


def voltage_check(voltage: float, *, rated: float) -> VoltageCheck:
    """Return how far the supply is off the rated voltage, and whether a motor may run on it.

    deviation = V / V_rated - 1; the band is 10 % either side. Valid for ratings of 12 to 1000 V.

    Parameters
    ----------
    voltage : float
        Voltage measured at the unit, under load [V].
    rated : float
        Voltage on the nameplate [V].

    Returns
    -------
    VoltageCheck
        Limits of the band [V], deviation [-] and whether the voltage lies inside [-].

    Raises
    ------
    OutOfRange
        If a voltage lies outside its range.

    Notes
    -----
    A 115 V motor on a nominal 120 V supply is made for it. Measure while the compressor starts as well: a sag then
    shows a wiring fault.

    References
    ----------
    NEMA MG 1, 12.44 (clause from memory): 10 % at rated frequency.

    Examples
    --------
    >>> voltage_check(102.0, rated=115.0).inside, voltage_check(104.0, rated=115.0).inside
    (False, True)
    """
    VOLTAGE.check(voltage)
    RATED_VOLTAGE.check(rated)
    low, high = rated * (1.0 - BAND), rated * (1.0 + BAND)
    deviation = voltage / rated - 1.0
    return VoltageCheck(
        voltage=voltage, low=low, high=high, deviation=deviation, inside=not above(abs(deviation), BAND)
    )


def torque_share(voltage: float, *, rated: float) -> float:
    """Return the starting torque of an induction motor at this voltage, over that at rated voltage.

    share = (V / V_rated)^2. Valid for ratings of 12 to 1000 V.

    Parameters
    ----------
    voltage : float
        Voltage at the motor [V].
    rated : float
        Voltage on the nameplate [V].

    Returns
    -------
    float
        Share of the rated torque [-].

    Raises
    ------
    OutOfRange
        If a voltage lies outside its range.

    Notes
    -----
    Saturation makes the true exponent a little above 2.

    References
    ----------
    Textbook induction motor: 90 % voltage gives 81 % torque.

    Examples
    --------
    >>> torque_share(103.5, rated=115.0)
    0.81
    """
    return (VOLTAGE.check(voltage) / RATED_VOLTAGE.check(rated)) ** 2


def voltage_unbalance(first: float, second: float, third: float) -> float:
    """Return the voltage unbalance of a three-phase supply.

    u = max |V_i - mean| / mean. Valid for voltages of 10 to 1500 V.

    Parameters
    ----------
    first : float
        Voltage from phase 1 to 2 [V].
    second : float
        Voltage from phase 2 to 3 [V].
    third : float
        Voltage from phase 3 to 1 [V].

    Returns
    -------
    float
        Unbalance as a fraction [-].

    Raises
    ------
    OutOfRange
        If a voltage lies outside the range.

    Notes
    -----
    Current unbalance is 6 to 10 times as large (common practice, no source). A lost phase gives a figure far over 5 %.

    References
    ----------
    NEMA MG 1, 14.36 (clause from memory); examples (462, 463, 455) V = 1.1 % and (480, 476, 472) V = 0.84 % from
    motor articles.

    Examples
    --------
    >>> voltage_unbalance(462.0, 463.0, 455.0) * 100, voltage_unbalance(480.0, 476.0, 472.0) * 100
    (1.09, 0.84)
    """
    voltages = [LIVE_VOLTAGE.check(each) for each in (first, second, third)]
    mean = sum(voltages) / 3.0
    return max(abs(each - mean) for each in voltages) / mean


def unbalance_derating(unbalance: float) -> float:
    """Return the share of its rated power that a motor may give on an unbalanced supply.

    Straight lines between the points of the curve; 1 up to 1 %. Valid to 5 %, above which a motor must not run.

    Parameters
    ----------
    unbalance : float
        Voltage unbalance as a fraction [-].

    Returns
    -------
    float
        Derating factor [-].

    Raises
    ------
    OutOfRange
        If the unbalance lies outside 0 to 0.05.

    Notes
    -----
    At 3 % print gives 0.88 to 0.90.

    References
    ----------
    NEMA MG 1, figure 14-1 (from memory): 2 % 0.95, 4 % 0.82, 5 % 0.75; 3 % 0.90 from a motor article.

    Examples
    --------
    >>> unbalance_derating(0.03)
    0.90
    """
    UNBALANCE.check(unbalance)
    for (left, left_factor), (right, right_factor) in pairwise(DERATING):
        if unbalance <= right:
            share = max(unbalance - left, 0.0) / (right - left)
            return left_factor + share * (right_factor - left_factor)
    return DERATING[-1][1]
