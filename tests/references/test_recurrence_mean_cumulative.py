"""Nelson's mean cumulative function against published examples; each value read, from memory or computed elsewhere."""

import numpy as np
import pytest

from service.domain.statistics.mean_cumulative import Watch, mean_cumulative
from tests.references.recurrence_data import VALVE_SEATS

STEPS = {  # day: engines watched, mean, robust standard error
    61: (41, 0.0244, 0.0241),
    139: (41, 0.2195, 0.0733),
    298: (41, 0.4634, 0.1096),
    404: (40, 0.6835, 0.1359),
    561: (40, 0.8835, 0.1617),
    573: (40, 0.9585, 0.1690),
    581: (38, 0.9849, 0.1712),
    586: (34, 1.0143, 0.1738),
    604: (22, 1.0597, 0.1851),
    640: (16, 1.2435, 0.2263),
    653: (9, 1.5427, 0.3117),
}


@pytest.mark.parametrize("day", STEPS)
def test_the_valve_seats_of_forty_one_diesel_engines(day):
    """Nelson 1995: data read, the steps computed elsewhere."""
    step = next(step for step in mean_cumulative([Watch.whole(*engine) for engine in VALVE_SEATS]) if step.age == day)

    assert (step.at_risk, step.mean, step.variance**0.5) == pytest.approx(STEPS[day], abs=6e-5)


def test_three_systems_by_hand():
    """Meeker and Escobar, chapter 16: data read, first two steps from memory, the rest computed elsewhere."""
    steps = mean_cumulative([Watch.whole([5, 8], 12), Watch.whole([], 16), Watch.whole([1, 8, 16], 20)])

    assert [s.mean for s in steps] == pytest.approx([0.3333, 0.6667, 1.3333, 1.8333], abs=6e-5)
    assert [s.variance for s in steps] == pytest.approx([0.0741, 0.0741, 0.2963, 0.7546], abs=6e-5)


def test_five_systems_of_an_open_library():
    """Sample MCF_1 of the open library "reliability": means read, data from memory; its variance is not Nelson's."""
    ages = [([5, 10, 15], 17), ([6, 13, 17], 19), ([12, 20, 25], 26), ([13, 15], 24), ([16, 22, 25], 28)]

    means = {step.age: step.mean for step in mean_cumulative([Watch.whole(*system) for system in ages])}
    assert list(means) == [5, 6, 10, 12, 13, 15, 16, 17, 20, 22, 25]
    assert list(means.values()) == pytest.approx(
        [0.2, 0.4, 0.6, 0.8, 1.2, 1.6, 1.8, 2.0, 2.3333, 2.6667, 3.6667], abs=6e-5
    )


def test_the_limits_hold_for_nineteen_fleets_of_twenty():
    """A Monte Carlo of 1000 fleets of 40 units whose rates vary (gamma, shape 4, mean 1 failure), seed fixed.

    The robust variance of 40 units is a little shy: 92 to 96 %.
    """
    rng, held = np.random.default_rng(1988), 0
    for _ in range(1000):
        counts = rng.poisson(rng.gamma(4, 0.25, size=40))
        low, high = mean_cumulative([Watch.whole(rng.random(n), 1.0) for n in counts])[-1].limits()
        held += low <= 1.0 <= high

    assert held / 1000 == pytest.approx(0.94, abs=0.02)
