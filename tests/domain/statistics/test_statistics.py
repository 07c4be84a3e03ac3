"""How the statistics of recurrence behave: limits, symmetry, large numbers. Their values are in tests/references."""

from math import inf

import numpy as np
import pytest

from service.domain.statistics.discoveries import adjusted
from service.domain.statistics.goodness_of_fit import cramer_von_mises
from service.domain.statistics.mean_cumulative import Step, Watch, mean_cumulative
from service.domain.statistics.power_law import power_law, power_law_of_several, shape_interval, time_between
from service.domain.statistics.rates import (
    chance_of,
    rate_interval,
    ratio_interval,
    two_periods,
    varied_chance_of,
)
from service.domain.statistics.scan import scan_probability, varied_scan_probability
from service.domain.statistics.shrinkage import GammaPoisson, by_likelihood, by_moments
from service.domain.statistics.trend import laplace, military_handbook, reverse_arrangements

FASTER = [400.0, 600, 700, 780, 840, 890, 930, 960, 980, 990]
SLOWER = [10.0, 30, 60, 100, 160, 240, 330, 440, 600, 800]


@pytest.mark.parametrize(
    "test", [lambda a: laplace(a, end=1000), lambda a: military_handbook(a, end=1000), reverse_arrangements]
)
def test_what_comes_faster_worsens_and_what_comes_slower_improves(test):
    faster, slower = test(FASTER), test(SLOWER)

    assert max(faster.worsening, slower.improving) < 0.01
    assert min(faster.improving, slower.worsening) > 0.9


@pytest.mark.parametrize("test", [laplace, military_handbook])
def test_the_last_failure_tells_only_the_end_where_watching_ended_with_it(test):
    assert test(FASTER, end=None) == test(FASTER[:-1], end=FASTER[-1])


def test_equal_gaps_speak_for_neither_verdict():
    even = reverse_arrangements([10.0 * i for i in range(1, 11)])

    assert (even.worsening, even.improving) == pytest.approx((1.0, 1.0))


def test_reverse_arrangements_pass_smoothly_from_exact_to_approximate():
    rng = np.random.default_rng(13)
    gaps = np.sort(rng.exponential(size=51))
    swapped = np.concatenate([gaps[26:], gaps[:26]])  # every later half shorter, rising within
    exact, approximate = (reverse_arrangements(list(swapped[:n].cumsum())) for n in (50, 51))

    assert approximate.worsening == pytest.approx(exact.worsening, abs=0.03)


def test_ten_thousand_failures_are_borne():
    ages = list(np.random.default_rng(10).exponential(size=10_000).cumsum())

    assert 0.0 < reverse_arrangements(ages).worsening < 1.0
    assert power_law(ages, end=None).shape == pytest.approx(1.0, abs=0.05)
    assert two_periods(5000, 5000, first_time=1, second_time=1) == pytest.approx(1.0, abs=1e-6)
    assert scan_probability(10_000, rate=0.2, window=3.0, watched=3.0) == 0.0


def test_several_items_with_one_end_are_one_item_of_all_their_failures():
    pooled = power_law(sorted(FASTER + SLOWER), end=1000)
    several = power_law_of_several([(FASTER, 1000), (SLOWER, 1000)])

    assert several.shape == pytest.approx(pooled.shape, rel=1e-9)
    assert several.scale == pytest.approx(pooled.scale / 2, rel=1e-9)


def test_items_that_never_failed_lower_the_rate():
    with_idle = power_law_of_several([(FASTER, 1000), ([], 1000)])

    assert with_idle.rate(500) == pytest.approx(power_law(FASTER, end=1000).rate(500) / 2, rel=1e-9)


def test_the_unit_of_time_changes_no_shape():
    hours = [age * 24 for age in FASTER]

    assert power_law(hours, end=24_000).shape == pytest.approx(power_law(FASTER, end=1000).shape, rel=1e-12)
    assert cramer_von_mises(hours, end=24_000).statistic == pytest.approx(cramer_von_mises(FASTER, end=1000).statistic)


def test_two_bursts_are_no_power_law():
    bursts = [10.0 + i / 10 for i in range(8)] + [990.0 + i / 10 for i in range(8)]

    assert not cramer_von_mises(bursts, end=1000).holds


def test_more_confidence_is_a_wider_interval():
    (low, high), (lower, higher) = (shape_interval(FASTER, end=1000, confidence=c) for c in (0.8, 0.95))

    assert lower < low < high < higher
    with pytest.raises(ValueError, match="no upper limit"):
        time_between(FASTER[:8], end=1000, confidence=0.99999)


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


def test_none_expected_and_one_seen_is_no_luck():
    assert (chance_of(0, expected=0), chance_of(1, expected=0)) == (1.0, 0.0)
    assert (varied_chance_of(0, expected=0, shape=2), varied_chance_of(1, expected=0, shape=2)) == (1.0, 0.0)


def test_a_period_without_failures_leaves_one_limit_open():
    assert rate_interval(0, exposure=3.0)[0] == 0.0
    assert ratio_interval(3, 0, first_time=1, second_time=1)[1] == inf
    assert ratio_interval(0, 3, first_time=1, second_time=1)[0] == 0.0


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


@pytest.mark.parametrize("fit", [by_moments, by_likelihood])
@pytest.mark.parametrize("counts", [[0] * 10, [1] * 10, [1, 2] * 5])
def test_units_that_differ_no_more_than_by_luck_have_no_spread(fit, counts):
    assert fit(counts, [1.0] * 10) is None


@pytest.mark.parametrize("fit", [by_moments, by_likelihood])
def test_a_made_fleet_gives_its_spread_back(fit):
    rng = np.random.default_rng(56)
    years = rng.uniform(1, 5, 20_000)
    found = fit(list(rng.poisson(rng.gamma(2.0, 0.1, 20_000) * years)), list(years))

    assert (found.shape, found.time) == pytest.approx((2.0, 10.0), rel=0.08)


def test_a_rate_is_drawn_between_its_own_and_the_fleets():
    gamma = GammaPoisson(2.0, 10.0)

    assert 0.2 < gamma.shrunk(3, 3.0) < 1.0
    assert gamma.shrunk(0, 0.0) == 0.2


def test_adjusted_chances_keep_their_order_and_place():
    assert adjusted([0.5, 0.01, 0.02]) == pytest.approx((0.5, 0.03, 0.03))
    assert adjusted([0.01], of=20) == pytest.approx((0.2,))
    assert adjusted([]) == ()
