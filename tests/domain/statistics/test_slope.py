"""Trends: the Theil-Sen slope against published and hand-made examples, and that odd readings do not turn it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.statistics.slope import theil_sen

TIMES = st.lists(st.integers(0, 3000), min_size=4, max_size=12, unique=True)
VALUES = st.integers(-400, 400).map(lambda value: value / 8)
POINTS = TIMES.flatmap(
    lambda times: st.tuples(st.just(times), st.lists(VALUES, min_size=len(times), max_size=len(times)))
)


def test_the_limits_of_five_readings_are_those_of_sen():
    """Sen 1968, eq. (2.6), by hand: N 10, C = 1.96 sqrt(5 * 4 * 15 / 18) = 8.0, so the 1st and the 10th slope."""
    found = theil_sen([1, 2, 3, 4, 5], [1.26, 1.27, 1.12, 1.16, 1.03])

    assert (found.low, found.high) == pytest.approx((-0.15, 0.04))


def test_the_limits_of_eight_readings_are_those_of_sen():
    """Sen 1968, eq. (2.6), by hand: N 28, C = 1.96 sqrt(8 * 7 * 21 / 18) = 15.84, so the 6th and the 23rd slope."""
    values = [0.0, 1.5, 0.5, 4.0, 2.5, 7.0, 5.0, 6.5]
    slopes = sorted((values[j] - values[i]) / (j - i) for i in range(8) for j in range(i + 1, 8))
    found = theil_sen(range(8), values)

    assert (found.low, found.high) == pytest.approx((slopes[5], slopes[22]))


def test_the_published_example_comes_out():
    """M. Hollander and D. A. Wolfe, Nonparametric Statistical Methods, cloud seeding: -0.05625 (from memory)."""
    assert theil_sen([1, 2, 3, 4, 5], [1.26, 1.27, 1.12, 1.16, 1.03]).slope == pytest.approx(-0.05625)


@given(POINTS, st.floats(-50, 50), st.floats(-5, 5))
def test_a_drift_added_is_found_as_added(points, level, drift):
    times, values = points
    tilted = [value + level + drift * time for time, value in zip(times, values, strict=True)]

    assert theil_sen(times, tilted).slope == pytest.approx(theil_sen(times, values).slope + drift, abs=1e-6)


@given(POINTS)
def test_the_order_of_the_readings_does_not_matter(points):
    times, values = points

    assert theil_sen(times[::-1], values[::-1]) == theil_sen(times, values)


def test_one_odd_reading_of_five_does_not_turn_the_slope():
    assert theil_sen([0, 1, 2, 3, 4], [10.0, 9.0, 8.0, 7.0, 900.0]).slope == pytest.approx(-1.0)


@pytest.mark.parametrize("times", [[], [1], [1, 2, 3], [1, 1, 1, 1], [1, 2, 3, 3]])
def test_fewer_than_four_instants_are_too_few(times):
    assert theil_sen(times, [float(n) for n in range(len(times))]) is None


@pytest.mark.parametrize(
    ("values", "direction"),
    [
        ([1.0, 2.0, 3.0, 4.0, 5.0], "rising"),
        ([5.0, 4.0, 3.0, 2.0, 1.0], "falling"),
        ([1.0, 3.0, 1.0, 3.0, 1.0], "unclear"),
    ],
)
def test_a_direction_is_given_only_where_the_limits_leave_no_doubt(values, direction):
    assert theil_sen([0, 1, 2, 3, 4], values).direction == direction
