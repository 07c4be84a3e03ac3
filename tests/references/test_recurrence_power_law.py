"""The power law and its fit against published examples.

Of each value it is said whether it was read in its source, is from memory of it, or was computed elsewhere.
"""

from itertools import accumulate

import numpy as np
import pytest

from service.domain.statistics.goodness_of_fit import LIMITS, cramer_von_mises
from service.domain.statistics.power_law import (
    power_law,
    power_law_of_periods,
    power_law_of_several,
    shape_interval,
    time_between,
)
from tests.references.recurrence_data import GRAMPUS, HALFBEAK, HANDBOOK, NIST, REPAIRS, SIMULATED


def test_the_nist_case_of_reliability_improvement():
    """NIST/SEMATECH 8.2.2.3, T 1500 h: the unbiased shape and the law read, further digits of the scale computed."""
    law = power_law(NIST, end=1500)

    assert (law.shape, law.scale, law.unbiased) == pytest.approx((0.5372289, 0.1966582, 0.483506), rel=1e-6)


def test_the_limits_of_the_nist_shape():
    """The same data: 90 % limits computed elsewhere."""
    assert shape_interval(NIST, end=1500) == pytest.approx((0.29147, 0.84373), abs=1e-5)


def test_the_nist_mean_time_between_failures_with_its_limits():
    """NIST/SEMATECH 8.4.5.2, 80 %: all three read."""
    assert time_between(NIST, end=1500) == pytest.approx((310.234, 157.7138, 548.5566), rel=1e-6)


def test_the_handbooks_twenty_seven_failures():
    """MIL-HDBK-189 (1981), appendix C, T 300 h: shape, scale, rate and mean time read; unbiased, limits computed."""
    law = power_law(HANDBOOK, end=300)

    assert (law.shape, law.scale, law.rate(300)) == pytest.approx((0.7163393, 0.4538419, 0.0644705), rel=1e-6)
    assert 1 / law.rate(300) == pytest.approx(15.51096, rel=1e-6)
    assert law.unbiased == pytest.approx(0.6898082, abs=1e-7)
    assert shape_interval(HANDBOOK, end=300) == pytest.approx((0.50563, 0.95715), abs=1e-5)


def test_the_handbooks_failures_fit_the_law():
    """MIL-HDBK-189 (1981), appendix C: statistic read."""
    fit = cramer_von_mises(HANDBOOK, end=300)

    assert fit.statistic == pytest.approx(0.0910611, abs=1e-7)
    assert fit.holds


def test_the_handbooks_counts_by_period():
    """MIL-HDBK-189 (1981), grouped: shape, scale and mean time at the end read."""
    law = power_law_of_periods([13, 16, 5, 8, 7], ends=[20, 40, 60, 80, 100])

    assert (law.shape, law.scale) == pytest.approx((0.752851, 1.529306), abs=1e-6)
    assert 1 / law.rate(100) == pytest.approx(2.71078, abs=1e-5)


def test_three_simulated_systems_of_one_law():
    """Crow 1975, AMSAA TR-138, T 200 h each: data read; .615 and .461 from memory, further digits computed."""
    law = power_law_of_several([(ages, 200.0) for ages in SIMULATED])

    assert (law.shape, law.scale) == pytest.approx((0.615336, 0.460547), abs=1e-6)


def test_the_three_systems_one_by_one():
    """AMSAA TR-138: data read, single shapes and those freed of bias computed elsewhere."""
    laws = [power_law(ages, end=200) for ages in SIMULATED]

    assert [law.shape for law in laws] == pytest.approx([0.50854, 0.56735, 0.88697], abs=1e-5)
    assert [law.unbiased for law in laws] == pytest.approx([0.45768, 0.52953, 0.80633], abs=1e-5)


def test_the_halfbeak_engine():
    """U.S.S. Halfbeak, Meeker and Escobar, chapter 16, T 25.518 kh: data read; 2.76 and 5.45 from memory, digits
    computed. Their scale is the age of the first expected failure.
    """
    law = power_law([age / 1000 for age in HALFBEAK], end=25.518)

    assert law.shape == pytest.approx(2.76034, abs=1e-5)
    assert law.scale ** (-1 / law.shape) == pytest.approx(5.44733, abs=1e-5)


@pytest.mark.parametrize(("end", "shape"), [(15.07, 1.21785), (16.0, 1.13507)])
def test_the_grampus_engine_by_the_end_of_watching(end, shape):
    """U.S.S. Grampus, Lee 1980: data read; 1.22 for 15.07 kh from memory, digits and the longer watch computed."""
    assert power_law([age / 1000 for age in GRAMPUS], end=end).shape == pytest.approx(shape, abs=1e-5)


def test_the_grampus_engines_scale():
    """As above: .553 kh from memory, its digits computed."""
    law = power_law([age / 1000 for age in GRAMPUS], end=15.07)

    assert law.scale ** (-1 / law.shape) == pytest.approx(0.552894, abs=1e-6)


def test_thirty_gaps_between_repairs_watched_until_the_last():
    """The documents of the open library "reliability": gaps, shape 1.588 and scale 3.703e-05 read, digits computed."""
    law = power_law(list(accumulate(REPAIRS)), end=None)

    assert law.shape == pytest.approx(1.588053, abs=1e-6)
    assert law.scale == pytest.approx(3.702729e-05, rel=1e-6)


@pytest.mark.parametrize(("size", "limit"), [*LIMITS, (27, 0.172)])
def test_the_limits_of_fit_are_passed_by_one_true_law_in_ten(size, limit):
    """A Monte Carlo of 40 000 items of shape 1, seed fixed: the limits themselves are from memory of MIL-HDBK-189."""
    ages = np.sort(np.random.default_rng(189).random((40_000, size)), axis=1)
    shapes = (size - 1) / -np.log(ages).sum(axis=1, keepdims=True)
    middles = (2 * np.arange(1, size + 1) - 1) / (2 * size)
    statistics = 1 / (12 * size) + ((ages**shapes - middles) ** 2).sum(axis=1)

    assert np.quantile(statistics, 0.9) == pytest.approx(limit, abs=0.003)
    assert cramer_von_mises(list(ages[0]), end=1.0).statistic == pytest.approx(statistics[0], rel=1e-9)


def test_the_limits_of_the_shape_hold_for_nine_items_of_ten():
    """A Monte Carlo of 2000 items of shape 2 watched until their tenth failure, seed fixed."""
    made = np.sqrt(np.random.default_rng(75).exponential(size=(2000, 10)).cumsum(axis=1))
    limits = [shape_interval(list(ages), end=None) for ages in made]

    assert np.mean([low <= 2.0 <= high for low, high in limits]) == pytest.approx(0.9, abs=0.02)


@pytest.mark.parametrize("by_failure", [True, False])
def test_the_shape_freed_of_its_bias_is_right_on_average(by_failure):
    """A Monte Carlo of 4000 items of shape 2 and ten counted failures, seed fixed."""
    made = np.sqrt(np.random.default_rng(74).exponential(size=(4000, 11)).cumsum(axis=1))
    laws = [
        power_law(list(ages), end=None) if by_failure else power_law(list(ages[:10]), end=ages[10]) for ages in made
    ]

    assert np.mean([law.unbiased for law in laws]) == pytest.approx(2.0, rel=0.02)
