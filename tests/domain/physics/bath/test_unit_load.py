"""The load on a unit and its parts."""

from math import nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.physics.bath.unit_load import duty, pour_load, pump_heat, unit_load
from service.domain.physics.ranges import OutOfRange

heats = st.floats(0.0, 100_000.0)


@given(trunk=heats, tower=heats, pour=heats, pump=heats, allowance=st.floats(0.0, 1.0))
def test_the_parts_make_the_total(trunk, tower, pour, pump, allowance):
    load = unit_load(trunk=trunk, tower=tower, pour=pour, pump=pump, allowance=allowance)

    assert load.total == pytest.approx((trunk + tower + pour + pump) * (1.0 + allowance), rel=1e-6)


@pytest.mark.parametrize("part", ["trunk", "tower", "pour", "pump"])
@pytest.mark.parametrize("heat", [-0.1, 100_000.1, nan])
def test_an_impossible_part_is_refused(part, heat):
    parts = dict.fromkeys(("trunk", "tower", "pour", "pump"), 100.0)
    with pytest.raises(OutOfRange, match="heat load"):
        unit_load(**parts | {part: heat})


@pytest.mark.parametrize("allowance", [-0.01, 1.01, nan])
def test_an_impossible_allowance_is_refused(allowance):
    with pytest.raises(OutOfRange, match="allowance"):
        unit_load(trunk=1.0, tower=1.0, pour=1.0, pump=1.0, allowance=allowance)


@given(flow=st.floats(1e-6, 1e-3), drop=st.floats(0.1, 20.0))
def test_twice_the_beer_or_twice_the_drop_is_twice_the_load(flow, drop):
    one = pour_load(flow=flow, drop=drop)

    assert pour_load(flow=2 * flow, drop=drop) == pytest.approx(2 * one)
    assert pour_load(flow=flow, drop=2 * drop) == pytest.approx(2 * one)


@pytest.mark.parametrize(
    "readings",
    [
        {"flow": -1e-9}, {"flow": 0.011}, {"flow": nan}, {"drop": -0.1}, {"drop": 40.1}, {"density": 979.0},
        {"density": 1151.0}, {"specific_heat": 3499.0}, {"specific_heat": 4201.0},
    ],
)  # fmt: skip
def test_impossible_beer_is_refused(readings):
    with pytest.raises(OutOfRange):
        pour_load(**{"flow": 1e-5, "drop": 2.0} | readings)


@pytest.mark.parametrize(("power", "share"), [(-0.1, 1.0), (5000.1, 1.0), (nan, 1.0), (100.0, -0.1), (100.0, 1.1)])
def test_an_impossible_pump_is_refused(power, share):
    with pytest.raises(OutOfRange):
        pump_heat(power, share=share)


def test_half_the_power_reaching_the_glycol_is_half_the_heat():
    assert pump_heat(200.0, share=0.5) == 100.0


@given(load=st.floats(0.0, 100_000.0), capacity=st.floats(1.0, 200_000.0))
def test_duty_times_capacity_is_the_load(load, capacity):
    assert duty(load, capacity=capacity) * capacity == pytest.approx(load, rel=1e-9)


@pytest.mark.parametrize(("load", "capacity"), [(-1.0, 500.0), (nan, 500.0), (500.0, 0.0), (500.0, 200_001.0)])
def test_impossible_duty_is_refused(load, capacity):
    with pytest.raises(OutOfRange):
        duty(load, capacity=capacity)


def test_the_limits_are_answered():
    assert pour_load(flow=0.01, drop=40.0, density=1150.0, specific_heat=4200.0) > 0.0
    assert pump_heat(5000.0, share=0.0) == 0.0
    assert duty(100_000.0, capacity=1.0) == 100_000.0
