"""A unit's capacity today: the rated capacity converted by the cycle to today's ambient, bath and condenser.

Both heat exchangers keep their size: the distance between bath and evaporator, and between condenser and air, grows in
proportion to the heat that passes. The compressor keeps its displacement. The metering device passes only so much.

This is the one capacity model of the product: bench calculations, pull-down and load against capacity all use it.
"""

from dataclasses import dataclass
from functools import lru_cache

from service.domain.physics.ranges import Range
from service.domain.physics.refrigeration.refrigerants import Refrigerant, refrigerant
from service.domain.physics.refrigeration.vapour_compression import REAL_CONDITIONS, Cycle, CycleConditions, cycle

AMBIENT = Range("ambient temperature", 278.15, 328.15, "K")
BATH = Range("bath temperature", 258.15, 305.15, "K")
RATED_CAPACITY = Range("rated capacity", 50.0, 100_000.0, "W")
RATED_SPLIT = Range("clean condenser split", 3.0, 40.0, "K", "temperature_difference")
APPROACH = Range("bath above evaporator", 1.0, 20.0, "K", "temperature_difference")
FOULING = Range("split over clean split", 0.5, 5.0, "-")

USUAL_APPROACH = 12.5 / 1.8  # [K] a chiller FAQ: coil at 10 to 15 degF in a bath of 25 degF
USUAL_AMBIENT = 305.37  # [K] 90 degF
USUAL_CLEAN_SPLIT = 25.0 / 1.8  # [K] for a unit whose own clean split is not known; 20 to 35 degF in print
TOLERANCE, ROUNDS = 1e-3, 60  # [K], [-]
DAMPING = 0.65  # [-] more heat means more distance means less heat: the whole step would overshoot


@dataclass(frozen=True, slots=True, kw_only=True)
class RatedPoint:
    """Where the capacity [W] is rated: ambient, bath [K], clean split and bath above evaporator there [K]."""

    capacity: float
    ambient: float
    bath: float
    clean_split: float = USUAL_CLEAN_SPLIT
    approach: float = USUAL_APPROACH


@dataclass(frozen=True, slots=True, kw_only=True)
class Capacity:
    """The unit's state today: capacity, compressor power, heat rejected [W], and its temperatures [K]."""

    capacity: float
    power: float
    heat_rejected: float
    share_of_rated: float
    evaporating: float
    condensing: float


def _check(rated: RatedPoint, *, ambient: float, bath: float, fouling: float) -> None:
    RATED_CAPACITY.check(rated.capacity)
    AMBIENT.check(rated.ambient)
    BATH.check(rated.bath)
    RATED_SPLIT.check(rated.clean_split)
    APPROACH.check(rated.approach)
    AMBIENT.check(ambient)
    BATH.check(bath)
    FOULING.check(fouling)


def _answer(rated: RatedPoint, at_rating: Cycle, now: Cycle, temperatures: tuple[float, float]) -> Capacity:
    swept = rated.capacity / at_rating.cooling  # [m3/s]
    return Capacity(
        capacity=now.cooling * swept,
        power=now.work * swept,
        heat_rejected=now.heat_rejected * swept,
        share_of_rated=now.cooling / at_rating.cooling,
        evaporating=temperatures[0],
        condensing=temperatures[1],
    )


def capacity_today(
    refrigerant: Refrigerant,
    rated: RatedPoint,
    *,
    ambient: float,
    bath: float,
    fouling: float = 1.0,
    conditions: CycleConditions = REAL_CONDITIONS,
) -> Capacity:
    """Return the unit's capacity at this ambient and bath, with the condenser in its present state.

    q = Q/Q_rated from the cycle at T_e = T_bath - approach q and T_c = T_ambient + clean_split fouling q_c, with q_c
    the heat rejected over that at rating; repeated until both agree. Valid for ambients of 278.15 to 328.15 K, baths
    of 258.15 to 305.15 K.

    Parameters
    ----------
    refrigerant : Refrigerant
        The fluid [-].
    rated : RatedPoint
        Rated capacity [W] and the ambient, bath, clean split and approach it holds at [K].
    ambient : float
        Air entering the condenser today [K].
    bath : float
        Bath temperature [K].
    fouling : float
        Today's split over the clean split at the same heat; 1 is clean [-].
    conditions : CycleConditions
        Superheat [K], subcooling [K], isentropic efficiency and clearance [-].

    Returns
    -------
    Capacity
        Capacity, power and heat rejected [W], share of the rating [-], evaporating and condensing temperature [K].

    Raises
    ------
    OutOfRange
        If an argument lies outside its range, or the cycle that follows from it does.

    Notes
    -----
    Within 10 % near the rating. In a very warm bath a capillary cannot feed the evaporator: 20 % and rather too high.

    References
    ----------
    Balance of compressor and heat exchangers as in textbooks of refrigeration; cycle as `cycle`. Cross-check: a process
    chiller load sheet takes 2 % per degF of leaving temperature. Example: the rated point gives itself.

    Examples
    --------
    >>> from service.domain.physics.refrigeration.refrigerants import refrigerant
    >>> rated = RatedPoint(capacity=850.0, ambient=305.37, bath=270.93)
    >>> capacity_today(refrigerant("R-134a"), rated, ambient=305.37, bath=270.93).capacity
    850.0
    """
    _check(rated, ambient=ambient, bath=bath, fouling=fouling)
    at_rating = cycle(
        refrigerant,
        evaporating=rated.bath - rated.approach,
        condensing=rated.ambient + rated.clean_split,
        conditions=conditions,
    )
    cold, hot = bath - rated.approach, ambient + rated.clean_split * fouling
    for _ in range(ROUNDS):
        now = cycle(refrigerant, evaporating=cold, condensing=hot, conditions=conditions)
        cold_off = bath - rated.approach * now.cooling / at_rating.cooling - cold
        hot_off = ambient + rated.clean_split * fouling * now.heat_rejected / at_rating.heat_rejected - hot
        if abs(cold_off) + abs(hot_off) < TOLERANCE:
            return _answer(rated, at_rating, now, (cold, hot))
        cold, hot = cold + DAMPING * cold_off, hot + DAMPING * hot_off
    raise ArithmeticError(f"no balance found for a bath of {bath:g} K at an ambient of {ambient:g} K")


