"""Chance against a cause against an unexplained excess."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import gamma, nbinom

from service.domain.root_causes import comparison
from service.domain.root_causes.comparison import (
    FailureArrays,
    Setting,
    compare,
    evidence_of,
    excess_factor,
    log_factors,
)

KIND = "strainer"  # three views: after a repair, and two of bad parts
SETTING = Setting(0.2, 4.0, ((0.15, 0.2, 0.3, 0.25, 0.1),) * 3, (0.06, 0.0), (0.06, 0.0), 0.02)


def pairs(*, count=3.0, years=3.0, exposed=0.6, full=3):
    gains = np.log([[[float(s) ** full for s in (1, 2, 4, 8, 16)], [1.0] * 5, [1.0] * 5]])
    return FailureArrays(
        KIND, np.array([count]), np.array([years]), np.array([[exposed, 0.0, 0.0]]), gains,
        np.ones((1, 3, 5)), np.zeros((1, 2)),
    )  # fmt: skip


def test_factors_of_a_cause_present_at_all_three_failures():
    """Computed elsewhere: 1, 6.680, 37.767, 158.264, 405.887."""
    factors = np.exp(log_factors(pairs(), SETTING)[0, 0])

    assert factors == pytest.approx([1.0, 6.680, 37.767, 158.264, 405.887], rel=1e-4)


def test_the_factor_is_the_likelihood_integrated_over_the_units_own_rate():
    """By quadrature: frailty gamma of mean 1, Poisson counts, all failures exposed at eight times the rate."""
    rate, a, n, years, exposed, strength = 0.2, 4.0, 3, 3.0, 0.6, 8.0

    def likelihood(f, area):
        return gamma.pdf(f, a, scale=1 / a) * (rate * f) ** n * np.exp(-rate * f * area)

    with_cause = quad(likelihood, 0, 60, args=(years + (strength - 1) * exposed,))[0] * strength**n
    without = quad(likelihood, 0, 60, args=(years,))[0]

    assert np.exp(log_factors(pairs(), SETTING)[0, 0, 3]) == pytest.approx(with_cause / without, rel=1e-6)


def test_the_excess_is_a_ratio_of_negative_binomials():
    def chance(shape, mean):
        return nbinom.pmf(3, shape, shape / (shape + mean))

    found = excess_factor(np.array([3.0]), np.array([0.6]), 4.0)[0]
    assert found == pytest.approx(chance(2.0, 3.0) / chance(4.0, 0.6), rel=1e-9)
    assert found == pytest.approx(5.4477, abs=1e-4)  # computed elsewhere


def test_probabilities_of_the_explanations():
    """Computed elsewhere for priors 0.92, 0.06, 0.02: chance 0.13924, the cause 0.84427, unexplained 0.01649."""
    found = compare(pairs(), SETTING)

    assert found.chance[0] == pytest.approx(0.13924, abs=1e-5)
    assert found.views[0, 0].sum() == pytest.approx(0.84427, abs=1e-5)
    assert found.unexplained[0] == pytest.approx(0.01649, abs=1e-5)


def test_a_cause_that_made_one_failure_at_most_is_chance_unless_it_is_always_there():
    gains = np.zeros((1, 1, 1, 3))
    gains[..., 1:] = (-np.log(8.0), 7.0)  # one failure, made with odds of seven to one
    now_and_then = comparison.made(gains, np.array([[0.0]]))
    always = comparison.made(gains, np.array([[1.0]]))

    assert now_and_then[0, 0, 0] == pytest.approx(0.0)
    assert always[0, 0, 0] == pytest.approx(7.0 / 8.0)


def test_a_unit_whose_other_parts_fail_often_by_chance_is_harder_on_all_that_is_in_it():
    """The mean of a gamma of shape 4 and mean 1 after some failures against those expected, by quadrature."""
    sure = Setting(0.2, 4.0, SETTING.strengths, (0.0, 0.0), (0.0, 0.0), 1e-12)  # all is chance
    kinds = {"strainer": (pairs(count=5.0), np.array([0])), "fan": (pairs(count=1.0), np.array([0]))}
    expected, silent = 0.2 * 3.0, 0.4

    def weighed(power):
        return quad(lambda f: f**power * gamma.pdf(f, 4, scale=1 / 4) * np.exp(-f * (expected + silent)), 0, 60)[0]

    found = comparison.frailty_of(kinds, lambda _: sure, np.array([silent]))
    assert found["fan"][0] == pytest.approx(weighed(6) / weighed(5), rel=1e-6)
    assert found["fan"][0] == pytest.approx(9 / 5)
    assert found["strainer"][0] == pytest.approx(1.0)  # (4 + 1) / (4 + 1)


def test_parts_that_last_excuse_nothing():
    sure = Setting(0.2, 4.0, SETTING.strengths, (0.0, 0.0), (0.0, 0.0), 1e-12)
    found = comparison.frailty_of({"strainer": (pairs(), np.array([0]))}, lambda _: sure, np.array([50.0]))

    assert found["strainer"][0] == pytest.approx(1.0)


def test_the_same_failures_weigh_less_in_a_unit_that_fails_more_often():
    assert compare(pairs().times(np.array([2.0])), SETTING).chance[0] > compare(pairs(), SETTING).chance[0] + 0.1


@pytest.mark.parametrize(("gain", "evidence"), [(1e4, comparison.MOST_SUPPORT), (-1e4, -comparison.MOST_SUPPORT)])
def test_the_evidence_is_a_number_where_one_cause_outweighs_all_else_or_nothing_is_left_of_it(gain, evidence):
    arrays = pairs()
    arrays.gains[:, 0] = gain  # of the first cause alone

    with np.errstate(divide="raise", invalid="raise"):
        assert evidence_of(arrays, replace(SETTING, priors=(0.06, 0.05)))[0, 0] == evidence
