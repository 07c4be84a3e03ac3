"""What the statistics of recurrence refuse, and at which number they begin to speak."""

from math import nan

import pytest

from service.domain.physics.ranges import OutOfRange
from service.domain.statistics.discoveries import adjusted
from service.domain.statistics.goodness_of_fit import cramer_von_mises
from service.domain.statistics.mean_cumulative import Watch, mean_cumulative
from service.domain.statistics.power_law import power_law, power_law_of_periods, power_law_of_several
from service.domain.statistics.rates import (
    chance_of,
    rate_interval,
    ratio_interval,
    two_periods,
    varied_chance_of,
)
from service.domain.statistics.refusal import TooFew
from service.domain.statistics.scan import scan_probability, varied_scan_probability
from service.domain.statistics.shrinkage import by_likelihood, by_moments
from service.domain.statistics.trend import laplace, military_handbook, reverse_arrangements

NEEDS = {
    "Laplace": (3, lambda n: laplace(ages(n), end=100)),
    "Laplace until the last": (4, lambda n: laplace(ages(n), end=None)),
    "handbook": (3, lambda n: military_handbook(ages(n), end=100)),
    "reverse arrangements": (5, lambda n: reverse_arrangements(ages(n))),
    "power law": (8, lambda n: power_law(ages(n), end=100)),
    "power law until the last": (9, lambda n: power_law(ages(n), end=None)),
    "power law of several": (8, lambda n: power_law_of_several([(ages(n), 100), ([], 50)])),
    "power law of periods": (8, lambda n: power_law_of_periods([n - 1, 1], ends=[50, 100])),
    "fit": (10, lambda n: cramer_von_mises(ages(n), end=100)),
    "mean cumulative": (2, lambda n: mean_cumulative([Watch.whole([1.0], 2.0)] * n)),
    "moments": (10, lambda n: by_moments(range(n), [1.0] * n)),
    "likelihood": (10, lambda n: by_likelihood(range(n), [1.0] * n)),
    "two periods": (1, lambda n: two_periods(n, 0, first_time=1, second_time=1)),
    "ratio": (1, lambda n: ratio_interval(n, 0, first_time=1, second_time=1)),
}


def ages(number):
    return [7.0 * (i + 1) for i in range(number)]


@pytest.mark.parametrize("name", NEEDS)
def test_a_method_speaks_from_its_number_on_and_not_before(name):
    needed, ask = NEEDS[name]

    ask(needed)
    with pytest.raises(TooFew, match="needs at least"):
        ask(needed - 1)


@pytest.mark.parametrize("ages", [[3, 2, 4, 5, 6], [0, 1, 2, 3, 4], [-1, 1, 2, 3, 4], [1, 2, nan, 3, 4]])
@pytest.mark.parametrize(
    "test", [lambda a: laplace(a, end=9), lambda a: military_handbook(a, end=9), reverse_arrangements]
)
def test_ages_that_do_not_ascend_from_above_nought_are_refused(test, ages):
    with pytest.raises(ValueError, match="ascend"):
        test(ages)


def test_a_failure_beyond_the_end_is_refused():
    with pytest.raises(ValueError, match="at most 4"):
        laplace([1, 2, 5], end=4)


@pytest.mark.parametrize("age", [-1, 5, nan])
def test_a_failure_outside_its_units_time_is_refused(age):
    with pytest.raises(ValueError, match="outside its unit's time, 0 to 3"):
        mean_cumulative([Watch.whole([age], 3), Watch.whole([], 9)])


@pytest.mark.parametrize(
    "fit",
    [
        lambda: power_law([5.0] * 9, end=5),
        lambda: power_law_of_several([([5.0] * 9, 5), ([], 5)]),
        lambda: power_law_of_periods([9, 0, 0], ends=[1, 2, 3]),
        lambda: power_law_of_periods([0, 0, 9], ends=[1, 2, 3]),
    ],
)
def test_failures_all_at_one_end_have_no_shape(fit):
    with pytest.raises(ValueError, match="no shape fits"):
        fit()


@pytest.mark.parametrize(
    "ask",
    [
        lambda: chance_of(2, expected=-1),
        lambda: chance_of(2, expected=nan),
        lambda: varied_chance_of(2, expected=1, shape=0),
        lambda: rate_interval(2, exposure=0),
        lambda: two_periods(2, 1, first_time=0, second_time=1),
        lambda: scan_probability(3, rate=-0.1, window=1, watched=3),
        lambda: scan_probability(3, rate=0.1, window=0, watched=3),
        lambda: scan_probability(3, rate=0.1, window=1, watched=0),
        lambda: varied_scan_probability(3, rate=0.1, window=1, watched=3, shape=0),
        lambda: by_moments(range(10), [0.0, *[1.0] * 9]),
    ],
)
def test_what_has_no_meaning_is_refused_by_name(ask):
    with pytest.raises(OutOfRange):
        ask()


def test_fewer_looked_at_than_told_is_refused():
    with pytest.raises(ValueError, match="fewer than the 2"):
        adjusted([0.1, 0.2], of=1)
