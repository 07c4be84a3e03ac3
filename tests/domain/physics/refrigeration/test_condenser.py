"""The condenser: split, air rise and airflow, at and beyond their limits."""

from math import nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.physics.ranges import OutOfRange
from service.domain.physics.refrigeration.condenser import (
    air_rise,
    condenser_airflow,
    condenser_split,
    split_check,
    split_ratio,
)

shares = st.floats(0.1, 1.0)
effectivenesses = st.floats(0.05, 0.95)


@given(air=st.floats(243.15, 343.15), over=st.floats(-20.0, 10.0))
def test_split_is_condensing_over_air(air, over):
    condensing = min(max(air + over, 243.15), 353.15)

    assert condenser_split(condensing=condensing, air_in=air) == condensing - air


@pytest.mark.parametrize(("excess", "alarm"), [(9.9, False), (10.0, True), (15.0, True), (-5.0, False)])
def test_ten_fahrenheit_over_the_clean_split_alarms(excess, alarm):
    # common practice, no source
    check = split_check(split=(25.0 + excess) / 1.8, clean=25.0 / 1.8)

    assert check.excess * 1.8 == pytest.approx(excess)
    assert check.alarm is alarm


@pytest.mark.parametrize(("split", "clean"), [(-0.1, 14.0), (60.1, 14.0), (nan, 14.0), (14.0, 2.9), (14.0, 40.1)])
def test_impossible_splits_are_refused(split, clean):
    with pytest.raises(OutOfRange, match="condenser split"):
        split_check(split=split, clean=clean)


@pytest.mark.parametrize(("split", "clean"), [(0.0, 3.0), (60.0, 40.0)])
def test_the_limits_of_the_split_are_answered(split, clean):
    assert split_check(split=split, clean=clean).excess == split - clean


@pytest.mark.parametrize(("air_in", "air_out"), [(243.14, 300.0), (300.0, 343.16), (nan, 300.0), (300.0, nan)])
def test_air_out_of_range_is_refused(air_in, air_out):
    with pytest.raises(OutOfRange, match="air temperature"):
        air_rise(air_in=air_in, air_out=air_out)


@pytest.mark.parametrize(("condensing", "air_in"), [(353.16, 300.0), (243.14, 300.0), (nan, 300.0), (300.0, 343.16)])
def test_split_of_impossible_temperatures_is_refused(condensing, air_in):
    with pytest.raises(OutOfRange):
        condenser_split(condensing=condensing, air_in=air_in)


@given(heat=st.floats(1.0, 200_000.0), rise=st.floats(0.5, 50.0))
def test_the_airflow_carries_the_heat(heat, rise):
    # density 1.204 kg/m3 and 1006 J/(kg K): textbook air at 20 degC
    assert condenser_airflow(heat=heat, rise=rise) * 1.204 * 1006.0 * rise == pytest.approx(heat, rel=1e-6)


@pytest.mark.parametrize(
    ("heat", "rise"), [(-1.0, 10.0), (200_001.0, 10.0), (1000.0, 0.49), (1000.0, 50.1), (nan, 10.0)]
)
def test_airflow_out_of_range_is_refused(heat, rise):
    with pytest.raises(OutOfRange):
        condenser_airflow(heat=heat, rise=rise)


@given(share=shares, effectiveness=effectivenesses)
def test_less_air_never_makes_the_split_smaller_nor_more_than_its_inverse_allows(share, effectiveness):
    ratio = split_ratio(share, effectiveness=effectiveness)

    assert 1.0 - 1e-12 <= ratio <= 1.0 / share + 1e-9


@given(one=shares, other=shares, effectiveness=effectivenesses)
def test_the_split_falls_as_the_airflow_grows(one, other, effectiveness):
    low, high = sorted((one, other))

    assert split_ratio(low, effectiveness=effectiveness) >= split_ratio(high, effectiveness=effectiveness) - 1e-12


@pytest.mark.parametrize(
    ("share", "effectiveness", "exponent"),
    [(0.09, 0.5, 0.5), (1.01, 0.5, 0.5), (nan, 0.5, 0.5), (0.5, 1.0, 0.5), (0.5, 0.04, 0.5), (0.5, 0.5, 1.1)],
)
def test_ratio_out_of_range_is_refused(share, effectiveness, exponent):
    with pytest.raises(OutOfRange):
        split_ratio(share, effectiveness=effectiveness, exponent=exponent)


@pytest.mark.parametrize(("share", "effectiveness", "exponent"), [(0.1, 0.05, 0.0), (1.0, 0.99, 1.0)])
def test_the_limits_of_the_ratio_are_answered(share, effectiveness, exponent):
    assert split_ratio(share, effectiveness=effectiveness, exponent=exponent) >= 1.0
