"""Friction, pressure and flow in the glycol loop. Published values: tests/references."""

from math import nan, nextafter, pi

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.physics.glycol.properties import viscosity
from service.domain.physics.lines.loop_flow import (
    Loop,
    flow_at_pressure,
    flow_of_displacement_pump,
    friction_factor,
    loop_pressure_drop,
    tube_pressure_drop,
)
from service.domain.physics.ranges import OutOfRange

unhurried = settings(deadline=None, max_examples=60)  # the first example imports the library
LOOP = Loop(bore=0.009525, length=60.96, fittings=0.0)
AT = {"mass_fraction": 0.35, "temperature": 271.0}
reynolds_numbers = st.floats(1.0, 1e8)
roughnesses = st.floats(0.0, 0.05)


@unhurried
@given(reynolds_numbers, roughnesses)
def test_the_friction_factor_never_jumps(reynolds, roughness):
    here, there = (friction_factor(reynolds=re, relative_roughness=roughness) for re in (reynolds, reynolds * 1.001))

    assert there == pytest.approx(here, rel=0.01)


@unhurried
@given(reynolds_numbers, roughnesses)
def test_more_flow_always_needs_more_pressure(reynolds, roughness):
    """f Re^2 is what the pressure goes by: it must grow through the transition too, where f itself rises and falls."""
    here, there = (
        friction_factor(reynolds=re, relative_roughness=roughness) * re**2 for re in (reynolds, reynolds * 1.01)
    )

    assert there > here


@pytest.mark.parametrize(
    ("reynolds", "roughness"), [(0.0, 0.0), (-1.0, 0.0), (2e9, 0.0), (nan, 0.0), (1e4, -1e-9), (1e4, 0.051), (1e4, nan)]
)
def test_a_friction_factor_is_refused_outside_its_range(reynolds, roughness):
    with pytest.raises(OutOfRange, match=r"Reynolds number|roughness over bore"):
        friction_factor(reynolds=reynolds, relative_roughness=roughness)


@unhurried
@given(st.floats(1e-7, 3e-5), st.floats(0.3, 0.6))
def test_a_laminar_loop_follows_poiseuille(flow, strength):
    """dp = 128 mu L V / (pi D^4), the exact solution for laminar flow."""
    drop = loop_pressure_drop(LOOP, flow=flow, mass_fraction=strength, temperature=271.0)
    mu = viscosity(mass_fraction=strength, temperature=271.0)

    assert drop == pytest.approx(128 * mu * 60.96 * flow / (pi * 0.009525**4), rel=1e-4)


@unhurried
@given(st.floats(1e-6, 3e-5), st.floats(0.25, 0.59), st.floats(0.001, 0.01))
def test_stronger_glycol_needs_more_pressure_where_the_flow_is_laminar(flow, weaker, more):
    low, high = (
        loop_pressure_drop(LOOP, flow=flow, mass_fraction=w, temperature=273.0) for w in (weaker, weaker + more)
    )

    assert high > low


@unhurried
@given(st.floats(1e-6, 1e-3), st.floats(0.2, 0.59))
def test_a_little_more_glycol_never_makes_the_pressure_jump(flow, strength):
    here, there = (
        loop_pressure_drop(LOOP, flow=flow, mass_fraction=w, temperature=273.0) for w in (strength, strength + 0.0002)
    )

    assert there == pytest.approx(here, rel=0.005)


@unhurried
@given(st.floats(1e-6, 1e-3), st.floats(0.1, 0.6))
def test_the_flow_at_a_pressure_needs_that_pressure(flow, strength):
    state = {"mass_fraction": strength, "temperature": 273.0}
    pressure = loop_pressure_drop(LOOP, flow=flow, **state)
    if pressure <= 2e6:
        assert flow_at_pressure(LOOP, pressure=pressure, **state) == pytest.approx(flow, rel=1e-9)


@unhurried
@given(st.floats(1e3, 1e6), st.floats(1.001, 1.9))
def test_more_pressure_drives_more_flow(pressure, times):
    assert flow_at_pressure(LOOP, pressure=pressure * times, **AT) > flow_at_pressure(LOOP, pressure=pressure, **AT)


def test_fittings_add_their_share():
    with_fittings = Loop(bore=0.009525, length=60.96, fittings=0.2)
    bare, fitted = (loop_pressure_drop(loop, flow=5e-5, **AT) for loop in (LOOP, with_fittings))

    assert fitted == pytest.approx(1.2 * bare)


def test_a_displacement_pump_gives_its_displacement_below_the_relief_pressure():
    flow = flow_of_displacement_pump(LOOP, displacement=3e-5, relief_pressure=4e5, **AT)

    assert flow == 3e-5


def test_a_displacement_pump_gives_what_the_relief_pressure_drives_above_it():
    flow = flow_of_displacement_pump(LOOP, displacement=3e-4, relief_pressure=4e5, **AT)

    assert loop_pressure_drop(LOOP, flow=flow, **AT) == pytest.approx(4e5)


@pytest.mark.parametrize(
    "dimensions",
    [
        {"bore": 0.0, "length": 60.0},
        {"bore": -0.01, "length": 60.0},
        {"bore": nan, "length": 60.0},
        {"bore": 0.51, "length": 60.0},
        {"bore": 0.01, "length": -60.0},
        {"bore": 0.01, "length": 3001.0},
        {"bore": 0.01, "length": nan},
        {"bore": 0.01, "length": 60.0, "fittings": -0.1},
        {"bore": 0.01, "length": 60.0, "fittings": nan},
        {"bore": 0.01, "length": 60.0, "roughness": 0.001},
        {"bore": 0.01, "length": 60.0, "roughness": -1e-6},
    ],
)
def test_a_loop_of_impossible_dimensions_is_refused(dimensions):
    with pytest.raises(OutOfRange):
        Loop(**dimensions)


@pytest.mark.parametrize(
    "changed", [{"flow": 0.0}, {"flow": -1e-5}, {"flow": nan}, {"density": 0.0}, {"viscosity": 0.0}]
)
def test_a_pressure_drop_is_refused_outside_each_limit(changed):
    with pytest.raises(OutOfRange):
        tube_pressure_drop(LOOP, **({"flow": 5e-5, "density": 1000.0, "viscosity": 1e-3} | changed))


@pytest.mark.parametrize("pressure", [0.0, -1e5, nextafter(2e6, 1e7), nan])
def test_a_flow_is_refused_for_an_impossible_pressure(pressure):
    with pytest.raises(OutOfRange, match="pressure of the pump"):
        flow_at_pressure(LOOP, pressure=pressure, **AT)


def test_a_flow_is_refused_where_the_loop_would_be_frozen():
    with pytest.raises(OutOfRange, match="temperature of the liquid"):
        flow_at_pressure(LOOP, pressure=1e5, mass_fraction=0.1, temperature=265.0)


@pytest.mark.parametrize("displacement", [0.0, -1e-5, nan])
def test_a_pump_without_displacement_is_refused(displacement):
    with pytest.raises(OutOfRange, match="flow"):
        flow_of_displacement_pump(LOOP, displacement=displacement, relief_pressure=4e5, **AT)
