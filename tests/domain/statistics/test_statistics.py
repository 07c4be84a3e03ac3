"""How the statistics of recurrence behave: limits, symmetry, large numbers. Their values are in tests/references."""

import numpy as np
import pytest
from scipy.stats import false_discovery_control

from service.domain.statistics.discoveries import adjusted
from service.domain.statistics.mean_cumulative import Step, Watch, mean_cumulative
from service.domain.statistics.rates import (
    chance_of,
    rate_interval,
    two_periods,
    varied_chance_of,
)
from service.domain.statistics.scan import scan_probability, varied_scan_probability


def test_ten_thousand_failures_are_borne():
    assert two_periods(5000, 5000, first_time=1, second_time=1) == pytest.approx(1.0, abs=1e-6)
    assert scan_probability(10_000, rate=0.2, window=3.0, watched=3.0) == 0.0


def test_the_limits_of_a_mean_stay_above_nought():
    low, high = Step(age=61, at_risk=41, mean=0.0244, variance=0.0241**2).limits()

    assert 0.0 < low < 0.0244 < high


def test_a_mean_that_nothing_varies_has_no_width():
    (step,) = mean_cumulative([Watch.whole([1.0], 2.0), Watch.whole([1.0], 2.0)])

    assert step.limits() == (1.0, 1.0)


def test_the_variance_is_nelsons_sum_unit_by_unit():
    """The formula as Nelson 1995 gives it, over a matrix of all units and steps."""
    rng = np.random.default_rng(1995)
    units = [
        (sorted(rng.integers(1, end + 1, n).tolist()), int(end))
        for end, n in zip(*rng.integers(2, 9, (2, 40)), strict=True)
    ]
    steps, strays = mean_cumulative([Watch.whole(*unit) for unit in units]), np.zeros(40)
    for step in steps:
        watched = np.array([end >= step.age for _, end in units])
        own = np.array([ages.count(step.age) for ages, _ in units])
        strays += watched * (own - own.sum() / watched.sum()) / watched.sum()
        assert step.variance == pytest.approx((strays**2).sum(), rel=1e-9)


def test_a_unit_whose_watch_has_ended_moves_no_later_step():
    steps = mean_cumulative([Watch.whole([1], 1), Watch.whole([1, 3], 4), Watch.whole([], 4)])

    assert [(step.at_risk, step.mean) for step in steps] == [(3, pytest.approx(2 / 3)), (2, pytest.approx(7 / 6))]


def test_none_expected_and_one_seen_is_no_chance():
    assert (chance_of(0, expected=0), chance_of(1, expected=0)) == (1.0, 0.0)
    assert (varied_chance_of(0, expected=0, shape=2), varied_chance_of(1, expected=0, shape=2)) == (1.0, 0.0)


def test_a_period_without_failures_leaves_one_limit_open():
    assert rate_interval(0, exposure=3.0)[0] == 0.0


def test_the_scan_meets_a_fixed_window_where_the_window_is_the_record():
    assert scan_probability(3, rate=0.5, window=3, watched=3) == pytest.approx(chance_of(3, expected=1.5), rel=1e-12)
    assert scan_probability(3, rate=0.5, window=9, watched=3) == pytest.approx(chance_of(3, expected=1.5), rel=1e-12)


@pytest.mark.parametrize("watched", [3.0, 5.9, 6.0, 6.1, 9.0, 30.0])
def test_a_longer_record_makes_a_cluster_likelier(watched):
    chances = [scan_probability(3, rate=0.2, window=3.0, watched=w) for w in (watched, watched * 1.02)]

    assert chances[0] < chances[1]


@pytest.mark.parametrize("rate", [0.0, 1e-6, 50.0, 1e4])
def test_a_scan_is_a_probability_at_any_rate(rate):
    assert 0.0 <= scan_probability(3, rate=rate, window=1, watched=30) <= 1.0
    assert 0.0 <= varied_scan_probability(3, rate=rate, window=1, watched=30, shape=1.5) <= 1.0


def test_units_alike_need_no_spread():
    alike = scan_probability(3, rate=0.2, window=1, watched=3)

    assert varied_scan_probability(3, rate=0.2, window=1, watched=3, shape=1e6) == pytest.approx(alike)
    assert varied_scan_probability(3, rate=0.2, window=1, watched=3, shape=99) == pytest.approx(alike, rel=0.05)


def test_adjusted_chances_keep_their_order_and_place():
    assert adjusted([0.5, 0.01, 0.02]) == pytest.approx((0.5, 0.03, 0.03))
    assert adjusted([0.01], of=20) == pytest.approx((0.2,))


@pytest.mark.parametrize("chances", [[], [1.0], [0.04, 0.001, 0.04, 0.2, 0.0], [0.9, 0.03, 0.8, 0.011, 0.02, 0.019]])
@pytest.mark.parametrize("more", [0, 5])
def test_adjusted_chances_are_those_of_scipy(chances, more):
    library = false_discovery_control([*chances, *[1.0] * more], method="bh")[: len(chances)]
    assert adjusted(chances, of=len(chances) + more) == tuple(library)
    assert adjusted([]) == ()
