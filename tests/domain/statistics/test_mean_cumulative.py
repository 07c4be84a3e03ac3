"""The mean cumulative function of units watched in part, against a recount in fractions."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.statistics.mean_cumulative import Watch, longest_span, mean_cumulative
from service.domain.statistics.refusal import TooFew


@st.composite
def watches(draw):
    after, length = draw(st.integers(-1, 8)), draw(st.integers(0, 12))
    ages = draw(st.lists(st.integers(after + 1, after + length), max_size=4)) if length else []
    return Watch(tuple(sorted(ages)), after, after + length)


def recounted(units):
    """(age, watched, mean, variance) by the definition, in fractions."""
    found = []
    ages = sorted({age for unit in units for age in unit.ages})
    for number, age in enumerate(ages):
        strays = [Fraction(0)] * len(units)
        mean = Fraction(0)
        for t in ages[: number + 1]:
            watched = [n for n, unit in enumerate(units) if unit.after < t <= unit.until]
            each = Fraction(sum(units[n].ages.count(t) for n in watched), len(watched))
            mean += each
            for n in watched:
                strays[n] += (units[n].ages.count(t) - each) / len(watched)
        found.append((age, len(watched), mean, sum(stray * stray for stray in strays)))
    return found


@given(st.lists(watches(), min_size=2, max_size=7))
def test_any_units_give_what_a_recount_in_fractions_gives(units):
    steps = mean_cumulative(units)

    for step, (age, watched, mean, variance) in zip(steps, recounted(units), strict=True):
        assert (step.age, step.at_risk) == (age, watched)
        assert (step.mean, step.variance) == pytest.approx((float(mean), float(variance)), abs=1e-12)


def test_a_unit_taken_over_later_stands_only_for_the_ages_at_which_it_was_watched():
    """By hand: at age 2 only the first is watched, 1/1; at age 7 both, 1/2."""
    steps = mean_cumulative([Watch((2,), -1, 10), Watch((7,), 5, 10)])

    assert [(step.at_risk, step.mean) for step in steps] == [(1, 1.0), (2, 1.5)]


def test_the_span_is_the_longest_in_which_enough_were_watched():
    units = [Watch((), 0, 4), Watch((), 2, 5), Watch((), 6, 20), Watch((), 8, 15)]

    assert (longest_span(units, 2), longest_span(units, 3)) == ((8, 15), None)


def test_an_event_while_nobody_watched_and_a_single_unit_are_refused():
    with pytest.raises(ValueError, match="outside its unit"):
        mean_cumulative([Watch((1,), 3, 9), Watch((), 0, 9)])
    with pytest.raises(TooFew):
        mean_cumulative([Watch((1,), 0, 9)])
