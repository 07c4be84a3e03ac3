"""Least squares of T(t) = start - drop (1 - exp(-bend t)) / bend, over a time of 1 from the first reading to the last.

In closed form but for the bend, and in plain arithmetic: a linear algebra library rounds in another way on every kind
of processor.
"""

from collections.abc import Sequence
from math import exp, expm1, fsum

from service.domain.physics.ranges import ROUNDING

BENT = 1e-3  # [-]: a curve that bends less than this over the readings is a straight line
MOST_BENT = 20.0  # [-]: a curve that bends more has ended before the second reading
BENDS = (0.0, *(BENT * (MOST_BENT / BENT) ** (number / 20.0) for number in range(21)))
"""[-]: where the search for the bend begins; it goes on between the neighbours of the best."""
APART = 1e-10  # [-]: share of the bend's effect that is not the drop's too; with less the bend is taken as given

Curve = tuple[float, float, float]  # start [K], drop and bend over a time of 1 from the first reading to the last


def gone(bend: float, time: float) -> float:
    """Return (1 - exp(-bend time)) / bend, which is the time where nothing bends."""
    return -expm1(-bend * time) / bend if bend * time > 1e-9 else time


def slopes_at(rate: float, bend: float, time: float) -> list[float]:
    """Return how the temperature at a time changes with start, rate and bend."""
    if bend * time > 1e-5:
        gone_slope = (time * exp(-bend * time) - gone(bend, time)) / bend
    else:
        gone_slope = -(time**2) / 2.0 + bend * time**3 / 3.0
    return [1.0, -gone(bend, time), -rate * gone_slope]


def curve_with(bend: float, shares: Sequence[float], readings: Sequence[float]) -> Curve:
    """Return the best curve with this bend: with it given, the readings go in a straight line with `gone`.

    Equal readings give a drop of exactly 0, as everything is counted from the first of them.
    """
    course, first, count = [gone(bend, share) for share in shares], readings[0], len(shares)
    middle = fsum(course) / count
    drop = fsum((at - middle) * (first - value) for at, value in zip(course, readings, strict=True))
    drop /= fsum((at - middle) ** 2 for at in course)
    return first + fsum(value - first for value in readings) / count + drop * middle, drop, bend


def best_bend(shares: Sequence[float], readings: Sequence[float]) -> float:
    """Return the bend, 0 to 20 over a time of 1, that leaves the smallest squares."""
    from scipy.optimize import minimize_scalar  # type: ignore[import-untyped]  # scipy ships no types

    def squares(bend: float) -> float:
        return squares_left(curve_with(float(bend), shares, readings), shares, readings)

    best = min(range(len(BENDS)), key=lambda number: squares(BENDS[number]))
    around = (BENDS[max(best - 1, 0)], BENDS[min(best + 1, len(BENDS) - 1)])
    return float(minimize_scalar(squares, bounds=around, method="bounded", options={"xatol": ROUNDING}).x)


def squares_left(curve: Curve, shares: Sequence[float], readings: Sequence[float]) -> float:
    """Return the sum of the squared distances between curve and readings [K2]."""
    start, drop, bend = curve
    return fsum((start - drop * gone(bend, at) - value) ** 2 for at, value in zip(shares, readings, strict=True))


def variance_about(curve: Curve, shares: Sequence[float], readings: Sequence[float], thermometer: float) -> float:
    """Return the variance of one reading, the larger of the thermometer's and the scatter about the curve [K2]."""
    spare = len(shares) - (3 if curve[2] > 0.0 else 2)
    return max(thermometer**2, squares_left(curve, shares, readings) / spare if spare > 0 else 0.0)


def covariance_about(
    curve: Curve, shares: Sequence[float], readings: Sequence[float], thermometer: float
) -> tuple[Curve, Curve, Curve]:
    """Return the covariance of start, drop and bend; that of start and drop alone where nothing shows the bend."""
    _, drops, bends = zip(*(slopes_at(curve[1], curve[2], share) for share in shares), strict=True)
    variance, count = variance_about(curve, shares, readings, thermometer), len(shares)
    of_drop, of_bend, drop_bend = variance / _together(drops, drops), 0.0, 0.0
    common = _together(drops, bends) / _together(drops, drops)
    apart = [bend - common * drop for drop, bend in zip(drops, bends, strict=True)]
    if curve[2] > 0.0 and _together(apart, apart) > APART * _together(bends, bends):
        of_bend = variance / _together(apart, apart)
        drop_bend = -common * of_bend
        of_drop -= common * drop_bend
    drop_mean, bend_mean = fsum(drops) / count, fsum(bends) / count
    start_drop = -drop_mean * of_drop - bend_mean * drop_bend
    start_bend = -drop_mean * drop_bend - bend_mean * of_bend
    of_start = variance / count - drop_mean * start_drop - bend_mean * start_bend
    return (of_start, start_drop, start_bend), (start_drop, of_drop, drop_bend), (start_bend, drop_bend, of_bend)


def _together(one: Sequence[float], other: Sequence[float]) -> float:
    """Return the sum of the products of two columns, each counted from its mean."""
    means = fsum(one) / len(one), fsum(other) / len(other)
    return fsum((left - means[0]) * (right - means[1]) for left, right in zip(one, other, strict=True))
