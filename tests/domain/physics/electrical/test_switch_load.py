"""What a switch carries against what it may carry."""

from math import nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.physics.electrical.switch_load import (
    MOTOR_SHARE,
    UnknownRating,
    continuous_limit,
    disconnect_minimum,
    motor_limit,
    switch_load,
)
from service.domain.physics.ranges import OutOfRange
from service.domain.record.fleet import SWITCH_RATINGS

currents = st.lists(st.floats(0.0, 20.0), max_size=5)
ratings = st.sampled_from(sorted(MOTOR_SHARE))


def test_every_rating_the_fleet_knows_has_a_rule():
    assert set(MOTOR_SHARE) == set(SWITCH_RATINGS)


@given(rated=st.floats(1.0, 200.0))
def test_motor_rated_carries_most_and_resistive_least(rated):
    assert motor_limit(rated, rating="resistive") < motor_limit(rated, rating="ac_only")
    assert motor_limit(rated, rating="ac_only") < motor_limit(rated, rating="motor") < rated


@given(motors=currents, others=currents, rating=ratings)
def test_order_does_not_matter_and_the_sum_is_the_sum(motors, others, rating):
    one = switch_load(motors, rated_current=20.0, rating=rating, others=others)
    other = switch_load(motors[::-1], rated_current=20.0, rating=rating, others=others[::-1])

    assert one.running == pytest.approx(sum(motors) + sum(others), abs=1e-9)
    assert one.share == pytest.approx(other.share, abs=1e-9)


@given(motors=currents, extra=st.floats(0.01, 20.0), rating=ratings)
def test_one_more_motor_never_eases_the_switch(motors, extra, rating):
    before = switch_load(motors, rated_current=20.0, rating=rating)
    after = switch_load([*motors, extra], rated_current=20.0, rating=rating)

    assert after.share > before.share
    assert after.starting > before.starting


@given(rating=ratings, rated=st.floats(1.0, 200.0))
def test_a_switch_at_its_limit_is_just_not_over(rating, rated):
    limit = motor_limit(rated, rating=rating)

    assert not switch_load([limit], rated_current=rated, rating=rating).over
    assert switch_load([limit * 1.001], rated_current=rated, rating=rating).over


def test_a_heater_counts_by_the_eighty_percent_rule():
    assert switch_load([], rated_current=20.0, rating="resistive", others=[16.0]).share == pytest.approx(1.0)


def test_heaters_do_not_surge():
    load = switch_load([5.8], rated_current=20.0, rating="motor", others=[2.0])

    assert load.starting == pytest.approx(6 * 5.8 + 2.0)


def test_an_idle_switch_carries_nothing():
    load = switch_load([], rated_current=20.0, rating="motor")

    assert (load.running, load.starting, load.share, load.over) == (0.0, 0.0, 0.0, False)


@pytest.mark.parametrize("rating", ["", "Motor", "inductive"])
def test_an_unknown_kind_of_rating_is_refused_with_the_known_ones(rating):
    with pytest.raises(UnknownRating, match="ac_only"):
        switch_load([5.0], rated_current=20.0, rating=rating)


@pytest.mark.parametrize("motors", [[-0.1], [200.1], [nan], [150.0, 60.0]])
def test_impossible_currents_are_refused(motors):
    with pytest.raises(OutOfRange, match="current through the switch"):
        switch_load(motors, rated_current=20.0, rating="motor")


@pytest.mark.parametrize("rated", [0.99, 200.1, nan])
def test_an_impossible_rating_is_refused(rated):
    with pytest.raises(OutOfRange, match="rated current of the switch"):
        motor_limit(rated, rating="motor")
    with pytest.raises(OutOfRange, match="breaker rating"):
        continuous_limit(rated)


@pytest.mark.parametrize("running", [-0.1, 200.1, nan])
def test_a_disconnect_for_impossible_currents_is_refused(running):
    with pytest.raises(OutOfRange):
        disconnect_minimum(running)


@pytest.mark.parametrize("rated", [1.0, 200.0])
def test_the_limits_are_answered(rated):
    assert continuous_limit(rated) < rated < disconnect_minimum(rated)
