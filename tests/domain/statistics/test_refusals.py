"""What the statistics of recurrence refuse, and at which number they begin to speak."""

from math import nan

import pytest

from service.domain.physics.ranges import OutOfRange
from service.domain.statistics.discoveries import adjusted
from service.domain.statistics.mean_cumulative import Watch, mean_cumulative
from service.domain.statistics.rates import (
    chance_of,
    rate_interval,
    two_periods,
    varied_chance_of,
)
from service.domain.statistics.refusal import TooFew
from service.domain.statistics.scan import scan_probability, varied_scan_probability

NEEDS = {
    "mean cumulative": (2, lambda n: mean_cumulative([Watch.whole([1.0], 2.0)] * n)),
    "two periods": (1, lambda n: two_periods(n, 0, first_time=1, second_time=1)),
}


@pytest.mark.parametrize("name", NEEDS)
def test_a_method_answers_from_its_number_on_and_not_before(name):
    needed, ask = NEEDS[name]

    ask(needed)
    with pytest.raises(TooFew, match="needs at least"):
        ask(needed - 1)


@pytest.mark.parametrize("age", [-1, 5, nan])
def test_a_failure_outside_its_units_time_is_refused(age):
    with pytest.raises(ValueError, match="outside its unit's time, 0 to 3"):
        mean_cumulative([Watch.whole([age], 3), Watch.whole([], 9)])


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
    ],
)
def test_what_has_no_meaning_is_refused_by_name(ask):
    with pytest.raises(OutOfRange):
        ask()


def test_fewer_comparisons_than_given_are_refused():
    with pytest.raises(ValueError, match="fewer than the 2"):
        adjusted([0.1, 0.2], of=1)