USUAL_REFRIGERANT = "R-134a"  # for a unit whose refrigerant is not recorded
MOST_FED = {"capillary": 1.35, None: 1.55}
"""[-]: most of the rated flow that the metering device passes. A capillary's flow hardly grows in a warm bath, a valve
opens to some 1.25 of its nominal flow at a higher head (common practice, no source); good to 15 %."""
FULL_HEAD, LESS_FED, LEAST_FED = 299.8, 0.009, 0.6
"""Under 80 degF a capillary passes about 0.9 % less for each kelvin: its head falls with the air. A steady capillary
model gives 20 % less at 45 degF, common practice no gain; [K], [1/K], and the least share [-]."""
STEP = 0.5  # [K] to which temperatures are rounded, so that the same balance is computed once


def capacity_share(
    fluid: Refrigerant | None,
    *,
    rated_bath: float,
    bath: float,
    rated_ambient: float | None = None,
    ambient: float | None = None,
    metering: str | None = None,
) -> float:
    """Return a unit's capacity at this bath and ambient as a share of its rating.

    As `capacity_today`, not more than the metering device passes; through a capillary cold air gains nothing, but
    feeds less. Temperatures outside its ranges count as the nearest inside and are rounded to 0.5 K.

    Parameters
    ----------
    fluid : Refrigerant or None
        The fluid; R-134a where it is not known [-].
    rated_bath : float
        Bath temperature of the rating [K].
    bath : float
        Bath temperature [K].
    rated_ambient : float or None
        Ambient temperature of the rating; 90 degF where it is not known [K].
    ambient : float or None
        Air entering the condenser; that of the rating where it is not known [K].
    metering : str or None
        "capillary", or any other device [-].

    Returns
    -------
    float
        Share of the rated capacity [-].

    Notes
    -----
    Good to 10 % near the rating and to 20 % in a warm bath. A process chiller's load sheet, 2 % per degF of leaving
    temperature under 50 degF, gives 1.79 at 50 degF for a rating at 28 degF, more than a bath unit's coil passes.

    References
    ----------
    As `capacity_today`.

    Examples
    --------
    A rating at 28 degF is worth 1.42 times as much in a bath of 50 degF, and 0.7 of it at 10 degF:

    >>> capacity_share(None, rated_bath=270.93, bath=283.15), capacity_share(None, rated_bath=270.93, bath=260.93)
    (1.42, 0.702)
    """
    fluid = fluid or refrigerant(USUAL_REFRIGERANT)
    at_rating = _within(USUAL_AMBIENT if rated_ambient is None else rated_ambient, AMBIENT)
    today = at_rating if ambient is None else _within(ambient, AMBIENT)
    fed = 1.0
    if metering == "capillary" and ambient is not None:
        fed = max(1.0 - LESS_FED * max(FULL_HEAD - ambient, 0.0), LEAST_FED)
        today = max(today, min(at_rating, _within(FULL_HEAD, AMBIENT)))
    share = _share(fluid, _within(rated_bath, BATH), _within(bath, BATH), at_rating, today)
    return fed * min(share, MOST_FED.get(metering, MOST_FED[None]))


def _within(temperature: float, limits: Range) -> float:
    return min(max(round(temperature / STEP) * STEP, limits.low), limits.high)


@lru_cache(maxsize=4096)
def _share(fluid: Refrigerant, rated_bath: float, bath: float, rated_ambient: float, ambient: float) -> float:
    rated = RatedPoint(capacity=RATED_CAPACITY.low, ambient=rated_ambient, bath=rated_bath)
    return capacity_today(fluid, rated, ambient=ambient, bath=bath).share_of_rated
