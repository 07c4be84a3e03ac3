"""Saturation: limits, inverses, order of dew and bubble, and the spline against CoolProp itself."""

from math import inf, nan

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.physics.libraries import coolprop, coolprop_lock
from service.domain.physics.ranges import OutOfRange
from service.domain.physics.refrigeration.refrigerants import REFRIGERANTS, refrigerant
from service.domain.physics.refrigeration.saturation import (
    COLDEST,
    absolute_pressure,
    bubble_pressure,
    bubble_temperature,
    dew_pressure,
    dew_temperature,
    gauge_pressure,
)

unhurried = settings(deadline=None, max_examples=60)  # the first example asks CoolProp for a whole curve
BOTH = [(dew_pressure, dew_temperature), (bubble_pressure, bubble_temperature)]
fluids = st.sampled_from(REFRIGERANTS)
pairs = st.sampled_from(BOTH)
shares = st.floats(0.0, 1.0)


def between(fluid, share):
    return min(COLDEST + share * (fluid.hottest - COLDEST), fluid.hottest)


@pytest.mark.parametrize("fluid", REFRIGERANTS, ids=lambda each: each.name)
@pytest.mark.parametrize(("pressure", "temperature"), BOTH)
def test_both_ends_are_answered_and_the_way_back_returns_to_them(fluid, pressure, temperature):
    for end in (COLDEST, fluid.hottest):
        assert temperature(fluid, pressure(fluid, end)) == pytest.approx(end, abs=1e-6)


@unhurried
@given(fluid=fluids, pair=pairs, share=shares)
def test_temperature_is_the_inverse_of_pressure(fluid, pair, share):
    pressure, temperature = pair
    at = between(fluid, share)

    assert temperature(fluid, pressure(fluid, at)) == pytest.approx(at, abs=1e-6)


@unhurried
@given(fluid=fluids, pair=pairs, one=shares, other=shares)
def test_pressure_rises_with_temperature(fluid, pair, one, other):
    low, high = sorted((between(fluid, one), between(fluid, other)))

    assert pair[0](fluid, low) <= pair[0](fluid, high)
    assert high - low < 1e-6 or pair[0](fluid, low) < pair[0](fluid, high)


@unhurried
@given(fluid=fluids, share=shares)
def test_bubble_pressure_is_never_below_dew_pressure(fluid, share):
    at = between(fluid, share)

    assert bubble_pressure(fluid, at) >= dew_pressure(fluid, at) * (1.0 - 1e-5)  # an azeotrope's fits touch


@pytest.mark.parametrize("fluid", REFRIGERANTS, ids=lambda each: each.name)
@pytest.mark.parametrize(("quality", "pressure"), [(1, dew_pressure), (0, bubble_pressure)])
def test_spline_gives_what_coolprop_gives(fluid, quality, pressure):
    with coolprop_lock:
        state = coolprop().AbstractState("HEOS", fluid.fluid)
        for temperature in (240.3, 266.48, 299.0, 320.6):
            state.update(coolprop().QT_INPUTS, quality, temperature)
            assert pressure(fluid, temperature) == pytest.approx(state.p(), rel=1e-6)


@pytest.mark.parametrize("pressure", [dew_pressure, bubble_pressure])
@pytest.mark.parametrize("temperature", [COLDEST - 1e-6, 343.15 + 1e-6, 0.0, -1.0, 400.0, nan, inf, -inf])
def test_a_temperature_off_the_curve_is_refused_with_the_limits(pressure, temperature):
    with pytest.raises(OutOfRange, match=r"saturation temperature of R-134a .* from 213.15 to 343.15 K"):
        pressure(refrigerant("R-134a"), temperature)


@pytest.mark.parametrize("temperature", [dew_temperature, bubble_temperature])
@pytest.mark.parametrize("pressure", [0.0, -1.0, 1000.0, 1e8, nan, inf])
def test_a_pressure_off_the_curve_is_refused(temperature, pressure):
    with pytest.raises(OutOfRange, match="saturation pressure of R-134a"):
        temperature(refrigerant("R-134a"), pressure)


@unhurried
@given(gauge=st.floats(-60_000.0, 6.0e6), atmosphere=st.floats(60_000.0, 110_000.0))
def test_gauge_and_absolute_pressure_are_inverse(gauge, atmosphere):
    absolute = absolute_pressure(gauge, atmosphere=atmosphere)

    assert gauge_pressure(absolute, atmosphere=atmosphere) == pytest.approx(gauge, abs=1e-6)


def test_full_vacuum_is_the_lowest_gauge_reading():
    assert absolute_pressure(-101325.0) == 0.0
    with pytest.raises(OutOfRange):
        absolute_pressure(-101326.0)


@pytest.mark.parametrize("gauge", [6.0e6 + 1.0, nan, inf])
def test_a_gauge_reading_beyond_any_gauge_is_refused(gauge):
    with pytest.raises(OutOfRange, match="gauge pressure"):
        absolute_pressure(gauge)


@pytest.mark.parametrize("convert", [absolute_pressure, gauge_pressure])
@pytest.mark.parametrize("atmosphere", [49_999.0, 110_001.0, nan])
def test_an_atmosphere_beyond_the_weather_is_refused(convert, atmosphere):
    with pytest.raises(OutOfRange, match="atmospheric pressure"):
        convert(101325.0, atmosphere=atmosphere)


@pytest.mark.parametrize("absolute", [-1.0, 6.2e6, nan])
def test_an_absolute_pressure_below_nothing_is_refused(absolute):
    with pytest.raises(OutOfRange, match="absolute pressure"):
        gauge_pressure(absolute)


def test_the_widest_glide_is_answered_at_atmospheric_pressure() -> None:
    """R-455A boils at -52.1 degC at one atmosphere (a maker's data sheet, from memory)."""
    assert bubble_temperature(refrigerant("R-455A"), absolute_pressure(0.0)) - 273.15 == pytest.approx(-52.1, abs=0.3)
