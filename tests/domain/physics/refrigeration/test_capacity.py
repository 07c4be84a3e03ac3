"""Capacity today: the rated point gives itself, heat balances, warm air and dirt cost."""

from dataclasses import replace
from math import nan

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.physics.ranges import OutOfRange
from service.domain.physics.refrigeration.capacity import RatedPoint, capacity_today
from service.domain.physics.refrigeration.refrigerants import REFRIGERANTS, refrigerant
from service.domain.physics.refrigeration.vapour_compression import cycle

unhurried = settings(deadline=None, max_examples=60)  # the first example asks CoolProp for a whole curve
R134A = refrigerant("R-134a")
RATED = RatedPoint(capacity=850.0, ambient=305.37, bath=270.93)  # 2900 Btu/h at 90 and 28 degF
fluids = st.sampled_from(REFRIGERANTS)
ambients = st.floats(285.0, 315.0)
baths = st.floats(262.0, 278.0)


@unhurried
@given(fluid=fluids, ambient=ambients, bath=baths)
def test_the_rated_point_gives_itself(fluid, ambient, bath):
    found = capacity_today(fluid, replace(RATED, ambient=ambient, bath=bath), ambient=ambient, bath=bath)

    assert found.capacity == pytest.approx(850.0, rel=1e-9)


@unhurried
@given(fluid=fluids, ambient=ambients, bath=baths)
def test_heat_rejected_is_capacity_and_power(fluid, ambient, bath):
    found = capacity_today(fluid, RATED, ambient=ambient, bath=bath)

    assert found.heat_rejected == pytest.approx(found.capacity + found.power, rel=1e-6)


@unhurried
@given(fluid=fluids, ambient=ambients, bath=baths)
def test_the_temperatures_found_are_those_of_the_heat_found(fluid, ambient, bath):
    found = capacity_today(fluid, RATED, ambient=ambient, bath=bath)
    rated = capacity_today(fluid, RATED, ambient=RATED.ambient, bath=RATED.bath)

    assert bath - found.evaporating == pytest.approx(RATED.approach * found.share_of_rated, abs=2e-3)
    share = found.heat_rejected / rated.heat_rejected
    assert found.condensing - ambient == pytest.approx(RATED.clean_split * share, abs=2e-3)


@unhurried
@given(fluid=fluids, ambient=st.floats(285.0, 312.0), bath=baths, over=st.floats(0.2, 3.0))
def test_warmer_air_costs_and_a_warmer_bath_helps(fluid, ambient, bath, over):
    here = capacity_today(fluid, RATED, ambient=ambient, bath=bath).capacity

    assert capacity_today(fluid, RATED, ambient=ambient + over, bath=bath).capacity < here
    assert capacity_today(fluid, RATED, ambient=ambient, bath=bath + over).capacity > here


@unhurried
@given(fluid=fluids, fouling=st.floats(1.05, 1.6))
def test_a_dirty_condenser_costs_capacity_and_power(fluid, fouling):
    clean = capacity_today(fluid, RATED, ambient=300.0, bath=270.93)
    dirty = capacity_today(fluid, RATED, ambient=300.0, bath=270.93, fouling=fouling)

    assert dirty.capacity < clean.capacity
    assert dirty.power / dirty.capacity > clean.power / clean.capacity


@unhurried
@given(times=st.floats(0.5, 2.0))
def test_a_unit_twice_the_size_has_twice_the_capacity(times):
    small = capacity_today(R134A, RATED, ambient=300.0, bath=275.0).capacity
    big = capacity_today(R134A, replace(RATED, capacity=850.0 * times), ambient=300.0, bath=275.0).capacity

    assert big == pytest.approx(times * small, rel=1e-9)


def test_a_fixed_evaporator_would_give_the_bare_cycle():
    # with next to no distance the balance is the cycle itself
    thin = replace(RATED, approach=1.0, clean_split=3.0)
    found = capacity_today(R134A, thin, ambient=310.0, bath=275.0)
    bare = cycle(R134A, evaporating=274.0, condensing=313.0).cooling
    rated = cycle(R134A, evaporating=269.93, condensing=308.37).cooling

    assert found.share_of_rated == pytest.approx(bare / rated, rel=0.02)


@pytest.mark.parametrize(
    "readings",
    [
        {"ambient": 278.14}, {"ambient": 328.16}, {"ambient": nan}, {"bath": 258.14}, {"bath": 305.16}, {"bath": nan},
        {"fouling": 0.49}, {"fouling": 5.1},
    ],
)  # fmt: skip
def test_readings_out_of_range_are_refused(readings):
    with pytest.raises(OutOfRange):
        capacity_today(R134A, RATED, **{"ambient": 300.0, "bath": 271.0} | readings)


@pytest.mark.parametrize(
    "fields",
    [
        {"capacity": 49.0}, {"capacity": 100_001.0}, {"ambient": 278.0}, {"bath": 258.0}, {"clean_split": 2.9},
        {"approach": 0.9}, {"approach": 20.1}, {"clean_split": nan},
    ],
)  # fmt: skip
def test_a_rating_out_of_range_is_refused(fields):
    with pytest.raises(OutOfRange):
        capacity_today(R134A, replace(RATED, **fields), ambient=300.0, bath=271.0)


def test_a_condenser_that_would_run_too_hot_is_refused_by_name():
    with pytest.raises(OutOfRange, match="condensing temperature"):
        capacity_today(R134A, RATED, ambient=328.0, bath=290.0, fouling=2.0)


@pytest.mark.parametrize(("ambient", "bath"), [(278.15, 258.15), (300.0, 305.15), (328.15, 258.15)])
def test_the_limits_are_answered(ambient, bath):
    assert capacity_today(R134A, RATED, ambient=ambient, bath=bath).capacity > 0.0
