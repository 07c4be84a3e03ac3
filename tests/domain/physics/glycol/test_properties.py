"""Properties of the two glycols: their ranges, their shape, and the inverse. Published values: tests/references."""

import subprocess
import sys
from math import nan, nextafter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.physics.glycol.properties import (
    HOTTEST,
    Glycol,
    conductivity,
    density,
    freezing_point,
    specific_heat,
    strength_at_freezing_point,
    viscosity,
)
from service.domain.physics.ranges import OutOfRange

PROPERTIES = [density, specific_heat, viscosity, conductivity]
unhurried = settings(deadline=None, max_examples=60)  # the first example imports the library
strengths = st.floats(0.0, 0.6)
glycols = st.sampled_from(Glycol)


def test_importing_the_formulas_imports_no_heavy_library():
    script = (
        "import sys; import service.domain.physics.glycol.mix, service.domain.physics.lines.loop_heat;"
        "print(sorted({'CoolProp', 'fluids', 'ht', 'numpy', 'scipy'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)

    assert done.stdout.strip() == "[]"


@unhurried
@given(strengths, st.floats(1e-4, 0.1), glycols)
def test_stronger_glycol_freezes_colder(weaker, more, glycol):
    stronger = min(weaker + more, 0.6)
    assert stronger == weaker or freezing_point(stronger, glycol) < freezing_point(weaker, glycol)


@unhurried
@given(strengths, glycols)
def test_the_strength_at_a_freezing_point_is_the_one_that_freezes_there(strength, glycol):
    assert strength_at_freezing_point(freezing_point(strength, glycol), glycol) == pytest.approx(strength, abs=1e-9)


@pytest.mark.parametrize("glycol", Glycol)
def test_a_scale_that_reads_the_ice_point_reads_plain_water(glycol):
    assert strength_at_freezing_point(273.15, glycol) == pytest.approx(0.0, abs=1e-5)


@unhurried
@given(strengths, st.floats(0.0, 1.0), st.floats(0.1, 10.0), glycols)
def test_warmer_glycol_is_lighter_and_thinner_except_near_the_ice_point(strength, share, warmer, glycol):
    coldest = max(freezing_point(strength, glycol), 280.0)  # weak glycol, as water, is densest a little above freezing
    cold = coldest + share * (HOTTEST - 10.0 - coldest)
    for formula in (density, viscosity):
        there, here = (formula(mass_fraction=strength, temperature=t, glycol=glycol) for t in (cold + warmer, cold))
        assert there < here


@pytest.mark.parametrize("temperature", [268.15, 271.0, 278.15, 293.15])
def test_stronger_glycol_is_thicker_and_carries_less_heat(temperature):
    steps = [0.20, 0.30, 0.40, 0.50, 0.60]
    thickness = [viscosity(mass_fraction=w, temperature=temperature) for w in steps]
    heat = [specific_heat(mass_fraction=w, temperature=temperature) for w in steps]
    conducted = [conductivity(mass_fraction=w, temperature=temperature) for w in steps]

    assert thickness == sorted(thickness)
    assert heat == sorted(heat, reverse=True)
    assert conducted == sorted(conducted, reverse=True)


@pytest.mark.parametrize("formula", PROPERTIES)
@pytest.mark.parametrize("glycol", Glycol)
def test_a_property_holds_from_the_freezing_point_to_the_hottest(formula, glycol):
    for strength in (0.0, 0.1, 0.35, 0.6):
        for temperature in (freezing_point(strength, glycol), HOTTEST):
            assert formula(mass_fraction=strength, temperature=temperature, glycol=glycol) > 0.0


@pytest.mark.parametrize("formula", PROPERTIES)
@pytest.mark.parametrize("glycol", Glycol)
def test_a_property_is_refused_just_outside_its_temperatures(formula, glycol):
    for temperature in (nextafter(freezing_point(0.35, glycol), 0.0), nextafter(HOTTEST, 1e3), 400.0, nan):
        with pytest.raises(OutOfRange, match=r"temperature of the liquid is .* it must be from .* to 373.15 K"):
            formula(mass_fraction=0.35, temperature=temperature, glycol=glycol)


@pytest.mark.parametrize("strength", [nextafter(0.0, -1.0), nextafter(0.6, 1.0), 1.3, nan])
@pytest.mark.parametrize("formula", PROPERTIES)
def test_a_property_is_refused_just_outside_the_strengths(formula, strength):
    with pytest.raises(OutOfRange, match=r"glycol mass fraction is .* from 0 to 0.6 kg/kg"):
        formula(mass_fraction=strength, temperature=293.15)


@pytest.mark.parametrize("strength", [nextafter(0.0, -1.0), nextafter(0.6, 1.0), 1.3, nan])
def test_a_freezing_point_is_refused_just_outside_the_strengths(strength):
    with pytest.raises(OutOfRange, match="glycol mass fraction"):
        freezing_point(strength)


def test_a_freezing_point_that_no_strength_has_is_refused():
    for temperature in (nextafter(freezing_point(0.6), 0.0), nextafter(273.15, 300.0), nan):
        with pytest.raises(OutOfRange, match="freezing point"):
            strength_at_freezing_point(temperature)
