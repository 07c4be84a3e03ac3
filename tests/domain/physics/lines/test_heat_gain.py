"""Heat gain of a bundle: directions, limits, refusals."""

from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.physics.lines.buried import Burial, buried_resistance, shape_factor
from service.domain.physics.lines.heat_gain import (
    STILL_AIR,
    Jacket,
    air_resistance,
    cylinder_resistance,
    film_resistance,
    heat_gain,
    jacket_resistance,
)
from service.domain.physics.ranges import OutOfRange

diameters = st.floats(0.01, 0.3)
thicknesses = st.floats(0.0, 0.1)
conductivities = st.floats(0.02, 0.2)
temperatures = st.floats(234.0, 333.0)


@given(diameters, thicknesses, conductivities)
def test_a_layer_inside_a_layer_adds_up_to_both(core: float, thickness: float, conductivity: float) -> None:
    middle, outer = core + thickness, core + 2 * thickness
    inner = cylinder_resistance(inner_diameter=core, outer_diameter=middle, conductivity=conductivity)
    rest = cylinder_resistance(inner_diameter=middle, outer_diameter=outer, conductivity=conductivity)

    assert inner + rest == pytest.approx(jacket_resistance(Jacket(core, thickness, conductivity)), abs=1e-12)


@given(diameters, st.floats(0.005, 0.1), conductivities)
def test_better_foam_lets_less_heat_in(core: float, thickness: float, conductivity: float) -> None:
    good, bad = Jacket(core, thickness, conductivity), Jacket(core, thickness, conductivity * 1.5)

    assert air_resistance(good) > air_resistance(bad)


@given(diameters, thicknesses)
def test_foam_much_poorer_conducting_than_the_air_film_always_helps(core: float, thickness: float) -> None:
    """Past the critical radius k/h (3.9 mm here), more insulation means less gain."""
    assert air_resistance(Jacket(core, thickness + 0.01)) > air_resistance(Jacket(core, thickness))


@given(temperatures, temperatures)
def test_heat_changes_sign_with_the_temperatures(one: float, other: float) -> None:
    there = heat_gain(resistance=3.0, surroundings=one, core=other)

    assert there == -heat_gain(resistance=3.0, surroundings=other, core=one)


@given(diameters, st.floats(1.1, 50.0), st.floats(1.01, 3.0))
def test_deeper_in_the_ground_less_heat_comes_in(diameter: float, depths: float, deeper: float) -> None:
    depth = depths * diameter

    assert shape_factor(diameter=diameter, depth=depth * deeper) < shape_factor(diameter=diameter, depth=depth)


def test_conduit_air_adds_resistance_when_the_soil_hardly_does() -> None:
    jacket = Jacket(0.05, 0.025)

    direct = buried_resistance(jacket, Burial(0.6, 2.0))
    assert buried_resistance(jacket, Burial(0.6, 2.0, conduit_diameter=0.154)) > direct


def test_bare_core_has_only_its_film() -> None:
    assert air_resistance(Jacket(0.05, 0.0)) == film_resistance(diameter=0.05, coefficient=STILL_AIR)


@pytest.mark.parametrize("core", [233.15, 333.15])
def test_core_at_its_limits_is_calculated(core: float) -> None:
    assert heat_gain(resistance=3.0, surroundings=300.0, core=core) == pytest.approx((300.0 - core) / 3.0)


@pytest.mark.parametrize("core", [233.14, 333.16, 400.0, nan, inf])
def test_core_outside_its_limits_is_refused_by_name_and_limits(core: float) -> None:
    with pytest.raises(OutOfRange, match=r"core temperature is .* K; it must be from 233.15 to 333.15 K"):
        heat_gain(resistance=3.0, surroundings=300.0, core=core)


@pytest.mark.parametrize("surroundings", [233.14, 353.16, nan])
def test_surroundings_outside_their_limits_are_refused(surroundings: float) -> None:
    with pytest.raises(OutOfRange, match="surroundings temperature"):
        heat_gain(resistance=3.0, surroundings=surroundings, core=272.0)


@pytest.mark.parametrize("resistance", [0.0, 9e-5, 1001.0, -3.0, nan])
def test_resistance_outside_its_limits_is_refused(resistance: float) -> None:
    with pytest.raises(OutOfRange, match="thermal resistance"):
        heat_gain(resistance=resistance, surroundings=300.0, core=272.0)


@pytest.mark.parametrize(
    ("core", "thickness", "conductivity", "name"),
    [
        (9e-4, 0.01, 0.04, "diameter"),
        (2.01, 0.01, 0.04, "diameter"),
        (nan, 0.01, 0.04, "diameter"),
        (0.05, -1e-9, 0.04, "insulation thickness"),
        (0.05, 0.51, 0.04, "insulation thickness"),
        (0.05, 0.01, 0.0049, "thermal conductivity"),
        (0.05, 0.01, 501.0, "thermal conductivity"),
    ],
)
def test_jacket_outside_its_limits_is_refused(core: float, thickness: float, conductivity: float, name: str) -> None:
    with pytest.raises(OutOfRange, match=name):
        Jacket(core, thickness, conductivity)


@pytest.mark.parametrize("coefficient", [0.49, 1.1e5, nan])
def test_surface_coefficient_outside_its_limits_is_refused(coefficient: float) -> None:
    with pytest.raises(OutOfRange, match="surface coefficient"):
        air_resistance(Jacket(0.05, 0.025), coefficient)


def test_hollow_cylinder_inside_out_is_refused() -> None:
    with pytest.raises(OutOfRange, match="outer diameter"):
        cylinder_resistance(inner_diameter=0.1, outer_diameter=0.09, conductivity=0.04)


def test_pipe_that_breaks_the_surface_is_refused() -> None:
    with pytest.raises(OutOfRange, match="depth to the centre"):
        shape_factor(diameter=0.5, depth=0.25)


def test_conduit_narrower_than_the_bundle_is_refused() -> None:
    with pytest.raises(OutOfRange, match="conduit diameter"):
        buried_resistance(Jacket(0.05, 0.025), Burial(0.6, 1.0, conduit_diameter=0.09))


@pytest.mark.parametrize(("depth", "soil"), [(0.0, 1.0), (201.0, 1.0), (nan, 1.0), (0.6, 0.0), (0.6, nan)])
def test_burial_outside_its_limits_is_refused(depth: float, soil: float) -> None:
    with pytest.raises(OutOfRange):
        Burial(depth, soil)
