"""Superheat counts from dew, subcooling from bubble."""

from math import nan

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.physics.ranges import OutOfRange
from service.domain.physics.refrigeration.refrigerants import REFRIGERANTS, refrigerant
from service.domain.physics.refrigeration.saturation import bubble_pressure, dew_pressure
from service.domain.physics.refrigeration.superheat import atmosphere_at, subcooling, superheat

unhurried = settings(deadline=None, max_examples=60)  # the first example asks CoolProp for a whole curve
BLEND = refrigerant("R-449A")


@unhurried
@given(fluid=st.sampled_from(REFRIGERANTS), dew=st.floats(230.0, 300.0), excess=st.floats(-15.0, 40.0))
def test_superheat_is_the_line_over_the_dew_temperature(fluid, dew, excess):
    found = superheat(fluid, suction_pressure=dew_pressure(fluid, dew), line_temperature=dew + excess)

    assert found == pytest.approx(excess, abs=1e-6)


@unhurried
@given(fluid=st.sampled_from(REFRIGERANTS), bubble=st.floats(280.0, 335.0), short=st.floats(-15.0, 40.0))
def test_subcooling_is_the_bubble_temperature_over_the_line(fluid, bubble, short):
    found = subcooling(fluid, liquid_pressure=bubble_pressure(fluid, bubble), line_temperature=bubble - short)

    assert found == pytest.approx(short, abs=1e-6)


def test_a_blend_with_glide_has_two_temperatures_at_one_pressure():
    pressure = dew_pressure(BLEND, 266.48)

    apart = superheat(BLEND, suction_pressure=pressure, line_temperature=280.0) + subcooling(
        BLEND, liquid_pressure=pressure, line_temperature=280.0
    )
    assert apart == pytest.approx(-6.0, abs=0.6)  # common practice, no source: R-449A glides some 6 K


@pytest.mark.parametrize("line", [213.14, 423.16, nan])
def test_a_line_no_pipe_can_have_is_refused(line):
    with pytest.raises(OutOfRange, match="line temperature"):
        superheat(BLEND, suction_pressure=4e5, line_temperature=line)
    with pytest.raises(OutOfRange, match="line temperature"):
        subcooling(BLEND, liquid_pressure=16e5, line_temperature=line)


@pytest.mark.parametrize("line", [213.15, 423.15])
def test_the_limits_of_the_line_are_answered(line):
    assert superheat(BLEND, suction_pressure=4e5, line_temperature=line) == pytest.approx(
        line - 423.15 + superheat(BLEND, suction_pressure=4e5, line_temperature=423.15)
    )


@pytest.mark.parametrize(("elevation", "pressure"), [(0.0, 101325.0), (1000.0, 89875.0), (2000.0, 79495.0)])
def test_standard_atmosphere(elevation, pressure):
    # ISO 2533:1975, from memory
    assert atmosphere_at(elevation) == pytest.approx(pressure, rel=1e-4)


@pytest.mark.parametrize("elevation", [-500.1, 5000.1, nan])
def test_a_height_where_nobody_pours_beer_is_refused(elevation):
    with pytest.raises(OutOfRange, match="elevation"):
        atmosphere_at(elevation)


@pytest.mark.parametrize("elevation", [-500.0, 5000.0])
def test_the_limits_of_the_height_are_answered(elevation):
    assert 50_000.0 < atmosphere_at(elevation) < 110_000.0
