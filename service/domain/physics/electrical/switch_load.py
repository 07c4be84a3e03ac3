"""The load of a switch against its rating, and the current when everything starts at once.

A switch with a resistive rating carries half of it in motors; a plain AC snap switch 80 %; a motor rating has to be
115 % of the running current. Loads that run three hours or more count at 125 % (the 80 % rule).
"""

from collections.abc import Sequence
from dataclasses import dataclass

from service.domain.physics.electrical.motor_currents import LOCKED_ROTOR_FACTOR
from service.domain.physics.ranges import Range, above

LOAD_CURRENT = Range("current through the switch", 0.0, 200.0, "A")
SWITCH_RATING = Range("rated current of the switch", 1.0, 200.0, "A")
BREAKER_RATING = Range("breaker rating", 1.0, 200.0, "A")

CONTINUOUS_SHARE = 0.8  # [-] NEC 210.20(A): 125 % of the continuous load, so 80 % of the rating
DISCONNECT_FACTOR = 1.15  # [-] NEC 430.110, 440.12(A)
# Share of the rating that motors may draw, by the kind of rating.
MOTOR_SHARE = {
    "motor": 1.0 / DISCONNECT_FACTOR,
    "ac_only": 0.8,  # NEC 404.14(A), 430.109(C): motors up to 80 % of the rating and 2 hp
    "resistive": 0.5,  # UL 982: resistive rating at least twice the motor's full-load current; NEC 404.14(B) alike
}


class UnknownRating(ValueError):
    """A kind of switch rating without a rule; `known` lists those with one."""

    def __init__(self, rating: str) -> None:
        self.rating, self.known = rating, tuple(MOTOR_SHARE)
        super().__init__(f"{rating!r} is no kind of switch rating; known are {', '.join(MOTOR_SHARE)}")


@dataclass(frozen=True, slots=True, kw_only=True)
class SwitchLoad:
    """Currents [A] through a switch: running, starting all at once, the motor limit; `share` of the allowed load."""

    running: float
    starting: float
    motor_limit: float
    share: float

    @property
    def over(self) -> bool:
        """Whether it is overloaded."""
        return above(self.share, 1.0)


def motor_limit(rated_current: float, *, rating: str) -> float:
    """Return the motor current that a switch of this rating may carry.

    I_motor = share x I_rated: 0.5 resistive, 0.8 AC-only, 1/1.15 motor-rated. Valid for switches of 1 to 200 A.

    Parameters
    ----------
    rated_current : float
        Amperes printed on the switch [A].
    rating : str
        Kind of that rating: "motor", "ac_only" or "resistive" [-].

    Returns
    -------
    float
        Greatest sum of motor full-load currents [A].

    Raises
    ------
    OutOfRange
        If the rating lies outside the range.
    UnknownRating
        If the kind is none of the three.

    Notes
    -----
    The maker's own motor rating in A or hp at this voltage rules where there is one.

    References
    ----------
    NEC (NFPA 70) 404.14, 430.83, 430.109, 430.110; UL 982 (motor switch: resistive rating at least 2 x full-load
    current); both as quoted in UL's guide information and examination banks, not read in the standards.

    Examples
    --------
    >>> motor_limit(20.0, rating="ac_only"), motor_limit(20.0, rating="resistive")
    (16.0, 10.0)
    """
    if rating not in MOTOR_SHARE:
        raise UnknownRating(rating)
    return MOTOR_SHARE[rating] * SWITCH_RATING.check(rated_current)


def switch_load(
    motors: Sequence[float], *, rated_current: float, rating: str, others: Sequence[float] = ()
) -> SwitchLoad:
    """Return the load of a switch against its rating.

    share = sum(motors) / I_motor_limit + sum(others) / (0.8 I_rated); starting = 6 sum(motors) + sum(others).

    Parameters
    ----------
    motors : sequence of float
        Full-load or measured current of each motor behind the switch [A].
    rated_current : float
        Amperes printed on the switch [A].
    rating : str
        Kind of that rating: "motor", "ac_only" or "resistive" [-].
    others : sequence of float
        Currents of what is no motor: heaters, controls, lights [A].

    Returns
    -------
    SwitchLoad
        Running and starting current and the motor limit [A], share of what the switch may carry [-].

    Raises
    ------
    OutOfRange
        If a current or the rating lies outside its range.
    UnknownRating
        If the kind is none of the three.

    Notes
    -----
    Currents are added as numbers though their phases differ: the sum errs on the safe side by some percent.

    References
    ----------
    As `motor_limit`; NEC 210.20(A) for continuous loads. Locked rotor: NEC (NFPA 70) 2008, Table 430.251(A), exactly 6
    times in the 115 V column; where a nameplate or code letter gives it, that figure rules. Example: full-load
    currents of 1/2 and 1/4 hp at 115 V from NEC Table 430.248 with a 1 A fan.

    Examples
    --------
    >>> load = switch_load([9.8, 5.8, 1.0], rated_current=20.0, rating="ac_only")
    >>> load.running, load.motor_limit, load.over
    (16.6, 16.0, True)
    """
    limit = motor_limit(rated_current, rating=rating)
    motor_sum = sum(LOAD_CURRENT.check(each) for each in motors)
    other_sum = sum(LOAD_CURRENT.check(each) for each in others)
    return SwitchLoad(
        running=LOAD_CURRENT.check(motor_sum + other_sum),
        starting=LOCKED_ROTOR_FACTOR * motor_sum + other_sum,
        motor_limit=limit,
        share=motor_sum / limit + other_sum / (CONTINUOUS_SHARE * rated_current),
    )


def continuous_limit(rated_current: float) -> float:
    """Return the current that may flow for three hours or more through a breaker, or a cord on it.

    I = 0.8 I_rated. Valid for ratings of 1 to 200 A.

    Parameters
    ----------
    rated_current : float
        Rating of the breaker [A].

    Returns
    -------
    float
        Greatest continuous current [A].

    Raises
    ------
    OutOfRange
        If the rating lies outside the range.

    Notes
    -----
    Breakers listed for 100 % are an exception; they are rare on these circuits.

    References
    ----------
    NEC (NFPA 70) 210.20(A), and 210.23(A)(1) for cord-and-plug units: 15 A gives 12 A, 20 A gives 16 A.

    Examples
    --------
    >>> continuous_limit(15.0), continuous_limit(20.0)
    (12.0, 16.0)
    """
    return CONTINUOUS_SHARE * BREAKER_RATING.check(rated_current)


def disconnect_minimum(running: float) -> float:
    """Return the smallest ampere rating of a disconnect for motors drawing this current together.

    I_rated >= 1.15 I. Valid for currents of 0 to 200 A.

    Parameters
    ----------
    running : float
        Sum of the full-load or rated-load currents [A].

    Returns
    -------
    float
        Smallest rating [A].

    Raises
    ------
    OutOfRange
        If the current lies outside the range.

    Notes
    -----
    The disconnect also has to have the horsepower that the sum of the locked-rotor currents asks for.

    References
    ----------
    NEC (NFPA 70) 430.110 and 440.12(A).

    Examples
    --------
    >>> disconnect_minimum(16.6)
    19.1
    """
    return DISCONNECT_FACTOR * LOAD_CURRENT.check(running)
