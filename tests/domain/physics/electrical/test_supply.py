"""Supply voltage, torque and unbalance."""

from itertools import permutations
from math import nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.physics.electrical.supply import torque_share, unbalance_derating, voltage_check, voltage_unbalance
from service.domain.physics.ranges import OutOfRange

volts = st.floats(100.0, 500.0)


@given(rated=st.floats(12.0, 1000.0), share=st.floats(0.0, 1.4))
def test_the_band_is_ten_percent_either_side(rated, share):
    check = voltage_check(rated * share, rated=rated)

    assert check.inside is (abs(check.deviation) <= 0.1 + 1e-12)  # NEMA MG 1
    assert (check.low, check.high) == pytest.approx((0.9 * rated, 1.1 * rated))


@pytest.mark.parametrize(("voltage", "inside"), [(103.5, True), (126.5, True), (103.4, False), (126.6, False)])
def test_the_edges_of_the_band_are_inside(voltage, inside):
    assert voltage_check(voltage, rated=115.0).inside is inside


def test_a_dead_supply_is_answered_as_all_of_it_missing():
    assert voltage_check(0.0, rated=115.0).deviation == -1.0


@pytest.mark.parametrize(
    ("voltage", "rated"), [(-1.0, 115.0), (1500.1, 115.0), (nan, 115.0), (115.0, 0.0), (115.0, 1001.0)]
)
def test_impossible_voltages_are_refused(voltage, rated):
    with pytest.raises(OutOfRange, match="voltage"):
        voltage_check(voltage, rated=rated)
    with pytest.raises(OutOfRange, match="voltage"):
        torque_share(voltage, rated=rated)


@given(voltage=st.floats(50.0, 150.0))
def test_torque_goes_with_the_square(voltage):
    assert torque_share(2 * voltage, rated=115.0) == pytest.approx(4 * torque_share(voltage, rated=115.0))


@given(first=volts, second=volts, third=volts, times=st.floats(0.5, 2.0))
def test_unbalance_knows_no_order_and_no_scale(first, second, third, times):
    found = voltage_unbalance(first, second, third)

    assert all(voltage_unbalance(*order) == pytest.approx(found) for order in permutations((first, second, third)))
    assert voltage_unbalance(times * first, times * second, times * third) == pytest.approx(found, abs=1e-12)


@given(voltage=volts)
def test_equal_voltages_are_balanced(voltage):
    assert voltage_unbalance(voltage, voltage, voltage) == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("voltage", [9.9, 1500.1, nan])
def test_a_dead_phase_is_refused(voltage):
    with pytest.raises(OutOfRange, match="phase-to-phase voltage"):
        voltage_unbalance(208.0, voltage, 208.0)


@given(one=st.floats(0.0, 0.05), other=st.floats(0.0, 0.05))
def test_more_unbalance_never_allows_more(one, other):
    low, high = sorted((one, other))

    assert unbalance_derating(low) >= unbalance_derating(high)


@pytest.mark.parametrize(("unbalance", "factor"), [(0.0, 1.0), (0.01, 1.0), (0.015, 0.975), (0.05, 0.75)])
def test_derating_between_and_at_the_points(unbalance, factor):
    assert unbalance_derating(unbalance) == pytest.approx(factor)


@pytest.mark.parametrize("unbalance", [-0.001, 0.0501, nan])
def test_more_than_five_percent_has_no_derating(unbalance):
    with pytest.raises(OutOfRange, match="voltage unbalance"):
        unbalance_derating(unbalance)
