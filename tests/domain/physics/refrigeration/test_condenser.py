"""The condenser: split and air rise, at and beyond their limits."""

from math import nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.physics.ranges import OutOfRange
from service.domain.physics.refrigeration.condenser import (
    air_rise,
    condenser_split,
    split_check,
)


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
