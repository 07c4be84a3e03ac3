"""The mean cumulative function of units watched in part, against a published case and a recount in fractions."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.diagnosis.recurrence.mean_cumulative import mean_cumulative
from service.domain.diagnosis.recurrence.refusal import TooFew
from service.domain.diagnosis.recurrence.watched import Watch, longest_span, mean_cumulative_watched

THREE_SYSTEMS = [Watch((5, 8), -1, 12), Watch((), -1, 16), Watch((1, 8, 16), -1, 20)]


def test_the_three_systems_of_meeker_and_escobar():
    """Section 16.2: the first two means from memory, the rest computed by hand."""
    steps = mean_cumulative_watched(THREE_SYSTEMS)

    assert [(step.age, step.at_risk) for step in steps] == [(1, 3), (5, 3), (8, 3), (16, 2)]
    assert [step.mean for step in steps] == pytest.approx([0.3333, 0.6667, 1.3333, 1.8333], abs=1e-4)
    assert [step.variance for step in steps] == pytest.approx([0.0741, 0.0741, 0.2963, 0.7546], abs=1e-4)


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
    steps = mean_cumulative_watched(units)

    for step, (age, watched, mean, variance) in zip(steps, recounted(units), strict=True):
        assert (step.age, step.at_risk) == (age, watched)
        assert (step.mean, step.variance) == pytest.approx((float(mean), float(variance)), abs=1e-12)


@given(st.lists(watches(), min_size=2, max_size=7))
def test_units_watched_from_the_first_day_give_nelsons_function(units):
    whole = [Watch(unit.ages, -1, unit.until) for unit in units if unit.until >= 0]
    if len(whole) < 2:
        return
    nelson = mean_cumulative([(list(unit.ages), unit.until) for unit in whole])

    for mine, his in zip(mean_cumulative_watched(whole), nelson, strict=True):
        assert (mine.mean, mine.variance) == pytest.approx((his.mean, his.variance), abs=1e-12)


def test_a_unit_taken_over_later_stands_only_for_the_ages_at_which_it_was_watched():
    """By hand: at age 2 only the first is watched, 1/1; at age 7 both, 1/2."""
    steps = mean_cumulative_watched([Watch((2,), -1, 10), Watch((7,), 5, 10)])

    assert [(step.at_risk, step.mean) for step in steps] == [(1, 1.0), (2, 1.5)]


def test_the_span_is_the_longest_in_which_enough_were_watched():
    units = [Watch((), 0, 4), Watch((), 2, 5), Watch((), 6, 20), Watch((), 8, 15)]

    assert (longest_span(units, 2), longest_span(units, 3)) == ((8, 15), None)


def test_an_event_while_nobody_watched_and_a_single_unit_are_refused():
    with pytest.raises(ValueError, match="outside the span"):
        mean_cumulative_watched([Watch((1,), 3, 9), Watch((), 0, 9)])
    with pytest.raises(TooFew):
        mean_cumulative_watched([Watch((1,), 0, 9)])
