"""Bad contacts: their heat, and the ladders of temperature."""

from math import nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.physics.electrical.contacts import contact_bad, contact_heat, rise_beside_similar, rise_over_ambient
from service.domain.physics.ranges import OutOfRange

ORDER = ["none", "possible", "probable", "monitor", "major"]


@given(current=st.floats(0.0, 1000.0), ohms=st.floats(0.0, 0.05))
def test_heat_is_current_squared_times_resistance(current, ohms):
    assert contact_heat(current=current, drop=current * ohms) == pytest.approx(current**2 * ohms, rel=1e-9, abs=1e-12)


@pytest.mark.parametrize(("drop", "bad"), [(0.0, False), (0.05, False), (0.099, False), (0.1, True), (3.0, True)])
def test_tenths_of_a_volt_are_bad(drop, bad):
    # training article on loaded voltage drop: hundredths good, tenths to volts bad
    assert contact_bad(drop) is bad


@pytest.mark.parametrize(
    ("current", "drop"), [(-1.0, 0.1), (1000.1, 0.1), (nan, 0.1), (10.0, -0.1), (10.0, 50.1), (10.0, nan)]
)
def test_impossible_readings_are_refused(current, drop):
    with pytest.raises(OutOfRange):
        contact_heat(current=current, drop=drop)


@given(one=st.floats(-100.0, 400.0), other=st.floats(-100.0, 400.0))
def test_hotter_is_never_graded_milder(one, other):
    low, high = sorted((one, other))
    for grade in (
        lambda rise: rise_beside_similar(hot=rise, similar=0.0),
        lambda rise: rise_over_ambient(hot=rise, ambient=0.0),
    ):
        assert ORDER.index(grade(low).code) <= ORDER.index(grade(high).code)


@pytest.mark.parametrize("rise", [-100.1, 400.1, nan])
def test_impossible_differences_are_refused(rise):
    with pytest.raises(OutOfRange, match="temperature difference"):
        rise_beside_similar(hot=300.0 + rise, similar=300.0)
    with pytest.raises(OutOfRange, match="temperature difference"):
        rise_over_ambient(hot=300.0 + rise, ambient=300.0)
