"""Motor currents: the table between its rows, and the percentages at their steps."""

from math import nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.physics.electrical.motor_currents import (
    current_share,
    full_load_current,
)
from service.domain.physics.ranges import OutOfRange

powers = st.floats(124.3, 2237.0)
voltages = st.sampled_from([110.0, 115.0, 120.0, 200.0, 208.0, 216.0, 220.0, 230.0, 240.0])


@given(one=powers, other=powers, voltage=voltages)
def test_a_bigger_motor_draws_no_less(one, other, voltage):
    small, big = sorted((one, other))

    assert full_load_current(rated_power=small, rated_voltage=voltage) <= full_load_current(
        rated_power=big, rated_voltage=voltage
    )


def test_between_two_rows_the_current_lies_halfway():
    halfway = full_load_current(rated_power=0.875 * 745.7, rated_voltage=115.0)

    assert halfway == pytest.approx((13.8 + 16.0) / 2, abs=1e-3)  # NEC Table 430.248: 3/4 and 1 hp


@pytest.mark.parametrize(("power", "current"), [(124.0, 4.4), (2238.0, 34.0)])
def test_nameplates_rounded_to_whole_watts_are_within_the_table(power, current):
    assert full_load_current(rated_power=power, rated_voltage=115.0) == pytest.approx(current, abs=0.01)


@pytest.mark.parametrize("power", [123.9, 2238.1, 0.0, -1.0, nan])
def test_a_motor_off_the_table_is_refused(power):
    with pytest.raises(OutOfRange, match="rated motor power"):
        full_load_current(rated_power=power, rated_voltage=115.0)


@pytest.mark.parametrize("voltage", [0.0, 109.9, 120.1, 160.0, 199.9, 217.0, 240.1, 460.0, nan])
def test_a_voltage_between_or_beyond_the_columns_is_refused(voltage):
    with pytest.raises(OutOfRange, match="rated voltage"):
        full_load_current(rated_power=186.0, rated_voltage=voltage)


@given(current=st.floats(0.01, 200.0), times=st.floats(0.1, 1.0))
def test_a_share_is_proportional(current, times):
    assert current_share(times * current, rated=current) == pytest.approx(times)


@pytest.mark.parametrize(("current", "rated"), [(-0.1, 5.0), (1000.1, 5.0), (nan, 5.0), (5.0, 0.0), (5.0, nan)])
def test_share_of_impossible_currents_is_refused(current, rated):
    with pytest.raises(OutOfRange):
        current_share(current, rated=rated)
